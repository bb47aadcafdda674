"""Hole sizes as the trade writes them: number, letter, fraction or metric drills, and the shop's own drill table."""

import re
from fractions import Fraction

from flatgen.errors import InputError, nearest
from flatgen.model.shop import Drill
from flatgen.said import said, size
from flatgen.tables.load import drill_sizes
from flatgen.units import format_length, parse_length

SAME_DRILL = 0.005  # mm
# pilot and final drills for the usual rivets: current US practice, from memory (trade notes, section 6); a shop's own
# table replaces them
USUAL_RIVETS = (
    ("3/32 in", "#40", "#40"),
    ("1/8 in", "#40", "#30"),
    ("5/32 in", "#40", "#21"),
    ("3/16 in", "#30", "#11"),
)


def parse_drill(raw: object, units: str) -> tuple[float, str]:
    """Diameter [mm] and label of a drill: "#30", "No 30", "F", "1/8 in", "3.3 mm", 0.191."""
    text = str(raw).strip()
    sizes = drill_sizes()
    match = re.fullmatch(r"(?:#|[Nn]o\.?\s*)(\d+)", text)
    name = f"#{match.group(1)}" if match else text.upper()
    if name in sizes:
        return sizes[name], name
    if match or re.fullmatch(r"[A-Za-z]", text):
        raise InputError(
            f'"{text}" is no drill of the number (#80 to #1) or letter (A to Z) series. {nearest(name, sizes)}'
        )
    diameter = parse_length(raw, units)
    if diameter <= 0:
        raise InputError(f'"{text}" is not a hole size; it must be more than 0')
    label = (
        text if isinstance(raw, str) and re.search(r"[A-Za-z\"″]", text) else format_length(diameter, units, unit=True)
    )
    return diameter, label


def drill_of(diameter: float, units: str) -> str:
    """The drill that makes a hole [mm], as the shop names it: fractions and numbers in inches, tenths in millimetres.

    Where there is none of this size within 0.005 mm, the size itself.

    >>> drill_of(4.7625, "in"), drill_of(3.2639, "in"), drill_of(6.4, "mm"), drill_of(4.7625, "mm"), drill_of(5.0, "in")
    ('3/16 in', '#30', '6.4 mm', '3/16 in', '0.197 in')
    """
    tenths = round(diameter * 10.0)
    if units == "mm" and abs(diameter * 10.0 - tenths) < 0.05:
        return f"{tenths / 10.0:g} mm"
    parts = round(diameter / 25.4 * 64.0)
    if parts and abs(diameter - parts * 25.4 / 64.0) < SAME_DRILL:
        return f"{_fraction(parts)} in"
    known = {label: mm for label, mm in drill_sizes().items() if abs(mm - diameter) < SAME_DRILL}
    return min(known, key=lambda label: abs(known[label] - diameter), default=format_length(diameter, units, unit=True))


def _fraction(parts: int) -> str:
    whole, rest = divmod(Fraction(parts, 64), 1)
    return " ".join(str(n) for n in (whole, rest) if n)


def usual_drills() -> tuple[Drill, ...]:
    """The drill table of a shop that states none."""
    return tuple(make_drill(rivet, pilot, final, "in") for rivet, pilot, final in USUAL_RIVETS)


def make_drill(fastener: str, pilot: str, final: str, units: str) -> Drill:
    """One row of a drill table."""
    pilot_mm, pilot_label = parse_drill(pilot, units)
    final_mm, final_label = parse_drill(final, units)
    return Drill(fastener, parse_length(fastener, units), pilot_mm, pilot_label, final_mm, final_label)


def drill_for(fastener: float, shop_drills: tuple[Drill, ...]) -> Drill:
    """The shop's row for a rivet or bolt size [mm]; InputError names the nearest."""
    for drill in shop_drills:
        if abs(drill.diameter - fastener) < 0.04:
            return drill
    known = ", ".join(drill.fastener for drill in shop_drills) or "none"
    raise InputError(
        said(
            "the shop's drill table has no row for a ",
            size(fastener),
            f" fastener; it has {known}; add a [[drill]] with this fastener to shop.toml, or give the hole its drill",
        )
    )
