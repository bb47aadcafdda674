"""Means, control charts and capability against published tables and a general-purpose statistics library."""

import math

import numpy as np
import pytest
from scipy import integrate, stats

from flatgen.core import stats as s

# Factors for control charts as printed in ISO 7870-2:2013 table 2 and ASTM E2587 (from memory; the same in every
# textbook): n, A2, A3, B3, B4, D3, D4, c4
PRINTED = [
    (2, 1.880, 2.659, 0.000, 3.267, 0.000, 3.267, 0.7979),
    (3, 1.023, 1.954, 0.000, 2.568, 0.000, 2.575, 0.8862),
    (4, 0.729, 1.628, 0.000, 2.266, 0.000, 2.282, 0.9213),
    (5, 0.577, 1.427, 0.000, 2.089, 0.000, 2.114, 0.9400),
    (6, 0.483, 1.287, 0.030, 1.970, 0.000, 2.004, 0.9515),
    (7, 0.419, 1.182, 0.118, 1.882, 0.076, 1.924, 0.9594),
    (8, 0.373, 1.099, 0.185, 1.815, 0.136, 1.864, 0.9650),
    (9, 0.337, 1.032, 0.239, 1.761, 0.184, 1.816, 0.9693),
    (10, 0.308, 0.975, 0.284, 1.716, 0.223, 1.777, 0.9727),
]


@pytest.mark.parametrize("row", PRINTED, ids=lambda row: f"ISO 7870-2 table 2, n={row[0]}")
def test_chart_factors_as_printed(row: tuple[float, ...]) -> None:
    f = s.chart_factors(int(row[0]))
    ours = (f.mean_by_range, f.mean_by_spread, f.spread_low, f.spread_high, f.range_low, f.range_high, f.spread_bias)
    for printed, value, digits in zip(row[1:], ours, (3, 3, 3, 3, 3, 3, 4), strict=True):
        assert printed == pytest.approx(value, abs=0.6 * 10**-digits)


@pytest.mark.parametrize("size", range(2, 11))
def test_range_factors_by_integration(size: int) -> None:
    """Mean and spread of the range of n normal values, integrated: another road than the printed table."""

    def beyond(low: float, high: float) -> float:  # chance that neither end of the sample passes
        a, b = stats.norm.cdf(low), stats.norm.sf(high)
        return float(1 - (1 - a) ** size - (1 - b) ** size + max(0.0, 1 - a - b) ** size)

    mean = integrate.quad(lambda x: 1 - stats.norm.cdf(x) ** size - stats.norm.sf(x) ** size, -8, 8)[0]
    square = 2 * integrate.dblquad(lambda y, x: beyond(x, y), -7, 7, lambda x: x, lambda x: 7, epsabs=1e-7)[0]
    assert s.RANGE_MEAN[size] == pytest.approx(mean, abs=6e-5)
    assert s.RANGE_SPREAD[size] == pytest.approx(math.sqrt(square - mean * mean), abs=6e-5)


def test_mean_interval_is_the_librarys() -> None:
    values = [3.41, 3.52, 3.38, 3.47, 3.50]
    ours = s.estimate(values)
    theirs = stats.ttest_1samp(values, 0).confidence_interval(0.95)
    assert (theirs.low, theirs.high) == pytest.approx((ours.low, ours.high), rel=1e-10)
    assert stats.sem(values) == pytest.approx(ours.error)


@pytest.mark.parametrize(("count", "times_spread"), [(3, 2.48), (5, 1.24), (10, 0.72)])
def test_half_width_as_in_the_coupon_rule(count: int, times_spread: float) -> None:
    """Derived in the coupon rule: at 95 % the mean is known to ±2.48, 1.24, 0.72 standard deviations."""
    values = list(range(count))
    ours = s.estimate(values)
    assert times_spread == pytest.approx(ours.half_width / ours.spread, abs=0.005)


def test_one_value_has_no_interval() -> None:
    assert (math.inf, -math.inf) == (s.estimate([1.0]).error, s.estimate([1.0]).low)
    with pytest.raises(ValueError, match="no values"):
        s.estimate([])


def test_grubbs_limits_as_published() -> None:
    """Two-sided limits at 5 %: 1.715 at n = 5, 2.126 at 8, 2.290 at 10 (ASTM E178, ISO 5725-2; from memory)."""
    assert (1.715, 2.126, 2.290) == pytest.approx(tuple(s.grubbs_limit(n) for n in (5, 8, 10)), abs=1e-3)


def test_outlier_of_the_handbook_is_found() -> None:
    """NIST e-Handbook 1.3.5.17.1 tests these mass readings; the last one, 245.57, is the outlier (from memory)."""
    values = [199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57]
    assert (7,) == s.outliers(values)
    assert 2.4687 == pytest.approx((245.57 - np.mean(values)) / np.std(values, ddof=1), abs=5e-4)


