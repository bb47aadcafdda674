"""A first shop.toml and job.toml, commented, from a few answers; proved by making before they are kept.

``begin`` writes both files into a folder. The first part's radius is the smallest of the shop's nose bars at which the
trade's rules let the part be made; which one that is, the same checks tell that will read the files later.
"""

import json
import math
import re
import tempfile
from dataclasses import dataclass, replace
from pathlib import Path

from flatgen.errors import InputError, InputErrors
from flatgen.model.finding import Finding, Severity
from flatgen.output.single import new_files
from flatgen.read.profile import Parameter, find_profile, load_profile
from flatgen.read.shop import read_shop
from flatgen.tables.load import material
from flatgen.units import LENGTHS, Units, parse_length

BOOK = "shop-book.sqlite"
# segments of a small box-and-pan brake's nose, together as long as its beam (common practice, no source)
FINGERS: dict[Units, tuple[str, ...]] = {
    "in": ("1", "1", "1 1/4", "1 1/4", "1 1/2", "2", "3", "4", "5", "5", "5"),
    "mm": ("25", "25", "32", "32", "40", "50", "75", "100", "125", "125", "125"),
}


@dataclass(frozen=True, slots=True)
class FirstSheet:
    """A size of sheet, lengths as the person wrote them: ``length`` along the grain, ``width`` across it."""

    material: str
    thickness: str
    length: str
    width: str
    cost: float | None = None
    short_grain: bool = False  # that it runs along the shorter side was said


@dataclass(frozen=True, slots=True)
class Wishes:
    """What was answered; lengths as the person wrote them, bare numbers in ``units``."""

    units: Units
    title: str
    brake: str
    brake_length: str
    noses: tuple[str, ...]
    fingers: tuple[str, ...]  # widths of the nose's segments; none: one solid bar
    cutting: str  # shear | router | snips
    sheets: tuple[FirstSheet, ...]
    paper: str
    profile: str
    part: str
    quantity: int


@dataclass(frozen=True, slots=True)
class Begun:
    """What was written and what the checks say of it; ``kept`` are files that were there already."""

    written: tuple[Path, ...]
    kept: tuple[Path, ...]
    radius: str
    findings: tuple[Finding, ...]


def usual(units: Units) -> Wishes:
    """Answers for whoever has none yet: a 30 in box-and-pan brake, 0.040 in 6061-T6."""
    inches = units == "in"
    return Wishes(
        units=units,
        title="My first job",
        brake="hand brake",
        brake_length="30 in" if inches else "760 mm",
        noses=("1/8 in", "3/16 in") if inches else ("3.2 mm", "5 mm"),
        fingers=tuple(f"{w} {units}" for w in FINGERS[units]),
        cutting="shear",
        sheets=(
            FirstSheet("6061-T6", "0.040 in", "48 in", "24 in")
            if inches
            else FirstSheet("6061-T6", "1 mm", "1250 mm", "625 mm"),
        ),
        paper="letter" if inches else "a4",
        profile="angle",
        part="CLIP-1",
        quantity=4,
    )


def read_sheet(text: str, units: Units) -> FirstSheet:
    """A sheet from "alloy, thickness, length, width" and, at will, a price.

    Raises InputError for what cannot be read; the sentence says which of the values.
    """
    words = [word.strip() for word in text.split(",")]
    if len(words) not in (4, 5):
        wanted = f"alloy, thickness, length along the grain, width, as {_sheet_example(units)}"
        raise InputError(f'"{text}" is not a sheet; write {wanted}')
    alloy, *sizes = words[:4]
    material(alloy)
    for size in sizes:
        positive(size, units)
    cost = None
    if len(words) == 5:
        try:
            cost = float(words[4])
        except ValueError:
            raise InputError(f'"{words[4]}" is not a price; write a number') from None
    return FirstSheet(alloy, sizes[0], sizes[1], sizes[2], cost)


def _sheet_example(units: Units) -> str:
    return "6061-T6, 0.040, 48, 24" if units == "in" else "6061-T6, 1, 1250, 625"


def positive(text: str, units: Units) -> float:
    """A length above nothing [mm]."""
    value = parse_length(text, units)
    if value <= 0:
        raise InputError(f'"{text}" is too small; it must be more than 0')
    return value


def fitting(fingers: tuple[str, ...], length: str, units: Units) -> tuple[str, ...]:
    """The first of these fingers that a brake of this length has room for."""
    widths = [parse_length(finger, units) for finger in fingers]
    room = parse_length(length, units)
    return tuple(one for k, one in enumerate(fingers) if math.fsum(widths[: k + 1]) <= room + 1e-6)


def begin(folder: Path, wishes: Wishes) -> Begun:
    """Write shop.toml and job.toml into a folder, both or neither; a shop that is there already is kept and used.

    Raises InputError when there is a job.toml already, and for answers that the reader of the files refuses.
    """
    job, shop = folder / "job.toml", folder / "shop.toml"
    if job.exists():
        raise InputError("there is a job here already; name another folder, or take that file away first", file=job)
    kept = (shop,) if shop.exists() else ()
    if kept:
        wishes = _of_shop(wishes, shop)
    radius, findings = _proved(wishes, shop.read_text(encoding="utf-8") if kept else shop_text(wishes))
    texts = {shop: shop_text(wishes), job: job_text(wishes, radius)}
    written = {path: text for path, text in texts.items() if path not in kept}
    new_files(written)
    return Begun(tuple(written), kept, radius, findings)


