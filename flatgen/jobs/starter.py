"""A first shop.toml and job.toml, commented, from a few answers; proved by making before they are kept.

``begin`` writes both files into a folder. The first part's radius is the smallest of the shop's nose bars at which the
trade's rules let the part be made; which one that is, the same checks tell that will read the files later.
"""

import json
import re
import tempfile
import tomllib
from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from flatgen.core.words import Units
from flatgen.errors import InputError, InputErrors
from flatgen.model.finding import Finding, Severity
from flatgen.model.shop import GUESSED_OF_A_BRAKE, GUESSED_OF_A_NOSE, NO_LIMIT
from flatgen.output.single import new_files
from flatgen.read.keys import Key
from flatgen.read.profile import Parameter, find_profile, load_profile
from flatgen.read.shop import BRAKE_KEYS, NOSE_KEYS, read_shop
from flatgen.tables.load import material
from flatgen.units import LENGTHS, parse_length
from flatgen.write.edits import GUESS
from flatgen.write.shop_file import edited

if TYPE_CHECKING:
    from tomlkit import TOMLDocument

BOOK = "shop-book.sqlite"
GUESSED_OF_A_JOB = ("title", "material", "thickness", "radius")
GUESSED_OF_A_SHOP: tuple[tuple[str | int, ...], ...] = (
    ("spoilage",),
    *(("brake", 0, key) for key in ("name", "length")),
    *(("brake", 0, "nose", k, key) for k in (0, 1) for key in ("name", "radius")),
    *(("tool", 0, key) for key in ("name", "method")),
    *(("sheet", 0, key) for key in ("material", "thickness", "length", "width", "margin")),
    ("printer", "paper"),
)


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
    fingers: tuple[str, ...] | None  # widths of the nose's segments; none: one solid bar; None: not said
    back_stop: bool
    cutting: str  # shear | router | snips
    sheets: tuple[FirstSheet, ...]
    paper: str
    profile: str
    part: str
    quantity: int
    spoiled: int  # of 100 pieces


@dataclass(frozen=True, slots=True)
class Begun:
    """What was written and what the checks say of it; ``kept`` are files that were there already."""

    written: tuple[Path, ...]
    kept: tuple[Path, ...]
    radius: str
    findings: tuple[Finding, ...]
    units: Units


def usual(units: Units) -> Wishes:
    """Answers for whoever has none yet: a 30 in brake, 0.040 in 6061-T6."""
    inches = units == "in"
    return Wishes(
        units=units,
        title="My first job",
        brake="hand brake",
        brake_length="30 in" if inches else "760 mm",
        noses=("1/8 in", "3/16 in") if inches else ("3.2 mm", "5 mm"),
        fingers=None,
        back_stop=True,
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
        spoiled=0,
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
    return Begun(tuple(written), kept, radius, findings, wishes.units)


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
    from flatgen.jobs.developed import developed
    from flatgen.jobs.loading import load

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
        "# examples/README.md lists every key.",
        f'units = "{u}"',
        f"book = {_text(BOOK)} # the shop's own test bends and measurements, made when the first is recorded",
        f"spoilage = {wishes.spoiled / 100:g} # share of pieces spoiled: a guess for spares, until 50 are entered",
        "",
        "[[brake]]",
        f"name = {_text(wishes.brake)}",
        f"length = {_length(wishes.brake_length, u)}",
        *_said(wishes),
        *_unmeasured(BRAKE_KEYS, GUESSED_OF_A_BRAKE, u, said=wishes.fingers is not None),
        "# capacity_thickness = " + _example("0.060 in", "1.5 mm", u) + " # thickest mild steel at full length",
        *(["# back_stop_reach = " + _example("12 in", "300 mm", u)] if wishes.back_stop else []),
        "# front_stop_reach = " + _example("6 in", "150 mm", u) + " # where a stop can be set in front of the bed",
    ]
    for nose in wishes.noses:
        lines += ["", "[[brake.nose]]", f"name = {_text('nose ' + nose)}", f"radius = {_length(nose, u)} # measured"]
        lines += _unmeasured(NOSE_KEYS, GUESSED_OF_A_NOSE, u)
    lines += ["", "[[tool]]", *_tool_lines(wishes.cutting, u)]
    for sheet, name in zip(wishes.sheets, _sheet_names(wishes.sheets), strict=True):
        lines += ["", *_sheet_lines(sheet, name, u)]
    lines += [
        "",
        "[printer]",
        f"paper = {_text(wishes.paper)}",
        '# measured_x = "100 mm" # what the 100 mm bar along the short side of a printed template measures',
        '# measured_y = "100 mm" # and the one along its long side',
    ]
    return "\n".join(lines) + "\n"


def _sheet_lines(sheet: FirstSheet, name: str, units: Units) -> list[str]:
    return [
        "[[sheet]]",
        f"id = {_text(name)}",
        f"material = {_text(sheet.material)}",
        f"thickness = {_length(sheet.thickness, units)} # nominal: it picks tables and stock",
        f"# measured = {_length(sheet.thickness, units)} # by micrometer: what parts are developed with",
        f"length = {_length(sheet.length, units)} # along the grain",
        f"width = {_length(sheet.width, units)} # across it",
        *_short_grain(sheet, units),
        f"margin = {_example('1/4 in', '6 mm', units)} # edge that no part may enter",
        "# copies = 1 # number on hand; as many as needed can be bought when left out",
        f"cost = {sheet.cost:g}" if sheet.cost is not None else "# cost = 100",
    ]


