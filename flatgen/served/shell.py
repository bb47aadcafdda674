"""What every page of the bench has: the frame around it, the form that was sent, the picture of a content."""

import functools
import json
from collections.abc import Callable, Iterable
from functools import lru_cache
from pathlib import Path
from typing import Any
from urllib.parse import parse_qsl

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from flatgen.errors import FlatgenError, InputError, InputErrors
from flatgen.page.content import Content, Heading, Subject
from flatgen.served.files import Conflict, Desk
from flatgen.served.guard import BODY

HERE = Path(__file__).parent
# the trade's order of work: what is wanted, of what metal, how it lies on the sheet, how it is bent, what came of it
PAGES = (
    ("/", "Job"),
    ("/metal", "Metal"),
    ("/sheets", "Sheets"),
    ("/brake", "Brake"),
    ("/nose", "Nose bars"),
    ("/bends", "Test bends"),
    ("/tally", "Tally"),
    ("/records", "Records"),
    ("/print", "Print"),
    ("/shop", "Shop"),
)

PHONE_PAGES = (("/tally", "Tally"), ("/settings", "Settings"))
PHONE = "flatgen.phone"  # in the scope of a request that comes from a paired phone


@lru_cache(maxsize=1)
def templates() -> Environment:
    """The templates; everything that is put into one is escaped."""
    env = Environment(loader=FileSystemLoader(HERE / "templates"), autoescape=True, undefined=StrictUndefined)
    env.trim_blocks = env.lstrip_blocks = True
    env.filters["shown"] = shown
    env.filters["path"] = json.dumps
    return env


def shown(content: Content | Subject | Iterable[Content]) -> Markup:
    """A content, a subject or several contents as markup, by the printer that the packet's page uses."""
    from flatgen.write import screen

    if isinstance(content, Subject):
        return Markup(screen.article(content))
    if isinstance(content, Heading):  # it stands in no article here, so it is one level higher
        return Markup("<h{0}>{1}</h{0}>").format(content.level + 2, content.text)
    if isinstance(content, Iterable):
        return Markup("").join(shown(one) for one in content)
    return Markup(screen.shown(content))


def desk_of(request: Request) -> Desk:
    """The desk that a request works at."""
    desk: Desk = request.app.state.desk
    return desk


def page(request: Request, template: str, /, status: int = 200, **told: Any) -> Response:
    """A page in the frame."""
    desk = desk_of(request)
    news, desk.news = desk.news, ""
    common = {
        "pages": PHONE_PAGES if request.scope.get(PHONE) else PAGES,
        "phone": None if request.scope.get(PHONE) else request.app.state.phone,
        "small": bool(request.scope.get(PHONE)),
        "here": request.url.path,
        "title": desk.text(desk.job_name).tree.get("title", desk.job_name),
        "revisions": file_revisions(desk),
        "can_undo": desk.can[0],
        "can_redo": desk.can[1],
        "conflict": None,
        "news": news,
        "sentence": "",
    }
    return HTMLResponse(templates().get_template(template).render({**common, **told}), status)


def file_revisions(desk: Desk) -> dict[str, str]:
    """Revisions of the files that a page shows, as far as they lie within the job's folder."""
    names = [name for name in (desk.job_name, _shop_name(desk)) if name]
    return {name: desk.text(name).revision for name in names}


def part_of_page(template: str, **told: Any) -> Response:
    """A piece of a page that is asked for by itself."""
    return HTMLResponse(templates().get_template(template).render(told))


def piece(make: Callable[[Request], Iterable[Content] | Content | Subject | Markup]) -> Callable[[Request], Response]:
    """A handler for a piece of a page: contents as the packet's page shows them; what cannot be, as a sentence."""

    @functools.wraps(make)
    def told_piece(request: Request) -> Response:
        try:
            found = make(request)
            return HTMLResponse(found if isinstance(found, Markup) else shown(found))
        except FlatgenError as error:
            return HTMLResponse(Markup("").join(Markup('<p class="stop">{}</p>').format(line) for line in told(error)))

    return told_piece


def _shop_name(desk: Desk) -> str:
    """The shop's file, where it lies within the job's folder."""
    name = desk.shop_name
    try:
        desk.path(name)
    except InputError:
        return ""
    return name


def sent(request: Request) -> dict[str, str]:
    """Fields of the form that was sent; of a name that stands there twice the last."""
    return dict(sent_pairs(request))


def sent_pairs(request: Request) -> list[tuple[str, str]]:
    """Fields of the form in order."""
    try:
        return parse_qsl(request.scope[BODY].decode("utf-8"), keep_blank_values=True, max_num_fields=20_000)
    except ValueError:
        raise InputError("this is no form of the bench page") from None


def whole_number(text: str, what: str) -> int:
    """A number that a form sends; InputError for what is none."""
    text = text.strip()
    if not (text.isascii() and text.isdecimal() and len(text) < 9):
        raise InputError(f'"{text[:30]}" is no number of {what}')
    return int(text)


def back(request: Request, on: str = "") -> Response:
    """To the page that the form stands on, or on to another."""
    asked = (on, sent(request).get("back", ""))
    return RedirectResponse(next((to for to in asked if to.startswith("/") and not to.startswith("//")), "/"), 303)


def conflict_page(request: Request, conflict: Conflict) -> Response:
    """What the file says and what was wanted, side by side; nothing was written."""
    return page(request, "conflict.html", 409, conflict=conflict, back=sent(request).get("back", "/"))


def told(error: Exception) -> list[str]:
    """The sentences of an error, without the folder that everybody knows."""
    if isinstance(error, InputErrors):
        return [line for one in error.errors for line in told(one)]
    if isinstance(error, InputError):
        place = (Path(error.file).name if error.file else "", f"line {error.line}" if error.line else "", error.where)
        head = ", ".join(filter(None, place))
        return [f"{head}: {error.message}" if head else str(error.message)]
    return [str(error)] if isinstance(error, FlatgenError) else ["A mistake of flatgen's own, not of yours."]


def wrong(request: Request, error: Exception) -> Response:
    """A page that says what cannot be."""
    status = 422 if isinstance(error, FlatgenError) else 500
    try:
        return page(request, "wrong.html", status, sentences=told(error))
    except FlatgenError:
        return HTMLResponse(templates().get_template("bare.html").render(sentences=told(error)), status)
