"""Changes of a part that its page asks for: fields kept, the cure of a finding or its waiver, holes."""

from collections.abc import Mapping
from typing import Any

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from flatgen.errors import InputError
from flatgen.jobs.trial import SIZES
from flatgen.served.fields import edits_of, place_of, save, sentence, told_json
from flatgen.served.files import Append, Conflict, Document, Drop, Edit, Set
from flatgen.served.part import whole
from flatgen.served.part_at import place, told_fields
from flatgen.served.part_fields import (
    with_unit,
)
from flatgen.served.shell import back, conflict_page, sent


def _keep(request: Request) -> Response:
    """The form as it stands, written: all that can be."""
    at, pairs = place(request), told_fields(request)
    given = dict(pairs)
    shown = at.desk.as_of(at.file.name, given.get("revision", ""))  # what others changed since is not asked for
    wanted = edits_of(shown, pairs)
    if "drop" in given:
        wanted = [(Drop(place_of(given["drop"])), "")]
    for name in dict(pairs):
        if name.startswith("["):
            at.desk.pending.pop((at.file.name, place_of(name)), None)
    return _after(request, save(at.desk, at.file.name, given.get("revision", ""), wanted) if wanted else at.file)


def _after(request: Request, found: Document | Conflict) -> Response:
    return conflict_page(request, found) if isinstance(found, Conflict) else back(request)


def _cure(request: Request) -> Response:
    """The one change of a cure, or the waiver of a finding with its reason."""
    at, given = place(request), sent(request)
    if "reason" in given:
        waiver = {"rule": needed(given, "rule"), "part": at.data.get("id") or needed(given, "part")}
        where = {"where": given["where"]} if given.get("where") else {}
        edit: Edit = Append(("waive",), {**waiver, **where, "reason": given["reason"]})
    else:
        path, value = place_of(needed(given, "path")), _value(needed(given, "value"))
        if path[0] == SIZES and at.sizes is not None and not isinstance(value, dict):
            cell = Set(path[1:], value)
            return _after(request, at.desk.change(at.sizes.name, at.sizes.revision, [cell]))
        if path[:2] != ("part", at.row):
            raise InputError("this is no change of the part", file=at.file.name)
        edit = Append(path, value) if isinstance(value, dict) else Set(path, value)
    return _after(request, at.desk.change(at.file.name, given.get("revision", ""), [edit]))


def needed(given: Mapping[str, str], name: str) -> str:
    """A field of a form; InputError where it was left out."""
    if name not in given:
        raise InputError(f"the form lacks its field {name}")
    return given[name]


def _value(text: str) -> Any:
    found = told_json(text)
    if found is None or found == {}:
        raise InputError(f"{text[:40]!r} is no value of a cure")
    return found


def _holes(request: Request) -> Response:
    """A row of holes along an edge of a face, or one hole in it; its figures are fields of the part from then on."""
    at, given = place(request), sent(request)
    units, face, edge = at.units, given.get("face", ""), given.get("edge", "")
    what, size = given.get("for", "rivet"), given.get("size", "").strip()
    new: dict[str, Any] = {"face": face, what: with_unit(size, units) if what != "drill" else size}
    if edge:
        new |= {"edge": edge, "edge_distance": with_unit(given.get("distance", ""), units)}
        ends = with_unit(given.get("ends", ""), units)
        new |= {"first": ends, "last": ends, "count": _count(given.get("count", ""))}
    else:
        new["at"] = [[with_unit(given.get("x", ""), units), with_unit(given.get("y", ""), units)]]
    edit = Append(("part", at.row, "holes"), new)
    try:
        return _after(request, at.desk.change(at.file.name, given.get("revision", ""), [edit]))
    except InputError as error:
        return whole(request, at, given, sentence(error, edit))


def _whole_again(request: Request) -> Response:
    """The page of a part whose form was sent, loaded again."""
    return RedirectResponse(f"/part/{request.path_params['row']}", 303)


def _count(text: str) -> int | str:
    return int(text) if text.strip().isdecimal() and len(text) < 9 else text


ROUTES = [
    Route("/part/{row:int}/keep", _keep, methods=["POST"]),
    Route("/part/{row:int}/cure", _cure, methods=["POST"]),
    Route("/part/{row:int}/holes", _holes, methods=["POST"]),
    Route("/part/{row:int}/holes", _whole_again),
]
