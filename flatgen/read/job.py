"""job.toml and its tables of sizes to a Job: every part built from its profile, every error in one list."""

import hashlib
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from flatgen.develop.methods import METHODS
from flatgen.errors import InputError, nearest
from flatgen.model.job import Job, Waiver
from flatgen.model.material import Material
from flatgen.model.part import Part, Tolerance
from flatgen.model.shop import Shop
from flatgen.read.build import Order, build_part
from flatgen.read.keys import Key, Table, TomlFile, open_toml
from flatgen.read.parameters import fill_scope
from flatgen.read.profile import FEATURES, Profile, find_profile, load_profile
from flatgen.read.shop import read_shop
from flatgen.read.sizes import SizeRow, SizeTable, read_sizes
from flatgen.tables.load import material, material_from_table, materials

MOST_PIECES = 100_000
HANDS = ("none", "left", "right", "pair")
JOB_KEYS = (
    Key("title", "text", "what the job is", required=True),
    Key("units", "choice", "unit of bare numbers, and the one shown on sheets", "in", choices=("in", "mm")),
    Key("shop", "text", "shop file, beside this one", "shop.toml"),
    Key("owner", "text", "whose drawings these are, for the title block", ""),
    Key("notes", "texts", "notes printed on every drawing", ()),
    Key("material", "text", "alloy and temper of parts that name none", ""),
    Key("thickness", "length", "thickness of parts that name none", least=0.1, most=13.0),
    Key("radius", "length", "inside radius of parts that name none", least=0.0, most=100.0),
    Key("allowance", "text", "method of bend allowance of parts that name none", ""),
    Key("tool", "text", "cutting tool of parts that name none", ""),
    Key("drawing", "text", "drawing number of parts that name none", ""),
    Key("revision", "text", "revision of parts that name none", ""),
    Key("coupons", "flag", "nest the test bends that the shop has no record of with the parts", True),
    Key("alloy", "table", "materials of the job's own, by name", {}),
    Key("part", "tables", "the parts", required=True),
    Key("waive", "tables", "findings that are accepted, with the reason", []),
)
PART_KEYS = (
    Key("id", "text", "part number", required=True),
    Key("profile", "text", "profile of the library or of the job", required=True),
    Key("quantity", "count", "pieces wanted; of each hand for a pair", required=True, least=1, most=MOST_PIECES),
    Key("title", "text", "what the part is called", ""),
    Key("hand", "choice", "the description is the left hand; pair makes both", "none", choices=HANDS),
    Key("material", "text", "alloy and temper", ""),
    Key("thickness", "length", "measured thickness", least=0.1, most=13.0),
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
    Key("corner", "tables", "corners rounded or clipped one by one", []),
    Key("holes", "tables", "hole patterns", []),
    Key("opening", "tables", "cut-outs, slots, lightening holes and notches", []),
    Key("relief", "tables", "relief cuts at bend ends", []),
)
TOLERANCE_KEYS = (
    Key("length", "length", "of a flange or web", least=0.0),
    Key("angle", "angle", "of a bend", least=0.0),
    Key("hole", "length", "of a hole's place", least=0.0),
)
WAIVE_KEYS = (
    Key("rule", "text", "name of the rule", required=True),
    Key("part", "text", "part number", required=True),
    Key("where", "text", "place on the part; everywhere when left out", ""),
    Key("reason", "text", "why it is accepted, and who says so", required=True),
)
RESERVED = frozenset(key.name for key in PART_KEYS)
FROM_CSV = ("sizes", "profile", *FEATURES, "tolerance", "notes")


@dataclass(frozen=True, slots=True)
class _Context:
    """What every part of one job shares while it is read."""

    file: TomlFile
    folder: Path
    units: str
    shop: Shop
    values: dict[str, Any]
    own: dict[str, Material]


