"""Forecasts against a simulated shop whose truth is known, and what they must always hold."""

from collections.abc import Sequence
from datetime import date, timedelta

import pytest

from shopdesk.rules import forecast, history
from shopdesk.rules.calendar import Axis, Bench, Calendar
from shopdesk.rules.forecast import Means, Outlook, Work
from shopdesk.rules.history import Busy, Course, Hold, Past, Touch
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
    stood = history.standing(course, now_h)
    left = ORDER[ORDER.index(stood.section) :]
    return Work(
        job.number,
        job.model,
        "customer",
        left,
        stood.since_h,
        stood.touched_h,
        job.promised_on,
        holds_h={} if stood.held_until_h else {"hold": HOLD_H},
        held_until_h=stood.held_until_h,
    )


def test_of_dates_said_to_hold_in_80_percent_75_to_85_percent_hold() -> None:
    shop = SimulatedShop(2000, seed=5)
    last = max(job.opened_h for job in shop.jobs)
    seen: set[int] = set()
    held, by_day = dict.fromkeys(forecast.LEVELS, 0), dict.fromkeys(forecast.LEVELS, 0)
    at = 700.0
    while at < last - 60.0:
        said, still = forecast_at(shop, at)
        for job in still:
            if job.number not in seen:
                for level in held:
                    until = said.forecasts[job.number].by(level)
                    held[level] += job.closed_h <= until
                    by_day[level] += job.closed_h <= shop.axis.end_of(shop.axis.day(until))
        seen |= {job.number for job in still}
        at += 60.0
    assert len(seen) >= 1000
    shares = {level: count / len(seen) for level, count in held.items()}
    assert 0.75 <= shares[0.80] <= 0.85, shares
    assert 0.42 <= shares[0.50] <= 0.65, shares
    assert 0.91 <= shares[0.95] <= 0.99, shares
    for level, count in by_day.items():  # a date counts to its evening: never less than said
        assert count / len(seen) >= level, by_day


# What must always hold -------------------------------------------------------------------------

AXIS = Axis(Calendar(), date(2026, 3, 2), date(2027, 3, 2))  # from a Monday
MONDAY, FRIDAY = date(2026, 3, 2), date(2026, 3, 6)


def past_of(build: Sequence[float], model: str = "A", wait_h: float = 0.0) -> Past:
    """Jobs that were built in so many hours and then left."""
    courses = []
    for number, hours in enumerate(build):
        start = 100.0 * number + 1.0
        steps = [start + 0.25 * n for n in range(int(hours / 0.25) + 1)]
        touches = tuple(Touch("build", 1, at) for at in steps)
        left = steps[-1] + wait_h
        courses.append(Course(number, model, "customer", ("build",), start, left, touches))
    return Past(courses, Busy(courses))


def at_build(number: int, promised: date, person: int | None = None, **more: object) -> Work:
    return Work(number, "A", "customer", ("build",), 0.0, 0.0, promised, person, **more)  # type: ignore[arg-type]


def at_hold(number: int, since_h: float, touched_h: float, **more: object) -> Work:
    sections = ("hold",)
    return Work(number, "A", "customer", sections, since_h, touched_h, FRIDAY, **more)  # type: ignore[arg-type]


def finish(outlook: Outlook, number: int) -> float:
    return outlook.forecasts[number].by(0.5)


def test_two_jobs_share_one_pair_of_hands_and_the_earlier_promise_goes_first() -> None:
    past = past_of([4.0] * 6)
    later, sooner = at_build(1, FRIDAY), at_build(2, MONDAY)
    both = forecast.outlook([sooner, later], past, Means((1,), ()), AXIS, 0.0)
    assert (finish(both, 2), finish(both, 1)) == pytest.approx((4.0, 8.0), abs=0.1)
    more = forecast.outlook([sooner, later], past, Means((1, 2), ()), AXIS, 0.0)
    assert finish(more, 1) == pytest.approx(4.0, abs=0.1)


