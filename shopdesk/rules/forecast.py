"""When the open jobs will be done: many runs of the shop as it stands, drawn from its own past.

Each run draws, for every section a job still has before it, a stay from the shop's past, and lets
the jobs compete for people and benches; where several wait, the earlier promise goes first. The
draws of a job depend on its number alone, so that two forecasts differ only by what was changed.
A model with few past stays leans on those of all models: the predictive of a Dirichlet process
whose base are the stays of the group (Ferguson, Annals of Statistics 1 (1973) 209-230).
"""

import heapq
import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from itertools import pairwise
from random import Random

from shopdesk.errors import ShopError
from shopdesk.rules.calendar import Axis, Bench
from shopdesk.rules.history import Past, Stay, leg

LEAN = 5.0  # stays of the group that weigh as much as the model's own
FEW = 5  # fewer past stays longer than this one has lasted say nothing of what is left
WORK = 16_000  # jobs x runs
FEWEST_RUNS, MOST_RUNS = 80, 200  # of 80 runs, an 80 % date is itself 4.5 points uncertain
LEVELS = (0.50, 0.80, 0.95)
NOBODY = -1
COUNTER_SECTIONS = frozenset({"receipt", "shipment", "declined", "scrapped"})
NOBODYS_SECTIONS = frozenset({"decision", "parts"})  # the customer's and the shelf's time


@dataclass(frozen=True, slots=True)
class Work:
    """An open job: the sections left, the first of them entered ``since_h`` with ``touched_h``
    hands so far. ``held_until_h``: when a hold that runs in the first is over; ``not_before_h`` by
    section: parts that are due; ``holds_h`` by section: clock hours a timed hold not yet begun
    takes. All else in working hours."""

    number: int
    model: str
    kind: str
    sections: tuple[str, ...]
    since_h: float
    touched_h: float
    promised_on: date
    person: int | None = None
    not_before_h: Mapping[str, float] = field(default_factory=dict)
    holds_h: Mapping[str, float] = field(default_factory=dict)
    held_until_h: float = 0.0


@dataclass(frozen=True, slots=True)
class Means:
    """Who and what there is to work with."""

    technicians: tuple[int, ...]
    counter: tuple[int, ...]
    benches: tuple[Bench, ...] = ()


@dataclass(frozen=True, slots=True)
class Forecast:
    """``finishes_h`` of every run in rising order, in working hours; ``own`` past jobs of the
    model behind it."""

    number: int
    finishes_h: tuple[float, ...]
    own: int

    def by(self, probability: float) -> float:
        """The working hour by which the job is done with this probability."""
        runs = len(self.finishes_h)
        index = min(runs - 1, max(0, math.ceil(probability * runs - 1e-9) - 1))
        return self.finishes_h[index]

    def kept(self, until_h: float) -> float:
        """The probability that the job is done by a working hour."""
        return sum(finish <= until_h for finish in self.finishes_h) / len(self.finishes_h)


@dataclass(frozen=True, slots=True)
class Loads:
    """Mean hours of work by person and by bench in what is left of this calendar week and in those
    after it; ``open_h``: the shop's own hours in them."""

    open_h: tuple[float, ...]
    person_h: Mapping[int, tuple[float, ...]]
    bench_h: Mapping[str, tuple[float, ...]]


@dataclass(frozen=True, slots=True)
class Outlook:
    forecasts: Mapping[int, Forecast]
    loads: Loads
    runs: int


class Cancelled(ShopError):
    """The forecast was no longer wanted."""


