"""A part that stands round the nose is tipped out where there is room: lifted, tilted, drawn to the front."""

import pytest
from hand_blanks import Strip, brake, shop, tray

from flatgen.brake.plan import plan_job
from flatgen.brake.tipping import Room, merged, tilt_out
from flatgen.model.finding import Severity
from flatgen.model.handling import handling

INCH = 25.4
PART = Strip("TF-103", (1, 1), (90,), 1, 1, 1).part()


def planned(wall: float, lift: float):
    fingers = {"fingers": (57.0, 95.0), "nose_depth": 22.0, "nose_height": 57.0, "beam_depth": 64.0}
    bench = brake(nose_radius=2.38125, leaf_land=9.5, largest_opening=lift, **fingers)
    return plan_job([PART], {PART.id: tray(wall=wall)}, shop(bench), pictures=False)


def test_a_deep_tray_is_tipped_out() -> None:
    """2 in deep, on a brake that lifts 1.2 in: a warning and a sentence on the sheet, no stop."""
    found = planned(2 * INCH, 1.2 * INCH)
    assert not any(f.stops for f in found.findings) and found.setups
    (asked,) = [f for f in found.findings if f.rule == "brake-way-out"]
    assert asked.severity is Severity.WARN and "comes out only by tipping" in asked.words("mm")
    last = [op for setup in found.setups for op in setup.operations if op.leaves == "tipped"]
    assert last and all("TIP IT OUT" in handling(op) and "front up" in handling(op) for op in last)


def test_a_nose_that_lifts_over_the_walls_needs_no_knack() -> None:
    assert not [f for f in planned(19.05, 25.0).findings if f.rule == "brake-way-out"]


def box(x, z, wide, high):
    return ((x, z), (x + wide, z), (x + wide, z + high), (x, z + high))


@pytest.mark.parametrize(("lift", "out"), [(9.0, False), (10.5, False), (14.5, True), (18.0, True)])
def test_a_corner_passes_round_a_foot_from_half_its_depth_on(lift: float, out: bool) -> None:
    """Worked by hand: a corner of two long thin legs turns about a flat foot of depth d lifted by h. With the corner u
    in front of the foot's back and the floor at tilt a, the floor clears the foot's tip where (d - u)·tan a <= h, the
    back leg its heel where u <= h·tan a: both, whatever the tilt on the way, from h = d/2 on; d = 22."""
    tray_ = merged([box(-60, 0, 62, 1), box(-60, 0, 1, 60), box(1, 0, 1, 30)])
    foot, floor = box(-22, lift + 1.0, 22, 90), box(-100, -50, 103, 50)
    found = tilt_out((Room(tray_, merged([foot, floor])),), 90.0)
    assert out == (found is not None)


def test_sections_that_are_convex_together_are_joined() -> None:
    assert 1 == len(merged([box(0, 0, 2, 1), box(2, 0, 3, 1), box(0, 1, 5, 4)]))
    assert 2 == len(merged([box(0, 0, 2, 1), box(2, 0, 3, 2)]))
