"""Test bends: those that the job still needs, a form for what was measured, the shop's own deductions as a plot."""

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Any

from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from flatgen.core.words import UNIT_NAMES
from flatgen.errors import InputError, InputErrors
from flatgen.jobs.coupon_entry import FIELDS, coupon_of
from flatgen.jobs.shop_place import Place, job_place
from flatgen.model.job import Job
from flatgen.page.content import Picture, Table, Words
from flatgen.served.shell import desk_of, page, piece, sent, shown
from flatgen.served.work import Work

if TYPE_CHECKING:
    pass

CHOICES = {"grain": ("", "across", "along"), "yes-no": ("", "no", "yes")}


def _bends(request: Request) -> Response:
    return _page(request, {}, {}, "")


def _page(request: Request, typed: Mapping[str, str], wrong: Mapping[str, str], said: str, rest: Any = ()) -> Response:
    job = desk_of(request).job()
    return page(
        request,
        "bends.html",
        422 if wrong or rest else 200,
        parts=bool(job.parts),
        fields=[(one, typed.get(one.key, ""), wrong.get(one.key, "")) for one in FIELDS],
        choices=CHOICES,
        units=UNIT_NAMES[job.units],
        said=said,
        sentences=list(rest),
    )


def _needed(request: Request) -> Markup:
    """Test bends that the job still needs, with their marks."""
    work: Work = request.app.state.work
    return work.of_job("coupons", lambda job: Markup("").join(_needs(job)))


def _needs(job: Job) -> Iterator[Markup]:
    from flatgen.jobs.developed import develop_all
    from flatgen.records.coupon_plan import marked, needs
    from flatgen.units import format_length

    made = develop_all(job)
    wanted = needs([one.part for one in made], {one.part.id: one.blank for one in made}, job.shop.proofs)
    rows = tuple(
        (mark, need.material.name, format_length(need.thickness, job.units), need.nose, need.grain, f"{need.angle:g}°",
         str(need.pieces), str(need.recorded), str(need.missing) if need.missing else "none")
        for mark, need in marked(wanted, [part.id for part in job.parts])
    )  # fmt: skip
    heads = ("Mark", "Alloy", f"Thickness, {job.units}", "Nose", "Grain", "Angle", "Bends", "Recorded", "To bend")
    if rows:
        yield shown(Table("Combinations of the job, and what is still to be bent", heads, rows, (2, 6, 7)))
    else:
        yield shown(Words("No part of this job is bent on a nose bar."))


def _own(request: Request) -> Markup:
    """The shop's own deductions against the table's, as a plot and in words."""
    from flatgen.draw.coupon_chart import coupon_chart
    from flatgen.jobs.coupon_words import against_table, heads, remarks, row
    from flatgen.records.book import open_book
    from flatgen.records.coupons import combinations, current_coupons

    at = _place(request)
    with open_book(at.book, writing=False) as opened:
        found = combinations(current_coupons(opened))
    if not found:
        return shown(Words("No test bend is recorded yet.", "quiet"))
    plotted = [one for c in found if (one := against_table(c, at)) is not None]
    told: list[Any] = []
    if plotted:
        alt = "Own deductions less the table’s, a line a combination"
        told.append(Picture(coupon_chart(plotted, at.units), alt, caption="dots: coupons; bar: mean with 95 %"))
    told += [Words(line) for c in found for line in remarks(c, at)]
    told.append(Table("The shop’s own deductions and spring-back", heads(at), tuple(row(c, at) for c in found)))
    return shown(told)


def _place(request: Request) -> Place:
    return job_place(desk_of(request).job_path, None, None)


def _record(request: Request) -> Response:
    """A measured coupon into the shop's book."""
    from flatgen.records.coupons import doubts, record_coupons

    typed = sent(request)
    at = _place(request)
    try:
        coupon = coupon_of({field.key: typed.get(field.key) for field in FIELDS}, at)
        (number,) = record_coupons(at.book, (coupon,), at.length)
    except InputErrors as several:
        own = {one.where: str(one.message) for one in several.errors}
        keys = {field.key for field in FIELDS}
        return _page(request, typed, own, "", [text for where, text in own.items() if where not in keys])
    except InputError as error:
        return _page(request, typed, {error.where: str(error.message)}, "", [str(error.message)])
    doubt = "; ".join(doubts(coupon, at.length))
    return _page(request, {}, {}, f"Entered: {number}, {coupon.name}" + (f". Doubtful: {doubt}" if doubt else ""))


ROUTES = [
    Route("/bends", _bends),
    Route("/bends", _record, methods=["POST"]),
    Route("/bends/needed", piece(_needed)),
    Route("/bends/own", piece(_own)),
]
