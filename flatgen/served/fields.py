"""Fields of the bench page for keys of the job's files: from a key to what stands in the field, and back.

A field is named by its place in the file, as JSON: ``["part", 0, "quantity"]``. What was typed and cannot be stays in
the field with the sentence that says why; the file keeps what it had.
"""

import copy
import csv
import json
import re
import tomllib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from flatgen.errors import FlatgenError, InputError, InputErrors
from flatgen.model.shop import GUESSED_OF_A_BRAKE, GUESSED_OF_A_NOSE, NO_LIMIT
from flatgen.read import shop as shop_keys
from flatgen.read.entries import PART_KEYS
from flatgen.read.job import JOB_KEYS, WAIVE_KEYS
from flatgen.read.keys import Key
from flatgen.served.files import Append, Conflict, Desk, Document, Drop, Edit, Set
from flatgen.served.shell import back, conflict_page, desk_of, sent, sent_pairs
from flatgen.units import LENGTHS, parse_length
from flatgen.write.edits import GUESS

# list or table of a file → its keys; the head of each file is under ()
KEYS: dict[tuple[str, ...], tuple[Key, ...]] = {
    (): (*JOB_KEYS, *shop_keys.SHOP_KEYS),
    ("part",): PART_KEYS,
    ("waive",): WAIVE_KEYS,
    ("brake",): shop_keys.BRAKE_KEYS,
    ("brake", "nose"): shop_keys.NOSE_KEYS,
    ("tool",): shop_keys.TOOL_KEYS,
    ("sheet",): shop_keys.SHEET_KEYS,
    ("drill",): shop_keys.DRILL_KEYS,
    ("tolerance",): shop_keys.TOLERANCE_KEYS,
    ("minutes",): shop_keys.MINUTES_KEYS,
    ("offcut",): shop_keys.OFFCUT_KEYS,
    ("printer",): shop_keys.PRINTER_KEYS,
}
HEADS = {"part": "id", "sheet": "id", "pieces": "quantity", "bar": "name"}  # as tables of the page head their columns
MOST_BRACKETS = 500  # of a value
DEEPEST = 8  # steps of a place
NONE: Mapping[str, str] = MappingProxyType({})
NUMERIC = ("count", "number", "angle")


@dataclass(frozen=True, slots=True)
class Field:
    """One field: its name (the place), what it is called, what stands in it, and what is to be said of it.

    usual : what is taken where the key is left out
    guess : nobody measured or answered it yet
    """

    name: str
    label: str
    value: str
    unit: str = ""
    explain: str = ""
    usual: str = ""
    choices: tuple[tuple[str, str], ...] = ()
    sentence: str = ""
    guess: bool = False
    listed: str = ""
    figures: str = ""

    @property
    def id(self) -> str:
        """Address of the field on its page."""
        return "f-" + "-".join(str(step) for step in json.loads(self.name))


@dataclass(frozen=True, slots=True)
class Row:
    """Fields of one thing of a list."""

    name: str
    place: tuple[str | int, ...]
    fields: tuple[Field, ...]


def key_of(path: Sequence[str | int]) -> Key | None:
    """The key that a place names; None for what a profile or a job adds (a parameter, an alloy)."""
    names = tuple(step for step in path if isinstance(step, str))
    found = KEYS.get(names[:-1], ())
    return next((key for key in found if key.name == names[-1]), None)


def field(desk: Desk, file: Document, path: tuple[str | int, ...], label: str = "", listed: str = "") -> Field:
    """The field of a key as the file has it, or as it was typed last where that cannot be."""
    key = key_of(path)
    tree = file.tree
    value = as_text(_at(tree, path))
    wrong = desk.pending.get((file.name, path))
    units = str(tree.get("units", "in"))
    kind = key.kind if key else "size"
    return Field(
        name=json.dumps(path),
        label=label or str(path[-1]).replace("_", " "),
        value=wrong.text if wrong else value,
        unit={"length": units, "lengths": units, "angle": "°"}.get(kind, ""),
        explain=key.explain if key else "",
        usual=_usual(key, units) if key else "",
        choices=_choices(key),
        sentence=wrong.sentence if wrong else "",
        guess=_is_guess(tree, file.text, path),
        listed=listed,
        figures="numeric" if kind == "count" else "decimal" if kind in NUMERIC else "",
    )


