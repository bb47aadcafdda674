"""Front stops and sight lines worked by hand, inches: the trade notes' example and the demo's own front stops.

The relations are derived (metal is conserved), the allowance is the aviation handbook's (0.01743 R + 0.0078 T) a
degree; spring-back is the textbook's closed form, so leaf angles are taken as the demo prints them.
"""

import pytest

from flatgen.brake.stop import back_stop_from_bed, front_stop_from_bed
from flatgen.core.making import making, sight_from_clamped, sight_from_free

INCH = 25.4


def test_bulkhead_clip() -> None:
    """TF-101: T .040, R 5/32, legs 1.000 and .750, leaf 94.4, set-back .0557 (printed .056).

    R' .165, setback .205, arc .2732·94.4/90 = .2866; back stop .795 + .15625 + .056 = 1.007; front stop for the .750
    leg .545 + .2866 - .21225 = .620 (a stop that forgets the over-bend stood at .607); blank 1.631 leaves .004.
    """
    made = making(90.0, 94.4, 0.15625, 0.040, 0.2732, springback_in=False)
    assert (0.165, 0.2866) == pytest.approx((made.released, made.arc), abs=0.0005)
    assert 1.007 == pytest.approx(back_stop_from_bed(made.flat(1.0), 0.15625, 0.056), abs=0.0005)
    assert 0.620 == pytest.approx(front_stop_from_bed(made.flat(0.75), made.arc, 0.15625, 0.0557), abs=0.0005)
    assert 0.004 == pytest.approx(1.631 - made.flat(1.0) - made.arc - made.flat(0.75), abs=0.0005)
    assert 0.951 == pytest.approx(sight_from_clamped(made.flat(1.0), 0.15625), abs=0.0005)
    assert 0.675 == pytest.approx(sight_from_free(made.flat(0.75), made.arc, 0.15625), abs=0.0005)


# R' = (R + T/2)·leaf/90 - T/2, arc = (0.01743 R + 0.0078 T)·leaf, s = (R + T)·tan(leaf/2) - R,
# stop = leg - (R' + T) + arc - R - s = leg - (R' + T) + arc - (R + T)·tan(leaf/2)
BY_HAND = [
    # T .032, R 1/8, leaf 94.11: R' .141·1.0457 - .016 = .1314, arc .0024284·94.11 = .2285, (R + T)·1.0744 = .1687;
    # leg - .1634 + .2285 - .1687 = leg - .1036
    ("TF-121", "b1", 0.625, 0.5214),
    ("TF-122", "b1", 0.625, 0.5214),
    ("TF-102", "b1", 0.750, 0.6464),
    ("TF-123", "b1", 0.750, 0.6464),
    ("TF-151", "b1", 0.750, 0.6464),
    # T .040, R 3/32, leaf 91.95: R' .11375·1.02167 - .020 = .0962, arc .0019461·91.95 = .1789, (R + T)·1.0346 = .1384;
    # leg - .1362 + .1789 - .1384 = leg - .0957
    ("TF-103", "b1", 0.750, 0.6543),
    ("TF-103", "b3", 0.750, 0.6543),
]


@pytest.mark.parametrize(("part", "bend", "leg", "by_hand"), BY_HAND)
def test_front_stops_of_the_demo(demo, part, bend, leg, by_hand) -> None:
    setup, op = stroke(demo.results, part, bend)
    assert "front" == setup["stop_side"]
    assert by_hand == pytest.approx(setup["stop"] / INCH, abs=0.0005)
    assert leg == pytest.approx(op["leg_size"] / INCH, abs=0.0005)


def stroke(results, part, bend):
    return next(
        (setup, op)
        for setup in results["setups"]
        for op in setup["operations"]
        if (op["part"], op["bend"]) == (part, bend)
    )