def test_outliers_leave_good_and_equal_values_alone() -> None:
    assert () == s.outliers([1.0, 1.02, 0.98, 1.01, 0.99])
    assert () == s.outliers([1.0, 1.0, 1.0, 1.0])
    assert () == s.outliers([1.0, 9.0])


def test_drift_is_the_librarys_line() -> None:
    places = [1, 10, 20, 30, 40, 50]
    values = [25.40, 25.43, 25.44, 25.48, 25.49, 25.53]
    ours = s.drift(places, values)
    theirs = stats.linregress(places, values)
    half = stats.t.ppf(0.975, 4) * theirs.stderr
    assert ours is not None and ours.real
    assert (theirs.slope, theirs.intercept) == pytest.approx((ours.slope, ours.start))
    assert (theirs.slope - half, theirs.slope + half) == pytest.approx((ours.low, ours.high))


def test_drift_needs_three_different_places() -> None:
    assert s.drift([1, 2], [1.0, 2.0]) is None
    assert s.drift([1, 1, 1], [1.0, 2.0, 3.0]) is None


def test_capability_of_the_handbook() -> None:
    """NIST e-Handbook 6.1.6: limits 8 and 20, mean 16, spread 2 give Cp 1.0 and Cpk 0.6667 (from memory)."""
    raw = np.array([-1.0, 1.0, -0.5, 0.5, 0.0])
    values = 16.0 + 2.0 * raw / raw.std(ddof=1)
    ours = s.capability(list(values), 8.0, 20.0)
    assert ours is not None
    assert (1.0, 0.6667) == pytest.approx((ours.spread_index, ours.index), abs=5e-5)


def test_capability_bounds_by_the_librarys_chi_square() -> None:
    rng = np.random.default_rng(4)
    values = list(rng.normal(25.4, 0.1, 30))
    ours = s.capability(values, 25.0, 25.8)
    assert ours is not None
    low, high = (math.sqrt(stats.chi2.ppf(p, 29) / 29) for p in (0.025, 0.975))
    assert (low, high) == pytest.approx((ours.spread_low / ours.spread_index, ours.spread_high / ours.spread_index))
    expected = stats.norm.cdf(25.0, np.mean(values), np.std(values, ddof=1)) + stats.norm.sf(
        25.8, np.mean(values), np.std(values, ddof=1)
    )
    assert expected == pytest.approx(ours.outside, rel=1e-9)


def test_capability_bounds_cover_the_truth() -> None:
    """In 2,000 simulated batches of 30 the 95 % bounds hold the true Cp (exact) and Cpk (approximate)."""
    rng = np.random.default_rng(11)
    cp_hits = cpk_hits = 0
    for _ in range(2000):
        ours = s.capability(list(rng.normal(0.1, 0.1, 30)), -0.4, 0.4)
        assert ours is not None
        cp_hits += ours.spread_low <= 0.8 / 0.6 <= ours.spread_high
        cpk_hits += ours.index_low <= 0.3 / 0.3 <= ours.index_high
    assert 0.95 == pytest.approx(cp_hits / 2000, abs=0.02)
    assert 0.95 == pytest.approx(cpk_hits / 2000, abs=0.02)


def test_capability_without_spread_or_values_is_none() -> None:
    assert s.capability([1.0, 1.0, 1.0], 0.0, 2.0) is None
    assert s.capability([1.0, 1.1], 0.0, 2.0) is None
    with pytest.raises(ValueError, match="upper limit"):
        s.capability([1.0, 2.0, 3.0], 2.0, 1.0)


def test_control_limits_by_hand() -> None:
    """Moving ranges 1, 2, 1: mean 4/3; middle 10; limits ± 3·(4/3)/1.128; range limit 3.267·4/3."""
    limits = s.control_limits([10.0, 11.0, 9.0, 10.0])
    assert limits is not None
    assert (10.0, 4 / 3 / 1.128 * 3) == pytest.approx((limits.middle, limits.high - limits.middle), abs=2e-3)
    assert 3.267 * 4 / 3 == pytest.approx(limits.range_high, abs=2e-3)
    assert s.control_limits([1.0]) is None


def test_signals() -> None:
    calm = [0.0, 0.1, -0.1, 0.05, -0.05, 0.1, -0.1]
    assert () == s.signals(calm)
    assert any("beyond three sigma" in text for text in s.signals([*calm, 2.0]))
    assert any("rising or falling" in text for text in s.signals([0.0, 0.1, 0.15, 0.2, 0.3, 0.35]))
    run = [0.1, 0.12, 0.1, 0.12, 0.1, 0.12, 0.1, 0.12, -0.1, -0.12, -0.1, -0.12, -0.1, -0.12, -0.1, -0.12]
    assert any("on one side" in text for text in s.signals(run))
    assert () == s.signals([1.0])
