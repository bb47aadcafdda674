"""One [[part]] entry of a job to its parts: one, a pair of hands, or one a row of its table of sizes."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Literal

from flatgen.core.nominal import rounder
from flatgen.develop.methods import METHODS
from flatgen.errors import InputError, InputErrors, nearest
from flatgen.model.material import Material
from flatgen.model.part import Hand, Part, Tolerance
from flatgen.model.shop import Shop
from flatgen.read.build import build_part
from flatgen.read.builder import Order
from flatgen.read.features import FEATURE_LISTS, FEATURES
from flatgen.read.fits import read_fits
from flatgen.read.keys import Key, Table, TomlFile
from flatgen.read.parameters import fill_scope
from flatgen.read.profile import Profile, find_profile, load_profile, units_must_be_said
from flatgen.read.shop import check_measured
from flatgen.read.sizes import SizeRow, SizeTable, read_sizes
from flatgen.said import within
from flatgen.tables.load import material, materials

MOST_PIECES = 100_000
LONGEST_ID = 60  # characters that a title block and a file name take
HANDS = ("none", "left", "right", "pair")
PROCESSES = ("one by one", "side by side", "long", "wide")
PROCESS = (
    "one by one; side by side, several in a clamping; long: bent in lengths that hold several, then sawn; wide: its"
    " narrow flanges bent wider, then ripped"
)
PART_KEYS = (
    Key("id", "text", "part number", required=True),
    Key("profile", "text", "profile of the library or of the job", required=True),
    Key("quantity", "count", "pieces wanted; of each hand for a pair", required=True, least=1, most=MOST_PIECES),
    Key("title", "text", "what the part is called", ""),
    Key("hand", "choice", "the description is the left hand; pair makes both", "none", choices=HANDS),
    Key("material", "text", "alloy and temper", ""),
    Key("thickness", "length", "nominal thickness: it picks tables and stock", least=0.1, most=13.0),
    Key("measured", "length", "thickness by micrometer, where the sheet has none of its own", least=0.1, most=13.0),
    Key("radius", "length", "inside radius on the drawing", least=0.0, most=100.0),
    Key("allowance", "text", "method of bend allowance", ""),
    Key("neutral_axis_ratio", "number", "for the neutral-axis method", least=0.0, most=0.6),
    Key("deduction", "length", "bend deduction to be used as it is"),
    Key("grain", "size", "rolling direction in the base face, in place of the profile's"),
    Key("tool", "text", "cutting tool", ""),
    Key("drawing", "text", "drawing number", ""),
    Key("revision", "text", "revision of the drawing", ""),
    Key("mark", "text", "what is written on the part; its id when left out", ""),
    Key("notes", "texts", "notes printed on its drawing", ()),
    Key("tolerance", "table", "tolerances of the drawing, ±", {}),
    Key("sizes", "text", "table of sizes (CSV), one part a row", ""),
    Key(
        "marked",
        "choice",
        "side that must come out as described: clad on one side, countersunk, lettered",
        "",
        choices=("", "upper", "lower"),
    ),
    Key("process", "choice", f"the job's when left out; {PROCESS}", "", choices=("", *PROCESSES)),
    Key("turn_over", "flag", "its blank may be laid other side up in a nest, where that saves metal", False),
    Key("fits", "tables", "faces that go over or into a face of another part, with the clearance", []),
    *FEATURE_LISTS,
)
TOLERANCE_KEYS = (
    Key(
        "class",
        "choice",
        "class of ISO 2768-1, by the size of what is measured; the keys below go before it",
        "",
        choices=("", "fine", "medium", "coarse", "very coarse"),
    ),
    Key("length", "length", "of a flange or web", least=0.0),
    Key("angle", "angle", "of a bend", least=0.0),
    Key("hole", "length", "of a hole's place", least=0.0),
)
# keys of a part that the job may give for all of them
DEFAULTED = ("material", "thickness", "measured", "radius", "allowance", "tool", "drawing", "revision", "process")
TAKEN_OVER = (
    "grain",
    "drawing",
    "revision",
    "neutral_axis_ratio",
    "deduction",
    "marked",
    "turn_over",
    "process",
    "measured",
)
RESERVED = frozenset(key.name for key in PART_KEYS)
FROM_CSV = ("sizes", "profile", *FEATURES, "tolerance", "notes", "fits")


@dataclass(frozen=True, slots=True)
class Context:
    """What every part of one job shares while it is read."""

    file: TomlFile
    folder: Path
    units: str
    shop: Shop
    values: dict[str, Any]
    own: dict[str, Material]


@dataclass(frozen=True, slots=True)
class Entry:
    """One part to be built: its table of keys, its profile, its id, the table of sizes that it is a row of."""

    table: Table
    profile: Profile
    id: str
    family: str = ""


@dataclass(frozen=True, slots=True)
class Made:
    """What an entry came to: the part as described, its hands, the cutting tool and the allowance method."""

    part: Part
    hands: tuple[Part, ...]
    tool: str
    allowance: str


def note(file: TomlFile, error: InputError, at: tuple[str | int, ...], part: str = "") -> None:
    """Keep an error in the list; one that does not know its place yet is given it."""
    units = file.data.get("units", "in")
    if isinstance(error, InputErrors):
        for one in error.errors:
            file.keep(one)
    elif error.file is None:
        where = ", ".join(w for w in (f'part "{part}"' if part else "", error.where) if w)
        file.keep(InputError(within(error.message, units), file=file.path, line=file.line_of(at), where=where))
    else:
        message = within(error.message, units)
        file.keep(InputError(message, file=error.file, line=error.line, where=error.where))


def entries(context: Context, k: int, data: dict[str, Any], extra_files: list[Path]) -> list[Entry]:
    """Entries of one [[part]] table: itself, or one a row of its table of sizes; errors are noted."""
    file = context.file
    part_id = str(data.get("id", f"{k + 1}"))
    table = Table(file, data, ("part", k), context.units, f'part "{part_id}"')
    if "profile" not in data:
        table.read(PART_KEYS)
        return []
    try:
        profile = load_profile(find_profile(str(data["profile"]), context.folder))
        units_must_be_said(profile, context.units)
    except InputError as error:
        note(file, error, ("part", k, "profile"), part_id)
        return []
    if "sizes" not in data:
        return [Entry(table, profile, part_id)]
    try:
        sizes = read_sizes(context.folder / str(data["sizes"]), context.units)
    except InputError as error:
        if error.line is None:  # of the table as a whole: the entry that names it is to be looked at
            error = InputError(f"{error.file}: {error.message}" if error.file else error.message, where="sizes")
        note(file, error, ("part", k, "sizes"), part_id)
        return []
    extra_files.append(sizes.path)
    found = []
    for row in sizes.rows:
        row_table = _row_table(context, data, sizes, row, profile)
        if row_table is not None:
            found.append(Entry(row_table, profile, row.cells["id"], f"part {k + 1}: {data['sizes']}"))
    return found


def _row_table(
    context: Context, data: dict[str, Any], sizes: SizeTable, row: SizeRow, profile: Profile
) -> Table | None:
    """One row of a table of sizes as if it were an entry of the job: its cells over what the entry says."""
    line, cells = row.line, row.cells
    known = [key.name for key in PART_KEYS if key.name not in FROM_CSV] + list(profile.parameters)
    for name in cells:
        if name not in known:
            message = f'there is no key or parameter "{name}". {nearest(name, known)}'
            where = f'column "{name}"'
            # once a column, not once a row
            if not any(error.file == sizes.path and error.where == where for error in context.file.errors):
                context.file.keep(InputError(message, file=sizes.path, line=line, where=where))
            return None
    merged = {key: value for key, value in data.items() if key not in ("sizes", "id")} | cells
    if "id" not in cells:
        context.file.keep(InputError('the cell "id" is empty', file=sizes.path, line=line))
        return None
    for name in profile.parameters:
        if name in sizes.columns and name not in merged:
            message = "the cell is empty; write the size, or one for all such rows in the [[part]] of the job"
            where = f'part "{cells["id"]}", column "{name}"'
            context.file.keep(InputError(message, file=sizes.path, line=line, where=where))
            return None
    source = TomlFile(sizes.path, "", merged, context.file.errors, row=line)
    return Table(source, merged, (), context.units, f'part "{cells["id"]}"', sizes.decimal_comma)


def make_parts(context: Context, entry: Entry, built: Mapping[str, Part], to_come: frozenset[str]) -> Made | None:
    """Parts of one entry; None when something was wrong and noted. WaitsFor when it refers to a part to come."""
    table, profile = entry.table, entry.profile
    before = len(table.file.errors)
    known = profile.parameters
    values = table.read(PART_KEYS, known)
    if len(table.file.errors) == before:
        _check_own(table, values)
    if len(table.file.errors) > before:
        return None
    values = _with_defaults(context, table, values)
    tolerance = _tolerance(context, table, values["tolerance"])
    alloy = _material(context, table, values["material"])
    if alloy is not None and len(table.file.errors) == before:
        check_measured(table, values)
    if alloy is None or len(table.file.errors) > before:
        return None
    nominal, metal = _thickness(context.shop, alloy, values["thickness"], values["measured"])
    scope = fill_scope(profile, table, context.units, metal, values["radius"], RESERVED)
    given = tuple((name, str(table.data[name])) for name in known if name in table.data)
    extras: dict[str, Any] = {key: values[key] for key in TAKEN_OVER} | {
        "notes": (*context.values["notes"], *values["notes"]),
        "mark": values["mark"] or values["id"],
        "tolerance": tolerance,
        "family": entry.family,
        "nominal": nominal,
        "parameters": given,
    }
    named = (values["id"], values["title"], values["quantity"])
    shop, units = context.shop, context.units
    order = Order(*named, alloy, metal, values["radius"], units, shop, table, extras, built, to_come)
    part = build_part(profile, order, scope)
    part = replace(part, fits=read_fits(part, table, values["fits"], built, to_come))
    return Made(part, tuple(_hands(part, values["hand"])), values["tool"], values["allowance"])


def _check_own(table: Table, values: dict[str, Any]) -> None:
    """Complain of a part number that cannot be one, and of a marked blank that may be turned over."""
    name = values["id"]
    if not name.strip() or not name.isprintable():
        table.complain(f"{name!r} is no part number; it needs at least one printable character", "id")
    elif len(name) > LONGEST_ID:
        table.complain(f"a part number of {len(name)} characters is too long; at most {LONGEST_ID}", "id")
    elif values["turn_over"] and values["marked"]:
        message = f"a blank whose {values['marked']} side is marked cannot be turned over; leave one of the two out"
        table.complain(message, "turn_over")


def _hands(part: Part, hand: Hand | Literal["pair"]) -> list[Part]:
    """The part as its left or right hand, or both."""
    if hand != "pair":
        return [replace(part, hand=hand)]
    both: tuple[tuple[str, Hand], ...] = (("L", "left"), ("R", "right"))
    return [replace(part, id=f"{part.id}-{letter}", mark=f"{part.mark}-{letter}", hand=name) for letter, name in both]


def _with_defaults(context: Context, table: Table, values: dict[str, Any]) -> dict[str, Any]:
    """Values of a part with what the job says for parts that name none."""
    filled = dict(values)
    for key in DEFAULTED:
        if filled[key] in (None, ""):
            filled[key] = context.values[key]
    for key in ("material", "thickness", "radius"):
        if filled[key] in (None, ""):
            explain = next(k.explain for k in PART_KEYS if k.name == key)
            table.complain(f"this key is missing, on the part or for the whole job: {explain}", key)
    filled["allowance"] = filled["allowance"] or context.shop.allowance
    tools = [tool.name for tool in context.shop.tools]
    filled["tool"] = filled["tool"] or tools[0]
    if filled["tool"] not in tools:
        table.complain(f'the shop has no cutting tool "{filled["tool"]}". {nearest(filled["tool"], tools)}', "tool")
    if filled["allowance"] not in METHODS:
        table.complain(
            f'there is no allowance method "{filled["allowance"]}". {nearest(filled["allowance"], METHODS.names())}',
            "allowance",
        )
    return filled


def _material(context: Context, table: Table, name: str) -> Material | None:
    if name in context.own:
        return context.own[name]
    try:
        return material(name) if name else None
    except InputError:
        known = [*materials(), *context.own]
        table.complain(f'there is no material "{name}". {nearest(name, known)}', "material")
        return None


def _thickness(shop: Shop, alloy: Material, written: float, measured: float | None) -> tuple[float, float]:
    """Nominal thickness of a part and the one to develop it with: measured of its sheet, else of itself, else written.

    Where part and sheet give two figures for one nominal size, the rounder is the nominal one.
    """
    sheets = [sheet for sheet in shop.sheets if sheet.is_of(alloy.key, written)]
    near = min((sheet.thickness for sheet in sheets), key=lambda t: abs(t - written), default=written)
    return rounder(written, near), next(
        (found for found in (*(sheet.measured for sheet in sheets), measured) if found is not None), written
    )


def _tolerance(context: Context, table: Table, data: dict[str, Any]) -> Tolerance | None:
    values = table.child("tolerance", data).read(TOLERANCE_KEYS)
    if not data:
        return None
    usual = context.shop.tolerances
    return Tolerance(
        usual.length if values["length"] is None else values["length"],
        usual.angle if values["angle"] is None else values["angle"],
        usual.hole if values["hole"] is None else values["hole"],
        general=values["class"],
        stated=tuple(key for key in ("length", "angle", "hole") if values[key] is not None),
    )
