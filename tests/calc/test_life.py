"""Life data: the fit against scipy's censored fit, the bound against its chi-square."""

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy import stats as reference
from scipy.stats import CensoredData

from shopdesk.calc import life
from shopdesk.errors import BadInput

from .lives import AUTOMOTIVE_FAILED, AUTOMOTIVE_RUNNING, BEARINGS


def by_scipy(failed: tuple[float, ...], running: tuple[float, ...]) -> tuple[float, float]:
    data = CensoredData(uncensored=list(failed), right=list(running))
    shape, _, scale = reference.weibull_min.fit(data, floc=0)
    return float(shape), float(scale)


@pytest.mark.parametrize(
    ("failed", "running"),
    [(BEARINGS, ()), (AUTOMOTIVE_FAILED, AUTOMOTIVE_RUNNING), ((10.0, 20.0), (30.0, 5.0))],
)
def test_fit_against_scipy(failed: tuple[float, ...], running: tuple[float, ...]) -> None:
    found = life.weibull_fit(failed, running)
    assert (found.shape, found.scale) == pytest.approx(by_scipy(failed, running), rel=1e-3)
    assert (found.failures, found.running) == (len(failed), len(running))


def test_running_units_are_neither_failed_nor_left_out() -> None:
    """Either slip gives other answers on the open data set: shorter lives."""
    right = life.weibull_fit(AUTOMOTIVE_FAILED, AUTOMOTIVE_RUNNING)
    dropped = life.weibull_fit(AUTOMOTIVE_FAILED)
    failed = life.weibull_fit(AUTOMOTIVE_FAILED + AUTOMOTIVE_RUNNING)
    assert dropped.scale < 0.5 * right.scale
    assert failed.scale < 0.5 * right.scale
    assert abs(dropped.shape - right.shape) > 0.05


TIMES = st.lists(st.floats(1.0, 1e4), min_size=3, max_size=20)


@given(
    failed=TIMES, running=st.lists(st.floats(1.0, 1e4), max_size=20), factor=st.floats(0.01, 100)
)
def test_fit_is_a_maximum_and_unit_free(
    failed: list[float], running: list[float], factor: float
) -> None:
    """Nudged either way the likelihood (scipy's density and survival) is no higher."""
    assume(max(failed) > 1.05 * min(failed))
    found = life.weibull_fit(failed, running)

    def likelihood(shape: float, scale: float) -> float:
        dead = reference.weibull_min.logpdf(failed, shape, scale=scale).sum()
        return float(dead + reference.weibull_min.logsf(running, shape, scale=scale).sum())

    best = likelihood(found.shape, found.scale)
    assert found.log_likelihood == pytest.approx(best, rel=1e-9, abs=1e-6)
    for nudge in (0.99, 1.01):
        assert likelihood(found.shape * nudge, found.scale) <= best + 1e-7
        assert likelihood(found.shape, found.scale * nudge) <= best + 1e-7
    other = life.weibull_fit([t * factor for t in failed], [t * factor for t in running])
    assert other.shape == pytest.approx(found.shape, rel=1e-6)
    assert other.scale == pytest.approx(found.scale * factor, rel=1e-6)


@given(share=st.floats(0.001, 0.999))
def test_b_life_there_and_back(share: float) -> None:
    fit = life.weibull_fit(BEARINGS)
    assert 1 - life.survival(fit, life.b_life(fit, share)) == pytest.approx(share, abs=1e-12)


def test_scale_is_where_63_percent_are_gone() -> None:
    fit = life.weibull_fit(BEARINGS)
    assert life.survival(fit, fit.scale) == pytest.approx(math.exp(-1))
    assert life.survival(fit, 0.0) == 1.0


@given(total=st.floats(1, 1e6), failures=st.integers(0, 200), confidence=st.floats(0.5, 0.99))
def test_mtbf_bound_against_scipy(total: float, failures: int, confidence: float) -> None:
    expected = 2 * total / reference.chi2.ppf(confidence, 2 * failures + 2)
    found = life.mtbf_bound(total, failures, confidence)
    assert found == pytest.approx(float(expected), rel=1e-8)
    if failures:
        stopped = life.mtbf_bound(total, failures, confidence, failure_terminated=True)
        assert stopped > found


def test_few_failures_carry_a_caution() -> None:
    assert "Only 2 failures" in life.weibull_fit([10.0, 20.0], [30.0]).cautions[0]
    assert life.weibull_fit(BEARINGS).cautions == ()


@pytest.mark.parametrize(
    ("failed", "named"),
    [
        ([], "0 read"),
        ([100.0], "1 read"),
        ([100.0, 100.0, 100.0], "alike"),
        ([100.0, -5.0], "greater than zero"),
        ([100.0, math.nan], "finite"),
        ([100.0, math.inf], "finite"),
    ],
)
def test_fit_refuses(failed: list[float], named: str) -> None:
    with pytest.raises(BadInput, match=named):
        life.weibull_fit(failed)


def test_other_refusals() -> None:
    fit = life.weibull_fit(BEARINGS)
    with pytest.raises(BadInput, match="Share failed"):
        life.b_life(fit, 10.0)
    with pytest.raises(BadInput, match="Total time"):
        life.mtbf_bound(0.0, 2)
    with pytest.raises(BadInput, match="stopped at a failure"):
        life.mtbf_bound(1000, 0, failure_terminated=True)
    with pytest.raises(BadInput, match="Age of a running unit"):
        life.weibull_fit([100.0, 200.0], [0.0])
