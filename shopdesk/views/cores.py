"""The exchange pool, deposits either way, and how many cores of a model become units again."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy import ColumnElement, Connection, and_, case, func, select

from shopdesk.records.tables import (
    CoreDeposit,
    CoreGrade,
    Customer,
    Job,
    Unit,
    UnitModel,
)


@dataclass(frozen=True, slots=True)
class Deposit:
    """A core owed for an exchange unit. ``state``: owed, LATE, to judge, credit due, settled."""

    id: int
    state: str
    model: str
    customer: str
    deposit_cents: int
    due_on: date
    job: str
    grade: str
    missing: tuple[str, ...]
    credit_cents: int | None


@dataclass(frozen=True, slots=True)
class Pooled:
    """A unit ready on the exchange shelf; ``grade`` as its core was judged, "" if it was not."""

    model: str
    serial: str
    grade: str


@dataclass(frozen=True, slots=True)
class Yield:
    """What became of a model's closed jobs; ``percent`` rebuilt of those rebuilt or scrapped,
    None while there are none."""

    model: str
    closed: int
    rebuilt: int
    scrapped: int
    declined: int
    in_pool: int
    percent: float | None


def deposits(db: Connection, today: date, *, settled: bool = False) -> Sequence[Deposit]:
    """Deposits by their day; those settled only where asked for."""
    question = (
        select(
            CoreDeposit.id,
            UnitModel.code,
            Customer.name,
            CoreDeposit.cents,
            CoreDeposit.due_on,
            Job.number,
            CoreGrade.grade,
            CoreGrade.missing,
            CoreGrade.credit_cents,
            CoreGrade.paid_at,
        )
        .join(UnitModel, UnitModel.id == CoreDeposit.unit_model_id)
        .join(Customer, Customer.id == CoreDeposit.customer_id)
        .outerjoin(Job, Job.id == CoreDeposit.settled_job_id)
        .outerjoin(CoreGrade, CoreGrade.deposit_id == CoreDeposit.id)
        .order_by(CoreDeposit.due_on, CoreDeposit.id)
    )
    found = [
        Deposit(
            row.id,
            _state(row.number, row.grade, row.credit_cents, row.paid_at, row.due_on < today),
            row.code,
            row.name,
            row.cents,
            row.due_on,
            "" if row.number is None else f"J-{row.number}",
            row.grade or "",
            tuple(row.missing or ()),
            row.credit_cents,
        )
        for row in db.execute(question)
    ]
    return tuple(one for one in found if settled or one.state != "settled")


def _state(job: int | None, grade: str | None, credit: int | None, paid: object, late: bool) -> str:
    if job is None:
        return "LATE" if late else "owed"
    if grade is None:
        return "to judge"
    return "credit due" if credit and paid is None else "settled"


def pool(db: Connection) -> Sequence[Pooled]:
    newest = select(func.max(CoreGrade.id)).group_by(CoreGrade.unit_id)
    rows = db.execute(
        select(UnitModel.code, Unit.serial, CoreGrade.grade)
        .join(UnitModel, UnitModel.id == Unit.unit_model_id)
        .outerjoin(CoreGrade, and_(CoreGrade.unit_id == Unit.id, CoreGrade.id.in_(newest)))
        .where(Unit.pool)
        .order_by(UnitModel.code, Unit.serial)
    )
    return tuple(Pooled(row.code, row.serial, row.grade or "") for row in rows)


def yields(db: Connection) -> Sequence[Yield]:
    """By model, over every closed job."""
    pooled = (
        select(func.count(Unit.id))
        .where(Unit.unit_model_id == UnitModel.id, Unit.pool)
        .correlate(UnitModel)
        .scalar_subquery()
    )

    def on(road: str) -> ColumnElement[int]:
        return func.sum(case((Job.road == road, 1), else_=0))

    rows = db.execute(
        select(
            UnitModel.code,
            func.count(Job.id),
            on("repair"),
            on("scrapped"),
            on("declined"),
            pooled,
        )
        .join(Unit, Unit.unit_model_id == UnitModel.id)
        .join(Job, Job.unit_id == Unit.id)
        .where(Job.closed_at.is_not(None))
        .group_by(UnitModel.id, UnitModel.code)
        .order_by(UnitModel.code)
    )
    return tuple(_yield(row[0], *(int(count) for count in row[1:])) for row in rows)


def _yield(
    model: str, closed: int, rebuilt: int, scrapped: int, declined: int, in_pool: int
) -> Yield:
    judged = rebuilt + scrapped
    percent = round(100 * rebuilt / judged, 1) if judged else None
    return Yield(model, closed, rebuilt, scrapped, declined, in_pool, percent)
