"""Spring-back: the closed form, its agreement with the integral, convergence, and limits done in the head."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from flatgen.core import springback as sb
from flatgen.errors import OutOfRange

E, Y = 72_395.0, 324.0  # 2024-T3, MPa
CASES = [(3.96875, 1.016), (3.175, 1.6), (1.5875, 0.8128), (6.35, 1.6), (12.7, 1.016), (50.8, 1.016)]
LAWS = {
    "power law": sb.power_law(E, Y, 0.16),
    "power law with strength": sb.power_law(E, Y, 0.2, 690.0),
    "Ramberg-Osgood": sb.ramberg_osgood(E, Y, 15.0),
}


def test_limits_of_the_ratio():
    # no yield strength: no spring-back; x = 1/2: only just yields, springs back flat; slope -3 at the start
    assert 1.0 == sb.radius_ratio(0.0)
    assert 0.0 == pytest.approx(sb.radius_ratio(0.5), abs=1e-15)
    assert -3.0 == pytest.approx((sb.radius_ratio(1e-7) - 1.0) / 1e-7, abs=1e-5)


@given(st.floats(0.0, 0.499), st.floats(1e-6, 0.001))
def test_ratio_falls(share, more):
    assert sb.radius_ratio(share) >= sb.radius_ratio(min(0.5, share + more))


def test_beyond_the_elastic_limit_is_refused():
    with pytest.raises(OutOfRange, match="from 0 to 0.5: beyond, the sheet never yields"):
        sb.radius_ratio(0.51)


@pytest.mark.parametrize(("radius", "thickness"), CASES)
def test_integral_without_hardening_is_the_closed_form(radius, thickness):
    released = sb.released_radius(radius, thickness, Y, E)
    closed = sb.leaf_angle(90.0, radius, released, thickness)
    summed = sb.leaf_angle_by_law(90.0, radius, thickness, E, sb.power_law(E, Y, 0.0), 4096)
    assert abs(closed - summed) < 0.001


@pytest.mark.parametrize(("radius", "thickness"), CASES)
def test_hardening_that_fades_is_the_closed_form(radius, thickness):
    closed = sb.leaf_angle(90.0, radius, sb.released_radius(radius, thickness, Y, E), thickness)
    fading = [sb.leaf_angle_by_law(90.0, radius, thickness, E, sb.power_law(E, Y, n), 4096) for n in (0.1, 0.01, 1e-6)]
    gaps = [abs(leaf - closed) for leaf in fading]
    assert gaps[0] > gaps[1] > gaps[2]
    assert gaps[2] < 0.001


@pytest.mark.parametrize("law", LAWS)
@pytest.mark.parametrize(("radius", "thickness"), CASES)
def test_halving_the_step_changes_less_than_a_hundredth_of_a_degree(law, radius, thickness):
    coarse = sb.leaf_angle_by_law(90.0, radius, thickness, E, LAWS[law], sb.DEFAULT_STEPS)
    fine = sb.leaf_angle_by_law(90.0, radius, thickness, E, LAWS[law], 2 * sb.DEFAULT_STEPS)
    if math.isfinite(coarse):
        assert abs(coarse - fine) < 0.01


def test_moment_of_an_elastic_sheet():
    # beam theory: M = E T^3 / (12 R), and it springs back flat
    moment = sb.bending_moment(1000.0, 1.0, sb.power_law(E, Y, 0.0))
    assert E / 12_000.0 == pytest.approx(moment)
    assert math.isinf(sb.released_radius_by_moment(1000.0, 1.0, E, moment * (1 + 1e-12)))


def test_moment_of_a_sharp_bend_is_fully_plastic():
    assert sb.fully_plastic_moment(1.0, Y) == pytest.approx(
        sb.bending_moment(0.5, 1.0, sb.power_law(E, Y, 0.0)), rel=1e-4
    )


@given(st.floats(1e-5, 0.3))
def test_ramberg_osgood_inverts_its_own_curve(strain):
    stress = LAWS["Ramberg-Osgood"](strain)
    assert strain == pytest.approx(stress / E + 0.002 * (stress / Y) ** 15.0, rel=1e-9)


def test_middle_of_the_sheet_keeps_its_length():
    ratio = sb.angle_ratio(4.0, 5.0, 1.0)
    assert 90.0 * 4.5 == pytest.approx(90.0 * ratio * 5.5)
