"""Lengths, angles and numbers as people write them, to float millimetres and degrees, and back to text.

The few units of the trade are converted from the table below, which a test holds against pint; any other unit goes to
pint, whose registry takes most of a second to build and is built only then. pint alone would misread shop fractions
("1 3/16 in" as a product), so the grammar of numbers is ours.
"""

import functools
import math
import re
import unicodedata
from fractions import Fraction
from typing import Any

from flatgen.errors import InputError

# exact by definition: 1 in = 25.4 mm (international yard and pound agreement of 1959)
LENGTHS: dict[str, float] = {
    "mm": 1.0,
    "cm": 10.0,
    "m": 1000.0,
    "in": 25.4,
    "inch": 25.4,
    "inches": 25.4,
    '"': 25.4,
    "″": 25.4,
    "”": 25.4,
    "ft": 304.8,
    "foot": 304.8,
    "feet": 304.8,
    "'": 304.8,
    "′": 304.8,
    "thou": 0.0254,
    "mil": 0.0254,
}
ANGLES: dict[str, float] = {
    "deg": 1.0,
    "degree": 1.0,
    "degrees": 1.0,
    "°": 1.0,
    "rad": 180.0 / math.pi,
    "radian": 180.0 / math.pi,
    "'": 1.0 / 60.0,
}
# exact by definition: standard gravity 9.80665 m/s², 1 lb = 0.45359237 kg
FORCES: dict[str, float] = {
    "N": 1.0,
    "lbf": 4.4482216152605,
    "lb": 4.4482216152605,
    "kgf": 9.80665,
    "kg": 9.80665,
}
PINT_ANGLES = ("arcmin", "arcminute", "arcsec", "arcsecond", "grad", "gon", "mrad", "milliradian", "turn")
_NUMBER = r"[+-]?(?:\d+\s+\d+\s*/\s*\d+|\d+-\d+\s*/\s*\d+|\d+\s*/\s*\d+|(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)"
_TERM = re.compile(rf"\s*({_NUMBER})\s*([^\d\s.+\-][^\d\s+\-]*(?:\s*\^\d)?)?\s*")
_MIXED = re.compile(r"([+-]?)(?:(\d+)(?:\s+|-))?(\d+)\s*/\s*(\d+)")
_COMMA = re.compile(r"^\s*[+-]?\d+,\d+(?=\D|$)")
# digits in groups of three, the way thousands are parted; a decimal part may follow
_GROUPED = re.compile(r"\s*[+-]?[1-9]\d{0,2}((?:[.,\u00a0\u202f]\d{3})+)(?!\d)([.,]\d+)?")
_INCHES = re.compile(r"\s*[+-]?(?:(?P<whole>\d+)(?:\s+|-))?(?P<top>\d+)\s*/\s*(?P<bottom>\d+)\s*")
_SIGNS = str.maketrans(
    {"−": "-", "–": "-", "×": "*", "·": "*", "÷": "/", "\u2044": "/", "≤": "<=", "≥": ">=", "≠": "!="}
)
LARGEST_NUMBER = 1e300
LARGEST_TURN = 3600.0  # ten times round [deg]
LARGEST = 1e5  # no sheet or brake is a hundred metres long [mm]


def plain_signs(text: str) -> str:
    """Text with the signs that word processors put in as they are typed: minus, times, 1½.

    >>> plain_signs("2 × 1½ in − ¾")
    '2 * 1 1/2 in - 3/4'
    """
    text = text.translate(_SIGNS)
    for sign in set(text):
        if unicodedata.decomposition(sign).startswith("<fraction>"):
            share = unicodedata.normalize("NFKC", sign).replace("\u2044", "/")
            text = re.sub(rf"(?<=\d)\s*{sign}", f" {share}", text).replace(sign, share)
    return text


def parse_number(text: str) -> float:
    """A plain or broken number: "1.5", ".032", "3/16", "1 3/16", "1-3/16".

    >>> parse_number("1 3/16")
    1.1875
    """
    match = _MIXED.fullmatch(text.strip())
    if match:
        sign, whole, top, bottom = match.groups()
        if int(bottom) == 0:
            raise InputError(f'"{text.strip()}" divides by zero')
        value = float(int(whole or 0) + Fraction(int(top), int(bottom)))
        return -value if sign == "-" else value
    value = float(text)
    if not math.isfinite(value):
        raise InputError(f'"{text}" is not a finite number')
    return value


