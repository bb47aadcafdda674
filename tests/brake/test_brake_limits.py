"""Each finding of the brake's plan: one part that breaks the limit and one that just keeps it."""

from dataclasses import replace

import pytest
from hand_blanks import INCH, Strip, brake, shop, tf101, tf102, tray

from flatgen.brake.bench import Bench, Refusal, choose_fingers
from flatgen.brake.plan import plan_job
from flatgen.brake.proof import best_orders
from flatgen.brake.rules import BRAKE_RULES
from flatgen.core.coupon import Strip as CouponStrip
from flatgen.core.coupon import reduce_coupon
from flatgen.develop.strokes import bend_groups


def found(strip, rule, **changes):
    plan = plan_job([strip.part()], {strip.name: strip.blank()}, shop(brake(**changes)), pictures=False)
    assert {finding.rule for finding in plan.findings} <= set(BRAKE_RULES)
    return [finding for finding in plan.findings if finding.rule == rule]


def test_usable_length_is_the_radiused_length_less_its_run_out() -> None:
    """Radiused over 300 mm, run-out 1/4 in at both ends: 287.3 mm usable."""
    assert not found(tf101(length=287.0), "brake-length", nose_length=300.0)
    (one,) = found(tf101(length=288.0), "brake-length", nose_length=300.0)
    assert (288.0, 287.3) == pytest.approx((one.value, one.limit))
    assert found(tf101(length=800.0), "brake-length")


def test_leaf_travel_and_over_bend() -> None:
    """112 deg bent over to 116.5 passes a leaf of 120; 118 to 122.7 does not."""
    assert not found(tf101(bends=(112,), overbend=1.04), "brake-angle")
    (one,) = found(tf101(bends=(118,), overbend=1.04), "brake-angle")
    assert one.stops and one.value == pytest.approx(122.72) and one.limit == 120.0


def test_hem_is_brought_to_the_leafs_end_and_closed_afterwards() -> None:
    """A hem is no reason to stop; the sheet says how far to go here."""
    hem = Strip("hem", (10.0, 40.0), (180,), 1.0, 0.8, 100.0, alloy="5052-H32")
    (one,) = found(hem, "brake-angle", nose_radius=1.0)
    assert not one.stops and "squeezed over a strip" in one.words("mm")
    plan = plan_job([hem.part()], {"hem": hem.blank()}, shop(brake(nose_radius=1.0)))
    assert 120.0 == plan.setups[0].overbend_to


def test_capacity_goes_with_strength_thickness_squared_and_length() -> None:
    """1.6 mm mild steel (36/54 ksi) over 762: 2024-T3 of 47/64 ksi at full length takes 1.6/sqrt(47/36) = 1.40."""
    rating = {"capacity_thickness": 1.6}
    assert not found(tf101(length=762.0, thickness=1.39), "brake-capacity", **rating)
    (one,) = found(tf101(length=762.0, thickness=1.45), "brake-capacity", **rating)
    assert 1.40 == pytest.approx(one.limit, abs=0.01)
    # a short bend is good for 1.4 times as much
    assert not found(tf101(length=76.2, thickness=1.95), "brake-capacity", **rating)


def test_stop_out_of_reach_is_worked_by_mark() -> None:
    """A leg of 200 against a stop that reaches 150; the leg itself is long, the other too."""
    strip = tf101(sizes=(200.0, 190.0))
    assert not found(strip, "brake-reach", back_stop_reach=210.0)
    (one,) = found(strip, "brake-reach", back_stop_reach=150.0)
    assert one.limit == 150.0 and one.value > 150.0
    # a front stop that reaches the other edge is as good
    assert not found(strip, "brake-reach", back_stop_reach=150.0, front_stop_reach=210.0)


