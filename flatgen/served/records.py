"""The records: what measured pieces say as charts with the one thing to do, a form for a piece, the log of the job."""

from collections.abc import Iterator, Mapping
from typing import Any

from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from flatgen.errors import FlatgenError, InputError
from flatgen.jobs.shop_place import Place, job_place
from flatgen.model.inspection import FAULTS, Checklist
from flatgen.page.content import Heading, Picture, Words
from flatgen.served.shell import desk_of, page, piece, sent, sent_pairs, shown, told, whole_number
from flatgen.served.work import Work

LETTERS = {"": "", "left": "L", "middle": "M", "right": "R"}
SHOWN = 200  # entries of the log


def _records(request: Request) -> Response:
    job = desk_of(request).job()
    return page(request, "records.html", ids=[part.id for part in job.parts], log=_log(_place(request)))


def _log(at: Place) -> list[tuple[str, str, str, str]]:
    """The latest entries of the job, those taken back among them: when, of what, what, by whom."""
    from flatgen.records.book import open_book
    from flatgen.records.tally import events, words

    assert at.job is not None
    with open_book(at.book, writing=False) as opened:
        found = events(opened, at.job.title, everything=True)
    return [(one.at[:16].replace("T", " "), one.part or one.sheet, words(one), one.by) for one in found[-SHOWN:]]


def _place(request: Request) -> Place:
    return job_place(desk_of(request).job_path, None, None)


def _charts(request: Request) -> Markup:
    """A chart for each size that was measured, after the one thing to do for its part."""
    work: Work = request.app.state.work
    at = _place(request)
    if at.job is None or not at.job.parts:
        return shown(Words("There is no part yet.", "quiet"))
    return work.of_job(f"charts {_state(at)}", lambda job: Markup("").join(_drawn(at)))


def _state(at: Place) -> str:
    """What of the book the charts depend on."""
    from flatgen.records.book import open_book

    with open_book(at.book, writing=False) as opened:
        return str(opened.rows("SELECT coalesce(max(id), 0) AS n FROM piece")[0]["n"])


def _drawn(at: Place) -> Iterator[Markup]:
    from flatgen.draw.run_chart import chart_picture
    from flatgen.jobs.inspecting import charts_of, reported

    found = reported(at)
    if not found.found:
        yield shown(Words("No measured piece is entered yet.", "quiet"))
    for part, action, reasons in found.said:
        yield shown([Heading(part), Words(action, "strong"), *(Words(reason) for reason in reasons)])
    for chart in charts_of(found.found, found.said, found.lists):
        yield shown([Heading(chart.title, 2), Picture(chart_picture(chart, at.units), chart.title)])


def _piece(request: Request) -> Response:
    return _piece_page(request, {}, [])


def _checks(request: Request) -> Checklist:
    """The checks of a part, with the stops of the brake's plan."""
    from flatgen.jobs.inspecting import planned

    work, part, at = request.app.state.work, request.path_params["part"], _place(request)
    lists: dict[str, Checklist] = work.of_job("checks", lambda job: {one.part: one for one in planned(at)[0]})
    if part not in lists:
        raise InputError(f'there is nothing to measure on a part "{part}"')
    return lists[part]


def _piece_page(request: Request, typed: Mapping[str, str], sentences: list[str], said: str = "") -> Response:
    """A form for one measured piece: every check with its limits, angles at three places along the bend."""
    at, sheet = _place(request), _checks(request)
    rows: list[Any] = []
    for check in sheet.checks:
        limits = f"{_size(at, check.kind, check.lower)} to {_size(at, check.kind, check.upper)}"
        names = [(f"{check.number}{LETTERS[place]}", place) for place in check.places]
        rows.append((check, limits, [(name, place, typed.get(name, "")) for name, place in names]))
    status = 422 if sentences else 200
    return page(request, "piece.html", status, sheet=sheet, rows=rows, typed=typed, sentences=sentences, said=said,
                faults=FAULTS)  # fmt: skip


def _size(at: Place, kind: str, value: float) -> str:
    return f"{value:.1f}°" if kind == "angle" else at.length(value)


def _record(request: Request) -> Response:
    """A measured piece into the shop's book."""
    from flatgen.jobs.inspect_entry import piece_of
    from flatgen.records.inspections import Words as Told
    from flatgen.records.inspections import record_pieces

    typed = sent(request)
    try:
        number = whole_number(typed.get("piece", ""), "a piece; count from 1 in the order of making")
        sizes = [f"{name}={text}" for name, text in sent_pairs(request) if name[:1].isdigit() and text.strip()]
        words = Told(*(typed.get(key, "").strip() for key in ("note", "sheet", "by", "concede", "why")))
        at = _place(request)
        made = piece_of(_checks(request), number, sizes, at, words)
        record_pieces(at.book, (made,))
    except FlatgenError as error:
        return _piece_page(request, typed, told(error))
    return _piece_page(request, {}, [], f"Entered: {made.part} piece {made.number}: {made.verdict.upper()}")


ROUTES = [
    Route("/records", _records),
    Route("/records/charts", piece(_charts)),
    Route("/records/piece/{part}", _piece),
    Route("/records/piece/{part}", _record, methods=["POST"]),
]