def test_a_bench_with_one_place_holds_the_second_job_back_though_hands_are_free() -> None:
    past = past_of([4.0] * 6)
    bench = Bench("only one", frozenset({"build"}), 1)
    works = [at_build(1, MONDAY), at_build(2, FRIDAY)]
    said = forecast.outlook(works, past, Means((1, 2), (), (bench,)), AXIS, 0.0)
    assert (finish(said, 1), finish(said, 2)) == pytest.approx((4.0, 8.0), abs=0.1)
    assert said.loads.bench_h["only one"][0] == pytest.approx(8.0, abs=0.2)


def test_an_expedite_says_whom_it_delays_and_by_how_much() -> None:
    past, means = past_of([4.0] * 6), Means((1,), ())
    others = [at_build(n, FRIDAY) for n in (1, 2)]
    before = forecast.outlook(others, past, means, AXIS, 0.0)
    after = forecast.outlook([*others, at_build(3, MONDAY)], past, means, AXIS, 0.0)
    delayed = {d.number: d.mean_h for d in forecast.delays(before, after)}
    assert delayed.keys() <= {1, 2}
    assert sum(delayed.values()) >= 4.0 - 0.2
    nobody = forecast.outlook([*others, at_build(3, date(2026, 4, 1))], past, means, AXIS, 0.0)
    assert forecast.delays(before, nobody) == ()


def test_parts_that_are_due_and_a_hold_that_runs_set_the_earliest_finish() -> None:
    past = past_of([1.0] * 6)
    works = [
        at_build(1, FRIDAY, not_before_h={"build": 30.0}),
        at_build(2, FRIDAY, holds_h={"build": 24.0}),
    ]
    said = forecast.outlook(works, past, Means((1, 2), ()), AXIS, 0.0)
    assert finish(said, 1) == pytest.approx(30.0)
    # done at 8 on Monday by the clock; 24 clock hours later is 8 on Tuesday: 9 + 1 working hours
    assert finish(said, 2) == pytest.approx(10.0, abs=0.2)


def test_a_model_without_past_leans_on_the_others_and_one_with_past_on_its_own() -> None:
    slow = past_of([8.0] * 40)
    fast = past_of([1.0] * 40, "B")
    slow.group["build"] += fast.group["build"]
    slow.own |= fast.own
    own = Work(1, "B", "customer", ("build",), 0.0, 0.0, FRIDAY)
    new = Work(2, "C", "customer", ("build",), 0.0, 0.0, FRIDAY)
    said = forecast.outlook([own, new], slow, Means((1, 2), ()), AXIS, 0.0, runs=400)
    at_one = sum(f < 2.0 for f in said.forecasts[1].finishes_h) / 400
    assert at_one > 0.88  # 40 own stays to 5 of the group, half of which are the same
    assert 0.4 < sum(f < 2.0 for f in said.forecasts[2].finishes_h) / 400 < 0.6


def test_the_same_record_gives_the_same_forecast_and_it_can_be_called_off() -> None:
    past, works = past_of([1.0, 5.0, 2.0, 7.0, 3.0, 4.0]), [at_build(1, FRIDAY)]
    first = forecast.outlook(works, past, Means((1,), ()), AXIS, 0.0)
    assert first.forecasts == forecast.outlook(works, past, Means((1,), ()), AXIS, 0.0).forecasts
    heard: list[float] = []

    def told(share: float) -> bool:
        heard.append(share)
        return share < 0.5

    with pytest.raises(forecast.Cancelled):
        forecast.outlook(works, past, Means((1,), ()), AXIS, 0.0, tell=told)
    assert heard[0] == 0.0
    assert heard[-1] == pytest.approx(0.5)


