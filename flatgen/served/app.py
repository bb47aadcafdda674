"""The app of the bench page: routes of every page module, behind the guard."""

import functools
import importlib
import os
import pkgutil
import traceback
from collections.abc import Callable, Iterator
from functools import lru_cache
from pathlib import Path

from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.routing import Route

from flatgen import served
from flatgen.errors import FlatgenError
from flatgen.served.files import Conflict, Desk
from flatgen.served.shell import HERE, back, conflict_page, desk_of, wrong
from flatgen.served.work import Work

Handler = Callable[[Request], Response]
TRACEBACK = "FLATGEN_TRACEBACK"  # set to let our own mistakes show where they are
KINDS = {".css": "text/css", ".js": "text/javascript", ".svg": "image/svg+xml"}


def bench_app(desk: Desk) -> Starlette:
    """The whole app for one job's desk; it stands behind a guard."""
    app = Starlette(routes=list(_routes()), exception_handlers={404: _no_page})
    app.state.desk, app.state.work, app.state.phone = desk, Work(desk), None
    return app


def _routes() -> Iterator[Route]:
    """Ours, then those of every module of this room that has some."""
    yield Route("/files/{name}", _file)
    yield Route("/undo", _told(_undo), methods=["POST"])
    yield Route("/redo", _told(_redo), methods=["POST"])
    for info in sorted(pkgutil.iter_modules(served.__path__), key=lambda info: info.name):
        module = importlib.import_module(f"{served.__name__}.{info.name}")
        for route in getattr(module, "ROUTES", ()):
            yield Route(route.path, _told(route.endpoint), methods=[*(route.methods or ("GET",))])


def _told(handler: Handler) -> Handler:
    """A handler whose errors become a page that says what cannot be."""

    @functools.wraps(handler)
    def told(request: Request) -> Response:
        try:
            return handler(request)
        except FlatgenError as error:
            return wrong(request, error)
        except Exception as error:
            if os.environ.get(TRACEBACK):
                traceback.print_exc()
            return wrong(request, error)

    return told


def _file(request: Request) -> Response:
    """Style and script of the page."""
    name = request.path_params["name"]
    path = HERE / "static" / Path(name).name
    if name == "page.css":
        return Response(_style(), media_type="text/css")
    if path.suffix not in KINDS or not path.is_file():
        return PlainTextResponse("There is no such file.\n", 404)
    return Response(path.read_bytes(), media_type=KINDS[path.suffix])


@lru_cache(maxsize=1)
def _style() -> str:
    """The packet's own style with the lines of its drawings, so that both look alike, then what only the bench has."""
    from flatgen.write.page import FILES
    from flatgen.write.screen import layer_styles

    own = (HERE / "static" / "bench.css").read_text(encoding="utf-8")
    return (FILES / "page.css").read_text(encoding="utf-8") + layer_styles() + own


def _no_page(request: Request, error: Exception) -> Response:
    return PlainTextResponse("There is no such page.\n", 404)


def _undo(request: Request) -> Response:
    return _stepped(request, desk_of(request).undo())


def _redo(request: Request) -> Response:
    return _stepped(request, desk_of(request).redo())


def _stepped(request: Request, found: object) -> Response:
    return conflict_page(request, found) if isinstance(found, Conflict) else back(request)
