"""A part's page: its profile by picture, its sizes in fields, beside them at once what comes of it and is wrong."""

import json
import threading
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from urllib.parse import quote

from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from flatgen import budget
from flatgen.errors import FlatgenError, InputError
from flatgen.jobs.cures import Cure, cures
from flatgen.jobs.trial import SIZES, Look, Trials
from flatgen.library import Entry, entry
from flatgen.model.finding import Finding
from flatgen.page.findings import told as told_line
from flatgen.read.features import FEATURES
from flatgen.read.lettered import lettered, letters
from flatgen.read.profile import Profile, find_profile, load_profile, profile_names
from flatgen.served.fields import edits_of, place_of, save, sentence
from flatgen.served.files import Append, Conflict, Desk, Document, Drop, Edit, Set
from flatgen.served.part_fields import (
    cure_words,
    every_fields,
    others,
    patterns,
    sentences,
    size_fields,
    with_unit,
    without_other_angles,
)
from flatgen.served.part_pictures import pictures, profile_picture, refused_figure, shown_lines
from flatgen.served.shell import back, conflict_page, desk_of, page, part_of_page, sent, sent_pairs, told
from flatgen.write import csv_edits
from flatgen.write.packet_html import Html, join

SHOWN_BEFORE = "shown "  # before the name of a hidden field: what stood there when the page was made
NOTHING: Mapping[str, str] = {}
TRYING = threading.Lock()  # one change is tried at a time
BRAKING = threading.Lock()  # one part is bent at a time, of those that wait the newest
CURING = threading.Lock()  # and one part's cures are looked for, which nobody who types waits for


@dataclass(frozen=True, slots=True)
class Place:
    """The part that a request is about: the job's file as it is, the number of its [[part]], its profile.

    chosen : of a table of sizes the part that is shown
    back : the page to go on with
    """

    desk: Desk
    trials: Trials
    file: Document
    row: int
    profile: Profile
    chosen: str
    back: str

    @property
    def data(self) -> dict[str, Any]:
        """The [[part]] as it is written."""
        found: dict[str, Any] = self.file.tree["part"][self.row]
        return found

    @property
    def sizes(self) -> Document | None:
        """The table of sizes that it is a row of, where the page may change it."""
        name = self.data.get("sizes")
        try:
            return self.desk.text(str(name)) if name else None
        except InputError:
            return None

    @property
    def units(self) -> str:
        """The job's."""
        return str(self.file.tree.get("units", "in"))


def at_row(request: Request, row: int) -> Place:
    """The part of a [[part]], counted from 0; InputError where there is none or no profile of it."""
    desk = desk_of(request)
    file = desk.text(desk.job_name)
    parts = file.tree.get("part", [])
    if row >= len(parts):
        raise InputError(f"the job has {len(parts)} parts; there is no part {row + 1}", file=file.name)
    profile = load_profile(find_profile(str(parts[row].get("profile", "")), desk.folder))
    chosen = sent(request).get("chosen", request.query_params.get("part", ""))
    here = f"/part/{row}{f'?part={quote(chosen)}' if chosen else ''}"
    return Place(desk, _trials(request), file, row, profile, chosen, sent(request).get("back", here))


def _place(request: Request) -> Place:
    return at_row(request, int(request.path_params["row"]))


def _trials(request: Request) -> Trials:
    state, desk = request.app.state, desk_of(request)
    if getattr(state, "trials", None) is None or state.trials.path != desk.job_path:
        state.trials = Trials(desk.job_path)
    trials: Trials = state.trials
    return trials


def _part(request: Request) -> Response:
    """The whole page of one part."""
    return _whole(request, _place(request))


