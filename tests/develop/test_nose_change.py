"""What a larger nose costs: blank, flats, holes near the curve."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from flatgen.core import bend
from flatgen.develop.nose_change import away, nose_change


def test_eighth_to_quarter_at_90():
    # common practice: 0.054 in (1.4 mm) shorter a bend, in inches
    change = nose_change(90, 0.125, 0.250)
    assert 0.054 == pytest.approx(change.shorter_blank, abs=0.0005)
    assert 0.125 == pytest.approx(change.shorter_flat)


@given(angle=st.floats(1, 160), old=st.floats(0.5, 5), new=st.floats(0.5, 8), ratio=st.floats(0.3, 0.5))
def test_the_blank_shortens_by_the_change_of_the_deduction(angle, old, new, ratio):
    def deduction(radius):
        return bend.bend_deduction(angle, radius, 1.0, bend.allowance_from_neutral_axis(angle, radius, 1.0, ratio))

    assert deduction(new) - deduction(old) == pytest.approx(nose_change(angle, old, new).shorter_blank, abs=1e-9)


def test_square_edge_in_a_round_corner():
    # a 45 deg chamfer of leg c clears the arc where c/sqrt 2 = R (sqrt 2 - 1)
    change = nose_change(90, 3.0, 4.0)
    assert 4.0 * (math.sqrt(2) - 1) == pytest.approx(change.chamfer / math.sqrt(2))


def test_distance_from_a_tangent_line():
    line = ((0.0, 0.0), (10.0, 0.0))
    assert 3.0 == away(line, (5.0, -3.0))
    assert 5.0 == away(line, (13.0, 4.0))


@pytest.mark.parametrize(
    ("radius", "blank", "flat"),
    [(0.125, 1.644, 0.585), (0.15625, 1.631, 0.554), (0.1875, 1.617, 0.522), (0.25, 1.590, 0.460)],
)
def test_a_bulkhead_clip_on_four_noses(radius, blank, flat):
    # worked by hand to the thousandth, inches: legs 1.000 and .750 of .040 sheet, handbook allowance
    taken = bend.bend_deduction(90, radius, 0.040, bend.allowance_handbook(90, radius, 0.040))
    assert blank == pytest.approx(1.000 + 0.750 - taken, abs=0.001)
    assert flat == pytest.approx(bend.flat_of_leg(0.750, 90, radius, 0.040, 1), abs=0.001)
    shorter = nose_change(90, 0.15625, radius)
    assert 1.631 - blank == pytest.approx(shorter.shorter_blank, abs=0.001)
