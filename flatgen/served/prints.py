"""What is printed: cards, settings, templates and the rest, made by the main job and handed to the browser as files."""

from pathlib import Path

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from flatgen.errors import InputError
from flatgen.jobs.again import stands
from flatgen.output import manifest
from flatgen.output.folder import finish
from flatgen.served.guard import HEADERS
from flatgen.served.shell import desk_of, page, sent
from flatgen.served.work import OUT, Work

KINDS = {
    ".pdf": "application/pdf",
    ".html": "text/html; charset=utf-8",
    ".dxf": "application/dxf",
    ".svg": "image/svg+xml",
    ".csv": "text/csv; charset=utf-8",
    ".json": "application/json",
}
# what is printed first, in the order of the bench
SHEETS = {
    "cards.pdf": "Cards: one a part, at true size where it fits",
    "setup.pdf": "Settings of the brake",
    "templates.pdf": "Templates at true size",
    "drill-templates.pdf": "Drill templates at true size",
    "gauges.pdf": "Gauges for leaf and bends, at true size",
    "coupons.pdf": "Test bends: bend and measure these first",
    "tally.pdf": "The tally, and an evening’s work",
    "cut-list.csv": "Cut list",
}
# the packet's own page brings its style and scripts with it, and its own policy in its head
NO_FORM = "form-action 'none'; base-uri 'none'"
ALONE = "frame-ancestors 'none'"
PACKET = f"default-src 'none'; img-src data:; style-src 'unsafe-inline'; script-src 'unsafe-inline'; {NO_FORM}; {ALONE}"


def _print(request: Request) -> Response:
    work: Work = request.app.state.work
    written = _written(work.out)
    older = bool(written) and not stands(desk_of(request).job(), work.out)
    first = [(name, words) for name, words in SHEETS.items() if name in written]
    nests = sorted(name for name in written if name.startswith("nests/") and name.endswith(".pdf"))
    rest = sorted(name for name in written if name not in SHEETS and name not in nests and name != "index.html")
    return page(
        request,
        "print.html",
        first=first,
        nests=nests,
        rest=rest,
        whole="index.html" in written,
        said=request.query_params.get("said", ""),
        out=OUT,
        older=older,
    )


def _written(out: Path) -> frozenset[str]:
    """Files of the packet that stand there."""
    if not out.is_dir():
        return frozenset()
    finish(out)
    own = out.parent.resolve()  # what a link leads to elsewhere is none of them
    files = {name: (out / name).resolve() for name in manifest.read(out).of("make")}
    return frozenset(name for name, path in files.items() if path.is_file() and path.is_relative_to(own))


def _make(request: Request) -> Response:
    """Write the packet; the page then says what changed."""
    if not desk_of(request).job().parts:
        raise InputError("there is no part yet, so there is nothing to print")
    made = request.app.state.work.packet()
    where = "/print" if sent(request).get("back") != "/sheets" else "/sheets"
    said = "same" if made.results is None else "stopped" if made.status else "made"
    return RedirectResponse(f"{where}?said={said}", 303)


def _file(request: Request) -> Response:
    """A file of the packet; only one that the packet's list names."""
    name, work = request.path_params["name"], request.app.state.work
    if name not in _written(work.out):
        raise InputError("the packet has no such file", file=name)
    path = work.out / name
    kind = KINDS.get(path.suffix, "application/octet-stream")
    heads = {"content-disposition": f'inline; filename="{path.name}"'} if path.name.isascii() else {}
    if path.suffix in (".html", ".svg"):
        heads["content-security-policy"] = PACKET if path.suffix == ".html" else "default-src 'none'"
    elif path.suffix == ".pdf":
        heads["content-security-policy"] = ALONE
    return Response(path.read_bytes(), media_type=kind, headers={**HEADERS, **heads})


ROUTES = [
    Route("/print", _print),
    Route("/print", _make, methods=["POST"]),
    Route(f"/{OUT}/{{name:path}}", _file),
]