def parse_length(value: Any, units: str, *, decimal_comma: bool = False) -> float:
    """A length as people write it, in mm; a bare number is in ``units`` ("in" or "mm").

    >>> parse_length("1-3/16 in", "mm")
    30.1625
    >>> parse_length("2 ft 3 in", "in")
    685.8
    """
    mm = _measure(value, units, LENGTHS, "length", decimal_comma)
    if abs(mm) > LARGEST:
        raise InputError(f"{_quoted(value)} is {mm / 1000:.4g} m; no part or sheet here is longer than 100 m")
    return mm


def parse_angle(value: Any, *, decimal_comma: bool = False) -> float:
    """An angle in degrees; a bare number is degrees.

    >>> parse_angle("90°"), parse_angle("30 deg")
    (90.0, 30.0)
    """
    degrees = _measure(value, "deg", ANGLES, "angle", decimal_comma)
    if abs(degrees) > LARGEST_TURN:
        raise InputError(f"{_quoted(value)} is {degrees:.4g}°; no angle here goes more than ten times round")
    return degrees


def parse_force(value: Any, units: str) -> float:
    """A pull as a spring scale shows it, in N; a bare number is lbf where lengths are in inches, else kgf.

    >>> round(parse_force("9 lbf", "mm"), 2), round(parse_force(4, "mm"), 2)
    (40.03, 39.23)
    """
    return _measure(value, "lbf" if units == "in" else "kgf", FORCES, "force", False)


def format_force(newtons: float, units: str) -> str:
    """A pull in lbf or kgf, to what a spring scale shows.

    >>> format_force(100.0, "in"), format_force(100.0, "mm")
    ('22 lbf', '10 kgf')
    """
    unit = "lbf" if units == "in" else "kgf"
    return f"{newtons / FORCES[unit]:.0f} {unit}"


def _measure(value: Any, units: str, table: dict[str, float], kind: str, decimal_comma: bool) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        raise InputError(f"{_quoted(value)} is not {_a(kind)}")
    if isinstance(value, int | float):
        # a whole number of hundreds of digits has no float
        if abs(value) > LARGEST_NUMBER or not math.isfinite(value):
            raise InputError(f"{_quoted(value)[:40]} is not a finite number")
        return float(value) * table[units]
    text = plain_signs(value).strip()
    no_thousands(text, decimal_comma)
    if kind == "length" and units == "mm":
        _no_bare_fraction(text)
    if _COMMA.match(text):
        if not decimal_comma:
            raise InputError(f'{_quoted(value)}: write the decimal point as ".", not ","')
        text = text.replace(",", ".", 1)
    total, at, terms, sign = 0.0, 0, 0, 1.0
    last_factor = math.inf
    while at < len(text):
        match = _TERM.match(text, at)
        if not match or match.end() == at:
            raise InputError(f"{_quoted(value)} is not {_a(kind)}; write it like {_example(kind)}")
        number = parse_number(match.group(1))
        unit = (match.group(2) or "").strip()
        factor = _factor(unit, table, kind, value) if unit else table[units]
        if terms:
            # "2 ft 3 in": parts of one length get smaller, and none but the first has a sign
            if not unit or factor >= last_factor or number < 0 or match.group(1)[0] in "+-":
                raise InputError(f"{_quoted(value)} is not {_a(kind)}; write it like {_example(kind)}")
        else:
            sign = -1.0 if number < 0 else 1.0
        total += sign * number * factor if terms else number * factor
        last_factor = factor if unit else -math.inf
        terms += 1
        at = match.end()
    if not terms:
        raise InputError(f"an empty text is not {_a(kind)}; write it like {_example(kind)}")
    return total


def no_thousands(text: str, decimal_comma: bool) -> None:
    """Raise InputError for a number whose thousands are parted, or that may be read so: 1.200 beside decimal commas."""
    match = _GROUPED.match(text)
    if match is None:
        return
    marks = set(re.sub(r"\d", "", match.group(1) + (match.group(2) or "")))
    once = len(match.group(1)) == 4 and match.group(2) is None
    if once and marks == {"," if decimal_comma else "."}:
        return  # a decimal part of three figures
    plain = re.sub(r"\D", "", match.group(0).removesuffix(match.group(2) or ""))
    raise InputError(f'"{text}" may mean {plain} or a part of it; write it without a mark between its thousands')


def _no_bare_fraction(text: str) -> None:
    """Raise InputError for an inch fraction without its unit among millimetres; 100/3 is arithmetic and may stand."""
    match = _INCHES.fullmatch(text)
    if match is None or int(match["bottom"]) not in (2, 4, 8, 16, 32, 64):
        return
    if match["whole"] or int(match["top"]) < int(match["bottom"]):
        raise InputError(f'"{text}" is a fraction without a unit among millimetres; write "{text} in" or millimetres')


