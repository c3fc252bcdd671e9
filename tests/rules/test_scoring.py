"""Forecasts scored against what happened."""

from datetime import date, timedelta

import pytest
from scipy import stats as reference

from shopdesk.rules import scoring
from shopdesk.rules.scoring import Said

DAY = date(2026, 3, 2)


def said(number: int, done: int | None) -> Said:
    on = [DAY + timedelta(days=days) for days in (5, 10, 15)]
    done_on = None if done is None else DAY + timedelta(days=done)
    return Said(number, DAY, on[0], on[1], on[2], on[2], done_on)


def test_shares_kept_with_exact_bounds() -> None:
    every = [said(n, days) for n, days in enumerate([3, 5, 6, 9, 10, 11, 14, 15, 16, 20])]
    found = scoring.scored(every, DAY + timedelta(days=60))
    at_80 = found.scores[1]
    assert (at_80.count, at_80.kept, at_80.ahead_days) == (10, 5, 10.0)
    bounds = reference.binomtest(5, 10).proportion_ci(0.95, method="exact")
    assert (at_80.low, at_80.high) == pytest.approx((bounds.low, bounds.high))
    assert found.width_days == 10.0
    assert found.scores[3].stated == pytest.approx(reference.norm.cdf(2))


def test_a_date_counts_once_it_is_past_whether_its_job_is_done_or_open() -> None:
    found = scoring.scored([said(1, None), said(2, 4)], DAY + timedelta(days=8))
    assert [(s.rule, s.count, s.kept) for s in found.scores] == [("50 % date", 2, 1)]


def test_only_the_first_forecast_of_a_job_is_scored_and_the_plain_rule_needs_five() -> None:
    later = Said(1, DAY + timedelta(days=1), DAY, DAY, DAY, None, None)
    assert scoring.first_of_each([later, said(1, 4)]) == (said(1, 4),)
    assert scoring.plain_days([1, 2, 3, 4]) is None
    # mean 3, sample deviation sqrt(2.5) = 1.58: 6.16 days, the seventh
    assert scoring.plain_days([1, 2, 3, 4, 5]) == 7
