"""The sample's own time: it moves only when told, never backwards, the same on every machine."""

from datetime import UTC, date, datetime, time, timedelta

OPENS, CLOSES = 6, 15  # UTC: the bench's hours


class Clock:
    """Gives the moment to every deed of the sample."""

    def __init__(self, start: datetime) -> None:
        self.now = start

    def __call__(self) -> datetime:
        return self.now

    def until(self, moment: datetime) -> None:
        """Moves on to ``moment``; a moment that has passed moves nothing."""
        self.now = max(self.now, moment)

    def minutes(self, count: float) -> None:
        self.now += timedelta(minutes=count)


def at(day: date, hour: float) -> datetime:
    """The moment ``hour`` hours into the day, UTC."""
    return datetime.combine(day, time(), UTC) + timedelta(hours=hour)


def working(moment: datetime) -> datetime:
    """The same moment where the shop is open, else the next morning that it opens."""
    if moment.hour >= CLOSES:
        moment = at(moment.date() + timedelta(days=1), OPENS + moment.minute / 60)
    elif moment.hour < OPENS:
        moment = at(moment.date(), OPENS + moment.minute / 60)
    while moment.weekday() > 4:
        moment += timedelta(days=1)
    return moment


def working_days(moment: datetime, days: float) -> datetime:
    """So many working days later, inside working hours."""
    whole = int(days)
    moment = working(moment + timedelta(hours=(days - whole) * (CLOSES - OPENS)))
    for _ in range(whole):
        moment = working(moment + timedelta(days=1))
    return moment
