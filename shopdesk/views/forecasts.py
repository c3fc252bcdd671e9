"""Forecasts of open jobs, what was said before, and how it came out."""

from collections.abc import Callable, Container, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime

from sqlalchemy import Connection, select

from shopdesk.procedure import SECTIONS
from shopdesk.records.tables import Job
from shopdesk.rules import forecast, history, scoring
from shopdesk.rules.forecast import Outlook, Work
from shopdesk.rules.history import Busy, Course, Past
from shopdesk.rules.scoring import Said
from shopdesk.views import documents
from shopdesk.views.courses import LEAVING, Floor, OpenJob, floor, holds_of, left_of

Tell = Callable[[float], bool]
REPLAY_EVERY_DAYS = 5
REPLAY_RUNS = 100
REPLAY_LEAST = 40  # closed jobs to learn from before the first replayed forecast
REPLAY_NEWEST = 600


@dataclass(frozen=True, slots=True)
class Dates:
    """An open job with the days by which it is done with 50, 80 and 95 % probability; ``keeps``
    the probability that it is done by the end of its promised day; ``plain`` by mean plus two
    deviations; ``own`` past jobs of its model behind it."""

    job: OpenJob
    by_50: date
    by_80: date
    by_95: date
    keeps: float
    plain: date | None
    own: int


@dataclass(frozen=True, slots=True)
class Promises:
    """``dates`` by number; with too few past jobs there are none."""

    floor: Floor
    outlook: Outlook | None
    dates: Mapping[int, Dates]


def promises(db: Connection, now: datetime, tell: Tell | None = None) -> Promises:
    """Every open job's forecast. Raises forecast.Cancelled where ``tell`` says so."""
    return of_floor(floor(db, now), tell)


def of_floor(stands: Floor, tell: Tell | None = None) -> Promises:
    if not stands.past.enough:
        return Promises(stands, None, {})
    said = forecast.outlook(
        stands.works, stands.past, stands.means, stands.axis, stands.now_h, tell=tell
    )
    plain = _plain_days(stands.courses, stands)
    dates = {number: _dates(stands, said, job, plain) for number, job in stands.jobs.items()}
    return Promises(stands, said, dates)


def _dates(stands: Floor, said: Outlook, job: OpenJob, plain: Mapping[str, int | None]) -> Dates:
    found, axis = said.forecasts[job.number], stands.axis
    by_50, by_80, by_95 = (axis.day(found.by(level)) for level in forecast.LEVELS)
    days = plain.get(job.model, plain[""])
    opened = job.opened_at.astimezone().date()
    return Dates(
        job,
        by_50,
        by_80,
        by_95,
        found.kept(axis.end_of(job.promised_on)),
        None if days is None else stands.rules.calendar.days_on(opened, days),
        found.own,
    )


def _plain_days(courses: Sequence[Course], stands: Floor) -> dict[str, int | None]:
    """The plain rule's working days by model, "" for all; of repairs only."""
    hours = stands.rules.calendar.hours_a_day
    days: dict[str, list[int]] = {"": []}
    for course in courses:
        if course.closed_h is not None and not any(t.section in LEAVING for t in course.touches):
            took = round((course.closed_h - course.opened_h) / hours)
            days[""].append(took)
            days.setdefault(course.model, []).append(took)
    rule = {model: scoring.plain_days(found) for model, found in days.items()}
    return {model: found if found is not None else rule[""] for model, found in rule.items()}


# What a change does to the others ----------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Effect:
    """``days`` later at 80 %, ``hours`` working hours later on average."""

    job: OpenJob
    was: date
    now: date
    keeps_was: float
    keeps_now: float
    mean_h: float


@dataclass(frozen=True, slots=True)
class WhatIf:
    """``dates`` of the job itself: 50, 80, 95 %; None with too few past jobs. ``keeps`` the
    probability of the day it is promised for; ``effects`` whom that delays, the most first."""

    dates: tuple[date, date, date] | None
    effects: tuple[Effect, ...]
    keeps: float | None = None


def new_core(db: Connection, now: datetime, model: str, promised_on: date | None) -> WhatIf:
    """What a core of the model taken in now would be promised, and whom it would delay when it is
    promised for a day."""
    stands = floor(db, now)
    doc = next((d for d in documents.newest(db) if d.model == model), None)
    if doc is None or not stands.past.enough:
        return WhatIf(None, ())
    work = Work(
        0,
        model,
        "customer",
        left_of(doc, "repair", "receipt"),
        stands.now_h,
        0.0,
        promised_on or date.max,
        holds_h=holds_of(doc),
    )
    return _what_if(stands, (*stands.works, work), 0, promised_on)


def expedited(db: Connection, now: datetime, number: int, promised_on: date) -> WhatIf:
    """What becomes of the others when an open job is promised for another day."""
    stands = floor(db, now)
    if not stands.past.enough or number not in stands.jobs:
        return WhatIf(None, ())
    works = tuple(
        replace(work, promised_on=promised_on) if work.number == number else work
        for work in stands.works
    )
    return _what_if(stands, works, number, promised_on)


