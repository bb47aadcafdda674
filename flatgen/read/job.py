"""job.toml and its tables of sizes to a Job: every part built from its profile, every error in one list."""

import hashlib
import unicodedata
from collections.abc import Callable, Iterable
from dataclasses import replace
from pathlib import Path
from typing import Any

from flatgen import budget
from flatgen.errors import InputError, nearest
from flatgen.model.job import Job, Waiver
from flatgen.model.material import Material
from flatgen.model.part import Part
from flatgen.model.shop import Shop
from flatgen.read.builder import WaitsFor
from flatgen.read.earlier import Earlier
from flatgen.read.entries import PROCESS, PROCESSES, Context, Entry, Made, entries, note
from flatgen.read.keys import Key, Table, TomlFile, open_toml
from flatgen.read.mates import with_mates
from flatgen.read.profile import find_profile, load_profile
from flatgen.read.shop import WORK, read_shop
from flatgen.tables.load import material_from_table, materials

JOB_KEYS = (
    Key("title", "text", "what the job is", required=True),
    Key("units", "choice", "unit of bare numbers, and the one shown on sheets", "in", choices=("in", "mm")),
    Key("shop", "text", "shop file, beside this one", "shop.toml"),
    Key("owner", "text", "whose drawings these are, for the title block", ""),
    Key("notes", "texts", "notes printed on every drawing", ()),
    Key("material", "text", "alloy and temper of parts that name none", ""),
    Key("thickness", "length", "nominal thickness of parts that name none", least=0.1, most=13.0),
    Key("measured", "length", "measured thickness of parts that name none", least=0.1, most=13.0),
    Key("work", "choice", f"the shop's when left out; {WORK}", "", choices=("", "aircraft", "general")),
    Key("radius", "length", "inside radius of parts that name none", least=0.0, most=100.0),
    Key("allowance", "text", "method of bend allowance of parts that name none", ""),
    Key("tool", "text", "cutting tool of parts that name none", ""),
    Key("drawing", "text", "drawing number of parts that name none", ""),
    Key("revision", "text", "revision of parts that name none", ""),
    Key("process", "choice", f"way in which parts are made that name none; {PROCESS}", PROCESSES[0], choices=PROCESSES),
    Key("coupons", "flag", "nest the test bends that the shop has no record of; left out: in work on aircraft"),
    Key("alloy", "table", "materials of the job's own, by name", {}),
    Key("part", "tables", "the parts", required=True),
    Key("waive", "tables", "findings that are accepted, with the reason", []),
)
WAIVE_KEYS = (
    Key("rule", "text", "name of the rule", required=True),
    Key("part", "text", "part number; without its hand: both hands", required=True),
    Key("where", "text", "place on the part as the finding names it; everywhere when left out", ""),
    Key("reason", "text", "why it is accepted, and who says so", required=True),
)


# what tells another kind of our files from a job's, and the name of that kind
OTHER_KINDS = (("shop", ("brake", "tool", "sheet")), ("profile", ("face", "flange")))


def _must_be_a_job(file: TomlFile) -> None:
    """One sentence where a shop file or a profile was named, in place of one for each of its keys."""
    for kind, keys in OTHER_KINDS:
        if "part" not in file.data and any(isinstance(file.data.get(key), dict | list) for key in keys):
            raise InputError(f"this is a {kind} file; name the job file, the one with [[part]] in it", file=file.path)


def read_job(
    path: Path,
    stocked: Callable[[Shop], Shop] = lambda shop: shop,
    *,
    file: TomlFile | None = None,
    earlier: Earlier | None = None,
    only: int | None = None,
    begun: bool = False,
) -> Job:
    """The job of a file; InputError (or several in one) names file, line, part and key.

    stocked : gives the shop what its book holds, which parts are developed by too
    file : what the file holds, or shall hold, in place of what is on the disk
    earlier : what was made of its entries before; none is made twice
    begun : a job that has no parts yet is one too
    only : the one [[part]], counted from 0, whose parts the job is to have; all are read
    """
    file = open_toml(path) if file is None else file
    _must_be_a_job(file)
    units = file.data.get("units", "in")
    head = Table(file, file.data, (), units if units in ("in", "mm") else "in")
    values = head.read(
        [replace(key, required=False, default=[]) if begun and key.name == "part" else key for key in JOB_KEYS]
    )
    if not file.errors and not budget.is_there(path.parent / values["shop"]):
        head.complain(f"{values['shop']}: there is no such file; it is looked for beside this one", "shop")
    file.check()
    shop = stocked(read_shop(path.parent / values["shop"]))
    shop = replace(shop, work=values["work"] or shop.work)
    own = _own_materials(head, values["alloy"])
    context = Context(file, path.parent, values["units"], shop, values, own)
    extra_files: list[Path] = []
    waiting = [(k, e) for k, data in enumerate(values["part"]) for e in entries(context, k, data, extra_files)]
    every = _build_all(context, [entry for _, entry in waiting], earlier or Earlier())
    ids = [part.id for one in every.values() for part in one.hands]
    made = [one for k, one in every.items() if only in (None, waiting[k][0])]
    described = [one.part for one in every.values()]
    parts = [
        with_mates(part, [other for other in described if other is not one.part]) for one in made for part in one.hands
    ]
    cutting = [(part.id, one.tool) for one in made for part in one.hands]
    allowance = [(part.id, one.allowance) for one in made for part in one.hands]
    waivers = _waivers(head, values["waive"], ids)
    file.check()
    if not (parts or begun):
        raise InputError("the job has no parts; write each as [[part]] with its keys below", file=path)
    sources = _sources(path, parts, shop, extra_files)
    return Job(
        title=values["title"],
        units=values["units"],
        shop=shop,
        parts=tuple(parts),
        waivers=waivers,
        file=path,
        cutting=tuple(cutting),
        digest=_digest(sources),
        sources=sources,
        drawing_owner=values["owner"],
        notes=values["notes"],
        allowance=tuple(allowance),
        process=values["process"],
        coupons=shop.work == "aircraft" if values["coupons"] is None else values["coupons"],
    )


