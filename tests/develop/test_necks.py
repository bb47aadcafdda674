"""No metal hangs by a whisker: between SK-302's two slots .002 in was left, with a scrap at the plate's corner."""

import math
from pathlib import Path

import pytest
from hypothesis import HealthCheck, assume, example, given, settings
from hypothesis import strategies as st
from making import few
from random_parts import bents_of, crowded, trees
from shapely.geometry import Polygon

from flatgen import library
from flatgen.core.outline import area, flatten, rectangle
from flatgen.develop import unfold as unfolding
from flatgen.develop.develop import develop
from flatgen.develop.unfold import overlaps, unfold
from flatgen.develop.whiskers import whiskers
from flatgen.errors import CannotMake
from flatgen.read.job import read_job

JOBS = ("tests/draw/data/six.toml", "examples/float-fittings/job.toml")


CLIP = """
title = "Clip"
units = "in"
shop = "shop.toml"
material = "6061-T6"
thickness = {thick}
radius = "1/8 in"

[[part]]
id = "OX-1"
profile = "tabbed-clip"
quantity = 1
"""


def thin(blank):
    return whiskers(blank.outline, blank.cutouts)


@pytest.mark.parametrize("file", JOBS)
def test_no_blank_of_a_job_hangs_by_a_whisker(file):
    job = read_job(Path(file))
    for part in job.parts:
        blank = develop(part, job.shop)
        assert () == thin(blank), part.id
        pieces = [*(face.outline for face in blank.faces), *(bend.outline for bend in blank.bends)]
        assert sum(map(area, pieces)) == pytest.approx(area(blank.outline), abs=1e-6), part.id


@pytest.mark.parametrize("units", ["in", "mm"])
def test_no_blank_of_the_library_hangs_by_a_whisker(units):
    for one in library.entries():
        assert () == thin(library.sample_blank(one, units)), one.name


@pytest.mark.parametrize("thick", [0.016, 0.02, 0.025, 0.032, 0.063])
def test_slots_of_thin_sheet_open_all_of_the_bend(thick, tmp_path):
    """Round ends wider than the slot is deep past the tangent line (1/32 in and T) left a slit without width above."""
    text = CLIP.format(thick=thick)
    (tmp_path / "clip.toml").write_text(text, encoding="utf-8")
    (tmp_path / "shop.toml").write_bytes(Path(JOBS[0]).with_name("shop.toml").read_bytes())
    job = read_job(tmp_path / "clip.toml")
    blank = develop(job.parts[0], job.shop)
    assert Polygon(flatten(blank.outline, 0.01)).is_valid and not overlaps(blank)


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
    assert () == thin(blank)


RIB = """
title = "Ribs"
units = "in"
shop = "shop.toml"

[[part]]
id = "R"
profile = "rib"
quantity = 1
material = "6061-T6"
thickness = "0.040 in"
radius = "3/32 in"
hole_diameter = 0
pieces = {pieces}
notch = {notch:.4f}
depth_rear = {rear:.3f}
slant = {slant}
"""


@settings(max_examples=few(30), suppress_health_check=list(HealthCheck))
@given(st.integers(1, 8), st.floats(0.125, 0.5), st.floats(1.2, 3.2), st.sampled_from([75, 90, 100]))
@example(4, 0.25, 2.0, 90)
@example(1, 0.2660589494997934, 2.40625, 100)  # a chip of 0.0002 mm² falls away
def test_round_reliefs_side_by_side_leave_no_tip(tmp_path, pieces, notch, rear, slant):
    """Reliefs that touch, run into one another or into the side's edge: the cusp between them goes."""
    (tmp_path / "job.toml").write_text(RIB.format(pieces=pieces, notch=notch, rear=rear, slant=slant))
    (tmp_path / "shop.toml").write_bytes(Path(JOBS[1]).with_name("shop.toml").read_bytes())
    job = read_job(tmp_path / "job.toml")
    blank = develop(job.parts[0], job.shop)
    assert () == thin(blank)
    regions = [*(face.outline for face in blank.faces), *(bend.outline for bend in blank.bends)]
    assert sum(map(area, regions)) == pytest.approx(area(blank.outline), abs=1e-6)


def test_a_tip_that_is_drawn_and_a_bridge_are_told_apart():
    """A corner of 8 degrees stays and is told; a window .1 off the edge closes by a bridge; 60 degrees is none."""
    wedge = tuple((x, y, 0.0) for x, y in ((0, 0), (60, 0), (0, 60 * math.tan(math.radians(8)))))
    (tip,) = whiskers(wedge, ())
    assert not tip.hangs and math.dist(tip.at, (60, 0)) < 2.0
    (bridge,) = whiskers(rectangle(0, 0, 60, 40), [rectangle(20, 0.1, 8, 6)])
    assert bridge.hangs and bridge.at == pytest.approx((24, 0.05), abs=0.01)
    assert () == whiskers(tuple((x, y, 0.0) for x, y in ((0, 0), (60, 0), (30, 52))), ())


@pytest.mark.parametrize(("parts", "thin_ones"), [(trees(), False), (crowded(), True)])
def test_random_parts_keep_no_tip_that_a_relief_leaves(parts, thin_ones, monkeypatch):
    """Among the crowded ones some would have tips or whiskers between their reliefs, or the gate would see none."""
    mended = []
    for name in ("tips", "joined"):
        real = getattr(unfolding, name)
        monkeypatch.setattr(unfolding, name, lambda *of, real=real: mended.append(real(*of)) or mended[-1])

    @settings(deadline=None, suppress_health_check=list(HealthCheck), max_examples=few(200))
    @given(parts)
    def check(part):
        try:
            blank = unfold(part, bents_of(part))
        except CannotMake:
            assume(False)
        assume(not overlaps(blank))
        # what hangs by a whisker is refused by the rule
        assert all(one.hangs and not thin_ones for one in thin(blank))

    check()
    assert any(mended) or not thin_ones
