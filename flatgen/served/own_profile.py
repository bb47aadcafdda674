"""A profile of one's own, built flange by flange and kept as a file beside the job, what comes of it beside it."""

import re
from collections.abc import Mapping
from dataclasses import replace

from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from flatgen import budget
from flatgen.drawings import DEVICES
from flatgen.errors import FlatgenError, InputError
from flatgen.jobs.own_profile import NewFlange, begun, with_flange
from flatgen.jobs.trial import Look
from flatgen.read.lettered import letters
from flatgen.read.profile import library, profile_names
from flatgen.served.choose_profile import free_id
from flatgen.served.fields import Field, edits_of, field
from flatgen.served.files import Append, Conflict, Desk, Document, Drop
from flatgen.served.part_at import Place, at_row, faces_of, shown_part, tried
from flatgen.served.part_fields import Sized, other_angle, sentences, with_unit
from flatgen.served.shell import back, conflict_page, desk_of, page, sent, sent_pairs, told
from flatgen.write.edits import applied

FOLDER = "profiles"
LONGEST_NAME = 60
NOTHING: Mapping[str, str] = {}
FLANGE_KEYS = {"fold": "fold", "radius": "inside radius, where it is its own", "relief": "relief at both ends"}


def _file(request: Request) -> Document:
    name = str(request.path_params["name"])
    found = desk_of(request).text(f"{FOLDER}/{name}.toml")
    if not found.revision:
        raise InputError("there is no such profile of your own", file=found.name)
    return found


def _row(desk: Desk, name: str) -> int:
    """The part that shows the profile: the first that is made of it."""
    parts = desk.text(desk.job_name).tree.get("part", [])
    row = next((k for k, part in enumerate(parts) if part.get("profile") == name), None)
    if row is None:
        raise InputError(f'no part is made of the profile "{name}"; choose it for a part first')
    return row


def _begin(request: Request) -> Response:
    """What a profile begins with: a name, and the size of its first face."""
    desk = desk_of(request)
    units = str(desk.text(desk.job_name).tree.get("units", "in"))
    return page(request, "own_begin.html", units=units, given={}, wrong="")


def _begun(request: Request) -> Response:
    """The file of a new profile and a part of it, so that what comes of it is seen from the start."""
    desk, given = desk_of(request), sent(request)
    job = desk.text(desk.job_name)
    units = str(job.tree.get("units", "in"))
    title = given.get("title", "").strip()
    name = re.sub(r"[^a-z0-9]+", "-", title.lower()).strip("-")
    try:
        if not name or len(name) > LONGEST_NAME:
            raise InputError(f"give the profile a name of letters or figures, at most {LONGEST_NAME}")
        if name.upper() in DEVICES:
            raise InputError(f'no file can be called "{name}" on every system; give the profile another name')
        if name in {*profile_names(library()), *profile_names(desk.folder / FOLDER)}:
            raise InputError(f'there is a profile "{name}" already; give yours another name')
        sizes = [with_unit(given.get(key, ""), units) for key in ("length", "width")]
        text = begun(title, units, *sizes)
        table = {"id": free_id(job.tree.get("part", [])), "profile": name, "quantity": 1}
        # read with both before either is written
        desk.check({f"{FOLDER}/{name}.toml": text, job.name: applied(job.text, [Append(("part",), table)])})
    except FlatgenError as error:
        wrong = str(error.message) if isinstance(error, InputError) else str(error)
        return page(request, "own_begin.html", 422, units=units, given=given, wrong=wrong)
    desk.put(f"{FOLDER}/{name}.toml", "", text)
    found = desk.change(desk.job_name, job.revision, [Append(("part",), table)])
    return conflict_page(request, found) if isinstance(found, Conflict) else RedirectResponse(f"/profile/{name}", 303)


def _profile(request: Request) -> Response:
    """The profile with its flanges, and what comes of it."""
    return _whole(request)


def _whole(request: Request, given: Mapping[str, str] = NOTHING, not_added: str = "") -> Response:
    """The page; of a flange that could not be added what was typed, and why."""
    desk, name = desk_of(request), str(request.path_params["name"])
    file = _file(request)
    at = replace(at_row(request, _row(desk, name)), back=f"/profile/{name}")
    shown = shown_part(at)
    look = shown["look"]
    return page(
        request,
        "own_profile.html",
        422 if not_added else 200,
        given=given,
        not_added=not_added,
        name=name,
        row=at.row,
        file=file,
        job_file=at.file,
        sizes=_sizes(desk, file, at),
        flanges=[(flange, _flange_fields(desk, file, flange)) for flange in file.tree.get("flange", {})],
        faces=_free(look) if look else {},
        next_name=_next_name(file),
        units=str(file.tree.get("units", "in")),
        **shown,
    )