def read_job(path: Path) -> Job:
    """The job of a file; InputError (or several in one) names file, line, part and key."""
    file = open_toml(path)
    units = file.data.get("units", "in")
    head = Table(file, file.data, (), units if units in ("in", "mm") else "in")
    values = head.read(JOB_KEYS)
    file.check()
    shop = read_shop(path.parent / values["shop"])
    own = _own_materials(head, values["alloy"])
    context = _Context(file, path.parent, values["units"], shop, values, own)
    parts: list[Part] = []
    cutting: list[tuple[str, str]] = []
    allowance: list[tuple[str, str]] = []
    extra_files: list[Path] = []
    for k, data in enumerate(values["part"]):
        for made, tool, method in _read_entry(context, k, data, extra_files):
            if any(part.id == made.id for part in parts):
                _note(file, InputError("this id is used twice; give each part its own"), ("part", k, "id"), made.id)
                continue
            parts.append(made)
            cutting.append((made.id, tool))
            allowance.append((made.id, method))
    waivers = _waivers(head, values["waive"], [part.id for part in parts])
    file.check()
    if not parts:
        raise InputError("the job has no parts; write each as [[part]] with its keys below", file=path)
    return Job(
        title=values["title"],
        units=values["units"],
        shop=shop,
        parts=tuple(parts),
        waivers=waivers,
        file=path,
        cutting=tuple(cutting),
        digest=_digest(path, parts, shop, extra_files),
        drawing_owner=values["owner"],
        notes=values["notes"],
        allowance=tuple(allowance),
        coupons=values["coupons"],
    )


def _digest(path: Path, parts: list[Part], shop: Shop, extra: list[Path]) -> str:
    """SHA-256 over every file that the job is made of, in reading order."""
    total = hashlib.sha256()
    names = [find_profile(p.profile, path.parent) for p in parts]
    for file in dict.fromkeys([path, Path(shop.file), *names, *extra]):
        total.update(file.read_bytes())
    return total.hexdigest()


def _note(file: TomlFile, error: InputError, at: tuple[str | int, ...], part: str = "") -> None:
    """Keep an error in the list; one that does not know its place yet is given it."""
    if error.file is None:
        where = ", ".join(w for w in (f'part "{part}"' if part else "", error.where) if w)
        error = InputError(error.message, file=file.path, line=file.line_of(at), where=where)
    file.errors.append(error)


def _own_materials(head: Table, tables: dict[str, Any]) -> dict[str, Material]:
    own = {}
    for name, data in tables.items():
        try:
            if not isinstance(data, dict):
                raise InputError(f"{data!r} is not a table; write it as [alloy.{name}] with its keys below")
            line = head.file.line_of(("alloy", name))
            own[name] = material_from_table(name, data, known=materials(), file=str(head.file.path), line=line)
        except InputError as error:
            _note(head.file, error, ("alloy", name))
    return own


def _read_entry(
    context: _Context, k: int, data: dict[str, Any], extra_files: list[Path]
) -> list[tuple[Part, str, str]]:
    """Parts of one [[part]] entry: one, a pair of hands, or one a row of its table of sizes."""
    file = context.file
    part_id = str(data.get("id", f"{k + 1}"))
    try:
        profile = (
            load_profile(find_profile(str(data.get("profile", "")), context.folder)) if "profile" in data else None
        )
    except InputError as error:
        _note(file, error, ("part", k, "profile"), part_id)
        return []
    if "sizes" not in data or profile is None:
        table = Table(file, data, ("part", k), context.units, f'part "{part_id}"')
        return _guarded(context, table, profile, part_id)
    try:
        sizes = read_sizes(context.folder / str(data["sizes"]), context.units)
    except InputError as error:
        _note(file, error, ("part", k, "sizes"))
        return []
    extra_files.append(sizes.path)
    found = []
    for row in sizes.rows:
        row_table = _row_table(context, data, sizes, row, profile)
        if row_table is not None:
            found += _guarded(context, row_table, profile, row.cells.get("id", f"row {row.line}"))
    return found


def _row_table(
    context: _Context, data: dict[str, Any], sizes: SizeTable, row: SizeRow, profile: Profile
) -> Table | None:
    """One row of a table of sizes as if it were an entry of the job: its cells over what the entry says."""
    line, cells = row.line, row.cells
    known = [key.name for key in PART_KEYS if key.name not in FROM_CSV] + list(profile.parameters)
    for name in cells:
        if name not in known:
            message = f'there is no key or parameter "{name}". {nearest(name, known)}'
            context.file.errors.append(InputError(message, file=sizes.path, line=line, where=f'column "{name}"'))
            return None
    merged = {key: value for key, value in data.items() if key not in ("sizes", "id")} | cells
    if "id" not in cells:
        context.file.errors.append(InputError('the cell "id" is empty', file=sizes.path, line=line))
        return None
    source = TomlFile(sizes.path, "", merged, context.file.errors, row=line)
    return Table(source, merged, (), context.units, f'part "{cells["id"]}"', sizes.decimal_comma)


