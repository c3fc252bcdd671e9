"""The stores' long lists: lots and moves."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import Connection, func, select

from shopdesk.records.tables import Job, Lot, Part, Person, StockMove
from shopdesk.views import lots as lots_
from shopdesk.views.asked import ASKED, with_asked


@dataclass(frozen=True, slots=True)
class LotLine:
    part: str
    lot: str
    on_hand: int
    bin: str
    cured: str
    use_by: date | None
    use_by_source: str
    certificate: str
    quarantined: bool
    unit_cost_cents: int
    matched_set: str
    origin: str


@dataclass(frozen=True, slots=True)
class Move:
    at: datetime
    kind: str
    part: str
    lot: str | None
    pieces: int
    reserved: int
    job: str
    by: str
    stands_in_for: str
    reason: str


def lots(db: Connection, part: str = "") -> Sequence[LotLine]:
    """Lots with pieces left, of one part or of all, the one that goes first on top."""
    question = lots_.with_origin(
        select(
            Part.number.label("part"),
            Lot.number.label("lot"),
            Lot.on_hand,
            lots_.BIN.label("bin"),
            Lot.cured,
            Lot.use_by,
            Lot.use_by_source,
            Lot.certificate,
            Lot.quarantined,
            Lot.unit_cost_cents,
            lots_.OF_SET,
        )
        .join(Part, Part.id == Lot.part_id)
        .where(Lot.on_hand > 0)
        .order_by(Part.number, Lot.use_by.is_(None), Lot.use_by, Lot.received_at, Lot.id)
    )
    if part:
        question = question.where(Part.number == part.strip().upper())
    return tuple(LotLine(**lots_.told(row)) for row in db.execute(question))


def moves(
    db: Connection, *, part: str = "", kind: str = "", job: int | None = None, most: int = 200
) -> Sequence[Move]:
    """The newest rows of the ledger, the newest first; by part, kind and job where said."""
    question = with_asked(
        select(
            StockMove.at,
            StockMove.kind,
            Part.number.label("part"),
            Lot.number.label("lot"),
            StockMove.on_hand_change,
            StockMove.reserved_change,
            Job.number.label("job"),
            Person.initials,
            func.coalesce(ASKED.number, "").label("asked"),
            StockMove.reason,
        )
        .join(Part, Part.id == StockMove.part_id)
        .join(Person, Person.id == StockMove.person_id)
        .outerjoin(Lot, Lot.id == StockMove.lot_id)
        .outerjoin(Job, Job.id == StockMove.job_id)
        .order_by(StockMove.id.desc())
        .limit(most)
    )
    if part:
        question = question.where(Part.number == part.strip().upper())
    if kind:
        question = question.where(StockMove.kind == kind)
    if job is not None:
        question = question.where(Job.number == job)
    return tuple(
        Move(
            row.at,
            row.kind,
            row.part,
            row.lot,
            row.on_hand_change,
            row.reserved_change,
            "" if row.job is None else f"J-{row.job}",
            row.initials,
            row.asked,
            row.reason,
        )
        for row in db.execute(question)
    )