def rows(
    desk: Desk, file: Document, place: tuple[str | int, ...], names: Sequence[str], listed: Mapping[str, str] = NONE
) -> list[Row]:
    """The things of a list, each with fields of these keys."""
    found = []
    for k, row in enumerate(_at(file.tree, place) or []):
        fields = tuple(field(desk, file, (*place, k, name), listed=listed.get(name, "")) for name in names)
        found.append(Row(str(row.get("id", row.get("name", k + 1))), (*place, k), fields))
    return found


def as_text(value: Any) -> str:
    """A value of a file as it stands in a field."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, list):
        return ", ".join(as_text(one) for one in value)
    return str(value)


def as_value(path: Sequence[str | int], text: str) -> Any:
    """What is written into the file for what stands in a field; None for nothing.

    A bare number stays one, in the file's unit; all that has a unit or a fraction is a text.
    """
    key, text = key_of(path), text.strip()
    if not text:
        return None
    kind = key.kind if key else "size"
    if kind == "flag":
        return {"true": True, "false": False}.get(text.lower(), text)
    if kind in ("lengths", "texts"):
        parts = [part.strip() for part in text.split(",") if part.strip()]
        return [part if kind == "texts" else _number(part) for part in parts]
    return text if kind in ("text", "choice") else _number(text)


def _number(text: str) -> Any:
    try:
        return int(text) if text.lstrip("+-").isdecimal() else float(text)
    except ValueError:
        return text


def _at(tree: Any, path: Sequence[str | int]) -> Any:
    for step in path:
        try:
            tree = tree[step]
        except (KeyError, IndexError, TypeError):
            return None
    return tree


def _usual(key: Key, units: str) -> str:
    value = key.default
    if value in (None, "", (), [], {}) or isinstance(value, bool):
        return ""
    if key.kind == "length":
        return f"{value / LENGTHS[units]:.3g} {units}"
    return as_text(value)


def _choices(key: Key | None) -> tuple[tuple[str, str], ...]:
    if key is None or key.kind not in ("choice", "flag"):
        return ()
    if key.kind == "flag":
        usual = "" if key.default is None else f" ({'yes' if key.default else 'no'})"
        return (("", f"as usual{usual}"), ("true", "yes"), ("false", "no"))
    own = tuple((choice, choice) for choice in key.choices if choice)
    return own if key.required else (("", f"as usual ({key.default})" if key.default else "as usual"), *own)


def _is_guess(tree: Any, text: str, path: Sequence[str | int]) -> bool:
    """Whether nobody answered it yet, or measured it."""
    owner, key = _at(tree, path[:-1]), str(path[-1])
    figures = {"brake": GUESSED_OF_A_BRAKE, "nose": GUESSED_OF_A_NOSE}.get(str(path[-3]) if len(path) > 2 else "", {})
    if key in figures and isinstance(owner, dict):
        left_out = key not in owner and figures[key] not in owner and key not in NO_LIMIT
        if left_out or key in owner.get("guessed", ()):
            return True
    if GUESS not in text:
        return False
    import tomlkit

    found = _at(tomlkit.parse(text.replace("\r\n", "\n")), path)
    return getattr(getattr(found, "trivia", None), "comment", "") == GUESS


def place_of(name: str) -> tuple[str | int, ...]:
    """The place that a field's name says; InputError for what is no place."""
    try:
        found = told_json(name)
    except InputError:
        found = None
    steps = found if isinstance(found, list) and 0 < len(found) <= DEEPEST else [None]
    if not all(isinstance(one, str) or (type(one) is int and one >= 0) for one in steps) or type(steps[0]) is int:
        raise InputError(f"{name[:80]!r} is no field of the bench page")
    return tuple(steps)


def told_json(text: str) -> Any:
    """A value that a form says as JSON; InputError for what no file of ours can hold."""
    try:
        found = json.loads(text)
        again = json.dumps(found, ensure_ascii=False, allow_nan=False)
        again.encode("utf-8")
        if "\\u00" in again or again.count("[") + again.count("{") > MOST_BRACKETS:  # control characters; a tower
            raise ValueError
    except (ValueError, RecursionError):
        raise InputError(f"{text[:40]!r} is no value of a form") from None
    return found


