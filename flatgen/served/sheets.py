"""The sheets: every nest as a picture with its cuts, its progress, and a longer search that can be ended at any time."""

from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response
from starlette.routing import Route

from flatgen.errors import InputError
from flatgen.page.content import Words
from flatgen.served.shell import desk_of, page, part_of_page, sent, shown
from flatgen.served.work import Ended

EFFORTS = (20, 60, 300)  # offered for a longer search of each alloy [s]


def _sheets(request: Request) -> Response:
    return page(request, "sheets.html", effort=0)


def _longer(request: Request) -> Response:
    """A longer search: the page waits for it, with its progress, and may end it."""
    text = sent(request).get("effort", "")
    if text not in map(str, EFFORTS):
        raise InputError("this is none of the times offered")
    return page(request, "sheets.html", effort=int(text))


def _nests(request: Request) -> Response:
    """Every sheet, once it is nested."""
    from flatgen.cli_free import nothing  # placeholder
    return HTMLResponse("")


ROUTES = []
