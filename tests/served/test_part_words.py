"""Words of the buttons of a part's page are those of its fields."""

import pytest

from flatgen.jobs.cures import Cure
from flatgen.model.finding import Finding, Severity
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
