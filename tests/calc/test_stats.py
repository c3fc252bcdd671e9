"""The distributions against scipy."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats as reference

from shopdesk.calc import stats
from shopdesk.errors import BadInput, OutOfRange

PROBABILITIES = st.floats(1e-9, 1 - 1e-9)
DEGREES = st.one_of(st.integers(1, 200), st.floats(1, 1e5))


@given(probability=PROBABILITIES, degrees=DEGREES)
def test_student_t(probability: float, degrees: float) -> None:
    expected = float(reference.t.ppf(probability, degrees))
    found = stats.student_t_quantile(probability, degrees)
    assert found == pytest.approx(expected, rel=1e-7, abs=1e-9)


@given(probability=PROBABILITIES, degrees=DEGREES)
def test_chi_square(probability: float, degrees: float) -> None:
    expected = float(reference.chi2.ppf(probability, degrees))
    assert stats.chi_square_quantile(probability, degrees) == pytest.approx(expected, rel=1e-7)


@given(mean=st.floats(0, 1e4), count=st.integers(-2, 12000))
def test_poisson(mean: float, count: int) -> None:
    expected = float(reference.poisson.cdf(count, mean))
    assert stats.poisson_below_or_at(count, mean) == pytest.approx(expected, abs=1e-9)


@given(mean=st.floats(0.01, 500), excess=st.floats(1.001, 50), count=st.integers(-1, 3000))
def test_negative_binomial(mean: float, excess: float, count: int) -> None:
    variance = mean * excess
    r = mean**2 / (variance - mean)
    expected = float(reference.nbinom.cdf(count, r, mean / variance))
    found = stats.negative_binomial_below_or_at(count, mean, variance)
    assert found == pytest.approx(expected, abs=1e-9)


@given(a=st.floats(0.1, 500), x=st.floats(0, 1500))
def test_the_gammas_make_one(a: float, x: float) -> None:
    assert stats.gamma_lower(a, x) + stats.gamma_upper(a, x) == pytest.approx(1.0, abs=1e-12)


@given(a=st.floats(0.1, 200), b=st.floats(0.1, 200), x=st.floats(0, 1))
def test_beta(a: float, b: float, x: float) -> None:
    expected = float(reference.beta.cdf(x, a, b))
    assert stats.beta_regularised(a, b, x) == pytest.approx(expected, abs=1e-9)


def test_printed_table_of_t() -> None:
    """12.706, 4.303, 2.228, 1.960 at 95 % for 1, 2, 10 and infinite (any printed table)."""
    found = [stats.student_t_quantile(0.975, n) for n in (1, 2, 10, math.inf)]
    assert found == pytest.approx([12.706, 4.303, 2.228, 1.960], abs=5e-4)
    assert stats.student_t_quantile(0.5, 3) == 0.0


def test_refusals() -> None:
    for bad in (0.0, 1.0, 95.0, math.nan):
        with pytest.raises(BadInput, match="Probability"):
            stats.student_t_quantile(bad, 3)
    with pytest.raises(OutOfRange, match="Degrees of freedom"):
        stats.chi_square_quantile(0.9, 0)
    with pytest.raises(OutOfRange, match="1e-12"):
        stats.chi_square_quantile(1e-15, 2)
    with pytest.raises(BadInput, match="Poisson"):
        stats.negative_binomial_below_or_at(3, 5.0, 5.0)


@pytest.mark.parametrize(("count", "of"), [(0, 9), (1, 9), (7, 160), (80, 100), (12, 12)])
@pytest.mark.parametrize("confidence", [0.8, 0.95])
def test_exact_bounds_of_a_share_against_scipy(count: int, of: int, confidence: float) -> None:
    bounds = reference.binomtest(count, of).proportion_ci(confidence, method="exact")
    found = stats.proportion_bounds(count, of, confidence)
    assert found == pytest.approx((bounds.low, bounds.high), abs=1e-9)
