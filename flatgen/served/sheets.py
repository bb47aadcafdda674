"""The sheets: every nest as a picture with its cuts, its progress, and a longer search that may be ended."""

from collections.abc import Iterator

from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from flatgen.errors import InputError
from flatgen.model.results import Results
from flatgen.page.content import Facts, Fold, Words
from flatgen.served.shell import desk_of, page, piece, sent, shown
from flatgen.served.work import Ended, Work

EFFORTS = (20, 60, 300)  # offered for a longer search of each alloy [s]


def _sheets(request: Request) -> Response:
    return page(request, "sheets.html", effort="", efforts=EFFORTS, kept=_kept(request))


def _longer(request: Request) -> Response:
    """The page that waits for a longer search, with its progress, and may end it."""
    effort = sent(request).get("effort", "")
    if effort not in map(str, EFFORTS):
        raise InputError("this is none of the times offered")
    request.app.state.effort = effort
    return page(request, "sheets.html", effort=effort, efforts=EFFORTS, kept=_kept(request))


def _kept(request: Request) -> bool:
    from flatgen.jobs.nests import lock_file

    return lock_file(desk_of(request).job()).exists()


def _nests(request: Request) -> Markup:
    """Every sheet, once it is nested; after a longer search where the address says so."""
    work: Work = request.app.state.work
    effort = request.query_params.get("effort", "")
    if not desk_of(request).job().parts:
        return shown(Words("There is no part yet.", "quiet"))
    said = Markup("")
    if effort and effort == getattr(request.app.state, "effort", ""):  # the form asked for it; an address does not
        request.app.state.effort = ""
        try:
            work.longer(float(effort))
        except Ended:
            said = shown(Words("The search was ended before it found a better nest."))
    return said + work.of_whole("sheets", lambda results: Markup("").join(_pieces(results)))


def _pieces(results: Results) -> Iterator[Markup]:
    from flatgen.drawings import sheet_subjects
    from flatgen.write.nest_words import nest_facts, nest_title

    for report in results.nests:
        for left in report.unplaced:
            yield shown(Words(f"{left.part}: {left.quantity} not nested. {left.reason}", "stop"))
    for report in results.nests:
        facts = Facts(tuple(nest_facts(results, report)))
        yield shown(Fold(f"How well the sheets are used: {nest_title(results, report)}", (facts,)))
    for _, subject in sheet_subjects(results):
        yield shown(subject)
    if not any(report.nests for report in results.nests):
        yield shown(Words("Nothing is left to cut."))


def _cancel(request: Request) -> Response:
    request.app.state.work.cancel()
    return RedirectResponse("/sheets", 303)


def _let_go(request: Request) -> Response:
    """The nests that were kept are forgotten."""
    from flatgen.jobs.nests import let_go

    let_go(desk_of(request).job())
    request.app.state.work.forget()
    return RedirectResponse("/sheets", 303)


ROUTES = [
    Route("/sheets", _sheets),
    Route("/sheets", _longer, methods=["POST"]),
    Route("/sheets/nests", piece(_nests)),
    Route("/sheets/end", _cancel, methods=["POST"]),
    Route("/sheets/let-go", _let_go, methods=["POST"]),
]
