"""Words of the buttons of a part's page are those of its fields."""

import pytest

from flatgen.brake.reasons import MADE_WITH
from flatgen.jobs.cures import Cure
from flatgen.model.finding import Finding, Severity
from flatgen.page.findings import lines, told
from flatgen.said import said
from flatgen.served.part_at import folded
from flatgen.served.part_fields import cure_words
from flatgen.write.edits import Drop


@pytest.mark.parametrize(
    ("key", "words"),
    [
        ("holes 3, at 1, y", "holes 3 place 1, y: 9/32 in, not .2 in"),
        ("holes 1, edge_distance", "holes 1 from the edge: 9/32 in, not .2 in"),
        ("leg_b", "E leg b: 9/32 in, not .2 in"),
        ("radius", "inside radius: 9/32 in, not .2 in"),
    ],
)
def test_a_cure_names_its_field(key: str, words: str) -> None:
    finding = Finding("hole-to-bend", Severity.FORBID, "FB-1", "hole 4", None, None, "", "common practice, no source")
    assert words == cure_words(Cure(finding, Drop(("part", 0)), key, ".2 in", "9/32 in"), {"leg_b": "E"})


def test_what_a_guessed_brake_could_be_is_folded_aside() -> None:
    """Nine figures in one sentence hide what is to be done."""
    todo = said(MADE_WITH, "a bed no deeper than 12 mm")
    finding = Finding(
        "brake-collision", Severity.WARN, "FB-2", "bend b5", None, None, "guessed", "simulation", todo=todo
    )
    (line,) = lines([finding], "mm")
    assert folded(told(line)) == ("FB-2, bend b5: guessed: measure it first.", "a bed no deeper than 12 mm")
    assert folded("FB-2: other") == ("FB-2: other", "")