def _build_all(context: Context, waiting: list[Entry], earlier: Earlier) -> dict[int, Made]:
    """Every entry built, those that refer to another after it; by their numbers, in the order of the file."""
    built: dict[str, Part] = {}
    made: dict[int, Made] = {}
    taken: set[str] = set()
    rest = list(enumerate(waiting))
    while rest:
        later: list[tuple[int, Entry, str]] = []
        ids = frozenset(entry.id for _, entry in rest)
        for k, entry in rest:
            try:
                one = earlier.parts(context, entry, built, ids - {entry.id})
            except WaitsFor as wait:
                later.append((k, entry, wait.part))
                continue
            except InputError as error:
                note(entry.table.file, error, entry.table.path, entry.id)
                continue
            if one is None:
                continue
            names = {_alike(name) for name in (one.part.id, *(hand.id for hand in one.hands))}
            if taken & names:
                message = "this id is used twice; give each part its own (small and capital letters count as one)"
                twice = InputError(message)
                note(entry.table.file, twice, entry.table.at("id"), one.part.id)
                continue
            taken |= names
            built[one.part.id] = one.part
            made[k] = one
        if len(later) == len(rest):
            # one of the circle stands for all
            for _, entry, awaited in later[:1]:
                circle = InputError(f'it refers to part "{awaited}", which refers back to it')
                note(entry.table.file, circle, entry.table.path, entry.id)
            break
        # what waits for a part that could not be built is not told of a second time
        hoped = {*built, *(entry.id for _, entry, _ in later)}
        rest = [(k, entry) for k, entry, awaited in later if awaited in hoped]
    return {k: made[k] for k in sorted(made)}


def _alike(part_id: str) -> str:
    """The same for part numbers whose files would overwrite each other on a system that does not tell them apart."""
    return unicodedata.normalize("NFC", part_id).casefold()


def _sources(path: Path, parts: list[Part], shop: Shop, tables: list[Path]) -> tuple[Path, ...]:
    """Every file that the job is made of, in reading order."""
    profiles = [find_profile(part.profile, path.parent) for part in parts]
    outlines = [outline for profile in dict.fromkeys(profiles) for outline in load_profile(profile).outlines]
    return tuple(dict.fromkeys([path, Path(shop.file), *profiles, *tables, *outlines]))


def _digest(sources: Iterable[Path]) -> str:
    """SHA-256 over the contents of files."""
    total = hashlib.sha256()
    for file in sources:
        total.update(budget.content(file, budget.DRAWING))
    return total.hexdigest()


def _own_materials(head: Table, tables: dict[str, Any]) -> dict[str, Material]:
    own = {}
    for name, data in tables.items():
        try:
            if not isinstance(data, dict):
                raise InputError(f"{data!r} is not a table; write it as [alloy.{name}] with its keys below")
            line = head.file.line_of(("alloy", name))
            own[name] = material_from_table(name, data, known=materials(), file=str(head.file.path), line=line)
        except InputError as error:
            note(head.file, error, ("alloy", name))
    return own


def _waivers(head: Table, rows: list[dict[str, Any]], ids: list[str]) -> tuple[Waiver, ...]:
    found = []
    for k, data in enumerate(rows):
        table = Table(head.file, data, ("waive", k), head.units, f"waive {k + 1}")
        before = len(head.file.errors)
        values = table.read(WAIVE_KEYS)
        if len(head.file.errors) > before:
            continue
        name = values["part"]
        covered = [part for part in ids if part in (name, f"{name}-L", f"{name}-R")]
        if not covered:
            table.complain(f'there is no part "{values["part"]}". {nearest(values["part"], ids)}', "part")
        if len(values["reason"].split()) < 3:
            table.complain("the reason must say in words why the finding is accepted", "reason")
        found += [Waiver(values["rule"], part, values["reason"], values["where"]) for part in covered]
    return tuple(found)
