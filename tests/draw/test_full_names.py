"""A long part number loses neither itself nor its hand nor its grain, on any paper of a part."""

from dataclasses import replace
from pathlib import Path

import pytest

from flatgen.develop.develop import develop
from flatgen.draw.blank_sheet import blank_sheet
from flatgen.draw.card import Bench, card_pages, cards
from flatgen.draw.card_groups import CardPart
from flatgen.draw.card_steps import Source
from flatgen.draw.template import template
from flatgen.draw.tiles import Layout, pages
from flatgen.model.tally import Counts
from flatgen.page.drawing import Text
from flatgen.page.paper import PAPERS
from flatgen.read.job import read_job

LONG = "FLOAT-FITTING-BULKHEAD-7-UPPER-ANG"
JOB = Path(__file__).parent / "data" / "six.toml"


@pytest.fixture(scope="module", params=["left", "right"])
def handed(request):
    job = read_job(JOB)
    part = replace(
        next(p for p in job.parts if p.id == "TF-101"),
        id=LONG,
        mark=LONG,
        hand=request.param,
        title="Bulkhead clip of the upper frame behind the step, with its doubler on the wet side",
    )
    return job, part, develop(part, job.shop)


def papers(job, part, blank):
    yield blank_sheet(part, blank, (), job.shop, "in")
    for paper in ("letter", "a4"):
        bench = Bench("Floats of the second amphibian", "in", PAPERS[paper], ())
        one = CardPart(
            part,
            blank,
            {b.id: b.parent for b in blank.bends},
            Counts(part.id, 2, 1, 0, 0, 0),
            Source(job.shop.tools[0]),
            (),
            None,
        )
        yield card_pages(cards([one], bench), bench)
        yield pages([template(part, blank, "in")], Layout(PAPERS[paper], title="Floats of the second amphibian"))


def test_name_hand_and_grain_are_whole_and_legible(handed):
    job, part, blank = handed
    for drawings in papers(job, part, blank):
        for page in drawings:
            texts = [i for i in page.items if isinstance(i, Text)]
            said = " ".join(i.text for i in texts)
            assert LONG in said and f"{part.hand.upper()} HAND" in said, page.title
            assert all(i.height >= 2.0 for i in texts if LONG in i.text or " HAND" in i.text), page.title
            x0, x1 = page.origin[0], page.origin[0] + page.size[0]
            assert all(x0 <= i.at[0] <= x1 for i in texts)
        assert any("GRAIN" in i.text for page in drawings for i in page.items if isinstance(i, Text))
