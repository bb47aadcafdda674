"""No metal hangs by a whisker: between SK-302's two slots .002 in was left, with a scrap at the plate's corner."""

from pathlib import Path

import pytest

from flatgen import library
from flatgen.checks.necks import necks
from flatgen.core.outline import area
from flatgen.develop.develop import develop
from flatgen.read.job import read_job

JOBS = ("tests/draw/data/six.toml", "examples/float-fittings/job.toml")


@pytest.mark.parametrize("file", JOBS)
def test_no_blank_of_a_job_hangs_by_a_whisker(file):
    job = read_job(Path(file))
    for part in job.parts:
        blank = develop(part, job.shop)
        assert [] == necks(blank), part.id
        pieces = [*(face.outline for face in blank.faces), *(bend.outline for bend in blank.bends)]
        assert sum(map(area, pieces)) == pytest.approx(area(blank.outline), abs=1e-6), part.id


@pytest.mark.parametrize("units", ["in", "mm"])
def test_no_blank_of_the_library_hangs_by_a_whisker(units):
    for one in library.entries():
        assert [] == necks(library.sample_blank(one, units)), one.name


@pytest.mark.parametrize("start", [0.385, 0.39, 0.396, 0.3985, 0.3995, 0.401, 0.404])
def test_slots_that_nearly_meet_run_together(start, tmp_path):
    """The side flange's slot from .010 in off the other flange's slot to just off it; area stays balanced."""
    text = Path(JOBS[0]).read_text(encoding="utf-8")
    whole = text.replace("near_angle = 75\n", f'near_angle = 75\nside_from = "{start} in"\n')
    assert whole != text
    (tmp_path / "six.toml").write_text(whole, encoding="utf-8")
    (tmp_path / "shop.toml").write_bytes(Path(JOBS[0]).with_name("shop.toml").read_bytes())
    job = read_job(tmp_path / "six.toml")
    blank = develop(next(part for part in job.parts if part.id == "SK-302-L"), job.shop)
    assert [] == necks(blank)
