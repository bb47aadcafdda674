"""The scribing table gives every point of the blank, in the shop's way of writing."""

from pathlib import Path

import pytest

from flatgen.develop.develop import develop
from flatgen.draw.scribing import scribing_rows, scribing_sheets, writer
from flatgen.draw.view import clamped_faces
from flatgen.page.drawing import Text
from flatgen.read.job import read_job

INCH = 25.4
JOB = Path(__file__).parent / "data" / "six.toml"


def test_rows_of_the_clip(clip):
    """TF-101 (trade.md section 15): B holes at .500, 1.500, 2.500 by .281; blank 3.000 by 1.631; sight line .671."""
    part, blank = clip
    rows = dict(scribing_rows(blank, clamped_faces(part, blank), writer("decimal", "in")))
    assert [("0.500", "0.281"), ("1.500", "0.281"), ("2.500", "0.281")] == [r[1:3] for r in rows["HOLES, centres"][:3]]
    assert 8 == len(rows["OUTLINE, corners in order"])
    assert "arc R 0.250 about 0.250, 0.250 to the next" in {r[3] for r in rows["OUTLINE, corners in order"]}
    assert [("0.000", "0.671"), ("3.000", "0.671")] == [r[1:3] for r in rows["BENDS, marked with a pen"][-2:]]


def test_ways_of_writing():
    """3.758 in is 3 49/64 (3.765625) less .0076; 95.4569 mm (reckoned by hand)."""
    assert "3 49/64 -.007" == writer("64ths", "in")(95.456858)
    assert "95.5" == writer("tenths", "in")(95.456858)
    assert "95.46" == writer("decimal", "mm")(95.456858)


@pytest.mark.parametrize("writing", ["decimal", "64ths", "tenths"])
def test_sheets_hold_all_rows(writing):
    job = read_job(JOB)
    for part in job.parts:
        blank = develop(part, job.shop)
        sheets = scribing_sheets(part, blank, "in", writing=writing)
        said = [i.text for sheet in sheets for i in sheet.items if isinstance(i, Text)]
        for k in range(len(blank.outline)):
            assert f"C{k + 1}" in said
        assert len(blank.bends) * 6 == sum(text.endswith((", from", ", to")) for text in said)
