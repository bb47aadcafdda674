"""Limits that every hand at a leaf brake knows (common practice, no source) must come out of the simulation alone."""

import pytest
from hand_blanks import Strip, brake, gt201, shop, sk301, tf101, tf102

from flatgen.brake.bench import Bench, Trial
from flatgen.brake.plan import plan_job
from flatgen.brake.proof import best_orders
from flatgen.brake.section import convex_hull


def orders(strip, **changes):
    return best_orders(Bench(strip.blank(), brake(**changes)), strip.part())


def names(order):
    return [step.trial.laid.fold.name for step in order.steps]


def test_deep_narrow_channel_cannot_be_closed() -> None:
    """Flanges 60 on a web of 25 with a foot of 31.75: flange 1 stands where the foot must be; web 45 goes."""
    assert not orders(tf102(sizes=(60, 25, 60)))
    assert orders(tf102(sizes=(60, 45, 60)))


def least_web(**changes) -> float:
    """The narrowest web of a channel with 60 mm flanges, R 3, T 1, that goes: found by halving."""

    def goes(web: float) -> bool:
        strip = Strip("U", (60.0, web, 60.0), (90, 90), 3.0, 1.0, 100)
        return bool(orders(strip, nose_height=100.0, **changes))

    low, high = 15.0, 50.0
    for _ in range(12):
        middle = (low + high) / 2
        low, high = (low, middle) if goes(middle) else (middle, high)
    return high


@pytest.mark.parametrize("foot", [20.0, 25.0, 31.75])
def test_least_channel_is_inside_web_equal_to_the_foot(foot) -> None:
    """The rule of the trade: inside web M - 2T at least the foot's depth, so M = foot + 2T. It is meant for a foot
    whose back corner is taken off; a square corner meets the first bend's fillet, R = 3 sooner, less what 0.05 mm of
    touch gives away in the fillet's flat run: 3 - sqrt(3² - 2.95²) = 2.45."""
    relieved = ((3.0, 0.0), (0.9, 0.9), (0.0, 3.0), (5.0, 100.0), (foot, 100.0), (foot, 4.0), (foot - 4.0, 0.0))
    assert foot + 2.0 == pytest.approx(least_web(nose_section=relieved, nose_radius=3.0), abs=0.1)
    assert foot + 2.0 + 2.45 <= least_web(nose_depth=foot) <= foot + 2.0 + 3.0


def test_channel_flange_higher_than_the_beam_allows() -> None:
    """With the clamping beam reaching back over a wide web, the first flange must stay below it."""
    tall = tf102(sizes=(60, 80, 60))
    assert orders(tall, nose_height=70.0, beam_depth=120.0)
    assert not orders(tall, nose_height=40.0, beam_depth=120.0)


def test_zed_needs_one_turn_over() -> None:
    """Bends up and down are made from the two faces: one flip, never none."""
    assert {1} == {order.flips for order in orders(gt201())}


def test_zed_web_must_reach_over_the_leaf() -> None:
    """The first flange hangs in front of the leaf: a leaf wider than the web cannot pass it."""
    assert orders(gt201(), leaf_land=30.0)
    assert not orders(gt201(), leaf_land=38.0)


def test_channel_needs_no_turn_over() -> None:
    assert {0} == {order.flips for order in orders(tf102())}


def test_hat_walls_or_brims_first_according_to_the_tools() -> None:
    """After both brims the hat lies on its face with the far brim hanging: a deep bed is in its way, a slim one lets it
    hang behind. With the deep bed a wall has to come before the second brim."""
    tools = {"leaf_land": 9.0, "nose_depth": 25.4}
    deep = orders(sk301(), bed_depth=60.0, **tools)
    assert all({"b0", "b3"} != set(names(order)[:2]) for order in deep)
    brims = 0b1001
    for depth, goes in ((60.0, False), (14.0, True)):
        bench = Bench(sk301().blank(), brake(bed_depth=depth, **tools))
        tried = [bench.attempt(brims, wall, hub) for wall in (1, 2) for hub in (True, False)]
        assert goes == any(isinstance(trial, Trial) for trial in tried)


def test_hat_too_narrow_for_the_foot() -> None:
    """Inside top 29.2 fails a foot of 31.75 and passes one of 25.4, with a leaf that suits the walls."""
    assert not orders(sk301(), leaf_land=9.0, nose_depth=31.75)
    assert orders(sk301(), leaf_land=9.0, nose_depth=25.4)


def test_closed_bend_meets_the_nose_bars_front_face() -> None:
    """Front face at 70 deg from the bed: the flange may lean to 110, not to 118."""
    assert orders(tf101(bends=(105,), overbend=1.04), nose_front_angle=70.0)
    assert not orders(tf101(bends=(115,), overbend=1.03), nose_front_angle=70.0)


def test_lip_traps_nothing_when_it_slides_out() -> None:
    """A C with returned lips is made lips first and comes out endways."""
    lipped = Strip("C", (10, 30, 60, 30, 10), (90, 90, 90, 90), 3.0, 1.0, 200)
    found = orders(lipped, nose_height=40.0, nose_depth=28.0)
    assert {"b0", "b3"} == set(names(found[0])[:2])
    assert "endways" == found[0].steps[-1].trial.leaves.how


def test_throat_bounds_the_metal_behind_the_nose() -> None:
    """A wide sheet with a bend in its middle and a closed throat shallower than either half."""
    wide = Strip("wide", (300, 300), (90,), 3.0, 1.0, 100)
    assert orders(wide)
    assert not orders(wide, throat=200.0)


def test_reason_names_bend_tool_and_depth_and_a_way_out() -> None:
    """The deep channel: by how much its flange is in the foot, and how deep a foot may be."""
    strip = tf102(sizes=(60, 25, 60), name="deep")
    plan = plan_job([strip.part()], {"deep": strip.blank()}, shop())
    (finding,) = plan.findings
    assert ("brake-collision", "deep") == (finding.rule, finding.part)
    assert "nose bar" in finding.words("mm") and "foot no deeper than" in finding.words("mm")
    limit = float(finding.words("mm").split("foot no deeper than ")[1].split(" mm")[0])
    assert orders(strip, nose_depth=limit - 0.05)
    assert ("deep",) == plan.not_made
    assert () == plan.setups


def test_a_corner_is_kept_where_sides_differ_by_rounding_only() -> None:
    """An upright plate whose left corners come twice, the upper ones on either side of the lower by a rounding."""
    hair = 7e-15
    points = [(-45.0 - hair, 36.0), (-45.0, 5.0), (-45.0 + hair, 36.0), (-44.0, 5.0), (-44.0, 36.0)]
    assert (-45.0, 5.0) in convex_hull(points)
