"""The shelf: parts as you type, their lots, who holds them, what has to be ordered."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy import Connection, Select, func, or_, select

from shopdesk.records.finding import holds
from shopdesk.records.tables import (
    Job,
    Lot,
    Part,
    PartSupplier,
    Purchase,
    PurchaseLine,
    StockMove,
    Supplier,
)


@dataclass(frozen=True, slots=True)
class PartRow:
    number: str
    description: str
    dash: str
    compound: str
    bin: str
    on_hand: int
    reserved: int
    on_order: int
    minimum: int
    unit_cost_cents: int

    @property
    def available(self) -> int:
        return self.on_hand - self.reserved


@dataclass(frozen=True, slots=True)
class LotRow:
    number: str
    on_hand: int
    cured: str
    use_by: date | None
    use_by_source: str
    certificate: str


@dataclass(frozen=True, slots=True)
class Holder:
    job: int
    pieces: int


@dataclass(frozen=True, slots=True)
class OrderRow:
    """A part to order today: ``pieces`` in whole packs, and the sentence that says why."""

    supplier: str
    supplier_name: str
    part: str
    description: str
    pieces: int
    cents: int
    why: str
    lead_days: int


_on_order = (
    select(func.coalesce(func.sum(PurchaseLine.quantity - PurchaseLine.received), 0))
    .where(PurchaseLine.part_id == Part.id)
    .correlate(Part)
    .scalar_subquery()
)


def parts(db: Connection, text: str = "", limit: int = 200) -> Sequence[PartRow]:
    """Parts whose number, description, size or bin contains the text."""
    words = text.strip()
    question = select(
        Part.number,
        Part.description,
        Part.dash,
        Part.compound,
        Part.bin,
        Part.on_hand,
        Part.reserved,
        _on_order.label("on_order"),
        Part.minimum,
        Part.unit_cost_cents,
    )
    if words:
        question = question.where(Part.id.in_(_found(db, words, limit)))
    rows = db.execute(question.order_by(Part.number).limit(limit))
    return tuple(PartRow(**row._mapping) for row in rows)


def _found(db: Connection, words: str, limit: int) -> Select[int]:
    """Ids in the order of the numbers. That order is sorted, not read from its index: through it
    every row of the table would be fetched on its own, six times as slow as walking the table."""
    columns = (Part.number, Part.description, Part.bin, Part.dash)
    held = or_(*(holds(db, column.expression, words) for column in columns))
    return select(Part.id).where(held).order_by(Part.number + "").limit(limit)


def lots_of(db: Connection, part: str) -> Sequence[LotRow]:
    """Lots with pieces left, the one that goes first on top."""
    rows = db.execute(
        select(Lot.number, Lot.on_hand, Lot.cured, Lot.use_by, Lot.use_by_source, Lot.certificate)
        .join(Part, Part.id == Lot.part_id)
        .where(Part.number == part, Lot.on_hand > 0)
        .order_by(Lot.use_by.is_(None), Lot.use_by, Lot.received_at, Lot.id)
    )
    return tuple(LotRow(**row._mapping) for row in rows)


def holders(db: Connection, part: str) -> Sequence[Holder]:
    """Open jobs that hold reserved pieces."""
    rows = db.execute(
        select(Job.number, func.sum(StockMove.reserved_change).label("pieces"))
        .join(StockMove, StockMove.job_id == Job.id)
        .join(Part, Part.id == StockMove.part_id)
        .where(Part.number == part)
        .group_by(Job.number)
        .having(func.sum(StockMove.reserved_change) > 0)
        .order_by(Job.number)
    )
    return tuple(Holder(row.number, int(row.pieces)) for row in rows)


def to_order(db: Connection) -> Sequence[OrderRow]:
    """Parts whose free stock and open purchases are below what is to be held and what waiting
    jobs are short of, by supplier."""
    short = _short(db)
    rows = db.execute(
        select(
            Part.number,
            Part.description,
            Part.pack,
            Part.minimum,
            (Part.on_hand - Part.reserved + _on_order).label("coming"),
            Supplier.code,
            Supplier.name,
            Supplier.lead_days,
            PartSupplier.price_cents,
        )
        .join(PartSupplier, PartSupplier.part_id == Part.id)
        .join(Supplier, Supplier.id == PartSupplier.supplier_id)
        .where(
            or_(
                Part.on_hand - Part.reserved + _on_order < Part.minimum,
                Part.number.in_(list(short) or [""]),
            )
        )
        .order_by(Supplier.code, Part.number)
    )
    found = []
    for row in rows:
        wanted = row.minimum + len(short.get(row.number, ())) - row.coming
        if wanted > 0:
            pieces = -(-wanted // row.pack) * row.pack
            found.append(
                OrderRow(
                    row.code,
                    row.name,
                    row.number,
                    row.description,
                    pieces,
                    pieces * row.price_cents,
                    _why(row.coming, row.minimum, short.get(row.number, ())),
                    row.lead_days,
                )
            )
    return tuple(found)


def _why(coming: int, minimum: int, jobs: Sequence[int]) -> str:
    tags = ", ".join(f"J-{number}" for number in jobs)
    waits = f"{tags} {'waits' if len(jobs) == 1 else 'wait'} for it; " if jobs else ""
    return f"{waits}{coming} free or on order, {minimum} to be held"


def _short(db: Connection) -> dict[str, list[int]]:
    """Part numbers that waiting jobs are short of, with the jobs' numbers."""
    rows = db.execute(
        select(Job.number, Job.waiting_for)
        .where(Job.closed_at.is_(None), Job.waiting_for.like("part short: %"))
        .order_by(Job.number)
    )
    short: dict[str, list[int]] = {}
    for row in rows:
        for part in row.waiting_for.removeprefix("part short: ").split(", "):
            short.setdefault(part, []).append(row.number)
    return short


def purchases_open(db: Connection) -> Sequence[tuple[int, str, date, str, int, int]]:
    """Open purchase lines: (purchase, supplier, due, part, ordered, received)."""
    rows = db.execute(
        select(
            Purchase.number,
            Supplier.name,
            Purchase.due_on,
            Part.number,
            PurchaseLine.quantity,
            PurchaseLine.received,
        )
        .join(Purchase, Purchase.id == PurchaseLine.purchase_id)
        .join(Supplier, Supplier.id == Purchase.supplier_id)
        .join(Part, Part.id == PurchaseLine.part_id)
        .where(PurchaseLine.received < PurchaseLine.quantity)
        .order_by(Purchase.due_on, Purchase.number, Part.number)
    )
    return tuple((r[0], r[1], r[2], r[3], r[4], r[5]) for r in rows)
