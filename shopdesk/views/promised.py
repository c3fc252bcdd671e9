"""What was promised of a job and what was forecast of it, as it was said then."""

from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import Connection, select

from shopdesk.errors import NotFound
from shopdesk.records.tables import Event, Forecast, Job, Person, Unit, UnitModel
from shopdesk.rules.scoring import Said


@dataclass(frozen=True, slots=True)
class Promised:
    """``closed_at`` None while the job is open."""

    model: str
    serial: str
    opened_at: datetime
    first_promised_on: date
    promised_on: date
    closed_at: datetime | None


def of_job(db: Connection, number: int) -> Promised:
    """A job's promise, open or closed. Raises NotFound."""
    row = db.execute(
        select(
            UnitModel.code,
            Unit.serial,
            Job.opened_at,
            Job.first_promised_on,
            Job.promised_on,
            Job.closed_at,
        )
        .join(Unit, Unit.id == Job.unit_id)
        .join(UnitModel, UnitModel.id == Unit.unit_model_id)
        .where(Job.number == number)
    ).one_or_none()
    if row is None:
        raise NotFound(f"no job J-{number}")
    return Promised(*row)


@dataclass(frozen=True, slots=True)
class Change:
    at: datetime
    was: date
    now: date
    reason: str
    who: str


def changes(db: Connection, number: int) -> tuple[Change, ...]:
    """Every new promise of a job, the oldest first."""
    rows = db.execute(
        select(Event.at, Event.payload, Person.initials)
        .join(Job, Job.id == Event.job_id)
        .outerjoin(Person, Person.id == Event.person_id)
        .where(Job.number == number, Event.kind == "promise")
        .order_by(Event.id)
    )
    return tuple(
        Change(
            row.at,
            date.fromisoformat(row.payload["was"]),
            date.fromisoformat(row.payload["is"]),
            row.payload["reason"],
            row.initials or "",
        )
        for row in rows
    )


_SAID = select(
    Job.number,
    Forecast.at,
    Forecast.by_50,
    Forecast.by_80,
    Forecast.by_95,
    Forecast.by_plain,
    Job.closed_at,
).join(Job, Job.id == Forecast.job_id)


def said(db: Connection, newest: int = 5000) -> tuple[Said, ...]:
    """The newest stored forecasts, with when the jobs were done."""
    rows = db.execute(_SAID.order_by(Forecast.id.desc()).limit(newest))
    return tuple(_said(*row) for row in rows)


def said_of(db: Connection, number: int) -> tuple[Said, ...]:
    """The stored forecasts of one job, the oldest first."""
    rows = db.execute(_SAID.where(Job.number == number).order_by(Forecast.id))
    return tuple(_said(*row) for row in rows)


def _said(
    number: int,
    at: datetime,
    by_50: date,
    by_80: date,
    by_95: date,
    by_plain: date | None,
    closed_at: datetime | None,
) -> Said:
    done = None if closed_at is None else closed_at.astimezone().date()
    return Said(number, at.astimezone().date(), by_50, by_80, by_95, by_plain, done)


def last_kept(db: Connection) -> datetime | None:
    """When forecasts were last stored."""
    return db.execute(select(Forecast.at).order_by(Forecast.id.desc()).limit(1)).scalar()
