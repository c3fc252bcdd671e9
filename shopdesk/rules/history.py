"""How long the sections of past jobs took: hands on the unit, and waiting, apart.

A job's stay in a section lasts from its first entry there to its first entry in a later one, so
that work done over counts where the job stood when it was found out. Where the person who took the
job up came straight from another one, it may have stood in a queue: how long is not on record, so
its wait is no example. The forecast brings queues back as they are today.
Timed holds are no part of a stay either: the clock says how long one takes from where it begins.
"""

from bisect import bisect_right
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

PAUSE_H = 0.75  # a longer gap between two entries of a person is waiting
ENTRY_H = 0.05  # hands on the unit before the first entry of a piece of work
SWITCH_H = 0.25  # taken up so soon after another job: the hands were not free before
LEAST_JOBS = 8  # closed jobs, to forecast from them at all
ENOUGH = 20  # stays without a queue, to leave the others out


@dataclass(frozen=True, slots=True)
class Touch:
    """One entry: its section, who made it, when in working hours."""

    section: str
    person: int
    at_h: float


@dataclass(frozen=True, slots=True)
class Hold:
    """A timed hold that began, in working hours as it fell; one shorter than PAUSE_H passes under
    the hands and is none."""

    section: str
    from_h: float
    to_h: float


@dataclass(frozen=True, slots=True)
class Course:
    """A job as it went, in working hours; ``closed_h`` None while it is open. ``order``: the
    sections as its procedure orders them, side roads last."""

    number: int
    model: str
    kind: str
    order: tuple[str, ...]
    opened_h: float
    closed_h: float | None
    touches: tuple[Touch, ...]
    holds: tuple[Hold, ...] = ()

    def held_h(self, section: str, from_h: float, to_h: float) -> float:
        """Working hours between two moments in which a hold of the section ran."""
        return sum(
            max(0.0, min(hold.to_h, to_h) - max(hold.from_h, from_h))
            for hold in self.holds
            if hold.section == section
        )


@dataclass(frozen=True, slots=True)
class Stay:
    """Working hours in one section, holds left out: hands on, and waiting; ``queued`` where part
    of the waiting may have been for the person."""

    touch_h: float
    wait_h: float
    queued: bool = False

    @property
    def all_h(self) -> float:
        return self.touch_h + self.wait_h


@dataclass(frozen=True, slots=True)
class Stood:
    """Where an open job stands: since when in its section, as if no hold had run there, the hands
    it has had, and until when a hold that has begun there runs (0.0 where none has)."""

    section: str
    since_h: float
    touched_h: float
    held_until_h: float


class Busy:
    """Everybody's hands: when each let go of which job."""

    def __init__(self, courses: Iterable[Course]) -> None:
        ends: dict[int, list[tuple[float, int]]] = {}
        for course in courses:
            for person, _, end in hands(course.touches):
                ends.setdefault(person, []).append((end, course.number))
        self._ends = {person: sorted(found) for person, found in ends.items()}

    def came_from(self, person: int, job: int, at_h: float) -> bool:
        """Whether the person let go of another job just before taking this one up."""
        ends = self._ends.get(person, [])
        index = bisect_right(ends, (at_h + ENTRY_H, -1)) - 1
        while index >= 0 and ends[index][0] >= at_h - SWITCH_H:
            if ends[index][1] != job:
                return True
            index -= 1
        return False


def hands(touches: Sequence[Touch]) -> list[tuple[int, float, float]]:
    """Pieces of work (who, from, to): entries of one person close after one another."""
    pieces: list[tuple[int, float, float]] = []
    for touch in touches:
        if pieces:
            person, start, end = pieces[-1]
            if person == touch.person and touch.at_h - end <= PAUSE_H:
                pieces[-1] = (person, start, max(end, touch.at_h))
                continue
        pieces.append((touch.person, touch.at_h - ENTRY_H, touch.at_h))
    return pieces


def _entered(course: Course) -> list[tuple[str, float]]:
    """The sections in which the job stood, each with the moment it got there."""
    rank = {section: n for n, section in enumerate(course.order)}
    first = course.order[0] if course.order else "receipt"
    stood = [(first, course.opened_h)]
    for touch in course.touches:
        if rank.get(touch.section, -1) > rank.get(stood[-1][0], -1):
            stood.append((touch.section, max(stood[-1][1], touch.at_h - ENTRY_H)))
    return stood


def stays(course: Course, busy: Busy) -> dict[str, Stay]:
    """The stays of a closed job by section."""
    if course.closed_h is None:
        return {}
    stood = [*_entered(course), ("", course.closed_h)]
    work = [
        (start, end, busy.came_from(person, course.number, start))
        for person, start, end in hands(course.touches)
    ]
    return {
        section: _stay(work, start, max(start, end), course.held_h(section, start, end))
        for (section, start), (_, end) in pairwise(stood)
    }


def _stay(
    work: Sequence[tuple[float, float, bool]], start_h: float, end_h: float, held_h: float
) -> Stay:
    touched, here, queued = 0.0, start_h, False
    for began, ended, came in work:
        if ended <= start_h:
            continue
        began = max(here, began)
        queued = queued or (came and began > here and here < end_h)
        if began >= end_h:
            break
        ended = max(began, min(ended, end_h))
        touched += ended - began
        here = ended
    return Stay(touched, max(0.0, end_h - start_h - touched - held_h), queued)


def standing(course: Course, now_h: float) -> Stood:
    """Where an open job stands."""
    section, since = _entered(course)[-1]
    touched = sum(max(0.0, end - max(start, since)) for _, start, end in hands(course.touches))
    until = max((hold.to_h for hold in course.holds if hold.section == section), default=0.0)
    return Stood(section, since + course.held_h(section, since, now_h), touched, until)


def leg(section: str, kind: str) -> str:
    """What stays are alike: the decision on the shop's own account waits for no customer."""
    return f"{section}, {kind}" if section == "decision" and kind != "customer" else section


class Past:
    """Stays by model and leg, to draw from: those that stood in no queue, where there are enough
    of them, else all."""

    def __init__(self, courses: Sequence[Course], busy: Busy) -> None:
        self.own: dict[tuple[str, str], list[Stay]] = {}
        self.group: dict[str, list[Stay]] = {}
        self.jobs_of = Counter(c.model for c in courses if c.closed_h is not None)
        every: dict[str, list[tuple[str, Stay]]] = {}
        for course in courses:
            for section, stay in stays(course, busy).items():
                every.setdefault(leg(section, course.kind), []).append((course.model, stay))
        for name, found in every.items():
            free = [(model, stay) for model, stay in found if not stay.queued]
            for model, stay in free if len(free) >= ENOUGH else found:
                self.own.setdefault((model, name), []).append(stay)
                self.group.setdefault(name, []).append(stay)

    @property
    def enough(self) -> bool:
        """Whether there are jobs enough to forecast from."""
        return sum(self.jobs_of.values()) >= LEAST_JOBS
