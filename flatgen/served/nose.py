"""The nose plan: which bars would do, what each choice costs, and a button that takes one into the shop's file."""

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from flatgen.jobs.nose_plan import NosePlan, Planner
from flatgen.model.job import Job
from flatgen.served.begin import shop_file
from flatgen.served.files import Conflict
from flatgen.served.shell import conflict_page, desk_of, page, part_of_page, sent, told, whole_number
from flatgen.served.work import Work

SHOWN = 8


def _nose(request: Request) -> Response:
    return page(request, "nose.html", parts=bool(desk_of(request).job().parts))


def _planned(request: Request) -> tuple[Job, NosePlan]:
    work: Work = request.app.state.work
    return work.of_job("nose", lambda job: (job, Planner(job).plan(work.track)))


def _plan(request: Request) -> Response:
    """The choices as a table, the least costly first, then the bars in use now."""
    from flatgen.errors import FlatgenError
    from flatgen.jobs import nose_words as words

    try:
        job, found = _planned(request)
    except FlatgenError as error:
        return part_of_page("nose_plan.html", sentences=told(error), choices=())
    asked, heads = words.asked_rows(found.asked, job.units)
    choices = [
        (number, words.row(str(number), one, job.units), words.reason(one, found))
        for number, one in enumerate(found.choices[:SHOWN], 1)
    ]
    return part_of_page(
        "nose_plan.html",
        sentences=(),
        asked=asked,
        asked_heads=heads,
        heads=words.heads(found),
        choices=choices,
        now=words.row("now", found.now, job.units),
        many=len(found.choices),
    )


def _take(request: Request) -> Response:
    """A choice written into the shop's file; bars on hand that it leaves out are set aside."""
    from flatgen.jobs.nose_bar import taken

    number = whole_number(sent(request).get("number", ""), "a choice")
    job, found = _planned(request)
    file = shop_file(desk_of(request))
    work: Work = request.app.state.work
    text, _ = work.of_job(f"take {number} {file.revision}", lambda _: taken(job, found, number, file.text))
    written = desk_of(request).put(file.name, file.revision, text)
    return conflict_page(request, written) if isinstance(written, Conflict) else RedirectResponse("/nose", 303)


ROUTES = [Route("/nose", _nose), Route("/nose/plan", _plan), Route("/nose/take", _take, methods=["POST"])]
