"""What may be promised: the date by which four out of five such jobs were done."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from sqlalchemy import Connection, select

from shopdesk.records.tables import Job, Unit, UnitModel

NEWEST = 100
ENOUGH = 5
SHARE = 0.8


@dataclass(frozen=True, slots=True)
class Offer:
    """``on`` was kept by ``share`` of ``count`` past jobs of the model; with too few of them it
    is the shop's default and ``count`` is 0."""

    on: date
    days: int
    count: int
    share: float

    @property
    def text(self) -> str:
        if not self.count:
            return f"{self.on.isoformat()}: the shop's {self.days} working days"
        return (
            f"{self.on.isoformat()}: {self.share:.0%} of the last {self.count} such jobs were "
            f"done within {self.days} working days"
        )


def offer(db: Connection, model: str, now: datetime, default_days: int) -> Offer:
    """The promise for a core of this model taken in now, from the shop's own closed repairs."""
    days = _durations(db, model)
    today = now.astimezone().date()
    if len(days) < ENOUGH:
        return Offer(working_days_on(today, default_days), default_days, 0, SHARE)
    within = days[min(len(days) - 1, math.ceil(SHARE * len(days)) - 1)]
    kept = sum(each <= within for each in days) / len(days)
    return Offer(working_days_on(today, within), within, len(days), kept)


def _durations(db: Connection, model: str) -> Sequence[int]:
    """Working days from receipt to the door, shortest first, of the newest closed repairs."""
    rows = db.execute(
        select(Job.opened_at, Job.closed_at)
        .join(Unit, Unit.id == Job.unit_id)
        .join(UnitModel, UnitModel.id == Unit.unit_model_id)
        .where(UnitModel.code == model, Job.road == "repair", Job.closed_at.is_not(None))
        .order_by(Job.closed_at.desc())
        .limit(NEWEST)
    )
    return sorted(working_days(row.opened_at, row.closed_at) for row in rows)


def working_days_on(start: date, days: int) -> date:
    """The date so many working days (Monday to Friday) after ``start``."""
    day = start
    while days > 0:
        day += timedelta(days=1)
        days -= day.weekday() < 5
    return day


def working_days(start: datetime, end: datetime) -> int:
    """Working days from one moment to another, whole ones."""
    first, last = start.astimezone().date(), end.astimezone().date()
    weeks, rest = divmod((last - first).days, 7)
    return weeks * 5 + sum((first + timedelta(days=n)).weekday() < 5 for n in range(1, rest + 1))