def _whole(request: Request, at: Place, given: Mapping[str, str] = NOTHING, not_added: str = "") -> Response:
    """The page; of holes that could not be added what was typed, and why."""
    parts = [str(part.get("id", part.get("sizes", k + 1))) for k, part in enumerate(at.file.tree["part"])]
    shown = shown_part(at)
    look = shown["look"]
    own = at.profile.file.path.parent == at.desk.folder / "profiles"
    return page(
        request,
        "part.html",
        422 if not_added else 200,
        given=given,
        not_added=not_added,
        at=at,
        row=at.row,
        parts=parts,
        file=at.file,
        own=at.profile.name if own else "",
        every=every_fields(at.desk, at.file, at.row),
        **_size_fields(at, look),
        holes=list(patterns(at.desk, at.file, at.row)),
        others=list(others(at.data)),
        faces=faces_of(look) if look else {},
        metals=_metals(),
        **shown,
    )


def _size_fields(at: Place, look: Look | None) -> dict[str, Any]:
    """The sizes that are the part's own, and those of its row in a table of sizes."""
    found = lettered(at.profile, look.part) if look else ()
    own = list(size_fields(at.desk, at.file, at.row, at.profile, found, at.units))
    table = at.sizes
    rows = list(table.tree) if table else []
    chosen = at.chosen if at.chosen in rows else next(iter(rows), "")
    cells = list(size_fields(at.desk, table, chosen, at.profile, found, at.units)) if table and chosen else []
    told = {one.field.label for one in cells}
    sizes = [one for one in own if one.field.label not in told]
    return {"sizes": sizes, "table": table, "rows": rows, "chosen": chosen, "cells": cells}


def shown_part(at: Place) -> dict[str, Any]:
    """What comes of a part as its file has it, for the page: pictures, what is wrong; or why nothing comes of it."""
    try:
        look = _look(at, (), at.chosen)
    except FlatgenError as error:
        return {"look": None, "pictures": None, "wrong": " ".join(told(error)), "found": ""}
    first, rest = shown_lines(look.findings, look.job.units)
    drawn = pictures(look, at.profile, look.findings)
    return {"look": look, "pictures": drawn, "wrong": "", "found": _found(at, first, rest, {})}


def _metals() -> list[str]:
    from flatgen.tables.load import materials

    return list(materials())


def faces_of(look: Look) -> dict[str, list[str]]:
    """The faces with their edges, those first that carry no bend."""
    from flatgen.develop.drawn import drawn_outlines

    bent = {(b.parent, b.parent_edge) for b in look.part.bends} | {(b.child, b.child_edge) for b in look.part.bends}
    return {
        face: sorted(dict.fromkeys(edges), key=lambda edge: (face, edge) in bent)
        for face, (_, edges) in drawn_outlines(look.part).items()
    }


def _look(at: Place, edits: Sequence[Edit] = (), part: str = "") -> Look:
    with TRYING:
        return at.trials.look(at.row, edits, part)


def _told(request: Request) -> list[tuple[str, str]]:
    """The fields of the part's form, each angle told one way."""
    pairs = sent_pairs(request)
    before = {name.removeprefix(SHOWN_BEFORE): text for name, text in pairs if name.startswith(SHOWN_BEFORE)}
    return without_other_angles([pair for pair in pairs if not pair[0].startswith(SHOWN_BEFORE)], before)


def _try(request: Request) -> Response:
    """What comes of the form as it stands, nothing written: pictures, findings, and what is wrong by its field."""
    at, pairs = _place(request), _told(request)
    request.app.state.typed = getattr(request.app.state, "typed", 0) + 1
    names = [name for name, _ in pairs if name.startswith("[")]
    table = at.sizes if dict(pairs).get("file") != at.file.name else None
    file = table or at.file
    edits = [edit for edit, _ in edits_of(file, pairs)]
    try:
        if table is None:
            return JSONResponse(tried(at, edits))
        with budget.instead({at.desk.path(table.name): csv_edits.applied(table.text, edits)}):
            return JSONResponse(tried(at, []))
    except FlatgenError as error:
        return JSONResponse({"sentences": sentences(error, at.row, names)})


def tried(at: Place, edits: Sequence[Edit]) -> dict[str, Any]:
    """A part with changes that are not written: pictures and findings; FlatgenError where nothing comes of it."""
    look = _look(at, edits, at.chosen)
    first, rest = shown_lines(look.findings, look.job.units)
    found = _found(at, first, rest, {})
    return {**pictures(look, at.profile, look.findings), "found": found, "sentences": {}}


