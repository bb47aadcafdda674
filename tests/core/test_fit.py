"""Back from measured parts to the bend: round trips with the forward formulas, and least squares against numpy."""

import math
import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from flatgen.core import bend
from flatgen.core.fit import Made, fit_ratio, measured_bend, radius_for_blank
from flatgen.errors import OutOfRange


def made(angle, radius, thickness, ratio, legs=(30.0, 20.0), error=0.0):
    allowance = bend.allowance_from_neutral_axis(angle, radius, thickness, ratio)
    taken = 2 * bend.outside_reach(angle, radius, thickness) - allowance
    return Made(sum(legs) - taken + error, legs, (angle,), (radius,), thickness)


@given(angle=st.floats(5, 180), radius=st.floats(0, 6), thickness=st.floats(0.4, 3), ratio=st.floats(0.3, 0.5))
def test_one_part_gives_its_ratio_back(angle, radius, thickness, ratio):
    found = measured_bend(made(angle, radius, thickness, ratio))
    assert ratio == pytest.approx(found.neutral_axis_ratio, abs=1e-8)
    assert found.allowance == pytest.approx(bend.allowance_from_neutral_axis(angle, radius, thickness, ratio))


def test_exact_parts_fit_without_error():
    fit = fit_ratio([made(a, r, 1.0, 0.44) for a, r in ((90, 3.0), (60, 3.0), (120, 5.0))])
    assert 0.44 == pytest.approx(fit.ratio)
    assert 0.0 == pytest.approx(fit.error, abs=1e-12)


def test_one_part_has_no_standard_error():
    assert math.isnan(fit_ratio([made(90, 3.0, 1.0, 0.44)]).error)


def test_least_squares_agree_with_numpy():
    numpy = pytest.importorskip("numpy")
    rng = random.Random(3)
    parts = [made(a, 3.0, 1.0, 0.44, error=rng.gauss(0, 0.1)) for a in (30, 45, 60, 90, 90, 90, 120)]
    weights = [math.radians(p.angles[0]) * p.thickness for p in parts]
    over = [w * 0.44 + (p.blank - made(p.angles[0], 3.0, 1.0, 0.44).blank) for w, p in zip(weights, parts, strict=True)]
    matrix = numpy.array(weights)[:, None]
    solution, residual, *_ = numpy.linalg.lstsq(matrix, numpy.array(over), rcond=None)
    error = math.sqrt(residual[0] / (len(parts) - 1) * numpy.linalg.inv(matrix.T @ matrix)[0, 0])
    fit = fit_ratio(parts)
    assert solution[0] == pytest.approx(fit.ratio, rel=1e-9)
    assert error == pytest.approx(fit.error, rel=1e-9)


def test_standard_error_is_how_far_fits_scatter():
    rng = random.Random(5)
    fits = []
    for _ in range(600):
        fits.append(fit_ratio([made(90, 3.0, 1.0, 0.44, error=rng.gauss(0, 0.1)) for _ in range(6)]))
    mean = sum(f.ratio for f in fits) / len(fits)
    scatter = math.sqrt(sum((f.ratio - mean) ** 2 for f in fits) / len(fits))
    typical = math.sqrt(sum(f.error**2 for f in fits) / len(fits))
    assert scatter == pytest.approx(typical, rel=0.1)
    assert 0.44 == pytest.approx(mean, abs=0.005)


@given(angle=st.floats(20, 170), radius=st.floats(0.1, 10))
def test_radius_for_a_blank_comes_back(angle, radius):
    allowance = bend.allowance_handbook(angle, radius, 1.0)
    blank = 50.0 - (2 * bend.outside_reach(angle, radius, 1.0) - allowance)
    found = radius_for_blank(blank, (30.0, 20.0), angle, 1.0, bend.allowance_handbook)
    again = 50.0 - (2 * bend.outside_reach(angle, found, 1.0) - bend.allowance_handbook(angle, found, 1.0))
    assert blank == pytest.approx(again, abs=1e-6)


def test_no_radius_makes_a_blank_longer_than_its_legs():
    with pytest.raises(OutOfRange, match="the blank is 60; it must be between"):
        radius_for_blank(60.0, (30.0, 20.0), 90, 1.0, bend.allowance_handbook)


def test_bends_and_legs_must_match():
    with pytest.raises(ValueError, match="n \\+ 1 legs"):
        Made(10.0, (5.0, 5.0, 5.0), (90.0,), (1.0,), 1.0)