def test_flat_between_bends_too_short_to_lift_or_hold() -> None:
    """A middle flat: the leaf wants 0.19 in of it in front of the bed's edge."""
    narrow = Strip("Z", (30.0, 5.0, 30.0), (30, -30), 1.0, 0.8, 100.0)
    (*_, one) = found(narrow, "brake-flange", nose_radius=1.0, leaf_land=3.0)
    assert one.limit == pytest.approx(0.19 * INCH) and one.value < one.limit
    assert not found(
        Strip("Z", (30.0, 14.0, 30.0), (30, -30), 1.0, 0.8, 100.0), "brake-flange", nose_radius=1.0, leaf_land=3.0
    )


def test_long_thin_flange_bows() -> None:
    """12.7 mm wide: 600 long is told to be bent wide and trimmed, 280 long is not."""
    long = tf101(sizes=(12.7, 60.0), length=600.0)
    (one,) = found(long, "brake-bow")
    assert "shear the strip off afterwards" in one.words("mm")
    assert not found(tf101(sizes=(12.7, 60.0), length=280.0), "brake-bow")


def test_close_pass_is_told() -> None:
    """Web 36.6 over a foot of 31.75: the first flange clears the foot by less than 1/16 in."""
    assert found(tf102(sizes=(19.05, 37.0, 19.05)), "brake-clearance")
    assert not found(tf102(), "brake-clearance")


class TestTray:
    """TF-103: base 4.000 × 2.500, walls .750, R 3/32, .040; walls at both ends of the last two bends."""

    def order(self, **changes):
        return best_orders(Bench(tray(), brake(**changes)), Strip("t", (1, 1), (90,), 1, 1, 1).part())

    def test_a_straight_brake_cannot_make_the_last_wall(self) -> None:
        bench = Bench(tray(), brake())
        assert not best_orders(bench, Strip("t", (1, 1), (90,), 1, 1, 1).part())
        windows = {tuple(round(v, 1) for v in r.window) for _, r in bench.refusals() if r.window}
        # between base flat less 1/16 in and inside length less 1/16 in
        assert (55.1, 59.9) in windows

    def test_fingers_between_the_walls(self) -> None:
        """Base flat 2.232 and inside length 2.420 in, 1/16 off each: 55.1 to 59.9 mm."""
        order = self.order(fingers=(19.05, 38.1, 25.4))[0]
        fingers = [step.trial.fingers for step in order.steps]
        assert [(38.1, 19.05)] == [f for f in fingers if f]

    def test_wall_higher_than_the_nose_lifts(self) -> None:
        """Walls 19 mm high with a nose that lifts 10: the tray would be caught round the fingers."""
        assert self.order(fingers=(57.0,), largest_opening=25.0)
        bench = Bench(tray(), brake(fingers=(57.0,), largest_opening=10.0))
        assert not best_orders(bench, Strip("t", (1, 1), (90,), 1, 1, 1).part())
        assert any(refusal.trapped for _, refusal in bench.refusals())


def test_fingers_fewest_then_widest() -> None:
    assert (57.0,) == choose_fingers((20.0, 38.0, 57.0), (55.0, 59.0))
    assert (38.0, 20.0) == choose_fingers((20.0, 38.0, 18.0), (55.0, 59.0))
    assert choose_fingers((20.0, 38.0), (40.0, 50.0)) is None


def test_fingers_of_a_large_set_are_chosen_at_once() -> None:
    """Sixty fingers: every choice tried in turn would take for ever. 8 of 20.01 and one of 7.3 make 167.38."""
    chosen = choose_fingers((20.01,) * 30 + (7.3,) * 30, (167.0, 167.5))
    assert 9 == len(chosen) and 167.38 == pytest.approx(sum(chosen))


def test_more_strokes_than_are_searched_is_said() -> None:
    strip = Strip("many", (30.0,) * 27, (20, -20) * 13, 2.0, 0.8, 50.0)
    plan = plan_job([strip.part()], {"many": strip.blank()}, shop(brake()))
    (one,) = plan.findings
    assert ("many",) == plan.not_made and not one.stops and "26 strokes" in one.words("mm")