def _of_shop(wishes: Wishes, path: Path) -> Wishes:
    """The wishes with units, nose bars and first sheet of a shop that is there."""
    shop = read_shop(path)
    units = shop.units

    def written(mm: float) -> str:
        return f"{mm / LENGTHS[units]:.6g} {units}"

    sheets = tuple(
        FirstSheet(s.material, written(s.thickness), written(s.width), written(s.height)) for s in shop.sheets[:1]
    )
    noses = tuple(written(nose.radius) for nose in shop.brake().noses)
    return replace(wishes, units=units, noses=noses, sheets=sheets or usual(units).sheets)


def _proved(wishes: Wishes, shop: str) -> tuple[str, tuple[Finding, ...]]:
    """The smallest nose radius that the tables of least radii leave in peace, else the smallest that may be made at
    all, else the largest; and what the checks say of it."""
    from flatgen.make import developed, load

    noses = sorted(set(wishes.noses), key=lambda text: parse_length(text, wishes.units))
    tried: list[tuple[str, tuple[Finding, ...]]] = []
    with tempfile.TemporaryDirectory() as name:
        trial = Path(name)
        (trial / "shop.toml").write_text(shop, encoding="utf-8")
        for radius in noses:
            (trial / "job.toml").write_text(job_text(wishes, radius), encoding="utf-8")
            try:
                parts, _ = developed(load(trial / "job.toml"))
            except InputError as error:
                raise _as_if_kept(error) from None
            findings = tuple(f for made in parts for f in made.findings if made.part.kind == "part")
            tried.append((radius, findings))
    asked = ("minimum-radius", "grain-along-bend")
    for wanted in (lambda f: f.stops or (f.rule in asked and f.severity is Severity.WARN), lambda f: f.stops):
        for radius, findings in tried:
            if not any(wanted(f) for f in findings):
                return radius, findings
    return tried[-1]


def _as_if_kept(error: InputError) -> InputError:
    """An error in files that the person has not seen yet, told without their places."""
    errors = error.errors if isinstance(error, InputErrors) else (error,)
    told = [InputError(e.message, where=e.where) for e in errors]
    return told[0] if len(told) == 1 else InputErrors(told)


def shop_text(wishes: Wishes) -> str:
    """shop.toml with what was answered, and the other keys of most use as comments."""
    u = wishes.units
    lines = [
        '# What the shop has. Lengths as you write them: "1/8 in", "3.2 mm", "4 ft"; a bare number is in units.',
        "# The README's file reference lists every key.",
        f'units = "{u}"',
        f"book = {_text(BOOK)} # the shop's own test bends and measurements, made when the first is recorded",
        "",
        "[[brake]]",
        f"name = {_text(wishes.brake)}",
        f"length = {_length(wishes.brake_length, u)}",
        *_jaw_lines(wishes.fingers, u),
        "# largest_angle = 120 # leaf travel from flat",
        "# capacity_thickness = " + _guess("0.060 in", "1.5 mm", u) + " # thickest mild steel at full length",
        "# back_stop_reach = " + _guess("12 in", "300 mm", u),
    ]
    for nose in wishes.noses:
        lines += ["", "[[brake.nose]]", f"name = {_text('nose ' + nose)}", f"radius = {_length(nose, u)} # measured"]
        if wishes.fingers:
            lines += [
                f"depth = {_guess('7/8 in', '22 mm', u)} # of a finger's foot, from its tip backward",
                f"height = {_guess('2 1/4 in', '57 mm', u)} # of a finger under the beam",
            ]
    lines += ["", "[[tool]]", *_tool_lines(wishes.cutting, u)]
    for sheet, name in zip(wishes.sheets, _sheet_names(wishes.sheets), strict=True):
        lines += [
            "",
            "[[sheet]]",
            f"id = {_text(name)}",
            f"material = {_text(sheet.material)}",
            f"thickness = {_length(sheet.thickness, u)} # nominal: it picks tables and stock",
            f"# measured = {_length(sheet.thickness, u)} # by micrometer: what parts are developed with",
            f"length = {_length(sheet.length, u)} # along the grain",
            f"width = {_length(sheet.width, u)} # across it",
            *_short_grain(sheet, u),
            f"margin = {_guess('1/4 in', '6 mm', u)} # edge that no part may enter",
            "# copies = 1 # number on hand; as many as needed can be bought when left out",
            f"cost = {sheet.cost:g}" if sheet.cost is not None else "# cost = 100",
        ]
    lines += [
        "",
        "[printer]",
        f"paper = {_text(wishes.paper)}",
        '# measured_x = "100 mm" # what the 100 mm bar along the short side of a printed template measures',
        '# measured_y = "100 mm" # and the one along its long side',
    ]
    return "\n".join(lines) + "\n"