def test_a_queue_is_no_example_of_waiting() -> None:
    """The second job stood until the hands were free: its wait is not drawn from."""
    touches = [Touch("build", 1, 1.0 + 0.25 * n) for n in range(9)]
    first = Course(1, "A", "customer", ("receipt", "build"), 0.0, 4.0, tuple(touches))
    second = Course(2, "A", "customer", ("receipt", "build"), 0.0, 6.0, (Touch("build", 1, 3.1),))
    third = Course(3, "A", "customer", ("receipt", "build"), 0.0, 9.0, (Touch("build", 1, 8.0),))
    busy = Busy([first, second, third])
    assert history.stays(second, busy)["receipt"].queued
    assert not history.stays(third, busy)["receipt"].queued
    assert history.stays(first, busy)["build"].touch_h == pytest.approx(2.0, abs=0.06)


def test_a_hold_takes_what_the_clock_says_and_no_wait_of_the_past_besides() -> None:
    """One that fell on a weekend cost no working hour, one in the week a day: neither is a wait,
    and one that has begun is over when it is over."""
    begun = [1.0 + 9.0 * n for n in range(8)]  # an hour into each working day
    courses = []
    for number, start in enumerate(begun):
        touches = (Touch("hold", 1, start),)
        ends = AXIS.worked(AXIS.when(start) + 24.0)
        held = (Hold("hold", start, ends),)
        opened = start - 0.05
        courses.append(
            Course(number, "A", "customer", ("hold",), opened, ends + 0.5, touches, held)
        )
    past = Past(courses, Busy(courses))
    assert [stay.wait_h for stay in past.group["hold"]] == pytest.approx([0.5] * 8)

    now = 39.0  # Friday, three hours after opening; the hold began an hour ago
    running = Hold("hold", 38.0, AXIS.worked(AXIS.when(38.0) + 24.0))
    stands = Course(
        9, "A", "customer", ("hold",), 37.0, None, (Touch("hold", 1, 38.0),), (running,)
    )
    stood = history.standing(stands, now)
    assert stood.held_until_h == pytest.approx(45.0)  # Saturday: no working hour after Friday
    work = at_hold(1, stood.since_h, stood.touched_h, held_until_h=stood.held_until_h)
    waits = at_hold(2, now, 0.0, holds_h={"hold": 24.0})
    said = forecast.outlook([work, waits], past, Means((1, 2), ()), AXIS, now)
    assert finish(said, 1) == pytest.approx(45.5, abs=0.1)
    assert finish(said, 2) == pytest.approx(45.5, abs=0.1)


def test_this_week_is_what_is_left_of_the_calendars_week() -> None:
    thursday_two = AXIS.worked(3 * 24 + 14.0)
    assert AXIS.weeks(thursday_two, 2) == pytest.approx((45.0, 90.0))
    friday_evening = AXIS.worked(4 * 24 + 18.0)
    assert AXIS.weeks(friday_evening, 2) == pytest.approx((90.0, 135.0)), "nothing is left of it"
    past = past_of([15.0] * 6)
    said = forecast.outlook([at_build(1, FRIDAY)], past, Means((1,), ()), AXIS, thursday_two)
    assert said.loads.open_h == pytest.approx((11.0, 45.0))
    assert said.loads.person_h[1] == pytest.approx((11.0, 4.0), abs=0.2)


def test_working_hours_leave_nights_weekends_and_holidays_out() -> None:
    closed = Calendar(7.0, 16.0, frozenset(range(5)), frozenset({date(2026, 3, 9)}))
    axis = Axis(closed, MONDAY, date(2026, 12, 31))
    friday_noon, tuesday_eight = 4 * 24 + 12.0, 8 * 24 + 8.0
    assert axis.worked(tuesday_eight) - axis.worked(friday_noon) == pytest.approx(4.0 + 1.0)
    assert axis.when(axis.worked(friday_noon)) == pytest.approx(friday_noon)
    assert axis.day(axis.end_of(FRIDAY)) == FRIDAY
    assert closed.days_on(FRIDAY, 1) == date(2026, 3, 10)
    assert closed.days_between(FRIDAY, date(2026, 3, 11)) == 2
    assert axis.first + timedelta(days=8) == date(2026, 3, 10)
