"""The brake: its figures, the plan of settings in order, each with pictures of its strokes."""

from collections.abc import Iterator

from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from flatgen.model.results import Results
from flatgen.page.content import Fold, Words
from flatgen.read.shop import BRAKE_KEYS
from flatgen.served.begin import BARS, shop_file
from flatgen.served.fields import field, rows
from flatgen.served.shell import desk_of, page, piece, shown

SIMPLE = ("text", "length", "lengths", "angle", "flag", "choice", "force")  # kinds of keys that a field can hold


def _brake(request: Request) -> Response:
    desk = desk_of(request)
    file = shop_file(desk)
    brakes = file.tree.get("brake", [])
    names = [key.name for key in BRAKE_KEYS if key.kind in SIMPLE and key.name != "guessed"]
    return page(
        request,
        "brake.html",
        file=file,
        brakes=[
            (
                str(brake.get("name", k + 1)),
                [field(desk, file, ("brake", k, name)) for name in names],
                rows(desk, file, ("brake", k, "nose"), BARS),
                ("brake", k, "nose"),
            )
            for k, brake in enumerate(brakes)
        ],
        heads=("Name", "Radius", "Length", "Shoes", "Set aside"),
    )


def _plan(request: Request) -> Markup:
    """Settings in order, each with its strokes, as on paper."""
    if not desk_of(request).job().parts:
        return shown(Words("There is no part yet.", "quiet"))
    found: Markup = request.app.state.work.of_plan("settings", lambda results: Markup("").join(_settings(results)))
    return found


def _settings(results: Results) -> Iterator[Markup]:
    from flatgen.draw.settings import setting_subjects, settings_list

    plan, job = results.plan, results.job
    if plan is None or not plan.setups:
        yield shown(Words("No part that can be made is bent on the brake."))
        return
    parts = {made.part.id: made.part for made in results.parts}
    blanks = {made.part.id: made.blank for made in results.parts}
    yield shown(settings_list(plan, job.units, job.shop.minutes))
    for subject in setting_subjects(plan, parts, blanks, job.units, None, job.shop.minutes):
        yield shown(Fold(f"{subject.title.capitalize()}: {subject.side}", subject.contents))


def _only_settings(request: Request) -> Response:
    return page(request, "settings.html")


ROUTES = [Route("/settings", _only_settings), Route("/brake", _brake), Route("/brake/plan", piece(_plan))]
