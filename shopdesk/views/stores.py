"""The shelf: parts as you type, their lots, who holds them, what is on its way."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

from sqlalchemy import Connection, Select, func, or_, select

from shopdesk.records.finding import holds
from shopdesk.records.tables import (
    Job,
    Lot,
    Part,
    Purchase,
    PurchaseLine,
    StockMove,
    Supplier,
)
from shopdesk.views import arrivals, documents, lots, usable
from shopdesk.views.asked import ASKED, with_asked


@dataclass(frozen=True, slots=True)
class PartRow:
    """``spoiled`` lie on the shelf and may not be issued: over their day, or in quarantine."""

    number: str
    description: str
    dash: str
    compound: str
    bin: str
    on_hand: int
    reserved: int
    spoiled: int
    on_order: int
    minimum: int
    unit_cost_cents: int

    @property
    def available(self) -> int:
        """What could be issued today and is promised to nobody; negative where more is promised
        than may be issued."""
        return self.on_hand - self.spoiled - self.reserved


@dataclass(frozen=True, slots=True)
class LotRow:
    number: str
    on_hand: int
    cured: str
    use_by: date | None
    use_by_source: str
    certificate: str
    quarantined: bool = False
    bin: str = ""
    set_number: str = ""
    set_broken: bool = False
    origin: str = ""
    mates: str = ""

    @property
    def matched(self) -> bool:
        """Whether it is a mate of a whole set, which stays together."""
        return bool(self.set_number) and not self.set_broken

    @property
    def of_set(self) -> str:
        """ "set M-7", "set M-7 BROKEN"; "" for a lot of none."""
        broken = " BROKEN" if self.set_broken else ""
        return f"set {self.set_number}{broken}" if self.set_number else ""


@dataclass(frozen=True, slots=True)
class Holder:
    """``stands_in_for``: the part the job asked for, where this one takes its place."""

    job: int
    pieces: int
    stands_in_for: str = ""


_on_order = (
    select(func.coalesce(func.sum(arrivals.DUE), 0))
    .where(PurchaseLine.part_id == Part.id)
    .correlate(Part)
    .scalar_subquery()
)


_PARTS = select(
    Part.number,
    Part.description,
    Part.dash,
    Part.compound,
    Part.bin,
    Part.on_hand,
    Part.reserved,
    usable.SPOILED.label("spoiled"),
    _on_order.label("on_order"),
    Part.minimum,
    Part.unit_cost_cents,
)


def part(db: Connection, today: date, number: str) -> PartRow | None:
    """The one part; None if there is none of that number."""
    asked = usable.on(today, documents.asked(db))
    row = db.execute(_PARTS.where(Part.number == number), asked).one_or_none()
    return None if row is None else PartRow(**row._mapping)


def parts(db: Connection, today: date, text: str = "", limit: int = 200) -> Sequence[PartRow]:
    """Parts whose number, description, size or bin contains the text."""
    words, question = text.strip(), _PARTS
    if words:
        question = question.where(Part.id.in_(_found(db, words, limit)))
    asked = usable.on(today, documents.asked(db))
    rows = db.execute(question.order_by(Part.number).limit(limit), asked)
    return tuple(PartRow(**row._mapping) for row in rows)


def _found(db: Connection, words: str, limit: int) -> Select[int]:
    """Ids in the order of the numbers. That order is sorted, not read from its index: through it
    every row of the table would be fetched on its own, six times as slow as walking the table."""
    columns = (Part.number, Part.description, Part.bin, Part.dash)
    held = or_(*(holds(db, column.expression, words) for column in columns))
    return select(Part.id).where(held).order_by(Part.number + "").limit(limit)


def lots_of(db: Connection, part: str) -> Sequence[LotRow]:
    """Lots with pieces left, the one that goes first on top, what is not on the shelf last."""
    asked = lots.with_origin(
        select(
            Lot.number,
            Lot.on_hand,
            Lot.cured,
            Lot.use_by,
            Lot.use_by_source,
            Lot.certificate,
            Lot.quarantined,
            lots.BIN.label("bin"),
            Lot.set_number,
            Lot.set_broken,
        )
        .join(Part, Part.id == Lot.part_id)
        .where(Part.number == part, Lot.on_hand > 0)
        .order_by(Lot.origin != "bought", Lot.use_by.is_(None), Lot.use_by, Lot.received_at, Lot.id)
    )
    rows = tuple(LotRow(**lots.told(row)) for row in db.execute(asked))
    mates = _mates(db, part, {row.set_number for row in rows if row.set_number})
    return tuple(replace(row, mates="; ".join(mates.get(row.set_number, ()))) for row in rows)


def _mates(db: Connection, part: str, numbers: set[str]) -> dict[str, list[str]]:
    """By set "BARREL lot B-7 (bin K-4)": what else is of it, and where it is."""
    found: dict[str, list[str]] = {}
    if numbers:
        asked = (
            select(
                Lot.set_number,
                Part.number.label("part"),
                Lot.number,
                Lot.on_hand,
                lots.BIN.label("bin"),
            )
            .join(Part, Part.id == Lot.part_id)
            .where(Lot.set_number.in_(numbers), Part.number != part)
            .order_by(Part.number)
        )
        for row in db.execute(asked):
            lies = f"bin {row.bin or 'not said'}" if row.on_hand else "not in stores"
            found.setdefault(row.set_number, []).append(f"{row.part} lot {row.number} ({lies})")
    return found


def holders(db: Connection, part: str) -> Sequence[Holder]:
    """Open jobs that hold reserved pieces."""
    rows = db.execute(
        with_asked(
            select(
                Job.number,
                func.sum(StockMove.reserved_change).label("pieces"),
                func.max(ASKED.number).label("asked"),
            )
            .join(StockMove, StockMove.job_id == Job.id)
            .join(Part, Part.id == StockMove.part_id)
            .where(Part.number == part)
            .group_by(Job.number)
            .having(func.sum(StockMove.reserved_change) > 0)
            .order_by(Job.number)
        )
    )
    return tuple(Holder(row.number, int(row.pieces), row.asked or "") for row in rows)


def purchases_open(db: Connection) -> Sequence[tuple[int, str, date, str, int, int]]:
    """Open purchase lines: (purchase, supplier, due on, part, ordered, still to come)."""
    rows = db.execute(
        select(
            Purchase.number,
            Supplier.name,
            Purchase.due_on,
            Part.number,
            PurchaseLine.quantity,
            arrivals.DUE,
        )
        .join(Purchase, Purchase.id == PurchaseLine.purchase_id)
        .join(Supplier, Supplier.id == Purchase.supplier_id)
        .join(Part, Part.id == PurchaseLine.part_id)
        .where(arrivals.DUE > 0)
        .order_by(Purchase.due_on, Purchase.number, Part.number)
    )
    return tuple((r[0], r[1], r[2], r[3], r[4], r[5]) for r in rows)
