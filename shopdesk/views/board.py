"""Open jobs as the counter, the bench and the office list them: one statement each."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, NamedTuple

from sqlalchemy import Connection, Row, Select, bindparam, case, func, or_, select

from shopdesk.records.tables import Approval, Customer, Job, Person, Quote, Unit, UnitModel


class JobRow(NamedTuple):
    """A tuple, because lists are read at every key: a dataclass takes five times as long."""

    number: int
    kind: str
    serial: str
    model: str
    customer: str
    gas_state: str
    road: str
    stage: str
    waiting_for: str
    waiting_on: str
    waiting_since: datetime
    promised_on: date
    opened_at: datetime
    closed_at: datetime | None
    assigned: str
    version: int


@dataclass(frozen=True, slots=True)
class QuoteRow:
    number: int
    serial: str
    model: str
    customer: str
    phone: str
    total_cents: int
    at: datetime


# Of the tables alone: a mapped class in a statement sets up all of them first, and these are the
# first that a terminal asks.
_jobs, _units, _models, _customers, _people = (
    mapped.__table__ for mapped in (Job, Unit, UnitModel, Customer, Person)
)
_job, _assigned = _jobs.c, _people.c
_pressed = case((_job.gas_state.in_(("charged", "unknown")), 0), else_=1)
_own = case((_assigned.initials == bindparam("who"), 0), else_=1)

# Put together once: to build one takes as long as to ask the database.
JOBS = (
    select(
        _job.number,
        _job.kind,
        _units.c.serial,
        _models.c.code.label("model"),
        _customers.c.name.label("customer"),
        _job.gas_state,
        _job.road,
        _job.stage,
        _job.waiting_for,
        _job.waiting_on,
        _job.waiting_since,
        _job.promised_on,
        _job.opened_at,
        _job.closed_at,
        func.coalesce(_assigned.initials, "").label("assigned"),
        _job.version,
    )
    .join(_units, _units.c.id == _job.unit_id)
    .join(_models, _models.c.id == _units.c.unit_model_id)
    .join(_customers, _customers.c.id == _job.customer_id)
    .outerjoin(_people, _assigned.id == _job.assigned_to)
)
"""Jobs as ``JobRow`` has them."""

OPEN = JOBS.where(_job.closed_at.is_(None))

_HOUSE = OPEN.order_by(_pressed, _job.promised_on, _job.number)
_FLOOR = _HOUSE.limit(bindparam("limit"))
_BACKLOG = OPEN.order_by(_job.waiting_on, _job.waiting_since, _job.number).limit(bindparam("limit"))
_BENCH = (
    OPEN.where(
        or_(_assigned.initials == bindparam("who"), _job.assigned_to.is_(None)),
        _job.stage.not_in(("receipt", "done")),
    )
    .order_by(_own, _job.promised_on, _job.number)
    .limit(bindparam("limit"))
)


def floor(db: Connection, limit: int = 500) -> Sequence[JobRow]:
    """Everything in the shop, charged and unknown units first, then by promised date."""
    return job_rows(db, _FLOOR, limit=limit)


def house(db: Connection) -> Sequence[JobRow]:
    """The same, however many they are."""
    return job_rows(db, _HOUSE)


def bench(db: Connection, who: str, limit: int = 500) -> Sequence[JobRow]:
    """The jobs a technician has, then those nobody has, by promised date."""
    return job_rows(db, _BENCH, limit=limit, who=who)


EVERY = 1_000_000


def backlog(db: Connection, limit: int = 500) -> Sequence[JobRow]:
    """Open jobs by whose move it is and how long it has waited; figures need EVERY one of them."""
    return job_rows(db, _BACKLOG, limit=limit)


def quotes_open(db: Connection) -> Sequence[QuoteRow]:
    """Quotes nobody has answered, the oldest first."""
    latest = select(func.max(Quote.id)).group_by(Quote.job_id)
    rows = db.execute(
        select(
            Job.number,
            Unit.serial,
            UnitModel.code.label("model"),
            Customer.name.label("customer"),
            Customer.phone,
            Quote.total_cents,
            Quote.at,
        )
        .join(Job, Job.id == Quote.job_id)
        .join(Unit, Unit.id == Job.unit_id)
        .join(UnitModel, UnitModel.id == Unit.unit_model_id)
        .join(Customer, Customer.id == Job.customer_id)
        .outerjoin(Approval, Approval.quote_id == Quote.id)
        .where(Approval.id.is_(None), Job.closed_at.is_(None), Quote.id.in_(latest))
        .order_by(Quote.at, Quote.id)
    )
    return tuple(QuoteRow(**row._mapping) for row in rows)


def job_rows(db: Connection, query: Select[*tuple[Any, ...]], **given: object) -> Sequence[JobRow]:
    """The rows of a statement over ``JOBS``."""
    rows: Sequence[Row[*tuple[Any, ...]]] = db.execute(query, given).all()
    return tuple(map(JobRow._make, rows))
