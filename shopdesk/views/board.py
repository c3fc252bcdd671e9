"""Open jobs as the counter, the bench and the office list them: one statement each."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, NamedTuple

from sqlalchemy import Connection, Row, Select, bindparam, case, func, or_, select
from sqlalchemy.orm import aliased

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


_assigned = aliased(Person)
_pressed = case((Job.gas_state.in_(("charged", "unknown")), 0), else_=1)
_own = case((_assigned.initials == bindparam("who"), 0), else_=1)

# Put together once: to build one takes as long as to ask the database.
JOBS = (
    select(
        Job.number,
        Job.kind,
        Unit.serial,
        UnitModel.code.label("model"),
        Customer.name.label("customer"),
        Job.gas_state,
        Job.road,
        Job.stage,
        Job.waiting_for,
        Job.waiting_on,
        Job.waiting_since,
        Job.promised_on,
        Job.opened_at,
        Job.closed_at,
        func.coalesce(_assigned.initials, "").label("assigned"),
        Job.version,
    )
    .join(Unit, Unit.id == Job.unit_id)
    .join(UnitModel, UnitModel.id == Unit.unit_model_id)
    .join(Customer, Customer.id == Job.customer_id)
    .outerjoin(_assigned, _assigned.id == Job.assigned_to)
)
"""Jobs as ``JobRow`` has them."""

OPEN = JOBS.where(Job.closed_at.is_(None))

_HOUSE = OPEN.order_by(_pressed, Job.promised_on, Job.number)
_FLOOR = _HOUSE.limit(bindparam("limit"))
_BACKLOG = OPEN.order_by(Job.waiting_on, Job.waiting_since, Job.number).limit(bindparam("limit"))
_BENCH = (
    OPEN.where(
        or_(_assigned.initials == bindparam("who"), Job.assigned_to.is_(None)),
        Job.stage.not_in(("receipt", "done")),
    )
    .order_by(_own, Job.promised_on, Job.number)
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


def backlog(db: Connection, limit: int = 500) -> Sequence[JobRow]:
    """Open jobs by whose move it is and how long it has waited."""
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
