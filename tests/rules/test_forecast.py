"""Forecasts against a simulated shop whose truth is known, and what they must always hold."""

from collections.abc import Sequence
from datetime import date, timedelta

import pytest

from shopdesk.rules import forecast, history
from shopdesk.rules.calendar import Axis, Bench, Calendar
from shopdesk.rules.forecast import Means, Outlook, Work
from shopdesk.rules.history import Busy, Course, Past, Stay, Touch
from tests.rules.simulated import HOLD_H, ORDER, TECHNICIANS, SimulatedShop, Truth

NEWEST = 300
RUNS = 60


def forecast_at(shop: SimulatedShop, now_h: float) -> tuple[Outlook, list[Truth]]:
    """What the rule says of every job open at a moment, knowing only what was recorded then."""
    closed = sorted((j for j in shop.jobs if 0 < j.closed_h <= now_h), key=lambda j: j.closed_h)
    still = [job for job in shop.jobs if job.opened_h <= now_h < job.closed_h]
    known = [job.course(now_h) for job in [*closed[-NEWEST:], *still]]
    past = Past(known, Busy(known))
    works = [work_of(job, job.course(now_h), now_h) for job in still]
    said = forecast.outlook(works, past, Means(TECHNICIANS, ()), shop.axis, now_h, runs=RUNS)
    return said, still


def work_of(job: Truth, course: Course, now_h: float) -> Work:
    stood = history.standing(course)
    left = ORDER[ORDER.index(stood.section) :]
    return Work(
        job.number,
        job.model,
        "customer",
        left,
        stood.since_h,
        stood.touched_h,
        job.promised_on,
        holds_h={"hold": HOLD_H},
    )


def test_of_dates_said_to_hold_in_80_percent_75_to_85_percent_hold() -> None:
    shop = SimulatedShop(2000, seed=5)
    last = max(job.opened_h for job in shop.jobs)
    seen: set[int] = set()
    held = {level: 0 for level in forecast.LEVELS}
    at = 700.0
    while at < last - 60.0:
        said, still = forecast_at(shop, at)
        for job in still:
            if job.number not in seen:
                for level in held:
                    held[level] += job.closed_h <= said.forecasts[job.number].by(level)
        seen |= {job.number for job in still}
        at += 60.0
    assert len(seen) >= 1000
    shares = {level: count / len(seen) for level, count in held.items()}
    assert 0.75 <= shares[0.80] <= 0.85, shares
    assert 0.42 <= shares[0.50] <= 0.65, shares
    assert 0.91 <= shares[0.95] <= 0.99, shares
