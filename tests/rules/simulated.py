"""A shop whose truth is known: jobs arrive at random, people queue jobs by their promise, every
section takes hands and then waits by laws the forecast never sees. Invented throughout."""

import heapq
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from random import Random

from shopdesk.rules.calendar import Axis, Calendar
from shopdesk.rules.history import Course, Hold, Touch

DAY_ONE = date(2024, 1, 1)  # a Monday
CALENDAR = Calendar(7.0, 16.0, frozenset(range(5)), frozenset({date(2024, 5, 1)}))
ORDER = ("receipt", "teardown", "decision", "parts", "build", "proof", "hold", "shipment")
HANDS = {"teardown": 2.0, "build": 3.0, "proof": 1.5, "hold": 0.3}
WAITS = {
    "receipt": 3.0,
    "teardown": 2.0,
    "decision": 22.0,
    "parts": 9.0,
    "build": 2.0,
    "proof": 4.0,
}
MODELS = {"PX-1": 0.8, "PX-2": 1.0, "PX-3": 1.7}
HOLD_H = 24.0
TECHNICIANS = (11, 12, 13, 14)


@dataclass
class Truth:
    number: int
    model: str
    opened_h: float
    promised_on: date
    closed_h: float = 0.0
    touches: list[Touch] = field(default_factory=list)
    holds: list[Hold] = field(default_factory=list)
    place: int = 0

    def course(self, until_h: float) -> Course:
        """The job as the record shows it at a moment."""
        return Course(
            self.number,
            self.model,
            "customer",
            ORDER,
            self.opened_h,
            self.closed_h if self.closed_h <= until_h else None,
            tuple(touch for touch in self.touches if touch.at_h <= until_h),
            tuple(hold for hold in self.holds if hold.from_h <= until_h),
        )


class SimulatedShop:
    """``jobs`` as they really went, in working hours."""

    def __init__(self, count: int, seed: int, every_h: float = 2.4) -> None:
        self.axis = Axis(CALENDAR, DAY_ONE, DAY_ONE + timedelta(days=366 * 4))
        self.chance = Random(seed)
        self.jobs: list[Truth] = []
        self.events: list[tuple[float, int, int, int]] = []
        self.free = set(TECHNICIANS)
        self.queue: list[tuple[date, int]] = []
        at = 0.0
        for number in range(count):
            at += self.chance.expovariate(1 / every_h)
            promised = CALENDAR.days_on(self.axis.day(at), self.chance.randint(8, 20))
            model = self.chance.choices(list(MODELS), weights=(6, 3, 1))[0]
            self.jobs.append(Truth(number, model, at, promised))
            self._push(at, number, 0)
        while self.events:
            self._next()

    def _push(self, at: float, job: int, person: int) -> None:
        heapq.heappush(self.events, (at, len(self.events), job, person))

    def _next(self) -> None:
        at, _, number, person = heapq.heappop(self.events)
        job = self.jobs[number]
        if person:
            self.free.add(person)
            job.touches.append(Touch(ORDER[job.place], person, at))
            self._rest(job, at)
        elif job.place == len(ORDER):
            job.closed_h = at
        elif ORDER[job.place] in HANDS:
            heapq.heappush(self.queue, (job.promised_on, number))
        else:
            job.touches.append(Touch(ORDER[job.place], 99, at))
            self._rest(job, at)
        while self.free and self.queue:
            self._take(self.jobs[heapq.heappop(self.queue)[1]], at)

    def _take(self, job: Truth, at: float) -> None:
        person = min(self.free)
        self.free.discard(person)
        section = ORDER[job.place]
        hours = MODELS[job.model] * self.chance.lognormvariate(0.0, 0.4) * HANDS[section]
        steps = max(1, round(hours / 0.25))
        job.touches += [Touch(section, person, at + hours * n / steps) for n in range(steps)]
        self._push(at + hours, job.number, person)

    def _rest(self, job: Truth, at: float) -> None:
        section = ORDER[job.place]
        mean = WAITS.get(section, 0.0)
        after = at + (self.chance.expovariate(1 / mean) if mean else 0.0)
        if section == "hold":
            after = max(after, self.axis.worked(self.axis.when(at) + HOLD_H))
            job.holds.append(Hold(section, at, after))
        job.place += 1
        self._push(after, job.number, 0)


def moment(axis: Axis, worked_h: float) -> datetime:
    return datetime.combine(axis.first, datetime.min.time(), UTC) + timedelta(
        hours=axis.when(worked_h)
    )