def _factor(unit: str, table: dict[str, float], kind: str, value: Any) -> float:
    if unit in table:
        return table[unit]
    low = unit.lower()
    if low in table:
        return table[low]
    other = ANGLES if table is LENGTHS else LENGTHS
    if low in other:
        raise InputError(f"{_quoted(value)} is {_a('angle' if other is ANGLES else 'length')}, expected {_a(kind)}")
    return _pint_factor(unit, kind, value)


@functools.cache
def _registry() -> Any:
    """pint's own registry, built once a run and cached on disk where that can be written."""
    import pint

    try:
        return pint.UnitRegistry(cache_folder=":auto:")
    except OSError:
        return pint.UnitRegistry()


def _pint_factor(unit: str, kind: str, value: Any) -> float:
    """mm or deg in one of a unit that is not in our table."""
    import pint

    if kind == "force":
        raise InputError(f'{_quoted(value)}: "{unit}" is no unit of {kind}; use {_known(kind)}')
    if kind == "angle" and unit.lower() not in PINT_ANGLES:
        # pint takes every bare ratio for an angle, percent among them
        raise InputError(f'{_quoted(value)}: "{unit}" is no unit of {kind}; use {_known(kind)}')
    wanted = "millimeter" if kind == "length" else "degree"
    try:
        quantity = _registry().Quantity(1.0, unit)
    except Exception as error:  # pint raises many kinds for text that is no unit
        raise InputError(f'{_quoted(value)}: "{unit}" is no unit of {kind}; use {_known(kind)}') from error
    try:
        return float(quantity.to(wanted).magnitude)
    except pint.DimensionalityError as error:
        what = str(quantity.dimensionality).strip("[]") or "number"
        raise InputError(f"{_quoted(value)} is in {unit} ({what}), expected {_a(kind)}") from error


def _known(kind: str) -> str:
    return {"length": "mm, cm, m, in, ft or thou", "force": "lbf, kgf or N"}.get(kind, "deg or rad")


def _example(kind: str) -> str:
    return {"length": '"1 3/16 in" or "3.2 mm"', "force": '"9 lbf" or "4 kgf"'}.get(kind, '"90 deg"')


def _a(kind: str) -> str:
    return f"an {kind}" if kind[0] in "aeiou" else f"a {kind}"


def _quoted(value: Any) -> str:
    return f'"{value}"' if isinstance(value, str) else f"{value!r}"


def format_length(mm: float, units: str, *, places: int | None = None, unit: bool = False) -> str:
    """A length in display units: three places of inches or two of millimetres, as the trade writes them.

    >>> format_length(41.4274, "in"), format_length(41.4274, "mm", unit=True)
    ('1.631', '41.43 mm')
    """
    places = (3 if units == "in" else 2) if places is None else places
    text = f"{mm / LENGTHS[units]:.{places}f}"
    if float(text) == 0.0:
        text = f"{0.0:.{places}f}"
    return f"{text} {units}" if unit else text


def format_fraction(mm: float, denominator: int = 64) -> str:
    """Inches as a whole number and a fraction with what is left over in thousandths.

    >>> format_fraction(95.456858)
    '3 49/64 -.007'
    """
    inches = mm / 25.4
    parts = round(inches * denominator)
    whole, top = divmod(parts, denominator)
    text = str(whole) if whole or not top else ""
    if top:
        share = Fraction(top, denominator)
        text = f"{text} {share.numerator}/{share.denominator}".strip()
    rest = round((inches - parts / denominator) * 1000)
    return f"{text} {'+' if rest > 0 else '-'}.{abs(rest):03d}" if rest else text


def format_angle(degrees: float) -> str:
    """Degrees with at most one place.

    >>> format_angle(90.0), format_angle(94.42)
    ('90°', '94.4°')
    """
    return f"{degrees:.1f}".removesuffix(".0") + "°"


def format_angle_limit(degrees: float) -> str:
    """What an angle may be off, in degrees and minutes where one place would not say it; never more than it is.

    >>> format_angle_limit(0.5), format_angle_limit(1 / 3), format_angle_limit(0.26)
    ('0.5°', "0°20'", "0°15'")
    """
    if abs(degrees * 10.0 - round(degrees * 10.0)) < 1e-6:
        return format_angle(degrees)
    whole, minutes = divmod(math.floor(degrees * 60.0 + 1e-6), 60)
    return f"{whole}°{minutes:02d}'"