def _brake(request: Request) -> Response:
    """The brake's answer on the part as the file has it, and the flat with what it finds."""
    at, state = _place(request), request.app.state
    own = state.braking = getattr(state, "braking", 0) + 1
    look = _look(at, (), at.chosen)
    with BRAKING:
        if state.braking != own:
            return Response(status_code=204)
        plan, findings = at.trials.braked(look)
    first, rest = shown_lines(findings, look.job.units)
    used = [setup for setup in plan.setups if any(op.part == look.part.id for op in setup.operations)]
    steps = [f"{op.bend} over {setup.nose}" for setup in used for op in setup.operations]
    brake = f"On the brake: {', then '.join(steps)}." if steps else ""
    if look.made.stopped:
        brake = "The brake is asked when nothing else stops the part."
    drawn = pictures(look, at.profile, findings)
    flat = join(drawn["flat"], [refused_figure(one, look.job.units) for one in plan.refused])
    return JSONResponse({"flat": flat, "found": _found(at, first, rest, {}), "brake": brake})


def _cures(request: Request) -> Response:
    """The cures of what is wrong with the part as the file has it; nothing where somebody typed meanwhile."""
    at, state = _place(request), request.app.state
    asked = state.typed = getattr(state, "typed", 0)
    with CURING:
        trials = Trials(at.trials.path, at.trials.earlier)
        look = trials.look(at.row, (), at.chosen)
        _, findings = at.trials.braked(look)
        first, rest = shown_lines(findings, look.job.units)
        causes = [line.same[0] for line in first]
        offered = cures(trials, at.row, look, causes, at.profile, lambda: state.typed != asked)
        found = dict(zip(causes, offered, strict=True))
    if state.typed != asked:
        return Response(status_code=204)
    return JSONResponse({"found": _found(at, first, rest, found)})


def _found(at: Place, first: Sequence[Any], rest: Sequence[Any], cured: Mapping[Finding, Cure | None]) -> str:
    """What is wrong, one line a cause, each with its cure or its waiver."""
    letter = letters(at.profile)
    items = [
        {
            "line": line,
            "told": told_line(line),
            "finding": line.same[0],
            "cure": (cure := cured.get(line.same[0])),
            "words": cure_words(cure, letter) if cure else "",
            "waits": line.same[0] not in cured,
        }
        for line in first
    ]
    others = [(line.state, told_line(line)) for line in rest]
    answer = part_of_page("part_found.html", items=items, others=others, row=at.row, file=at.file, back=at.back)
    return bytes(answer.body).decode("utf-8")


def _keep(request: Request) -> Response:
    """The form as it stands, written: all that can be."""
    at, pairs = _place(request), _told(request)
    told_fields = dict(pairs)
    shown = at.desk.as_of(at.file.name, told_fields.get("revision", ""))  # what others changed since is not asked for
    wanted = edits_of(shown, pairs)
    if "drop" in told_fields:
        wanted = [(Drop(place_of(told_fields["drop"])), "")]
    for name in dict(pairs):
        if name.startswith("["):
            at.desk.pending.pop((at.file.name, place_of(name)), None)
    return _after(request, save(at.desk, at.file.name, told_fields.get("revision", ""), wanted) if wanted else at.file)


def _after(request: Request, found: Document | Conflict) -> Response:
    return conflict_page(request, found) if isinstance(found, Conflict) else back(request)


def _cure(request: Request) -> Response:
    """The one change of a cure, or the waiver of a finding with its reason."""
    at, given = _place(request), sent(request)
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
    try:
        return json.loads(text)
    except ValueError:
        raise InputError(f"{text[:40]!r} is no value of a cure") from None


def _holes(request: Request) -> Response:
    """A row of holes along an edge of a face, or one hole in it; its figures are fields of the part from then on."""
    at, given = _place(request), sent(request)
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
        return _whole(request, at, given, sentence(error, edit))


def _whole_again(request: Request) -> Response:
    """The page of a part whose form was sent, loaded again."""
    return RedirectResponse(f"/part/{request.path_params['row']}", 303)


