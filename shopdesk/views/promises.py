"""What may be promised at once: the date by which four out of five such jobs were done. What the
shop's load makes of it is ``views.forecasts``."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import Connection, select

from shopdesk.records.tables import Job, Unit, UnitModel
from shopdesk.rules.calendar import Calendar

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


def offer(
    db: Connection, model: str, now: datetime, default_days: int, calendar: Calendar
) -> Offer:
    """The promise for a core of this model taken in now, from the shop's own closed repairs."""
    days = _durations(db, model, calendar)
    today = now.astimezone().date()
    if len(days) < ENOUGH:
        return Offer(calendar.days_on(today, default_days), default_days, 0, SHARE)
    within = days[min(len(days) - 1, math.ceil(SHARE * len(days)) - 1)]
    kept = sum(each <= within for each in days) / len(days)
    return Offer(calendar.days_on(today, within), within, len(days), kept)


def _durations(db: Connection, model: str, calendar: Calendar) -> Sequence[int]:
    """Working days from receipt to the door, shortest first, of the newest closed repairs."""
    rows = db.execute(
        select(Job.opened_at, Job.closed_at)
        .join(Unit, Unit.id == Job.unit_id)
        .join(UnitModel, UnitModel.id == Unit.unit_model_id)
        .where(UnitModel.code == model, Job.road == "repair", Job.closed_at.is_not(None))
        .order_by(Job.closed_at.desc())
        .limit(NEWEST)
    )
    return sorted(
        calendar.days_between(row.opened_at.astimezone().date(), row.closed_at.astimezone().date())
        for row in rows
    )
