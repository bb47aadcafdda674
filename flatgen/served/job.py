"""The job: its parts with pictures and quantities, changed like a table; what is to be decided; a part more."""

from functools import lru_cache

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from flatgen.errors import FlatgenError, InputError
from flatgen.model.blank import Blank
from flatgen.model.job import Job
from flatgen.page.content import Picture, Words
from flatgen.page.drawing import Drawing
from flatgen.served.fields import field, rows
from flatgen.served.shell import desk_of, page, shown, told

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
        sizes=sizes(desk.text(desk.job_name).tree),
        listed=listed(),
    )


def sizes(tree: dict[str, object]) -> dict[int, str]:
    """Tables of sizes that entries of a job take their parts from, by the number of the entry."""
    parts = tree.get("part", [])
    found = enumerate(parts) if isinstance(parts, list) else ()
    return {k: str(part["sizes"]) for k, part in found if isinstance(part, dict) and "sizes" in part}


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


def _decide(request: Request) -> Response:
    """What stops and what is to be decided, of the whole job."""
    from starlette.responses import HTMLResponse

    from flatgen.page.findings import contents, lines

    desk = desk_of(request)
    if not desk.job().parts:
        return HTMLResponse(shown(Words("There is no part yet: choose a profile.", "quiet")))
    results = request.app.state.work.planned()
    found = [one for one in lines(results.findings, results.job.units) if one.state in ("stop", "decide")]
    if not found:
        return HTMLResponse(shown(Words("There is nothing to decide. That does not make a part strong enough.")))
    return HTMLResponse(shown(contents(found)))


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
    Route("/decide", _decide),
    Route("/text/{name:path}", _raw),
]
