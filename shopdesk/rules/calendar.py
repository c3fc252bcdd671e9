"""The shop's working calendar: the hours it is open, and moments counted in them."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta

DAY_H = 24.0
WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


@dataclass(frozen=True, slots=True)
class Calendar:
    """Open from ``opens_h`` to ``closes_h``, hours into the local day, on ``weekdays`` (0 is
    Monday) that are no ``holidays``."""

    opens_h: float = 7.0
    closes_h: float = 16.0
    weekdays: frozenset[int] = frozenset(range(5))
    holidays: frozenset[date] = frozenset()

    @property
    def hours_a_day(self) -> float:
        return self.closes_h - self.opens_h

    @property
    def hours_a_week(self) -> float:
        return self.hours_a_day * len(self.weekdays)

    def works(self, day: date) -> bool:
        return day.weekday() in self.weekdays and day not in self.holidays

    def days_on(self, start: date, days: int) -> date:
        """The date so many working days after ``start``."""
        day = start
        while days > 0:
            day += timedelta(days=1)
            days -= self.works(day)
        return day

    def days_between(self, start: date, end: date) -> int:
        """Working days after ``start`` up to ``end``."""
        span = range(1, (end - start).days + 1)
        return sum(self.works(start + timedelta(days=n)) for n in span)


@dataclass(frozen=True, slots=True)
class Bench:
    """``places`` jobs at a time may stand there; sections without a bench need none."""

    name: str
    sections: frozenset[str]
    places: int


class Axis:
    """Clock hours (local, from midnight of ``first``) and the working hours in them, both ways.

    What lies outside the first and last day counts as its edge.
    """

    def __init__(self, calendar: Calendar, first: date, last: date) -> None:
        self.calendar, self.first = calendar, first
        days = range((last - first).days + 1)
        self._open = [n for n in days if calendar.works(first + timedelta(days=n))]
        self._before = [0]  # open days before each day, and before the day after the last
        for n in days:
            self._before.append(self._before[-1] + calendar.works(first + timedelta(days=n)))
        self._hours = calendar.hours_a_day
        self._edge = len(days) * DAY_H

    def clock(self, moment: datetime) -> float:
        """A moment in clock hours."""
        local = moment.astimezone()
        seconds = local.hour * 3600 + local.minute * 60 + local.second + local.microsecond / 1e6
        return (local.date() - self.first).days * DAY_H + seconds / 3600.0

    def worked(self, clock_h: float) -> float:
        """Working hours up to a clock hour."""
        if clock_h < 0.0:
            return 0.0
        if clock_h >= self._edge:
            return self._before[-1] * self._hours
        day, hour = divmod(clock_h, DAY_H)
        before, after = self._before[int(day)], self._before[int(day) + 1]
        if before == after:
            return before * self._hours
        spent = hour - self.calendar.opens_h
        return before * self._hours + min(max(spent, 0.0), self._hours)

    def at(self, moment: datetime) -> float:
        """Working hours up to a moment."""
        return self.worked(self.clock(moment))

    def when(self, worked_h: float) -> float:
        """The clock hour by which so many working hours are done."""
        whole, rest = divmod(worked_h, self.calendar.hours_a_day)
        index = int(whole)
        if rest == 0.0 and index > 0:  # the end of a day, not the beginning of the next
            index, rest = index - 1, self.calendar.hours_a_day
        if index >= len(self._open):
            return self._edge
        return self._open[index] * DAY_H + self.calendar.opens_h + rest

    def day(self, worked_h: float) -> date:
        """The day on which so many working hours are done."""
        return self.first + timedelta(days=int(self.when(worked_h) // DAY_H))

    def weeks(self, from_h: float, count: int) -> tuple[float, ...]:
        """Working hours up to the ends of calendar weeks: of the one that still has some left after
        ``from_h``, and of those after it."""
        day = self.day(from_h)
        sunday = day + timedelta(days=6 - day.weekday())
        last = self._before[-1] * self._hours
        while self.end_of(sunday) <= from_h < last:
            sunday += timedelta(days=7)
        return tuple(self.end_of(sunday + timedelta(days=7 * n)) for n in range(count))

    def end_of(self, day: date) -> float:
        """Working hours up to the end of a day."""
        return self.worked(((day - self.first).days + 1) * DAY_H - 1e-6)


def axis(
    calendar: Calendar, now: datetime, moments: Iterable[datetime] = (), years: int = 3
) -> Axis:
    """From the earliest of the moments to some years after ``now``."""
    first = min((*moments, now)).astimezone().date() - timedelta(days=7)
    return Axis(calendar, first, now.astimezone().date() + timedelta(days=366 * years))
