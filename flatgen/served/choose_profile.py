"""Profiles to choose from by their pictures, for a new part or in place of a part's own."""

from collections.abc import Mapping, Sequence
from typing import Any

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from flatgen.errors import FlatgenError
from flatgen.library import Entry, entry
from flatgen.read.features import FEATURES
from flatgen.read.profile import find_profile, load_profile, profile_names
from flatgen.served.files import Append, Conflict, Desk, Drop, Edit, Set
from flatgen.served.part_at import look_at, place
from flatgen.served.part_changes import needed
from flatgen.served.part_pictures import profile_picture
from flatgen.served.shell import conflict_page, desk_of, page, sent, told
from flatgen.write.packet_html import Html


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
    at, given = place(request), sent(request)
    profile = load_profile(find_profile(needed(given, "profile"), at.desk.folder))
    path = ("part", at.row)
    edits: list[Edit] = [Set((*path, "profile"), given["profile"])]
    gone = [name for name in at.profile.parameters if name in at.data and name not in profile.parameters]
    edits += [Drop((*path, name)) for name in gone]
    try:
        look_at(at, edits)
    except FlatgenError:
        edits += [Drop((*path, name)) for name in (*FEATURES, "fits", "grain") if name in at.data]
    found = at.desk.change(at.file.name, given.get("revision", ""), edits)
    return conflict_page(request, found) if isinstance(found, Conflict) else RedirectResponse(f"/part/{at.row}", 303)


ROUTES = [
    Route("/part/new", _choose),
    Route("/part/new", _new, methods=["POST"]),
    Route("/part/{row:int}/profile", _choose),
    Route("/part/{row:int}/profile", _other_profile, methods=["POST"]),
]