def _short_grain(sheet: FirstSheet, units: Units) -> list[str]:
    """The line that answers for a grain along the shorter side."""
    return ["short_grain = true # looked at on the metal"] if sheet.short_grain and grain_is_short(sheet, units) else []


def grain_is_short(sheet: FirstSheet, units: Units) -> bool:
    """Whether the grain would run along the shorter side."""
    return parse_length(sheet.length, units) < parse_length(sheet.width, units)


def _jaw_lines(fingers: tuple[str, ...], units: Units) -> list[str]:
    """What bounds the room about a bend: stated for a nose in fingers, left to the usual ones for a solid bar."""
    land = f"leaf_land = {_guess('3/8 in', '10 mm', units) if fingers else _guess('1/2 in', '12 mm', units)}"
    land += " # width of the leaf's face: measure yours"
    if not fingers:
        return [f"# {land}", f"# fingers = [{_guess('1 in', '25 mm', units)}] # widths, where the nose is in segments"]
    widths = ", ".join(_length(width, units) for width in fingers)
    return [
        "# widths of the nose's segments; take the next line away where it is one solid bar",
        f"fingers = [{widths}]",
        land,
        f"largest_opening = {_guess('1 1/2 in', '38 mm', units)} # between nose and bed when lifted",
        f"beam_depth = {_guess('2 1/2 in', '64 mm', units)} # of the beam over the nose, from the nose tip backward",
    ]


def _tool_lines(cutting: str, units: Units) -> list[str]:
    if cutting == "shear":
        return [
            'name = "shear"',
            'method = "shear" # edge-to-edge cuts',
            "# longest_cut = " + _guess("50 in", "1270 mm", units),
        ]
    lines = [f"name = {_text(cutting)}", 'method = "profile-cut" # true shapes']
    if cutting == "router":
        lines += [
            f"bit_diameter = {_guess('1/4 in', '6 mm', units)}",
            f"gap = {_guess('0.35 in', '9 mm', units)} # the bit and a web between two parts",
        ]
    else:
        lines.append(f"gap = {_guess('1/8 in', '3 mm', units)} # between two parts")
    return lines


def job_text(wishes: Wishes, radius: str) -> str:
    """job.toml with one part of the profile, every parameter with what it means."""
    profile = load_profile(find_profile(wishes.profile))
    sheet = wishes.sheets[0]
    lines = [
        "# What is to be made: each part a profile with its sizes. `flatgen profiles` lists the profiles.",
        f"title = {_text(wishes.title)}",
        f'units = "{wishes.units}" # of bare numbers here, and of what is printed',
        'shop = "shop.toml"',
        f"material = {_text(sheet.material)}",
        f"thickness = {_length(sheet.thickness, wishes.units)}",
        f"radius = {_length(radius, wishes.units)} # inside, as the drawing says; a part may give its own",
        "",
        f"# {profile.values['summary'] or profile.values['title']}",
        "# Sizes go to the outside mould line: where the outer faces would meet without a radius.",
        "[[part]]",
        f"id = {_text(wishes.part)}",
        f"profile = {_text(wishes.profile)}",
        f"quantity = {wishes.quantity}",
    ]
    for parameter in profile.parameters.values():
        note = f" # {parameter.explain}" if parameter.explain else ""
        lines.append(f"{parameter.name} = {_value(parameter, wishes.units)}{note}")
    face = profile.values["base"]
    lines += [
        "",
        "# Holes: take the # away and set the places, in the axes of the face.",
        "# [[part.holes]]",
        f"# face = {_text(face)}",
        f"# rivet = {_guess('1/8 in', '3.2 mm', wishes.units)} # the shop's drill table gives the hole",
        f"# at = [[{_guess('0.5 in', '12 mm', wishes.units)}, {_guess('0.4 in', '10 mm', wishes.units)}]]",
    ]
    return "\n".join(lines) + "\n"


def _value(parameter: Parameter, units: Units) -> str:
    value = parameter.default
    if isinstance(value, dict):
        value = value.get(units, next(iter(value.values()), None))
    return _text(value) if isinstance(value, str) else json.dumps(value)


def _text(text: str) -> str:
    """A TOML string; its escapes are those of JSON, and DEL."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def _length(text: str, units: Units) -> str:
    """A length as it was written, with its unit."""
    return _text(f"{text} {units}" if re.fullmatch(r"[\d\s./+-]+", text) else text)


def _guess(inches: str, millimetres: str, units: Units) -> str:
    return _text(inches if units == "in" else millimetres)


def _sheet_names(sheets: tuple[FirstSheet, ...]) -> list[str]:
    """An id for each sheet, from alloy and thickness; numbered where two would be alike."""
    names: list[str] = []
    for sheet in sheets:
        name = f"{sheet.material} {sheet.thickness}"
        count = sum(other == name or other.startswith(f"{name} (") for other in names)
        names.append(f"{name} ({count + 1})" if count else name)
    return names