def _what_if(
    stands: Floor, works: tuple[Work, ...], number: int, promised_on: date | None
) -> WhatIf:
    axis = stands.axis
    args = (stands.past, stands.means, axis, stands.now_h)
    runs = max(forecast.FEWEST_RUNS, forecast.WORK // (2 * max(1, len(works))))
    runs = min(forecast.MOST_RUNS, runs)
    before = forecast.outlook(stands.works, *args, runs=runs)
    after = forecast.outlook(works, *args, runs=runs)
    own = after.forecasts[number]
    effects = []
    for delay in forecast.delays(before, after):
        if delay.number == number:
            continue
        job = stands.jobs[delay.number]
        was, now = before.forecasts[delay.number], after.forecasts[delay.number]
        ends = axis.end_of(job.promised_on)
        effects.append(
            Effect(
                job,
                axis.day(was.by(0.8)),
                axis.day(now.by(0.8)),
                was.kept(ends),
                now.kept(ends),
                delay.mean_h,
            )
        )
    by_50, by_80, by_95 = (axis.day(own.by(level)) for level in forecast.LEVELS)
    keeps = None if promised_on is None else own.kept(axis.end_of(promised_on))
    return WhatIf((by_50, by_80, by_95), tuple(effects), keeps)


# The past replayed -------------------------------------------------------------------------------


def replayed(db: Connection, now: datetime, tell: Tell | None = None) -> tuple[Said, ...]:
    """What the forecast would have said of each past job in its first week, knowing only what was
    on record then; people and benches as they are today."""
    stands = floor(db, now, REPLAY_NEWEST)
    week_h = stands.rules.calendar.hours_a_day * REPLAY_EVERY_DAYS
    closes = sorted(c.closed_h for c in stands.courses if c.closed_h is not None)
    if len(closes) <= REPLAY_LEAST:
        return ()
    orders = {doc.model: left_of(doc, "repair", "receipt") for doc in documents.newest(db)}
    holds = {doc.model: holds_of(doc) for doc in documents.newest(db)}
    promised = _promised(db, [course.number for course in stands.courses])
    found: dict[int, Said] = {}
    begun = at = closes[REPLAY_LEAST]
    while at < stands.now_h:
        if tell is not None and not tell((at - begun) / (stands.now_h - begun)):
            raise forecast.Cancelled("the forecast was called off")
        for said in _said_then(stands, at, orders, holds, promised, found.keys()):
            found[said.number] = said
        at += week_h
    return tuple(found.values())


def _promised(db: Connection, numbers: Sequence[int]) -> dict[int, date]:
    rows = db.execute(
        select(Job.number, Job.first_promised_on).where(Job.number.in_(numbers))
    ).all()
    return dict(rows)


def _then(course: Course, at_h: float) -> Course:
    """The job as the record showed it at a moment."""
    closed = course.closed_h if course.closed_h is not None and course.closed_h <= at_h else None
    touches = tuple(touch for touch in course.touches if touch.at_h <= at_h)
    holds = tuple(hold for hold in course.holds if hold.from_h <= at_h)
    return replace(course, closed_h=closed, touches=touches, holds=holds)


def _said_then(
    stands: Floor,
    at_h: float,
    orders: Mapping[str, tuple[str, ...]],
    holds: Mapping[str, dict[str, float]],
    promised: Mapping[int, date],
    known: Container[int],
) -> list[Said]:
    then = [_then(course, at_h) for course in stands.courses if course.opened_h <= at_h]
    still = [course for course in then if course.closed_h is None]
    new = [course for course in still if course.number not in known]
    if not new:
        return []
    past = Past(then, Busy(then))
    works = [_work_then(c, at_h, orders, holds, promised) for c in still]
    told = forecast.outlook(works, past, stands.means, stands.axis, at_h, runs=REPLAY_RUNS)
    plain = _plain_days(then, stands)
    axis, calendar = stands.axis, stands.rules.calendar
    done = {c.number: c.closed_h for c in stands.courses}
    said = []
    for course in new:
        of = told.forecasts[course.number]
        days = plain.get(course.model, plain[""])
        closed = done[course.number]
        by_50, by_80, by_95 = (axis.day(of.by(level)) for level in forecast.LEVELS)
        said.append(
            Said(
                course.number,
                axis.day(at_h),
                by_50,
                by_80,
                by_95,
                None if days is None else calendar.days_on(axis.day(course.opened_h), days),
                None if closed is None else axis.day(closed),
            )
        )
    return said


def _work_then(
    course: Course,
    at_h: float,
    orders: Mapping[str, tuple[str, ...]],
    holds: Mapping[str, dict[str, float]],
    promised: Mapping[int, date],
) -> Work:
    stood = history.standing(course, at_h)
    order = orders.get(course.model, SECTIONS)
    left = (stood.section,) if stood.section in LEAVING else order
    if stood.section in order:
        left = order[order.index(stood.section) :]
    ahead = dict(holds.get(course.model, {}))
    if stood.held_until_h:
        ahead.pop(stood.section, None)
    return Work(
        course.number,
        course.model,
        course.kind,
        left,
        stood.since_h,
        stood.touched_h,
        promised[course.number],
        holds_h=ahead,
        held_until_h=stood.held_until_h,
    )