def test_tabs_on_one_line_are_one_stroke() -> None:
    """Tabs cut from one flange are bent together. One that is to stay more open is a stroke of its own, and there is
    none: the leaf lifts all metal that lies in front of it."""

    from flatgen.core.outline import rectangle

    blank = tf101().blank()
    bend, (web, flange) = blank.bends[0], blank.faces
    (a, b), (c, d) = bend.tangents

    def tab(name, low, high, angle):
        face = replace(flange, id=name, outline=rectangle(low, flange.outline[0][1], high - low, 14.0))
        lines = (((low, a[1]), (high, b[1])), ((low, c[1]), (high, d[1])))
        return face, replace(bend, id=f"to-{name}", child=name, tangents=lines, angle=angle, overbend_to=angle)

    tabs = [tab("left", 0, 20, 90), tab("middle", 25, 45, 60), tab("right", 50, 76.2, 90)]
    many = replace(blank, faces=(web, *(f for f, _ in tabs)), bends=tuple(b for _, b in tabs))
    assert [("to-left", "to-right"), ("to-middle",)] == [tuple(b.id for b in fold.bends) for fold in bend_groups(many)]
    bench = Bench(many, brake())
    assert not best_orders(bench, tf101().part())
    assert {"leaf", "bed"} == {refusal.contact.tool for _, refusal in bench.refusals() if refusal.contact}
    alike = replace(blank, faces=(web, tabs[0][0], tabs[2][0]), bends=(tabs[0][1], tabs[2][1]))
    assert 1 == len(best_orders(Bench(alike, brake()), tf101().part())[0].steps)


def test_stop_offset_of_test_bends_comes_on_top() -> None:
    plain = plan_job([tf101().part()], {"TF-101": tf101().blank()}, shop(brake()))
    moved = plan_job([tf101().part()], {"TF-101": tf101().blank()}, shop(brake(stop_offset=0.15)))
    assert plain.setups[0].stop + 0.15 == pytest.approx(moved.setups[0].stop)
    assert plain.setups[0].stop_nose + 0.15 == pytest.approx(moved.setups[0].stop_nose)


@pytest.mark.parametrize("hinge", [{}, {"hinge_forward": 1.5, "hinge_up": 0.4, "nose_setback_clearance": 0.2}])
def test_the_stop_of_a_test_bend_gives_its_leg_again_wherever_the_hinge_is(hinge) -> None:
    """A strip that a stop at 27.3 made 25.4 long: the leg of the drawing is as long, so its stop is at 27.3."""
    part = tf101(overbend=1.04)
    coupon = CouponStrip(part.thickness, part.radius, 44.0, 25.4, 19.05, 93.6, 90.0, stop=27.3)
    (bend,) = part.blank().bends
    known = replace(bend, bent=replace(bend.bent, stop_offset=reduce_coupon(coupon, 90.0).stop_offset))
    blank = replace(part.blank(), bends=(known,))
    (setup,) = plan_job([part.part()], {"TF-101": blank}, shop(brake(**hinge))).setups
    assert ("back", pytest.approx(27.3, abs=1e-6)) == (setup.stop_side, setup.stop)


def test_second_brake_takes_what_the_first_cannot() -> None:
    strip = tf102(sizes=(60, 25, 60), name="deep")
    slim = brake(name="slim", nose_depth=18.0, nose_height=80.0)
    plan = plan_job([strip.part()], {"deep": strip.blank()}, shop(brake(), slim))
    assert {"slim"} == {setup.brake for setup in plan.setups}
    assert not any(finding.stops for finding in plan.findings)


def test_refusals_are_remembered_as_refusals() -> None:
    bench = Bench(tf102(sizes=(60, 25, 60)).blank(), brake())
    assert isinstance(bench.attempt(1, 1, True), Refusal)
    assert bench.attempt(1, 1, True) is bench.attempt(1, 1, True)
