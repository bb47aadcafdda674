"""The gates of the bench over the demo, the whole library and random jobs, on letter and A4; each gate seen to fail."""

from dataclasses import replace
from pathlib import Path

import pytest
from bench_gates import of_a_card, of_a_sheet, of_settings, on_a_page, too_empty
from making import every_second
from page_texts import texts_of
from random_jobs import long_job, random_job

from flatgen.develop.develop import develop
from flatgen.draw.card import Bench, card_pages, cards
from flatgen.draw.card_groups import CardPart
from flatgen.draw.card_steps import Source
from flatgen.draw.view import clamped_faces
from flatgen.drawings import (
    card_bench,
    coupon_drawings,
    gauge_drawings,
    job_cards,
    nest_drawings,
    printed_on,
    setup_drawings,
    sheet_subjects,
    tally_drawings,
)
from flatgen.jobs.loading import load
from flatgen.jobs.make import compute
from flatgen.library import entries
from flatgen.model.tally import Counts
from flatgen.page.drawing import Line, OrdinateDimension, Text
from flatgen.page.flow import pages
from flatgen.page.paper import PAPERS
from flatgen.read.sample import sample_part
from flatgen.records.checklist import checklist

PAPER = {"in": "letter", "mm": "a4"}


def in_units(results, units):
    """The results as a shop of the other unit and paper has them."""
    return replace(
        results, job=replace(results.job, units=units, shop=replace(results.job.shop, printer_paper=PAPER[units]))
    )


def papers(results):
    """Every kind of page of a job: name, pages."""
    wanted = [made for made in results.parts if not made.stopped]
    made = job_cards(results)
    yield "cards", card_pages(made, card_bench(results)) if made else ()
    for drawn in (
        setup_drawings(results),
        coupon_drawings(results, wanted),
        gauge_drawings(results),
        nest_drawings(results),
        tally_drawings(results),
    ):
        yield from ((e.name, e.drawings) for e in drawn if "pdf" in e.formats and "machine" not in e.name)


def violations(results):
    """All that the gates say of a job."""
    units, plan = results.job.units, results.plan
    parts = {made.part.id: made.part for made in results.parts}
    found, there = [], dict(papers(results))
    for name, drawn in there.items():
        found += [f"{name}, {page.title}: {said}" for page in drawn for said in on_a_page(page)]
        found += [f"{name}: {title} is empty" for title in too_empty(drawn)]
    for card in job_cards(results):
        found += [f"{card.front.title}: {said}" for said in of_a_card(card, card_pages([card], card_bench(results)))]
    if plan and plan.setups:
        found += of_settings(plan.setups, parts, there["setup"], units)
    blanks = {made.part.id: made.blank for made in results.parts}
    sheets = [drawn for name, drawn in there.items() if name.startswith("nests/")]
    for (nest, _), drawn in zip(sheet_subjects(results), sheets, strict=True):
        found += of_a_sheet(nest, drawn, blanks)
    return found


@pytest.mark.parametrize("units", ["in", "mm"])
def test_the_demo(demo_drawn, units):
    results = in_units(demo_drawn[1], units)
    assert [] == violations(results)


def test_the_first_clips():
    assert [] == violations(compute(load(Path("examples/first-clips/job.toml"))))


def test_the_demo_takes_few_pages(demo_drawn):
    """Cards, sheets, settings, gauges and tally, templates of blanks not counted: at most 45 (130 at version 0.1)."""
    there = dict(papers(demo_drawn[1]))
    cards_own = sum(any(text.text == "initials" for text in texts_of(page)) for page in there.pop("cards"))
    assert cards_own + sum(len(drawn) for name, drawn in there.items() if name != "coupons") <= 45


def bare_card(part, blank, shop, units):
    """A part as its card needs it, without a plan of the brake."""
    checks = checklist(part, blank, shop, (), units)
    return CardPart(
        part,
        blank,
        clamped_faces(part, blank),
        Counts(part.id, part.quantity, 1, 0, 0, 0),
        Source(shop.tools[0], (1,)),
        (),
        checks,
    )


def of_cards(made, units, title="Oxbow floats, set 1"):
    """What the gates say of cards on the paper of a unit, templates among their pages."""
    bench = Bench(title, units, PAPERS[PAPER[units]], (), (1.002, 0.997))
    found = []
    for card in cards(made, bench):
        drawn = card_pages([card], bench)
        found += [f"{page.title}: {said}" for page in drawn for said in on_a_page(page)]
        found += [f"{card.front.title}: {said}" for said in of_a_card(card, drawn)]
    return found


@pytest.mark.parametrize("units", ["in", "mm"])
def test_the_whole_library(units):
    for one in every_second(entries(), units == "mm"):
        part, shop = sample_part(one.profile, units)
        assert [] == of_cards([bare_card(part, develop(part, shop), shop, units)], units), part.id


def of_a_long_job(seed, folder):
    job, units = load(long_job(seed, folder)), ("in", "mm")[seed % 2]
    made = [bare_card(part, develop(part, job.shop), job.shop, units) for part in job.parts]
    return of_cards(made, units, job.title)


@pytest.mark.parametrize("seed", [0, 11, 12])
def test_long_small_and_much_bent_parts(seed, tmp_path):
    assert [] == of_a_long_job(seed, tmp_path)


