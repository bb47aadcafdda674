"""The tally at the brake: how far each part is, entered by big buttons; it goes the one way in that the commands go."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from flatgen.errors import FlatgenError, InputError
from flatgen.jobs.tallying import Place, cut_sheet, entered, event_of, tally_place
from flatgen.model.inspection import FAULTS
from flatgen.model.tally import Counts
from flatgen.page.content import Words
from flatgen.said import within
from flatgen.served.shell import desk_of, page, piece, sent, shown, told, whole_number
from flatgen.served.work import Work

SHOWN = 12  # latest entries that may be taken back
EVENINGS = (60, 150, 240)  # minutes


@dataclass(frozen=True, slots=True)
class Station:
    """One kind of work on a part: what is entered, how many are done and how many may be."""

    what: str
    place: str
    name: str
    done: int
    waiting: int


def stations(one: Counts) -> list[Station]:
    """What can be entered of a part as it stands, in the order of the work."""
    found = [Station("cut", "", "Blanks cut", one.cut, one.to_cut)]
    waiting = dict(one.waiting)
    for name, done in one.done:
        what = ("drilled", "", "Drilled and deburred") if name == "drilled" else ("bent", name, f"Bent at {name}")
        found.append(Station(*what, done, waiting.get(name, 0)))
    if not one.formed:  # a formed length is sawn into parts, which are entered as cut
        found.append(Station("good", "", "Good", one.good, one.in_work))
    return found


def _tally(request: Request) -> Response:
    desk = desk_of(request)
    if not desk.job().parts:
        raise InputError("there is no part yet, so nothing can be entered")
    at = tally_place(desk.job_path)
    return page(request, "tally.html", evenings=EVENINGS, said=request.query_params.get("said", ""), **_state(at))


def _state(at: Place) -> dict[str, Any]:
    from flatgen.records.begun import begun_sheets
    from flatgen.records.book import open_book
    from flatgen.records.stale import changes, stale_blanks
    from flatgen.records.tally import events, words
    from flatgen.tally.sheets import last_cut
    from flatgen.tally.words import HEADS, headline, tally_row

    with open_book(at.book, writing=False) as opened:
        counts = at.counts(opened)
        own = [one for one in events(opened, at.title) if one.kind != "order" and one.follows is None and one.id]
        begun = [(one.mark, one.done, last_cut(one.nest)) for one in begun_sheets(opened, at.title)]
        doubts = [within(one.text, at.units) for one in stale_blanks(opened, at.title, at.order)]
        changed = list(changes(opened, at.title, at.order))
    return {
        "headline": headline(counts),
        "heads": [head.capitalize() for head in HEADS],
        "counts": [(one, tally_row(one)) for one in counts],
        "entries": [(one.id, one.part or one.sheet, words(one), one.at[:16].replace("T", " ")) for one in own[-SHOWN:]],
        "begun": begun,
        "doubts": doubts,
        "changed": changed,
    }


def _part(request: Request) -> Response:
    """One part with its stations and their buttons."""
    return _part_page(request, "")


def _part_page(request: Request, said: str, sentences: tuple[str, ...] = ()) -> Response:
    from flatgen.records.book import open_book

    at = tally_place(desk_of(request).job_path)
    name = at.part(request.path_params["part"]).part
    with open_book(at.book, writing=False) as opened:
        one = next(one for one in at.counts(opened) if one.part == name)
    places = ["cut", *(station for station, _ in one.done), "good"]
    return page(
        request,
        "tally_part.html",
        422 if sentences else 200,
        one=one,
        stations=stations(one),
        faults=FAULTS,
        places=places,
        said=said,
        sentences=sentences,
    )


def _entered(request: Request) -> Response:
    """An entry of a part, by one of its buttons."""
    row = dict(sent(request)) | {"part": request.path_params["part"]}
    if row.get("what") == "rejected" and row.get("words", "").strip():
        row["why"] = row["words"]
    try:
        at = tally_place(desk_of(request).job_path)
        (line,) = entered(at, [event_of(row, row.get("by", ""))])
    except FlatgenError as error:
        return _part_page(request, "", tuple(told(error)))
    return _part_page(request, f"Entered: {line}")


def _sheet(request: Request) -> Response:
    """A sheet of the packet, cut up to a cut of its order."""
    told_, work = sent(request), request.app.state.work
    upto = told_.get("upto", "").strip()
    last = whole_number(upto, "a cut") if upto else None
    at = tally_place(desk_of(request).job_path)
    lines = cut_sheet(at, told_.get("sheet", "").strip(), last, work.out, told_.get("by", ""))
    return page(request, "tally.html", evenings=EVENINGS, said=" ".join(lines), **_state(at))


def _undo(request: Request) -> Response:
    """An entry taken back, with the reason in writing."""
    from flatgen.records.tally import undo

    told_ = sent(request)
    number = whole_number(told_.get("entry", ""), "an entry")
    undo(tally_place(desk_of(request).job_path).book, number, told_.get("why", ""), told_.get("by", ""))
    return RedirectResponse("/tally", 303)


def _tonight(request: Request) -> Markup:
    """What to do in so many minutes."""
    minutes = whole_number(request.query_params.get("minutes", "150"), "minutes")
    if not 5 <= minutes <= 1440:
        raise InputError(f"{minutes} min is no evening; it is 5 to 1440")
    work: Work = request.app.state.work
    found: Markup = work.of_whole(f"tonight {minutes}", lambda results: Markup("").join(_evening(results, minutes)))
    return found


def _evening(results: Any, minutes: int) -> Iterator[Markup]:
    from flatgen.draw.tally import evening

    yield shown(evening(results, minutes))
    if any(made.stopped for made in results.parts):
        yield shown(Words("Parts that a finding stops are not in this list.", "quiet"))


ROUTES = [
    Route("/tally", _tally),
    Route("/tally/tonight", piece(_tonight)),
    Route("/tally/sheet", _sheet, methods=["POST"]),
    Route("/tally/undo", _undo, methods=["POST"]),
    Route("/tally/part/{part}", _part),
    Route("/tally/part/{part}", _entered, methods=["POST"]),
]
