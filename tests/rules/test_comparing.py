"""Two readings beside each other: what the gauges can tell, what drifted, what is out."""

import math

import pytest

from shopdesk.rules.answers import Verdict
from shopdesk.rules.comparing import Judged, difference, judged, with_doubt

BAR = 1e5


def test_the_doubt_is_that_of_two_rectangular_spreads() -> None:
    """GUM JCGM 100:2008 F.2.2.1: a resolution δ has the standard uncertainty 0.29 δ; twice the
    root sum of squares of 0.29 x 0.5 bar and 0.29 x 0.5 bar is 0.41 bar."""
    found = difference(198 * BAR, 174.2 * BAR, 0.5 * BAR, 0.5 * BAR)
    assert found.doubt_si == pytest.approx(2 * math.sqrt(2) * 0.29 * 0.5 * BAR, rel=0.01)
    assert found.share == pytest.approx(-0.1202, abs=1e-4)
    assert difference(0.0, 1.0, 1.0, 1.0).share is None
    assert difference(1.0, 2.0, None, 1.0).doubt_si is None


@pytest.mark.parametrize(
    ("now", "step", "verdict", "said"),
    [
        (198.3, 0.5, Verdict.WITHIN, Judged.SAME),
        (199.0, 0.5, Verdict.WITHIN, Judged.DRIFTED),
        (198.3, 0.5, Verdict.OUTSIDE, Judged.OUT),
        (174.2, 0.5, Verdict.OUTSIDE, Judged.OUT),
        (199.0, 0.5, Verdict.NONE, Judged.APART),
        (198.1, None, Verdict.WITHIN, Judged.DRIFTED),
        (198.0, None, Verdict.WITHIN, Judged.SAME),
    ],
)
def test_a_difference_is_judged(
    now: float, step: float | None, verdict: Verdict, said: Judged
) -> None:
    steps = None if step is None else step * BAR
    assert judged(difference(198 * BAR, now * BAR, steps, steps), verdict) is said


def test_a_doubt_has_two_figures_and_the_value_as_many_places() -> None:
    """GUM JCGM 100:2008, 7.2.6."""
    assert with_doubt(-23.8 * BAR, 0.4082 * BAR, "bar", sign=True) == "-23.80 ± 0.41 bar"
    assert with_doubt(8.2 * BAR, 0.1263 * BAR, "bar") == "8.20 ± 0.13 bar"
    assert with_doubt(0.002e-3, 0.0016e-3, "mm", sign=True) == "+0.0020 ± 0.0016 mm"
    assert with_doubt(2.0 * BAR, None, "bar", sign=True) == "+2.0 bar"
