"""The job: its parts with pictures and quantities, changed like a table; what is to be decided; a part more."""

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from flatgen.errors import FlatgenError, InputError
from flatgen.model.blank import Blank
from flatgen.model.job import Job
from flatgen.page.content import Picture, Words
from flatgen.page.drawing import Drawing
from flatgen.served.fields import field, rows
from flatgen.served.files import Desk
from flatgen.served.shell import desk_of, page, piece, shown, told
from flatgen.served.work import Work

if TYPE_CHECKING:
    from flatgen.page.findings import Line

COLUMNS = ("id", "title", "profile", "quantity", "material", "thickness", "radius")
HEADS = ("Part", "Title", "Profile", "Pieces", "Material", "Thickness", "Radius")
OF_ALL = ("title", "work", "material", "thickness", "radius", "drawing", "revision", "owner")


def _job(request: Request) -> Response:
    desk = desk_of(request)
    file = desk.text(desk.job_name)
    if not file.revision:
        return RedirectResponse("/begin", 303)
    sentences: list[str] = []
    try:
        desk.job()
    except FlatgenError as error:
        sentences = told(error)
    return page(
        request,
        "job.html",
        sentences=sentences,
        file=file,
        of_all=[field(desk, file, (name,)) for name in OF_ALL],
        rows=rows(desk, file, ("part",), COLUMNS, {"profile": "profiles", "material": "materials"}),
        heads=HEADS,
        tiles=tiles(desk),
        listed=listed(),
    )


@dataclass(frozen=True, slots=True)
class Tile:
    """An entry of the job as it is shown: the part of its picture, what it is called, what is said below."""

    address: str
    part: str
    name: str
    note: str


def tiles(desk: Desk) -> list[Tile]:
    """Every [[part]]; one with a table of sizes shows the first of its rows."""
    found = []
    for k, one in enumerate(desk.text(desk.job_name).tree.get("part", [])):
        name, note = str(one.get("id", k + 1)), f"{one.get('quantity', '')} wanted"
        ids = ids_of(desk, one)
        if "sizes" in one:
            name = f"{ids[0]} and {len(ids) - 1} more" if len(ids) > 1 else ids[0] if ids else str(one["sizes"])
            note = f"sizes from {one['sizes']}"
        found.append(Tile(f"/part/{k}", ids[0] if ids else name, name, note))
    return found


def ids_of(desk: Desk, entry: dict[str, Any]) -> list[str]:
    """Part numbers of a [[part]], without their hands."""
    if "sizes" not in entry:
        return [str(entry["id"])] if "id" in entry else []
    try:
        return list(desk.text(str(entry["sizes"])).tree)
    except InputError:
        return []


def addresses(desk: Desk) -> dict[str, str]:
    """Where each part number is changed, with and without its hand."""
    found: dict[str, str] = {}
    for k, one in enumerate(desk.text(desk.job_name).tree.get("part", [])):
        for name in ids_of(desk, one):
            own = f"/part/{k}" + (f"?part={quote(name)}" if "sizes" in one else "")
            found |= dict.fromkeys((name, f"{name}-L", f"{name}-R"), own)
    return found


@lru_cache(maxsize=1)
def listed() -> dict[str, list[str]]:
    """What a field of profiles or materials offers."""
    from flatgen.read.profile import profile_names
    from flatgen.tables.load import materials

    return {"profiles": profile_names(), "materials": sorted(one.name for one in materials().values())}


def _thumb(request: Request) -> Response:
    """The formed part, small; nothing where it cannot be made."""
    from starlette.responses import HTMLResponse

    job, wanted = desk_of(request).job(), request.path_params["part"]
    blank = blank_of(job, wanted)
    what = Words("no picture", "quiet") if blank is None else Picture(formed(blank, wanted), f"{wanted}, formed")
    return HTMLResponse(shown(what))


@lru_cache(maxsize=512)
def formed(blank: Blank, name: str) -> Drawing:
    """The formed part, or the flat blank of one without bends."""
    from flatgen.draw.formed import formed_drawing

    return formed_drawing(blank, name)


def blank_of(job: Job, name: str) -> Blank | None:
    """The blank of a part; None where there is none of it."""
    part = next((part for part in job.parts if part.id in (name, f"{name}-L")), None)
    if part is None:
        return None
    from flatgen.develop.develop import develop

    try:
        return develop(
            part, job.shop.seen_from(part.material.key), dict(job.allowance).get(part.id, job.shop.allowance)
        )
    except FlatgenError:
        return None


def _decide(request: Request) -> Markup:
    """What stops and what is to be decided, of the whole job, each with the way to its parts."""
    from flatgen.page.findings import lines

    desk = desk_of(request)
    if not desk.job().parts:
        return shown(Words("There is no part yet: choose a profile.", "quiet"))
    work: Work = request.app.state.work
    results = work.planned()
    found = [one for one in lines(results.findings, results.job.units) if one.state in ("stop", "decide")]
    if not found:
        return shown(Words("Nothing is to be decided. That does not make a part strong enough."))
    known = addresses(desk)
    return Markup("").join(_settled(one, known) for one in found)


def _settled(line: "Line", known: dict[str, str]) -> Markup:
    from flatgen.page.findings import contents

    parts = {known[one.part]: one.part for one in reversed(line.same) if one.part in known}
    links = Markup(" ").join(
        Markup('<a class="button" href="{}">{}</a>').format(to, name) for to, name in parts.items()
    )
    told_of, *more = contents([line])
    ways = Markup('<p class="tools">{}</p>').format(links) if parts else Markup("")
    return shown(told_of) + ways + shown(more)


def _raw(request: Request) -> Response:
    """A file as it is written."""
    desk = desk_of(request)
    name = request.path_params["name"]
    file = desk.text(name)
    if not file.revision:
        raise InputError("there is no such file", file=name)
    return page(request, "raw.html", file=file)


ROUTES = [
    Route("/", _job),
    Route("/thumb/{part}", _thumb),
    Route("/decide", piece(_decide)),
    Route("/text/{name:path}", _raw),
]
