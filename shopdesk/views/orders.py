"""A customer's order of several units: which of them are here, which have left."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Row, func, select

from shopdesk.records.tables import Customer, Job, Unit, UnitModel, WorkOrder


@dataclass(frozen=True, slots=True)
class OfOrder:
    """One unit of an order; ``left_at`` None while it is here."""

    number: int
    model: str
    serial: str
    left_at: datetime | None

    @property
    def told(self) -> str:
        return f"J-{self.number} {self.model} {self.serial}"


@dataclass(frozen=True, slots=True)
class Order:
    """Units of an order but the one that is looked at, by tag."""

    reference: str
    others: Sequence[OfOrder]

    def told(self) -> tuple[str, ...]:
        """What a part shipment says of the rest; nothing for an order of one unit."""
        if not self.others:
            return ()
        here = [unit.told for unit in self.others if unit.left_at is None]
        gone = [unit.told for unit in self.others if unit.left_at is not None]
        size = len(self.others) + 1
        if here:
            said = [f"Part shipment of order {self.reference}, unit {len(gone) + 1} of {size}."]
            said.append(f"Still in the shop: {'; '.join(here)}.")
        else:
            said = [f"Order {self.reference} is complete with this unit, {size} in all."]
        if gone:
            said.append(f"Left before: {'; '.join(gone)}.")
        return tuple(said)


_UNITS = (
    select(Job.number, UnitModel.code, Unit.serial, Job.opened_at, Job.closed_at)
    .join(Unit, Unit.id == Job.unit_id)
    .join(UnitModel, UnitModel.id == Unit.unit_model_id)
    .order_by(Job.number)
)


def of_number(db: Connection, number: int, at: datetime) -> Order | None:
    """The order the job with this number is of, as it stood ``at`` that moment; None for a unit
    that came alone."""
    found = db.execute(
        select(WorkOrder.id, WorkOrder.reference)
        .join(Job, Job.work_order_id == WorkOrder.id)
        .where(Job.number == number)
    ).one_or_none()
    if found is None:
        return None
    rows = db.execute(
        _UNITS.where(Job.work_order_id == found.id, Job.number != number, Job.opened_at <= at)
    )
    return Order(found.reference, tuple(_unit(row, at) for row in rows))


def of_reference(db: Connection, customer: str, reference: str) -> Order | None:
    """What came so far with this order of the customer with that code; None for a new one."""
    customer_id = db.execute(select(Customer.id).where(Customer.code == customer)).scalar()
    order = None if customer_id is None else find(db, customer_id, reference)
    if order is None:
        return None
    rows = db.execute(_UNITS.where(Job.work_order_id == order))
    return Order(reference.strip(), tuple(_unit(row) for row in rows))


def find(db: Connection, customer_id: int, reference: str) -> int | None:
    """The id of the customer's order with this reference, however it is capitalised."""
    found = db.execute(
        select(WorkOrder.id).where(
            WorkOrder.customer_id == customer_id,
            func.lower(WorkOrder.reference) == func.lower(reference.strip()),
        )
    ).scalar()
    return None if found is None else int(found)


def _unit(row: Row[*tuple[Any, ...]], at: datetime | None = None) -> OfOrder:
    left = row.closed_at if at is None or (row.closed_at and row.closed_at < at) else None
    return OfOrder(row.number, row.code, row.serial, left)