def _guarded(context: _Context, table: Table, profile: Profile | None, part_id: str) -> list[tuple[Part, str, str]]:
    try:
        return _parts(context, table, profile, part_id)
    except InputError as error:
        _note(table.file, error, table.path, part_id)
        return []


def _parts(context: _Context, table: Table, profile: Profile | None, part_id: str) -> list[tuple[Part, str, str]]:
    """Parts of one entry whose values are all at hand."""
    before = len(table.file.errors)
    known = profile.parameters if profile else {}
    values = table.read(PART_KEYS, known)
    if profile is None or len(table.file.errors) > before:
        return []
    if not values["id"].strip() or not values["id"].isprintable():
        table.complain(f"{values['id']!r} is no part number; it needs at least one printable character", "id")
        return []
    values = _with_defaults(context, table, values)
    tolerance = _tolerance(context, table, values["tolerance"])
    alloy = _material(context, table, values["material"])
    if alloy is None or len(table.file.errors) > before:
        return []
    scope = fill_scope(profile, table, context.units, values["thickness"], values["radius"], RESERVED)
    extras: dict[str, Any] = {
        "grain": values["grain"],
        "notes": (*context.values["notes"], *values["notes"]),
        "drawing": values["drawing"],
        "revision": values["revision"],
        "mark": values["mark"] or values["id"],
        "tolerance": tolerance,
        "neutral_axis_ratio": values["neutral_axis_ratio"],
        "deduction": values["deduction"],
        "parameters": tuple((name, str(table.data[name])) for name in known if name in table.data),
    }
    order = Order(
        id=values["id"],
        title=values["title"],
        quantity=values["quantity"],
        material=alloy,
        thickness=values["thickness"],
        radius=values["radius"],
        units=context.units,
        shop=context.shop,
        table=table,
        extras=extras,
    )
    part = build_part(profile, order, scope)
    return [(made, values["tool"], values["allowance"]) for made in _hands(part, values["hand"])]


def _hands(part: Part, hand: str) -> list[Part]:
    """The part as its left or right hand, or both."""
    if hand != "pair":
        return [replace(part, hand=hand)]  # type: ignore[arg-type]
    return [
        replace(part, id=f"{part.id}-{letter}", mark=f"{part.mark}-{letter}", hand=name)  # type: ignore[arg-type]
        for letter, name in (("L", "left"), ("R", "right"))
    ]


def _with_defaults(context: _Context, table: Table, values: dict[str, Any]) -> dict[str, Any]:
    """Values of a part with what the job says for parts that name none."""
    filled = dict(values)
    for key in ("material", "thickness", "radius", "allowance", "tool", "drawing", "revision"):
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


def _material(context: _Context, table: Table, name: str) -> Material | None:
    if name in context.own:
        return context.own[name]
    try:
        return material(name) if name else None
    except InputError:
        known = [*materials(), *context.own]
        table.complain(f'there is no material "{name}". {nearest(name, known)}', "material")
        return None


def _tolerance(context: _Context, table: Table, data: dict[str, Any]) -> Tolerance | None:
    values = table.child("tolerance", data).read(TOLERANCE_KEYS)
    if not data:
        return None
    usual = context.shop.tolerances
    return Tolerance(
        usual.length if values["length"] is None else values["length"],
        usual.angle if values["angle"] is None else values["angle"],
        usual.hole if values["hole"] is None else values["hole"],
    )


def _waivers(head: Table, rows: list[dict[str, Any]], ids: list[str]) -> tuple[Waiver, ...]:
    found = []
    for k, data in enumerate(rows):
        table = Table(head.file, data, ("waive", k), head.units, f"waive {k + 1}")
        before = len(head.file.errors)
        values = table.read(WAIVE_KEYS)
        if len(head.file.errors) > before:
            continue
        if values["part"] not in ids:
            table.complain(f'there is no part "{values["part"]}". {nearest(values["part"], ids)}', "part")
        if len(values["reason"].split()) < 3:
            table.complain("the reason must say in words why the finding is accepted", "reason")
        found.append(Waiver(values["rule"], values["part"], values["reason"], values["where"]))
    return tuple(found)
