"""When what is on order is to be reckoned with: as due, and later where that day has passed."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import Connection, func, select

from shopdesk.records.tables import Part, PartSupplier, Purchase, PurchaseLine, Supplier
from shopdesk.rules import reorder
from shopdesk.rules.calendar import Calendar

DUE = PurchaseLine.quantity - PurchaseLine.received - PurchaseLine.called_off
"""Pieces of a purchase line that are still to come."""


@dataclass(frozen=True, slots=True)
class Arrival:
    """``on`` is the day to reckon with, not that of the purchase."""

    part_id: int
    part: str
    on: date
    pieces: int


def arrivals(db: Connection, today: date) -> Sequence[Arrival]:
    """Every open purchase line."""
    rows = db.execute(
        select(
            PurchaseLine.part_id,
            Part.number,
            Supplier.code,
            Purchase.at,
            Purchase.due_on,
            DUE,
        )
        .join(Purchase, Purchase.id == PurchaseLine.purchase_id)
        .join(Supplier, Supplier.id == Purchase.supplier_id)
        .join(Part, Part.id == PurchaseLine.part_id)
        .where(DUE > 0)
    ).all()
    late = {supplier for _, _, supplier, _, due, _ in rows if due < today}
    taken = lead_days(db, of=late) if late else {}
    return tuple(
        Arrival(
            part_id,
            part,
            reorder.expected(ordered.astimezone().date(), due, today, taken.get(supplier, ())),
            pieces,
        )
        for part_id, part, supplier, ordered, due, pieces in rows
    )


def lead_days(
    db: Connection, begins: datetime | None = None, *, of: Collection[str] | None = None
) -> Mapping[str, Sequence[int]]:
    """Days from order to the last piece that each supplier's deliveries took, of purchases placed
    since ``begins``; ``of`` these suppliers alone."""
    question = (
        select(Supplier.code, Purchase.at, PurchaseLine.received_at)
        .join(Purchase, Purchase.supplier_id == Supplier.id)
        .join(PurchaseLine, PurchaseLine.purchase_id == Purchase.id)
        .where(PurchaseLine.received_at.is_not(None))
        .group_by(  # the lines of one delivery came together: one observation
            Purchase.id, Supplier.code, Purchase.at, PurchaseLine.received_at
        )
    )
    if begins is not None:
        question = question.where(Purchase.at >= begins)
    if of is not None:
        question = question.where(Supplier.code.in_(of))
    found: dict[str, list[int]] = defaultdict(list)
    for code, ordered, came in db.execute(question):
        if came is not None:
            found[code].append((came.astimezone().date() - ordered.astimezone().date()).days)
    return found


def due_days(
    db: Connection, wanted: Iterable[str], today: date, calendar: Calendar
) -> Mapping[str, date]:
    """When parts that jobs wait for come: the next that is on its way, else by a supplier's time
    from today."""
    parts = set(wanted)
    if not parts:
        return {}
    due: dict[str, date] = {}
    for one in arrivals(db, today):
        if one.part in parts:
            due[one.part] = min(one.on, due.get(one.part, one.on))
    leads = db.execute(
        select(Part.number, func.min(Supplier.lead_days))
        .join(PartSupplier, PartSupplier.part_id == Part.id)
        .join(Supplier, Supplier.id == PartSupplier.supplier_id)
        .where(Part.number.in_(parts - due.keys()))
        .group_by(Part.number)
    ).all()
    for number, days in leads:
        due[number] = calendar.days_on(today, max(1, round(days * 5 / 7)))
    return due
