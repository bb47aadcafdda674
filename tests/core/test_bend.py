"""One bend: limits done in the head, identities between its quantities. Published values: tests/reference."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from flatgen.core import bend
from flatgen.errors import OutOfRange

angles = st.floats(0.5, 179.0)
radii = st.floats(0.0, 20.0)
thicknesses = st.floats(0.2, 5.0)
METHODS = {
    "handbook": bend.allowance_handbook,
    "din": bend.allowance_din,
    "soft": lambda a, r, t: bend.allowance_hardness_rule(a, r, t, "soft"),
    "hard": lambda a, r, t: bend.allowance_hardness_rule(a, r, t, "hard"),
    "axis": lambda a, r, t: bend.allowance_from_neutral_axis(a, r, t, 0.4),
}


def test_setback_at_angles_done_in_the_head():
    # tan 0 = 0, tan 45 deg = 1, tan 90 deg beyond all bounds
    assert 0.0 == bend.setback_factor(0.0)
    assert 1.0 == pytest.approx(bend.setback_factor(90.0), rel=1e-15)
    assert math.inf == bend.setback_factor(180.0)
    assert 5.0 == pytest.approx(bend.outside_setback(90.0, 3.0, 2.0))


@pytest.mark.parametrize("method", METHODS)
def test_flat_sheet_takes_nothing(method):
    assert 0.0 == METHODS[method](0.0, 3.0, 1.0)


def test_half_turn_at_mid_thickness_is_half_a_circle():
    # radius to the middle 2.5 + 0.5 = 3, half its circle is 3 pi
    assert 3.0 * math.pi == pytest.approx(bend.allowance_from_neutral_axis(180.0, 2.5, 1.0, 0.5))


def test_sharp_fold_takes_the_neutral_arc_only():
    # zero radius: pi/2 times 0.4469 T
    assert math.pi / 2 * 0.446907 == pytest.approx(bend.allowance_handbook(90.0, 0.0, 1.0), abs=5e-7)


@pytest.mark.parametrize("method", METHODS)
@given(angle=angles, radius=radii, thickness=thicknesses)
def test_allowance_deduction_and_ratio_tell_the_same(method, angle, radius, thickness):
    allowance = METHODS[method](angle, radius, thickness)
    deduction = bend.bend_deduction(angle, radius, thickness, allowance)
    ratio = bend.neutral_axis_ratio(angle, radius, thickness, allowance)
    scale = max(1.0, abs(deduction))
    assert abs(2 * bend.outside_setback(angle, radius, thickness) - allowance - deduction) < 1e-9 * scale
    assert abs(math.radians(angle) * (radius + ratio * thickness) - allowance) < 1e-9 * scale
    assert abs(bend.allowance_from_deduction(angle, radius, thickness, deduction) - allowance) < 1e-9 * scale


@given(angle=st.floats(0.5, 90.0), radius=radii, thickness=thicknesses)
def test_handbook_allowance_is_linear_and_knows_no_unit(angle, radius, thickness):
    one = bend.allowance_handbook(angle, radius, thickness)
    assert 2 * one == pytest.approx(bend.allowance_handbook(2 * angle, radius, thickness))
    assert 25.4 * one == pytest.approx(bend.allowance_handbook(angle, 25.4 * radius, 25.4 * thickness))


@given(angle=angles, radius=radii, thickness=thicknesses)
def test_every_deduction_is_above_zero(angle, radius, thickness):
    # a blank is always shorter than the sum of its mould lines (faa-h-8083-31 chapter 4 names this as the check of the
    # arithmetic)
    assert 0.0 < bend.bend_deduction(angle, radius, thickness, bend.allowance_handbook(angle, radius, thickness))


def test_correction_factor_stops_at_both_ends():
    assert 1.0 == bend.din_correction_factor(5.01, 1.0)
    assert 0.65 == pytest.approx(bend.din_correction_factor(1.0, 1.0))  # log 1 = 0
    assert 0.0 == bend.din_correction_factor(0.05, 1.0)
    assert 0.0 == bend.din_correction_factor(0.0, 1.0)


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: bend.outside_setback(181, 1, 1), "the bend angle is 181; it must be from 0 to 180 deg"),
        (lambda: bend.allowance_handbook(90, -1, 1), "the inside radius is -1; it must be 0 or above"),
        (lambda: bend.allowance_din(90, 1, 0), "the thickness is 0; it must be above 0"),
        (
            lambda: bend.allowance_from_neutral_axis(90, 1, 1, 1.5),
            "the neutral-axis ratio is 1.5; it must be from 0 to 1",
        ),
    ],
)
def test_what_cannot_be_bent_is_refused(call, says):
    with pytest.raises(OutOfRange) as caught:
        call()
    assert says in str(caught.value)