def _sizes(desk: Desk, file: Document, at: Place) -> list[Sized]:
    """The usual value of every parameter, which the part takes as long as it has none of its own."""
    known = letters(at.profile)
    units = str(file.tree.get("units", "in"))
    found = []
    for name, parameter in at.profile.parameters.items():
        one = field(desk, file, ("parameter", name, "default"), name.replace("_", " "))
        unit = {"length": units, "angle": "degrees"}.get(parameter.kind, "")
        found.append(Sized(replace(one, unit=unit, explain=parameter.explain), known.get(name, "")))
    return found


def _flange_fields(desk: Desk, file: Document, flange: str) -> list[Field]:
    from flatgen.read.features import FLANGE_KEYS as KEYS

    fields = []
    for key in KEYS:
        if key.name in FLANGE_KEYS:
            one = field(desk, file, ("flange", flange, key.name), FLANGE_KEYS[key.name])
            choices = tuple((choice, choice) for choice in key.choices)
            fields.append(replace(one, choices=(("", f"as usual ({key.default})"), *choices) if choices else ()))
    return fields


def _free(look: Look) -> dict[str, list[str]]:
    """The edges of each face that carry no bend."""
    bent = {(b.parent, b.parent_edge) for b in look.part.bends} | {(b.child, b.child_edge) for b in look.part.bends}
    free = {face: [e for e in edges if (face, e) not in bent] for face, edges in faces_of(look).items()}
    return {face: edges for face, edges in free.items() if edges}


def _next_name(file: Document) -> str:
    taken = {*file.tree.get("flange", {}), *file.tree.get("face", {}), *file.tree.get("parameter", {})}
    return next(name for k in range(1, 300) if (name := f"flange_{k}") not in taken)


def _try(request: Request) -> Response:
    """What comes of the profile with the fields as they stand, nothing written."""
    desk, file, pairs = desk_of(request), _file(request), sent_pairs(request)
    edits = [edit for edit, _ in edits_of(file, pairs)]
    at = at_row(request, _row(desk, str(request.path_params["name"])))
    try:
        desk.stay_inside(file.name, edits)
        with budget.instead({desk.path(file.name): applied(file.text, edits)}):
            now = replace(at_row(request, at.row), back=f"/profile/{request.path_params['name']}")
            return JSONResponse(tried(now, []))
    except FlatgenError as error:
        return JSONResponse({"sentences": sentences(error, at.row, [])})


def _add(request: Request) -> Response:
    """One flange more, on an edge that was chosen."""
    desk, file, given = desk_of(request), _file(request), sent(request)
    units = str(file.tree.get("units", "in"))
    flange = NewFlange(
        name=given.get("flange", "").strip(),
        on=f"{given.get('face', '')}.{given.get('edge', '')}",
        height=with_unit(given.get("height", ""), units),
        angle=_turned(given),
        fold=given.get("fold", "up"),
        radius=with_unit(given.get("radius", ""), units),
        inset=(with_unit(given.get("low", ""), units), with_unit(given.get("high", ""), units)),
    )
    try:
        found = desk.put(file.name, given.get("revision", ""), with_flange(file.text, flange, units))
    except FlatgenError as error:
        return _whole(request, given, " ".join(told(error)))
    return conflict_page(request, found) if isinstance(found, Conflict) else back(request)


def _turned(given: Mapping[str, str]) -> str:
    angle = given.get("angle", "").strip().removesuffix("°").strip() or "90"
    return other_angle(angle) or angle if given.get("told") == "between" else angle


def _take_away(request: Request) -> Response:
    """A flange with its parameters taken away; InputError where another stands on it."""
    desk, file, given = desk_of(request), _file(request), sent(request)
    name = given.get("flange", "")
    standing = [other for other, values in file.tree.get("flange", {}).items() if values["on"].startswith(f"{name}.")]
    if standing:
        raise InputError(f'"{standing[0]}" stands on "{name}"; take that away first', file=file.name)
    gone = [key for key in (name, f"{name}_angle") if key in file.tree.get("parameter", {})]
    edits = [Drop(("flange", name)), *(Drop(("parameter", key)) for key in gone)]
    if file.tree.get("grain") == f"across {name}":
        edits.append(Drop(("grain",)))
    found = desk.change(file.name, given.get("revision", ""), edits)
    return conflict_page(request, found) if isinstance(found, Conflict) else back(request)


ROUTES = [
    Route("/profile/new", _begin),
    Route("/profile/new", _begun, methods=["POST"]),
    Route("/profile/{name}", _profile),
    Route("/profile/{name}/try", _try, methods=["POST"]),
    Route("/profile/{name}/add", _add, methods=["POST"]),
    Route("/profile/{name}/add", lambda request: RedirectResponse(f"/profile/{request.path_params['name']}", 303)),
    Route("/profile/{name}/drop", _take_away, methods=["POST"]),
]
