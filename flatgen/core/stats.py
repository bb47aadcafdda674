"""What measured pieces say: mean and spread, doubtful values, drift, control limits, capability. No units of its own.

Every figure comes with its confidence bounds, because a hand shop measures few pieces.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from statistics import fmean, stdev

from flatgen.core.distributions import chi_square_quantile, normal_quantile, t_quantile

# Factors for ranges of n normal values: mean (d2) and standard deviation (d3) of the range in standard deviations.
# Table 2 of ISO 7870-2 and ASTM E2587 print them to three digits; the fourth is from fuller tables (all from memory).
# The tests integrate every one of them anew.
RANGE_MEAN = {
    2: 1.1284, 3: 1.6926, 4: 2.0588, 5: 2.3259, 6: 2.5344, 7: 2.7044, 8: 2.8472, 9: 2.9700, 10: 3.0775
}  # fmt: skip
RANGE_SPREAD = {
    2: 0.8525, 3: 0.8884, 4: 0.8798, 5: 0.8641, 6: 0.8480, 7: 0.8332, 8: 0.8198, 9: 0.8078, 10: 0.7971
}  # fmt: skip
RUN_LENGTH = 8  # values in a row on one side of the middle, or
TREND_LENGTH = 6  # in a row rising or falling: signs of a change (ISO 7870-2, example tests; from memory)


@dataclass(frozen=True, slots=True)
class Estimate:
    """A mean with its standard error and confidence interval; interval is infinite for a single value."""

    count: int
    mean: float
    spread: float  # standard deviation of single values, 0 for one value
    error: float  # standard error of the mean, infinite for one value
    low: float
    high: float
    confidence: float = 0.95

    @property
    def half_width(self) -> float:
        """Half of the confidence interval."""
        return (self.high - self.low) / 2.0


def estimate(values: Sequence[float], confidence: float = 0.95) -> Estimate:
    """Mean of the values with its t-interval.

    References
    ----------
    NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.2; from memory.

    Examples
    --------
    >>> estimate((3.0, 3.1, 3.2)).half_width
    0.24841
    """
    count = len(values)
    if count == 0:
        raise ValueError("no values")
    mean = fmean(values)
    if count == 1:
        return Estimate(1, mean, 0.0, math.inf, -math.inf, math.inf, confidence)
    spread = stdev(values)
    error = spread / math.sqrt(count)
    half = t_quantile(0.5 + confidence / 2.0, count - 1) * error
    return Estimate(count, mean, spread, error, mean - half, mean + half, confidence)


def no_finer(several: Estimate, spread: float) -> Estimate:
    """An estimate whose spread is not below what the measuring tools can tell apart."""
    if several.count < 2 or several.spread >= spread:
        return several
    error = spread / math.sqrt(several.count)
    half = t_quantile(0.5 + several.confidence / 2.0, several.count - 1) * error
    return replace(several, spread=spread, error=error, low=several.mean - half, high=several.mean + half)


def outliers(values: Sequence[float], level: float = 0.05, resolution: float = 0.0) -> tuple[int, ...]:
    """Places of values that stand out from the rest, found one after the other by Grubbs' two-sided test.

    resolution : of the instrument; the spread counts as no finer, so that four equal readings and one a step beside
        them are five of one kind

    They are only pointed at: nobody drops them. Fewer than three values have no outlier; nor have values that agree to
    a millionth, where a test would call rounding an event.

    References
    ----------
    NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.17.1 (Grubbs' test for outliers); from memory.
    """
    left = list(range(len(values)))
    found: list[int] = []
    while len(left) > 2:
        mean = fmean(values[k] for k in left)
        spread = max(stdev(values[k] for k in left), resolution)
        if spread <= 1e-6 * max(abs(mean), 1.0):
            break
        worst = max(left, key=lambda k: abs(values[k] - mean))
        if abs(values[worst] - mean) / spread <= grubbs_limit(len(left), level):
            break
        found.append(worst)
        left.remove(worst)
    return tuple(sorted(found))


def grubbs_limit(count: int, level: float = 0.05) -> float:
    """Largest deviation in standard deviations that Grubbs' two-sided test puts up with.

    Examples
    --------
    >>> grubbs_limit(8)
    2.1266
    """
    t = t_quantile(1.0 - level / (2.0 * count), count - 2)
    return (count - 1) / math.sqrt(count) * math.sqrt(t * t / (count - 2 + t * t))


@dataclass(frozen=True, slots=True)
class Drift:
    """Slope of the values over the order of pieces, per piece, with its confidence interval."""

    slope: float
    low: float
    high: float
    start: float  # fitted value at place 0

    @property
    def real(self) -> bool:
        """Whether the interval leaves zero out."""
        return self.low > 0.0 or self.high < 0.0


def drift(places: Sequence[float], values: Sequence[float], confidence: float = 0.95) -> Drift | None:
    """Straight line through values over places; None below three values or when all places are the same.

    References
    ----------
    NIST/SEMATECH e-Handbook of Statistical Methods, 4.1.4.1 (linear least squares); from memory.
    """
    count = len(values)
    if count < 3:
        return None
    mean_x, mean_y = fmean(places), fmean(values)
    sxx = math.fsum((x - mean_x) ** 2 for x in places)
    if sxx == 0.0:
        return None
    slope = math.fsum((x - mean_x) * (y - mean_y) for x, y in zip(places, values, strict=True)) / sxx
    start = mean_y - slope * mean_x
    rest = math.fsum((y - start - slope * x) ** 2 for x, y in zip(places, values, strict=True))
    half = t_quantile(0.5 + confidence / 2.0, count - 2) * math.sqrt(rest / (count - 2) / sxx)
    return Drift(slope, slope - half, slope + half, start)


@dataclass(frozen=True, slots=True)
class ControlLimits:
    """Middle and three-sigma limits of single values, from the mean moving range; and the limit of that range."""

    middle: float
    low: float
    high: float
    sigma: float
    range_high: float


def control_limits(values: Sequence[float]) -> ControlLimits | None:
    """Limits of the chart of single values with moving range; None below two values.

    Middle ± 3·(mean moving range)/d2, range limit D4·(mean moving range), with n = 2.

    References
    ----------
    ISO 7870-2 (Shewhart control charts), individuals and moving range; NIST/SEMATECH e-Handbook 6.3.2.2; from memory.
    """
    if len(values) < 2:
        return None
    moving = fmean(abs(b - a) for a, b in zip(values, values[1:], strict=False))
    sigma = moving / RANGE_MEAN[2]
    middle = fmean(values)
    return ControlLimits(middle, middle - 3 * sigma, middle + 3 * sigma, sigma, chart_factors(2).range_high * moving)


@dataclass(frozen=True, slots=True)
class ChartFactors:
    """Factors for charts of means and ranges of samples of n: A2, D3, D4, and c4, A3, B3, B4 for spreads."""

    mean_by_range: float  # A2
    range_low: float  # D3
    range_high: float  # D4
    spread_bias: float  # c4
    mean_by_spread: float  # A3
    spread_low: float  # B3
    spread_high: float  # B4


def chart_factors(size: int) -> ChartFactors:
    """Factors for samples of ``size`` pieces, 2 to 10.

    References
    ----------
    ISO 7870-2 table 2, ASTM E2587; formulas from the printed d2 and d3, c4 = sqrt(2/(n-1))·Γ(n/2)/Γ((n-1)/2).
    """
    d2, d3 = RANGE_MEAN[size], RANGE_SPREAD[size]
    c4 = math.sqrt(2.0 / (size - 1)) * math.exp(math.lgamma(size / 2.0) - math.lgamma((size - 1) / 2.0))
    wander = 3.0 * math.sqrt(1.0 - c4 * c4) / c4
    return ChartFactors(
        mean_by_range=3.0 / (d2 * math.sqrt(size)),
        range_low=max(0.0, 1.0 - 3.0 * d3 / d2),
        range_high=1.0 + 3.0 * d3 / d2,
        spread_bias=c4,
        mean_by_spread=3.0 / (c4 * math.sqrt(size)),
        spread_low=max(0.0, 1.0 - wander),
        spread_high=1.0 + wander,
    )


def signals(values: Sequence[float], limits: ControlLimits | None = None) -> tuple[str, ...]:
    """Signs that something changed while the pieces were made, in words; empty when there is none.

    References
    ----------
    ISO 7870-2, tests for special causes: a value beyond three sigma, a run on one side, a run up or down; from memory.
    """
    limits = limits or control_limits(values)
    if limits is None:
        return ()
    found = []
    beyond = [k + 1 for k, v in enumerate(values) if limits.sigma > 0 and not limits.low <= v <= limits.high]
    if beyond:
        found.append(f"beyond three sigma: measured piece {', '.join(map(str, beyond))} in order")
    side = longest_run([v > limits.middle for v in values if v != limits.middle])
    if side >= RUN_LENGTH:
        found.append(f"{side} in a row on one side of the mean")
    steps = [b > a for a, b in zip(values, values[1:], strict=False) if a != b]
    run = longest_run(steps)
    if run + 1 >= TREND_LENGTH:
        found.append(f"{run + 1} in a row rising or falling")
    return tuple(found)


def longest_run(flags: Sequence[bool]) -> int:
    """Length of the longest stretch of equal flags."""
    longest = current = 0
    before: bool | None = None
    for flag in flags:
        current = current + 1 if flag == before else 1
        before = flag
        longest = max(longest, current)
    return longest


@dataclass(frozen=True, slots=True)
class Capability:
    """How the spread fits the tolerance: Cp and Cpk with confidence bounds, and the share expected outside."""

    spread_index: float  # Cp
    spread_low: float
    spread_high: float
    index: float  # Cpk
    index_low: float
    index_high: float
    outside: float  # expected share outside, if normal
    confidence: float = 0.95


def capability(values: Sequence[float], lower: float, upper: float, confidence: float = 0.95) -> Capability | None:
    """Cp and Cpk against two-sided limits; None below three values or without any spread.

    Cp has exact bounds by chi-square; Cpk approximate ones by the normal distribution, which are rough below about 25
    values. The standard deviation is that of all values given.

    References
    ----------
    NIST/SEMATECH e-Handbook of Statistical Methods, 6.1.6 (process capability, confidence limits for Cp and Cpk); ISO
    22514-2 uses the same indices. From memory.
    """
    if upper <= lower:
        raise ValueError("the upper limit must lie above the lower one")
    if len(values) < 3:
        return None
    mean, spread = fmean(values), stdev(values)
    if spread <= 0.0:
        return None
    freedom = len(values) - 1
    tail = (1.0 - confidence) / 2.0
    cp = (upper - lower) / (6.0 * spread)
    cpk = min(upper - mean, mean - lower) / (3.0 * spread)
    wander = normal_quantile(1.0 - tail) * math.sqrt(1.0 / (9.0 * len(values)) + cpk * cpk / (2.0 * freedom))
    return Capability(
        spread_index=cp,
        spread_low=cp * math.sqrt(chi_square_quantile(tail, freedom) / freedom),
        spread_high=cp * math.sqrt(chi_square_quantile(1.0 - tail, freedom) / freedom),
        index=cpk,
        index_low=cpk - wander,
        index_high=cpk + wander,
        outside=_below((lower - mean) / spread) + _below((mean - upper) / spread),
        confidence=confidence,
    )


def _below(z: float) -> float:
    """Probability that a standard normal variable lies below z; keeps its digits far out in the tail."""
    return 0.5 * math.erfc(-z / math.sqrt(2.0))