def _count(text: str) -> int | str:
    return int(text) if text.strip().isdecimal() else text


def _choose(request: Request) -> Response:
    """Every profile as a picture, for a new part or in place of a part's own."""
    desk = desk_of(request)
    units = str(desk.text(desk.job_name).tree.get("units", "in"))
    row = request.path_params.get("row")
    address = "/part/new" if row is None else f"/part/{row}/profile"
    shown, wrong = _profiles(desk, units)
    return page(
        request, "profiles.html", shown=shown, wrong=wrong, address=address, row=row, file=desk.text(desk.job_name)
    )


def _profiles(desk: Desk, units: str) -> tuple[list[tuple[Entry, Html]], list[str]]:
    """Every profile with its picture, the job's own first; of one that cannot be read or drawn the sentence."""
    own = profile_names(desk.folder / "profiles")
    names = own + [name for name in profile_names() if name not in own]
    shown: list[tuple[Entry, Html]] = []
    wrong: list[str] = []
    for name in names:
        try:
            one = entry(name, desk.folder)
            shown.append((one, profile_picture(one.profile.file.path, units)))
        except FlatgenError as error:
            wrong += told(error)
    return shown, wrong


def _new(request: Request) -> Response:
    """A part of the profile chosen, with its usual sizes, put at the end of the job."""
    desk, given = desk_of(request), sent(request)
    file = desk.text(desk.job_name)
    parts = file.tree.get("part", [])
    edit = Append(("part",), {"id": free_id(parts), "profile": needed(given, "profile"), "quantity": 1})
    found = desk.change(file.name, given.get("revision", file.revision), [edit])
    if isinstance(found, Conflict):
        return conflict_page(request, found)
    return RedirectResponse(f"/part/{len(found.tree['part']) - 1}", 303)


def free_id(parts: Sequence[Mapping[str, Any]]) -> str:
    """A part number that no part of the job has yet."""
    taken = {str(part.get("id", "")) for part in parts}
    return next(name for k in range(1, len(parts) + 2) if (name := f"P-{len(parts) + k}") not in taken)


def _other_profile(request: Request) -> Response:
    """The part made of another profile: sizes that it knows too stay, and what stands on faces that it has too."""
    at, given = _place(request), sent(request)
    profile = load_profile(find_profile(needed(given, "profile"), at.desk.folder))
    path = ("part", at.row)
    edits: list[Edit] = [Set((*path, "profile"), given["profile"])]
    gone = [name for name in at.profile.parameters if name in at.data and name not in profile.parameters]
    edits += [Drop((*path, name)) for name in gone]
    try:
        _look(at, edits)
    except FlatgenError:
        edits += [Drop((*path, name)) for name in (*FEATURES, "fits", "grain") if name in at.data]
    found = at.desk.change(at.file.name, given.get("revision", ""), edits)
    return conflict_page(request, found) if isinstance(found, Conflict) else RedirectResponse(f"/part/{at.row}", 303)


def _formed(request: Request) -> Response:
    """The packet's own script that turns a formed part, its names its own as there."""
    from flatgen.write.page import FILES

    text = (FILES / "formed.js").read_text(encoding="utf-8")
    return Response(f"(function () {{\n{text}}})();\n", media_type="text/javascript")


ROUTES = [
    Route("/part/formed.js", _formed),
    Route("/part/new", _choose),
    Route("/part/new", _new, methods=["POST"]),
    Route("/part/{row:int}", _part),
    Route("/part/{row:int}/try", _try, methods=["POST"]),
    Route("/part/{row:int}/brake", _brake, methods=["POST"]),
    Route("/part/{row:int}/cures", _cures, methods=["POST"]),
    Route("/part/{row:int}/keep", _keep, methods=["POST"]),
    Route("/part/{row:int}/cure", _cure, methods=["POST"]),
    Route("/part/{row:int}/holes", _holes, methods=["POST"]),
    Route("/part/{row:int}/holes", _whole_again),
    Route("/part/{row:int}/profile", _choose),
    Route("/part/{row:int}/profile", _other_profile, methods=["POST"]),
]
