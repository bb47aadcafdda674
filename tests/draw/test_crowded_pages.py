"""Pages of parts that leave little room: no text lies over another, whatever the part is called."""

import pytest
from click.testing import CliRunner
from page_texts import clashes, texts_of

from flatgen.cli import flatgen
from flatgen.drawings import enclosures
from flatgen.jobs.loading import load
from flatgen.jobs.make import compute

# eight short flanges in two slightly askew rows, a shallow joggle, feet that come to lie under each other, a long name
JOB = """
title = "Crowded"
units = "mm"
shop = "shop.toml"
material = "6061-T6"
thickness = 1
radius = 3

[[part]]
id = "RIB-8"
profile = "rib"
quantity = 12
length = 304.8

[[part]]
id = "JOG-6"
profile = "joggled-strap"
quantity = 2

[[part]]
id = "SADDLE-1"
profile = "saddle"
quantity = 3

[[part]]
id = "FOOTED-HAT-OF-THE-AFT-FLOAT-FRAME"
profile = "footed-hat"
hand = "pair"
quantity = 12
"""


@pytest.fixture(scope="module")
def pages(tmp_path_factory):
    folder = tmp_path_factory.mktemp("crowded")
    done = CliRunner().invoke(flatgen, ["new", str(folder), "--yes", "--units", "mm"])
    assert 0 == done.exit_code, done.output
    (folder / "job.toml").write_text(JOB, encoding="utf-8")
    return [(e.kind, page) for e in enclosures(compute(load(folder / "job.toml"))) for page in e.drawings]


def test_no_two_texts_lie_over_each_other(pages):
    assert {"blank", "setup", "card", "nest"} <= {kind for kind, _ in pages}
    for kind, page in pages:
        assert [] == clashes(page), (kind, page.title)


def test_bends_at_one_place_share_a_line(pages):
    rib = [page for kind, page in pages if kind == "card" and page.title.startswith("RIB-8")]
    said = [text.text for page in rib for text in texts_of(page)]
    assert 1 == said.count("b1, b2, b3, b4"), said
