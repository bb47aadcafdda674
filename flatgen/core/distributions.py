"""Quantiles of Student's t and chi-square, for confidence bounds on a handful of measurements.

Written out here because a shop's few coupons do not justify a large numerical library at the bench; the tests compare
every function with one.
"""

import math
from collections.abc import Callable
from statistics import NormalDist

_TINY = 1e-300


def normal_quantile(probability: float) -> float:
    """Value below which a standard normal variable falls with this probability."""
    return NormalDist().inv_cdf(probability)


def incomplete_beta(a: float, b: float, x: float) -> float:
    """Regularised incomplete beta function, by its continued fraction (modified Lentz evaluation).

    References
    ----------
    NIST Digital Library of Mathematical Functions, 8.17.22 (the fraction) and 8.17.4 (the reflection); from memory.
    """
    if x <= 0.0:
        return 0.0
    if x >= 1.0:
        return 1.0
    if x > (a + 1.0) / (a + b + 2.0):
        return 1.0 - incomplete_beta(b, a, 1.0 - x)
    front = math.exp(
        a * math.log(x) + b * math.log1p(-x) - math.log(a) - math.lgamma(a) - math.lgamma(b) + math.lgamma(a + b)
    )
    c, d = 1.0, 1.0 - (a + b) * x / (a + 1.0)
    d = 1.0 / (d if abs(d) > _TINY else _TINY)
    fraction = d
    for m in range(1, 500):
        even = m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m))
        odd = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1))
        step = 1.0
        for term in (even, odd):
            d = 1.0 + term * d
            d = 1.0 / (d if abs(d) > _TINY else _TINY)
            c = 1.0 + term / c
            c = c if abs(c) > _TINY else _TINY
            step = c * d
            fraction *= step
        if abs(step - 1.0) < 1e-15:
            break
    return front * fraction


def incomplete_gamma(a: float, x: float) -> float:
    """Regularised lower incomplete gamma function, by its series or by its continued fraction.

    References
    ----------
    NIST Digital Library of Mathematical Functions, 8.7.1 (series) and 8.9.2 (fraction); from memory.
    """
    if x <= 0.0:
        return 0.0
    front = math.exp(a * math.log(x) - x - math.lgamma(a))
    if x < a + 1.0:
        term = total = 1.0 / a
        n = a
        while abs(term) > abs(total) * 1e-16:
            n += 1.0
            term *= x / n
            total += term
        return front * total
    b = x + 1.0 - a
    c, d = 1.0 / _TINY, 1.0 / b
    fraction = d
    for k in range(1, 1000):
        factor = -k * (k - a)
        b += 2.0
        d = factor * d + b
        d = 1.0 / (d if abs(d) > _TINY else _TINY)
        c = b + factor / c
        c = c if abs(c) > _TINY else _TINY
        fraction *= d * c
        if abs(d * c - 1.0) < 1e-15:
            break
    return 1.0 - front * fraction


def t_probability(t: float, freedom: float) -> float:
    """Probability that Student's t with these degrees of freedom lies below ``t``."""
    tail = 0.5 * incomplete_beta(freedom / 2.0, 0.5, freedom / (freedom + t * t))
    return 1.0 - tail if t > 0 else tail


def t_quantile(probability: float, freedom: float) -> float:
    """Value below which Student's t falls with this probability.

    Examples
    --------
    >>> t_quantile(0.975, 2)
    4.3027
    """
    if probability < 0.5:
        return -t_quantile(1.0 - probability, freedom)
    return _bisect(lambda t: t_probability(t, freedom), probability, 0.0, 1.0)


def chi_square_quantile(probability: float, freedom: float) -> float:
    """Value below which chi-square falls with this probability.

    Examples
    --------
    >>> chi_square_quantile(0.95, 10)
    18.307
    """
    return _bisect(lambda x: incomplete_gamma(freedom / 2.0, x / 2.0), probability, 0.0, 1.0)


def _bisect(rising: Callable[[float], float], wanted: float, low: float, high: float) -> float:
    """Argument at which a rising function reaches ``wanted``; ``high`` is moved up until it brackets."""
    while rising(high) < wanted:
        low, high = high, 2.0 * high
        if high > 1e300:
            raise ValueError(f"no quantile for probability {wanted}")
    for _ in range(200):
        middle = 0.5 * (low + high)
        if middle in (low, high):
            break
        if rising(middle) < wanted:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)