def _short_grain(sheet: FirstSheet, units: Units) -> list[str]:
    """The line that answers for a grain along the shorter side."""
    return ["short_grain = true # looked at on the metal"] if sheet.short_grain and grain_is_short(sheet, units) else []


def grain_is_short(sheet: FirstSheet, units: Units) -> bool:
    """Whether the grain would run along the shorter side."""
    return parse_length(sheet.length, units) < parse_length(sheet.width, units)


def _said(wishes: Wishes) -> list[str]:
    """What was told of the brake beside its length."""
    lines = [] if wishes.back_stop else ["back_stop = false"]
    if wishes.fingers is not None:
        widths = ", ".join(_length(width, wishes.units) for width in wishes.fingers)
        lines.append(f"fingers = [{widths}] # widths of the nose's segments; [] for one solid bar")
    return lines


def _unmeasured(keys: Iterable[Key], figures: Iterable[str], units: Units, *, said: bool = False) -> list[str]:
    """Figures that nobody was asked for, as comments with what is taken for them until they are measured.

    said : whether the fingers were told of
    """
    lines = ["# Not measured yet: a guess, which stops no part but asks. Measure yours, set it, take the # away."]
    for key in keys:
        if key.name not in figures or key.name in NO_LIMIT or (key.name == "fingers" and said):
            continue
        if key.kind == "angle":
            value = f"{key.default:g}"
        elif key.name == "fingers":
            value = f"[{_example('1 in', '25 mm', units)}]"
        elif key.default is None:
            value = _example("1 1/4 in", "32 mm", units)
        else:
            value = _text(f"{key.default / LENGTHS[units]:.3g} {units}")
        lines.append(f"# {key.name} = {value} # {key.explain}")
    return lines


def tool_of(cutting: str, units: Units) -> dict[str, Any]:
    """Keys of the tool that a first shop cuts with."""
    return tomllib.loads("\n".join(_tool_lines(cutting, units)))


def _tool_lines(cutting: str, units: Units) -> list[str]:
    if cutting == "shear":
        return [
            'name = "shear"',
            'method = "shear" # edge-to-edge cuts',
            "# longest_cut = " + _example("50 in", "1270 mm", units),
        ]
    lines = [f"name = {_text(cutting)}", 'method = "profile-cut" # true shapes']
    if cutting == "router":
        lines += [
            f"bit_diameter = {_example('1/4 in', '6 mm', units)}",
            f"gap = {_example('0.35 in', '9 mm', units)} # the bit and a web between two parts",
        ]
    else:
        lines.append(f"gap = {_example('1/8 in', '3 mm', units)} # between two parts")
    lines.append(
        f'# units = "{"mm" if units == "in" else "in"}" # of the files for whoever cuts; the job\'s when left out'
    )
    return lines


def begun_texts(units: Units, shop: Path) -> dict[str, str]:
    """shop.toml, where there is none yet, and a job.toml without parts: the usual answers, each marked as a guess."""
    wishes = usual(units)
    texts = {}
    if shop.exists():
        wishes = _of_shop(wishes, shop)
    else:
        texts[shop.name] = edited(shop_text(wishes), partial(_guessed, places=GUESSED_OF_A_SHOP))
    head = "\n".join(_job_head(wishes, wishes.noses[0])) + "\n"
    texts["job.toml"] = edited(head, partial(_guessed, places=tuple((key,) for key in GUESSED_OF_A_JOB)))
    return texts


def _guessed(document: "TOMLDocument", places: Iterable[tuple[str | int, ...]]) -> None:
    """Mark usual answers."""
    for place in places:
        value: Any = document
        for step in place:
            value = value[step]
        value.comment(GUESS.removeprefix("# "))


def _job_head(wishes: Wishes, radius: str) -> list[str]:
    sheet = wishes.sheets[0]
    return [
        "# What is to be made: each part a profile with its sizes. `flatgen profiles` lists the profiles.",
        f"title = {_text(wishes.title)}",
        f'units = "{wishes.units}" # of bare numbers here, and of what is printed',
        'shop = "shop.toml"',
        f"material = {_text(sheet.material)}",
        f"thickness = {_length(sheet.thickness, wishes.units)}",
        f"radius = {_length(radius, wishes.units)} # inside, as the drawing says; a part may give its own",
    ]


def job_text(wishes: Wishes, radius: str) -> str:
    """job.toml with one part of the profile, every parameter with what it means."""
    profile = load_profile(find_profile(wishes.profile))
    lines = [
        *_job_head(wishes, radius),
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
        f"# rivet = {_example('1/8 in', '3.2 mm', wishes.units)} # the shop's drill table gives the hole",
        f"# at = [[{_example('0.5 in', '12 mm', wishes.units)}, {_example('0.4 in', '10 mm', wishes.units)}]]",
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


def _example(inches: str, millimetres: str, units: Units) -> str:
    return _text(inches if units == "in" else millimetres)


def _sheet_names(sheets: tuple[FirstSheet, ...]) -> list[str]:
    """An id for each sheet, from alloy and thickness; numbered where two would be alike."""
    names: list[str] = []
    for sheet in sheets:
        name = f"{sheet.material} {sheet.thickness}"
        count = sum(other == name or other.startswith(f"{name} (") for other in names)
        names.append(f"{name} ({count + 1})" if count else name)
    return names