def outlook(
    works: Sequence[Work],
    past: Past,
    means: Means,
    axis: Axis,
    now_h: float,
    *,
    seed: int = 1,
    runs: int | None = None,
    weeks: int = 2,
    tell: Callable[[float], bool] | None = None,
) -> Outlook:
    """Forecasts of every job. ``tell`` hears the share done and says whether to go on; Cancelled
    where it does not. The shop works on as ``means`` say from ``now_h``."""
    count = runs or min(MOST_RUNS, max(FEWEST_RUNS, WORK // max(1, len(works))))
    drawn = [_draws(work, past, now_h, count, seed) for work in works]
    plans = [_steps(work, means) for work in works]
    finishes: dict[int, list[float]] = {work.number: [] for work in works}
    tally = _Tally(now_h, axis.weeks(now_h, weeks))
    for run in range(count):
        if tell is not None and not tell(run / count):
            raise Cancelled("the forecast was called off")
        floor = _Run(works, plans, means, axis, tally)
        for number, finish in floor.go([draws[run] for draws in drawn], now_h).items():
            finishes[number].append(finish)
    forecasts = {
        work.number: Forecast(
            work.number, tuple(sorted(finishes[work.number])), past.jobs_of.get(work.model, 0)
        )
        for work in works
    }
    return Outlook(forecasts, tally.loads(count), count)


def _draws(work: Work, past: Past, now_h: float, runs: int, seed: int) -> list[tuple[Stay, ...]]:
    """For each run what is left of every section."""
    chance = Random(f"{seed}/{work.number}")
    columns = []
    for place, section in enumerate(work.sections):
        drawn: list[Stay] = []
        if place == 0:
            spent = max(0.0, now_h - work.since_h)
            longer = _stays(work.model, leg(section, work.kind), past, chance, runs, spent)
            drawn = [_left(stay, spent, work.touched_h) for stay in longer]
        drawn = drawn or _stays(work.model, leg(section, work.kind), past, chance, runs, 0.0)
        columns.append(drawn or [Stay(0.0, 0.0)] * runs)
    return list(zip(*columns, strict=True)) if columns else [()] * runs


def _stays(
    model: str, name: str, past: Past, chance: Random, runs: int, over_h: float
) -> list[Stay]:
    """Stays longer than ``over_h``: the model's own, and the group's with the weight of LEAN."""
    own, group = past.own.get((model, name), []), past.group.get(name, [])
    if over_h:
        own = [stay for stay in own if stay.all_h >= over_h]
        group = [stay for stay in group if stay.all_h >= over_h]
    if len(group) < (FEW if over_h else 1):
        return []
    weight, draw = len(own) / (len(own) + LEAN), chance.random
    return [
        own[int(draw() * len(own))] if draw() < weight else group[int(draw() * len(group))]
        for _ in range(runs)
    ]


def _left(stay: Stay, spent_h: float, touched_h: float) -> Stay:
    """What is left of a stay of which so much has passed."""
    touch = max(0.0, stay.touch_h - touched_h)
    return Stay(touch, max(0.0, stay.all_h - spent_h - touch))


class _Tally:
    """Hours of work by person and bench, week by week, over all runs."""

    def __init__(self, now_h: float, ends_h: tuple[float, ...]) -> None:
        self.ends_h = ends_h
        self.open_h = tuple(end - start for start, end in pairwise((now_h, *ends_h)))
        self.until_h = ends_h[-1]
        self.person: dict[int, list[float]] = {}
        self.bench: dict[str, list[float]] = {}

    def add(self, person: int, bench: str, start_h: float, hours: float) -> None:
        """Of work that begins before ``until_h``."""
        self._spread(self.person.setdefault(person, [0.0] * len(self.ends_h)), start_h, hours)
        if bench:
            self._spread(self.bench.setdefault(bench, [0.0] * len(self.ends_h)), start_h, hours)

    def _spread(self, into: list[float], start_h: float, hours: float) -> None:
        for week, end_h in enumerate(self.ends_h):
            done = min(hours, max(0.0, end_h - start_h))
            into[week] += done
            start_h, hours = start_h + done, hours - done

    def loads(self, runs: int) -> Loads:
        return Loads(
            self.open_h,
            {who: tuple(h / runs for h in hours) for who, hours in self.person.items()},
            {name: tuple(h / runs for h in hours) for name, hours in self.bench.items()},
        )


@dataclass(frozen=True, slots=True)
class _Step:
    """A section as the runs need it; ``role`` "" where it takes nobody's time."""

    role: str
    bench: str
    hold_h: float
    held_until_h: float
    not_before_h: float


def _steps(work: Work, means: Means) -> tuple[_Step, ...]:
    there = {"technician": bool(means.technicians), "counter": bool(means.counter)}
    bench_of = {section: bench.name for bench in means.benches for section in bench.sections}
    steps = []
    for place, section in enumerate(work.sections):
        role = "counter" if section in COUNTER_SECTIONS else "technician"
        if section in NOBODYS_SECTIONS or not there[role]:
            role = ""
        steps.append(
            _Step(
                role,
                bench_of.get(section, ""),
                work.holds_h.get(section, 0.0),
                work.held_until_h if place == 0 else 0.0,
                work.not_before_h.get(section, 0.0),
            )
        )
    return tuple(steps)


class _Run:
    """The shop once: jobs ready for a section wait for a place, then for a person."""

    def __init__(
        self,
        works: Sequence[Work],
        plans: Sequence[tuple[_Step, ...]],
        means: Means,
        axis: Axis,
        tally: _Tally,
    ) -> None:
        self.works, self.plans, self.axis, self.tally = works, plans, axis, tally
        self.events: list[tuple[float, int, int, int]] = []  # when, order, job, person (-1: ready)
        self.stays: list[tuple[Stay, ...]] = []
        self.place = [0] * len(works)
        self.free = {"technician": set(means.technicians), "counter": set(means.counter)}
        self.role = dict.fromkeys(means.technicians, "technician")
        self.role.update(dict.fromkeys(means.counter, "counter"))
        self.shared: dict[str, list[tuple[date, int]]] = {"technician": [], "counter": []}
        self.own: dict[int, list[tuple[date, int]]] = {who: [] for who in self.role}
        self.room = {bench.name: bench.places for bench in means.benches}
        self.blocked: dict[str, list[tuple[date, int]]] = {b.name: [] for b in means.benches}
        self.done: dict[int, float] = {}
        self.order = 0

    def go(self, stays: list[tuple[Stay, ...]], now_h: float) -> dict[int, float]:
        self.stays = stays
        for job in range(len(self.works)):
            self._go_on(job, 0, now_h)
        events, pop, wants, worked = self.events, heapq.heappop, self._wants, self._worked
        while events:
            at, _, job, person = pop(events)
            if person < 0:
                wants(job, at)
            else:
                worked(job, person, at)
        return self.done

    def _push(self, at: float, job: int, person: int) -> None:
        self.order += 1
        heapq.heappush(self.events, (at, self.order, job, person))

    def _go_on(self, job: int, place: int, at: float) -> None:
        """To the next section that takes somebody's hands; what others take passes by itself."""
        plan, stays = self.plans[job], self.stays[job]
        for step, stay in zip(plan[place:], stays[place:], strict=True):
            if step.role and stay.touch_h > 0.0:
                self.place[job] = place
                self._push(at, job, NOBODY)
                return
            at = self._after(step, stay, at + stay.touch_h)
            place += 1
        self.done[self.works[job].number] = at

    def _after(self, step: _Step, stay: Stay, at: float) -> float:
        """When a section is over, hands off ``at``: its hold, then its wait; what is due."""
        if step.hold_h > 0.0:
            at = self.axis.worked(self.axis.when(at) + step.hold_h)
        after = max(at, step.held_until_h) + stay.wait_h
        return after if after > step.not_before_h else step.not_before_h

    def _wants(self, job: int, at: float) -> None:
        """The job asks for its bench, then for its technician or for anybody of the role."""
        work, step = self.works[job], self.plans[job][self.place[job]]
        if step.bench:
            if self.room[step.bench] <= 0:
                heapq.heappush(self.blocked[step.bench], (work.promised_on, job))
                return
            self.room[step.bench] -= 1
        person, free = work.person, self.free[step.role]
        if person is not None and self.role.get(person) == step.role == "technician":
            if person in free:  # nobody is free while something waits for them
                self._starts(job, person, at)
            else:
                heapq.heappush(self.own[person], (work.promised_on, job))
        elif free:
            self._starts(job, min(free), at)
        else:
            heapq.heappush(self.shared[step.role], (work.promised_on, job))

    def _starts(self, job: int, person: int, at: float) -> None:
        place = self.place[job]
        step, hours = self.plans[job][place], self.stays[job][place].touch_h
        self.free[step.role].discard(person)
        if at < self.tally.until_h:
            self.tally.add(person, step.bench, at, hours)
        self._push(at + hours, job, person)

    def _worked(self, job: int, person: int, at: float) -> None:
        """The job goes on; the person takes the job promised first, of their own and of
        everybody's."""
        place = self.place[job]
        step = self.plans[job][place]
        self._go_on(job, place + 1, self._after(step, self.stays[job][place], at))
        if step.bench:
            self.room[step.bench] += 1
            if self.blocked[step.bench]:
                self._push(at, heapq.heappop(self.blocked[step.bench])[1], NOBODY)
        own, shared = self.own[person], self.shared[step.role]
        if own or shared:
            mine = own if own and (not shared or own[0] <= shared[0]) else shared
            self._starts(heapq.heappop(mine)[1], person, at)
        else:
            self.free[step.role].add(person)


@dataclass(frozen=True, slots=True)
class Delay:
    """How many working hours later a job is done, at 80 % and on average."""

    number: int
    at_80_h: float
    mean_h: float


def delays(before: Outlook, after: Outlook, *, least_h: float = 0.5) -> tuple[Delay, ...]:
    """Whom the change delays, the most delayed first; less than ``least_h`` on average is noise."""
    found = []
    for number, was in before.forecasts.items():
        now = after.forecasts.get(number)
        if now is None:
            continue
        mean = _mean(now.finishes_h) - _mean(was.finishes_h)
        at_80 = now.by(0.8) - was.by(0.8)
        if mean >= least_h:
            found.append(Delay(number, at_80, mean))
    return tuple(sorted(found, key=lambda delay: (-delay.mean_h, delay.number)))


def _mean(values: Iterable[float]) -> float:
    listed = list(values)
    return sum(listed) / len(listed)
