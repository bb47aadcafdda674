"""Sharing of settings, what an order prefers, and where the metal stands at the end of a stroke."""

from dataclasses import replace

import pytest
from hand_blanks import Strip, allowance, brake, setback, shop, tf101, tf102
from hypothesis import given
from hypothesis import strategies as st

from flatgen.brake.bench import Bench
from flatgen.brake.plan import plan_job
from flatgen.brake.proof import best_orders
from flatgen.brake.section import Body, lay
from flatgen.brake.simulate import carried
from flatgen.brake.tools import setting_for
from flatgen.brake.windows import windows
from flatgen.develop.strokes import bend_groups


def plan(*strips, **changes):
    return plan_job([s.part() for s in strips], {s.name: s.blank() for s in strips}, shop(brake(**changes)))


@pytest.mark.parametrize("overbend", [1.0, 1.05])
def test_flange_stands_where_the_drawing_says_after_the_stroke(overbend) -> None:
    """TF-101 bent to 90 and let go: outer face R + T in front of the clamped tangent line, edge .750 in high."""
    strip = tf101(overbend=overbend)
    fold = bend_groups(strip.blank())[0]
    laid = lay(Body(strip.blank(), ()), fold, True)
    setting = setting_for(brake(), brake().noses[0], fold.lead, strip.thickness)
    points = [p for piece in carried(laid, setting, 90.0, released=True) for p in piece.section]
    assert strip.radius + strip.thickness == pytest.approx(max(x for x, _ in points))
    assert strip.radius == pytest.approx(min(x for x, _ in points))
    assert 19.05 == pytest.approx(max(z for _, z in points))
    # halfway the strip is half wrapped: the edge is its flat and half the allowance beyond the arc's end
    half = [p for piece in carried(laid, setting, setting.leaf_angle / 2) for p in piece.section]
    flat, strip_width = strip.flats()[1], fold.lead.bent.allowance
    reach = max((x**2 + (z - strip.radius - strip.thickness) ** 2) ** 0.5 for x, z in half)
    assert ((flat + strip_width / 2) ** 2 + (strip.radius + strip.thickness) ** 2) ** 0.5 == pytest.approx(reach)


def test_stops_that_agree_within_the_tolerance_share_one() -> None:
    """Legs 25.40 and 25.50 differ by .10, less than .13; 25.60 is too far from the first."""
    near, far = tf101(name="B", sizes=(25.50, 19.05)), tf101(name="C", sizes=(25.60, 19.05))
    (both,) = plan(tf101(), near).setups
    assert (25.45, 0.10) == pytest.approx((both.stop, both.stop_spread))
    assert 2 == len(plan(tf101(), far).setups)
    assert 1 == len(plan(tf101(), far, stop_tolerance=0.25).setups)


@pytest.mark.parametrize(("measured", "settings"), [((1.016, 1.028, 1.011), 1), ((0.978, 1.06), 2)])
def test_sheets_of_one_nominal_share_a_setting_where_set_back_leaf_and_stop_are_the_same(measured, settings) -> None:
    """Sheets of 1.016 (.040 in) that measure within .05 mm; the nose is not changed where they do not."""
    strips = [tf101(name=f"P{k}", thickness=t, sizes=(25.4, 19.05 + k / 50)) for k, t in enumerate(measured)]
    parts = [replace(strip.part(), nominal=1.016) for strip in strips]
    found = plan_job(parts, {s.name: s.blank() for s in strips}, shop(brake()))
    assert settings == len(found.setups) and 1 == found.planned.noses
    assert (1.016,) * settings == tuple(setup.nominal for setup in found.setups)
    sizes = [op.leg_size - op.leg_drawn for setup in found.setups for op in setup.operations]
    assert all(abs(off) <= 0.13 / 2 for off in sizes)


@given(st.lists(st.integers(0, 60).map(lambda v: v / 20.0), min_size=1, max_size=8), st.sampled_from([0.1, 0.35, 1.0]))
def test_windows_are_as_few_as_can_be(values, width) -> None:
    """None wider than the tolerance; and no fewer would do, since the first values of all windows lie apart."""
    found = windows(values, width)
    groups = {n: [v for v in found if found[v] == n] for n in set(found.values())}
    assert all(max(g) - min(g) <= width + 1e-9 for g in groups.values())
    starts = sorted(min(g) for g in groups.values())
    assert all(b - a > width for a, b in zip(starts, starts[1:], strict=False))


def test_fewest_turn_overs() -> None:
    """Up, down, up along the strip. Bends 0 and 1 would share a stop (flats 2 and 3 together are 40 like flat 0), which
    tempts to bend them one after the other; both ups first cost one stop more and one turn-over less."""
    deduction = 2 * setback(30, 3.0, 1.0) - allowance(30, 3.0, 1.0)
    strip = Strip("S", (40.0, 60.0, 25.0, 15.0 + deduction), (30, -30, 30), 3.0, 1.0, 100.0, mating=("none",))
    assert 1 == best_orders(Bench(strip.blank(), brake()), strip.part())[0].flips


def test_mating_face_is_the_one_gauged() -> None:
    """The same angle gauged on whichever leg mates: clamped when there is no front stop."""
    for mates, size in (("f0", 25.4), ("f1", 19.05)):
        order = best_orders(Bench(tf101().blank(), brake()), tf101(mating=(mates,)).part())[0]
        assert size == pytest.approx(order.steps[0].stop)


def test_errors_land_in_the_free_flange_when_nothing_is_said_to_mate() -> None:
    """A channel's web is sized by the stop, from the outside of the first flange."""
    strip = tf102(mating=())
    order = best_orders(Bench(strip.blank(), brake()), strip.part())[0]
    assert frozenset({"f1"}) == order.steps[1].sized
    assert 50.8 == pytest.approx(order.steps[1].stop)


def test_plain_order_counts_every_part_by_itself() -> None:
    """Two channels alike but for their webs: three settings together, four one after the other."""
    one, two = tf102(), tf102(name="W", sizes=(19.05, 60.0, 19.05))
    found = plan(one, two)
    assert (3, 4, 3) == (found.planned.settings, found.plain.settings, found.least)
    assert (1, 1) == (found.planned.noses, found.plain.noses)


def test_spoilage_is_bent_as_well() -> None:
    """24 wanted at 5 % spoiled: 27 pieces, 95 times in 100 enough (the binomial sum, as in the table of its test)."""
    strip = tf101(quantity=24)
    found = plan_job([strip.part()], {strip.name: strip.blank()}, shop(brake(), spoilage=0.05))
    assert 27 == found.setups[0].pieces


def test_coupon_is_not_asked_for_where_the_shop_has_its_own_record() -> None:
    from flatgen.model.shop import ShopBend

    strip = tf101()
    known = ShopBend("2024-T3", strip.thickness, strip.radius, 90.0, "across", 3.0, 0.1, 0.95, 0.01, 5)
    with_record = plan_job([strip.part()], {strip.name: strip.blank()}, shop(brake(), records=(known,)))
    assert not with_record.setups[0].coupon_first
    assert plan(strip).setups[0].coupon_first


def test_same_job_same_plan() -> None:
    """Nothing in a plan depends on anything but the job."""
    strips = [tf101(), tf102(), tf102(name="W", sizes=(19.05, 60.0, 19.05))]
    assert plan(*strips) == plan(*strips)
