"""What a nose is called and how a piece is laid in is said with the same words on every surface."""

import json
import re
from pathlib import Path

import pytest
from click.testing import CliRunner
from page_texts import texts_of

from flatgen.cli import flatgen
from flatgen.drawings import setup_drawings, subjects
from flatgen.jobs.loading import load
from flatgen.jobs.make import planned
from flatgen.model.handling import handling, lay_words
from flatgen.write.results_json import as_dict
from flatgen.write.screen import article

DEMO = Path("examples/float-fittings/job.toml")


@pytest.fixture(scope="module")
def results():
    return planned(load(DEMO))


@pytest.fixture(scope="module")
def surfaces(results):
    """Words of sheets and page, white space made even and marks of writing direction taken out."""
    sheets = " ".join(t.text for e in setup_drawings(results) for d in e.drawings for t in texts_of(d))
    page = re.sub(r"<[^>]*>", "", " ".join(map(article, subjects(results).settings)))
    return [" ".join(re.sub("[\u2066-\u2069]", "", text).split()) for text in (sheets, page)]


def test_the_demo_has_a_shoe_and_fingers(results) -> None:
    names = {setup.nose for setup in results.setups}
    assert {"nose 1/8 + 0.031 in shoe", "nose 3/32, fingers 1.250 + 1.000 in"} <= names
    assert {bend.bent.nose for made in results.parts for bend in made.blank.bends} <= {n.split(",")[0] for n in names}


def test_a_nose_has_its_full_name_everywhere(results, surfaces, tmp_path) -> None:
    out = str(tmp_path / "s.pdf")
    table = CliRunner().invoke(flatgen, ["setup", str(DEMO), "--out", out]).stdout
    listed = json.loads(CliRunner().invoke(flatgen, ["setup", str(DEMO), "--out", out, "--json"]).stdout)["setups"]
    assert [one["nose"] for one in listed] == [setup.nose for setup in results.setups]
    for name in {setup.nose for setup in results.setups}:
        assert all(name in text for text in (table, *surfaces)), name


def test_a_turn_is_told_with_the_same_words_everywhere(results, surfaces) -> None:
    operations = [op for setup in results.setups for op in setup.operations]
    assert any("a quarter" in lay_words(op) for op in operations)
    written = [op["handling"] for setup in as_dict(results)["setups"] for op in setup["operations"]]
    assert [handling(op) for op in operations] == written
    for words in {lay_words(op) for op in operations}:
        assert all(words in text for text in surfaces), words