def edits_of(file: Document, told: Iterable[tuple[str, str]]) -> list[tuple[Edit, str]]:
    """Changes that a form asks for, each with what was typed: of fields that do not say what the file says."""
    found: list[tuple[Edit, str]] = []
    for name, text in told:
        if not name.startswith("["):
            continue
        path = place_of(name)
        before = _at(file.tree, path)
        if text.strip() == as_text(before):
            continue
        value = as_value(path, text)
        found.append((Drop(path) if value is None else Set(path, value), text))
    return found


def sure(file: Document, told: Iterable[tuple[str, str]]) -> list[tuple[Edit, str]]:
    """Answers that were guesses and are right as they stand."""
    found: list[tuple[Edit, str]] = []
    for name, text in told:
        if not (name.startswith("[") and text.strip()):
            continue
        path = place_of(name)
        if text.strip() == as_text(_at(file.tree, path)) and _is_guess(file.tree, file.text, path):
            found.append((Set(path, _at(file.tree, path)), text))
    return found


def added(file: Document, place: tuple[str | int, ...]) -> Append:
    """One more thing of a list, like the last, with a name of its own."""
    rows = _things(file, place)
    row = copy.deepcopy(dict(rows[-1])) if rows else dict(first_of(str(place[-1]), file.tree.get("units", "in")))
    key = next((key for key in ("id", "name") if key in row), "")
    names = {str(one.get(key)) for one in rows}
    if key:
        stem = re.sub(r" \d+$", "", str(row[key]))
        free = (f"{stem} {k}" if k > 1 else stem for k in range(1, len(rows) + 3))
        row[key] = next(name for name in free if name not in names)
    return Append(place, row)


def _things(file: Document, place: tuple[str | int, ...]) -> list[Any]:
    """The things of a list; InputError where there stands something else."""
    rows = _at(file.tree, place) or []
    if not (isinstance(rows, list) and all(isinstance(row, dict) for row in rows) and isinstance(place[-1], str)):
        raise InputError("this is no list of the file", file=file.name)
    return rows


def first_of(kind: str, units: str) -> dict[str, Any]:
    """The first thing of a list, as a shop has it usually."""
    from flatgen.jobs.starter import shop_text, usual

    shop = tomllib.loads(shop_text(usual("in" if units == "in" else "mm")))
    found: dict[str, Any] = {"nose": shop["brake"][0]["nose"], **shop}.get(kind, [{}])[0]
    return {key: value for key, value in found.items() if not isinstance(value, list)}


def save(desk: Desk, name: str, revision: str, wanted: Sequence[tuple[Edit, str]]) -> Document | Conflict:
    """Make all that can be made of these changes; what cannot stays in its field with the sentence that says why."""
    edits = [edit for edit, _ in wanted]
    try:
        return desk.change(name, revision, edits)
    except InputError as error:
        if len(wanted) == 1:
            desk.keep(name, wanted[0][0].path, wanted[0][1], sentence(error, wanted[0][0]))
            return desk.text(name)
    for edit, text in wanted:
        try:
            found = desk.change(name, revision, [edit])
        except InputError as error:
            desk.keep(name, edit.path, text, sentence(error, edit))
            continue
        if isinstance(found, Conflict):
            return found
        revision = found.revision
    return desk.text(name)


def sentence(error: FlatgenError, edit: Edit) -> str:
    """What cannot be, as it stands beside the field; the field says where."""
    first = error.errors[0] if isinstance(error, InputErrors) else error
    if not isinstance(first, InputError):
        return str(first)
    where = first.where.rpartition(", ")[2]
    return (
        str(first.message)
        if where == str(edit.path[-1])
        else ": ".join(filter(None, (first.where, str(first.message))))
    )