@pytest.mark.deep
@pytest.mark.parametrize("seed", range(100, 160))
def test_sixty_more(seed, tmp_path):
    assert [] == of_a_long_job(seed, tmp_path)


@pytest.mark.parametrize("seed", [3])
def test_settings_sheets_and_coupons_of_a_random_job(seed, tmp_path):
    assert [] == violations(compute(load(random_job(seed, tmp_path))))


@pytest.mark.deep
@pytest.mark.parametrize("seed", range(200, 240))
def test_forty_more(seed, tmp_path):
    assert [] == violations(compute(load(random_job(seed, tmp_path))))


def changed(page, item_of, change):
    """The page with one change in the items that ``item_of`` picks."""
    return replace(page, items=tuple(change(item) if item_of(item) else item for item in page.items))


def is_text(item):
    return isinstance(item, Text)


PAGE_MISTAKES = {
    "high": lambda page: changed(page, is_text, lambda item: replace(item, height=1.9)),
    "to work by": lambda page: changed(
        page, lambda item: isinstance(item, OrdinateDimension), lambda item: replace(item, height=2.4)
    ),
    " over ": lambda page: replace(page, items=(*page.items, next(filter(is_text, page.items)))),
    "breaks off": lambda page: changed(page, is_text, lambda item: replace(item, text=item.text.removesuffix("."))),
    "without its word": lambda page: replace(
        page, items=tuple(item for item in page.items if not (is_text(item) and item.text == "GRAIN"))
    ),
    "no page is named": lambda page: replace(page, items=(*page.items, Text("note", (150.0, 30.0), "(page 000)", 2.0))),
    "off the paper": lambda page: replace(page, items=(*page.items, Line("note", (-5.0, 9.0), (9.0, 9.0)))),
    "off the metal": lambda page: changed(
        page,
        lambda item: item.layer == "datum-edge",
        lambda item: replace(item, start=(item.start[0], item.start[1] - 1.0)),
    ),
    "nearer than": lambda page: replace(page, items=(*page.items, beside_a_sight_line(page))),
}


def beside_a_sight_line(page):
    lines = (i for i in page.items if isinstance(i, Line) and i.layer == "sight")
    line = max(lines, key=lambda i: i.box()[2] - i.box()[0])
    return Line("bend-up", (line.start[0], line.start[1] + 0.5), (line.end[0], line.end[1] + 0.5))


@pytest.mark.parametrize("said", PAGE_MISTAKES)
def test_a_mistake_on_a_page_is_seen(demo_drawn, said):
    results = demo_drawn[1]
    page = card_pages(job_cards(results)[:1], card_bench(results))[0]
    assert [] == on_a_page(page)
    assert any(said in one for one in on_a_page(PAGE_MISTAKES[said](page)))


def test_mistakes_of_a_card_are_seen(demo_drawn):
    card = job_cards(demo_drawn[1])[0]
    pages, (one,) = card_pages([card], card_bench(demo_drawn[1])), card.parts
    assert ["5 pages"] == of_a_card(card, pages * 5)
    renamed = replace(one, part=replace(one.part, mark="XX-9", hand="left"))
    assert ["XX-9 LEFT HAND is not named"] == of_a_card(replace(card, parts=(renamed,)), pages)
    bare = changed(pages[0], lambda item: is_text(item) and item.text == "leg_a", lambda item: replace(item, text="a"))
    assert ["face leg_a is not named"] == of_a_card(card, (bare,))
    behind = replace(pages[0], title="TF-101, continued")
    assert ["its sizes are on a page that no step names"] == of_a_card(card, (*pages, behind))
    few = tuple(i for i in pages[0].items if i.box()[1] > 180.0 or i.box()[3] < 22.0)
    empty = replace(pages[0], items=few)
    assert [pages[0].title] == too_empty([empty, *pages]) and [] == too_empty([*pages, empty])


def test_mistakes_of_settings_and_sheets_are_seen(demo_drawn):
    results = demo_drawn[1]
    parts = {made.part.id: made.part for made in results.parts}
    setup = next(s for s in results.setups if s.operations[0].picture.contact is not None)
    op = setup.operations[0]
    printed = next(setup_drawings(results)).drawings
    small = [changed(page, is_text, lambda item: replace(item, height=min(item.height, 8.0))) for page in printed]
    assert "is small" in of_settings([setup], parts, small, "in")[0]
    loose = replace(op, picture=replace(op.picture, contact=op.picture.contact + 9e3))
    said = of_settings([replace(setup, operations=(loose,))], parts, printed, "in")
    assert [f"{op.part} {op.bend}: the stop touches nothing"] == said
    untried = replace(op, leg_drawn=None, behind=None, ahead=None)
    said = of_settings([replace(setup, operations=(untried,))], parts, printed, "in")
    assert [f"setting {setup.number}: no size to try the first piece by"] == said
    nest, subject = next(sheet_subjects(results))
    drawn = pages([subject], printed_on(results.job, ""))
    blanks = {made.part.id: made.blank for made in results.parts}
    assert [] == of_a_sheet(nest, drawn, blanks)
    assert ["1 gauges are not there"] == of_a_sheet(nest, [without_a_large_text(drawn[0]), *drawn[1:]], blanks)


def without_a_large_text(page):
    large = next(item for item in page.items if is_text(item) and item.height >= 10.0)
    return replace(page, items=tuple(item for item in page.items if item is not large))
