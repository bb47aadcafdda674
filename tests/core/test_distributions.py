"""Quantiles against a general-purpose statistics library."""

import pytest
from scipy import special, stats

from flatgen.core import distributions as d

FREEDOMS = [1, 2, 3, 4, 7, 10, 29, 100, 1999]
PROBABILITIES = [0.0005, 0.025, 0.1, 0.5, 0.9, 0.95, 0.975, 0.995, 0.9995]


@pytest.mark.parametrize("freedom", FREEDOMS)
@pytest.mark.parametrize("probability", PROBABILITIES)
def test_t_quantile_is_the_librarys(probability: float, freedom: int) -> None:
    assert stats.t.ppf(probability, freedom) == pytest.approx(d.t_quantile(probability, freedom), rel=1e-9, abs=1e-9)


@pytest.mark.parametrize("freedom", FREEDOMS)
@pytest.mark.parametrize("probability", PROBABILITIES)
def test_chi_square_quantile_is_the_librarys(probability: float, freedom: int) -> None:
    assert stats.chi2.ppf(probability, freedom) == pytest.approx(d.chi_square_quantile(probability, freedom), rel=1e-8)


@pytest.mark.parametrize("probability", PROBABILITIES)
def test_normal_quantile_is_the_librarys(probability: float) -> None:
    assert stats.norm.ppf(probability) == pytest.approx(d.normal_quantile(probability), rel=1e-12, abs=1e-12)


@pytest.mark.parametrize(("a", "b"), [(0.5, 0.5), (1.0, 0.5), (50.0, 0.5), (3.0, 7.0)])
@pytest.mark.parametrize("x", [1e-6, 0.01, 0.3, 0.5, 0.9, 0.999999])
def test_incomplete_beta_is_the_librarys(a: float, b: float, x: float) -> None:
    assert special.betainc(a, b, x) == pytest.approx(d.incomplete_beta(a, b, x), rel=1e-11)


@pytest.mark.parametrize("a", [0.5, 1.0, 5.0, 60.0])
@pytest.mark.parametrize("x", [1e-6, 0.2, 1.0, 5.0, 80.0])
def test_incomplete_gamma_is_the_librarys(a: float, x: float) -> None:
    assert special.gammainc(a, x) == pytest.approx(d.incomplete_gamma(a, x), rel=1e-11)


def test_ends_of_the_functions() -> None:
    assert (0.0, 1.0) == (d.incomplete_beta(2.0, 3.0, -1.0), d.incomplete_beta(2.0, 3.0, 1.0))
    assert 0.0 == d.incomplete_gamma(2.0, 0.0)