def _set(request: Request) -> Response:
    """A form of fields: those that changed are written; a row is added or taken away by its button."""
    desk, told = desk_of(request), sent(request)
    name, revision = told.get("file", ""), told.get("revision", "")
    file = desk.as_of(name, revision)  # as it was when the form was shown: what others changed since is not asked for
    wanted = edits_of(file, sent_pairs(request))
    _forget_same(desk, file, sent_pairs(request))
    if "sure" in told:
        wanted += sure(file, sent_pairs(request))
    if "add" in told:
        wanted.append((added(file, place_of(told["add"])), ""))
    if "drop" in told:
        wanted = [(Drop(place_of(told["drop"])), "")]
    found = save(desk, name, revision, [*wanted, *_renamed(file, wanted)]) if wanted else file
    if isinstance(found, Conflict):
        return conflict_page(request, found)
    places = {(name, place_of(one)) for one in told if one.startswith("[")}
    return back(request, told.get("sure", "") if places.isdisjoint(desk.pending) else "")


def _renamed(file: Document, wanted: Sequence[tuple[Edit, str]]) -> list[tuple[Edit, str]]:
    """A sheet that is called by its metal and thickness goes on being called by them."""
    new = {edit.path: edit.value for edit, _ in wanted if isinstance(edit, Set)}
    units, sheets = file.tree.get("units", "in"), file.tree.get("sheet", [])
    found: list[tuple[Edit, str]] = []
    for k, row in enumerate(sheets):
        metal, thick = (new.get(("sheet", k, key), row.get(key)) for key in ("material", "thickness"))
        called, name = str(row.get("id")), _metal_name(metal, thick, units)
        if called != _metal_name(row.get("material"), row.get("thickness"), units) or ("sheet", k, "id") in new:
            continue
        if name and name not in [str(one.get("id")) for one in sheets]:
            found.append((Set(("sheet", k, "id"), name), name))
    return found


def _metal_name(metal: Any, thick: Any, units: str) -> str:
    """What a sheet is called by its metal and thickness; "" where that is no thickness."""
    try:
        parse_length(thick, units)
    except InputError:
        return ""
    return f"{metal} {thick} {units}" if isinstance(thick, int | float) else f"{metal} {thick}"


def _forget_same(desk: Desk, file: Document, told: Iterable[tuple[str, str]]) -> None:
    """A field that says again what the file says is not wrong any more."""
    for name, text in told:
        if name.startswith("[") and text.strip() == as_text(_at(file.tree, place_of(name))):
            desk.pending.pop((file.name, place_of(name)), None)


def _paste(request: Request) -> Response:
    """Rows of a spreadsheet: those whose name is there are changed, others are added; all or none."""
    desk, told = desk_of(request), sent(request)
    file, place = desk.text(told.get("file", "")), place_of(told.get("place", ""))
    found = desk.change(file.name, told.get("revision", ""), pasted(file, place, told.get("rows", "")))
    return conflict_page(request, found) if isinstance(found, Conflict) else back(request)


def pasted(file: Document, place: tuple[str | int, ...], text: str) -> list[Edit]:
    """Changes that rows with a head ask for, cells parted by tabs, semicolons or commas."""
    lines = [line for line in text.splitlines() if line.strip()]
    if len(lines) < 2:
        raise InputError("paste at least two rows: the first names the columns")
    mark = max("\t;,", key=lines[0].count)
    try:
        table = list(csv.reader(lines, delimiter=mark, skipinitialspace=True))
    except csv.Error as error:
        raise InputError(f"these rows cannot be read ({error})") from None
    heads = [HEADS.get(head.strip().lower(), head.strip().lower().replace(" ", "_")) for head in table[0]]
    rows = _things(file, place)
    names = [str(row.get("id", row.get("name"))) for row in rows]
    edits: list[Edit] = []
    for cells in table[1:]:
        given = {head: cell.strip() for head, cell in zip(heads, cells, strict=False) if cell.strip()}
        name = given.get("id", given.get("name"))
        if name in names:
            own = (*place, names.index(name))
            edits += [Set((*own, key), as_value((*own, key), cell)) for key, cell in given.items()]
        else:
            edits.append(Append(place, {key: as_value((*place, 0, key), cell) for key, cell in given.items()}))
    return edits


ROUTES = [Route("/set", _set, methods=["POST"]), Route("/paste", _paste, methods=["POST"])]
