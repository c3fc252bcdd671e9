"""Whose use-by day comes: lots on the shelf, and the kits of open jobs by their earliest lot."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from sqlalchemy import Connection, func, select

from shopdesk.records.tables import Job, Lot, Part, StockMove
from shopdesk.rules.ledger import DRAWN
from shopdesk.views import documents
from shopdesk.views.lots import BIN

NOT_YET_FITTED = ("parts", "build")


@dataclass(frozen=True, slots=True)
class Expiring:
    """``days`` until the lot may no longer be fitted; negative: over. ``where`` is its bin, or the
    job whose kit it is in; ``jobs`` are the open ones that hold pieces of it or of its part."""

    use_by: date
    days: int
    part: str
    description: str
    lot: str
    pieces: int
    where: str
    jobs: tuple[str, ...]
    quarantined: bool
    use_by_source: str


def expiring(db: Connection, today: date, days: int | None = None) -> Sequence[Expiring]:
    """What is over or will be within ``days``, the soonest first; without days as far ahead as the
    shop's rules look."""
    if days is None:
        days = documents.rules(db).use_by_warning_days
    until = today + timedelta(days=days)
    found = [*_lots(db, today, until), *_kits(db, today, until)]
    return tuple(sorted(found, key=lambda one: (one.use_by, one.part, one.lot, one.where)))


def _lots(db: Connection, today: date, until: date) -> Sequence[Expiring]:
    rows = db.execute(
        select(
            Lot.use_by,
            Lot.part_id,
            Part.number,
            Part.description,
            Lot.number.label("lot"),
            Lot.on_hand,
            BIN.label("bin"),
            Lot.quarantined,
            Lot.use_by_source,
        )
        .join(Part, Part.id == Lot.part_id)
        .where(Lot.on_hand > 0, Lot.use_by <= until)
    ).all()
    held = _held(db, {row.part_id for row in rows})
    return [
        Expiring(
            row.use_by,
            (row.use_by - today).days,
            row.number,
            row.description,
            row.lot,
            row.on_hand,
            row.bin,
            held.get(row.part_id, ()),
            row.quarantined,
            row.use_by_source,
        )
        for row in rows
        if row.use_by is not None
    ]


def _held(db: Connection, parts: set[int]) -> Mapping[int, tuple[str, ...]]:
    """Open jobs that are promised pieces of each part: from which lot is known at the issue."""
    rows = db.execute(
        select(StockMove.part_id, Job.number)
        .join(Job, Job.id == StockMove.job_id)
        .where(StockMove.part_id.in_(parts), Job.closed_at.is_(None))
        .group_by(StockMove.part_id, Job.number)
        .having(func.sum(StockMove.reserved_change) > 0)
        .order_by(Job.number)
    )
    found: dict[int, tuple[str, ...]] = defaultdict(tuple)
    for part_id, number in rows:
        found[part_id] += (f"J-{number}",)
    return found


def _kits(db: Connection, today: date, until: date) -> Sequence[Expiring]:
    """Kits at the bench that are not yet fitted: each is as old as its earliest lot."""
    out = func.sum(-StockMove.on_hand_change)
    rows = db.execute(
        select(
            Job.number.label("job"),
            Lot.use_by,
            Part.number,
            Part.description,
            Lot.number.label("lot"),
            out.label("pieces"),
            Lot.quarantined,
            Lot.use_by_source,
        )
        .select_from(Job)
        .join(StockMove, StockMove.job_id == Job.id)
        .join(Lot, Lot.id == StockMove.lot_id)
        .join(Part, Part.id == Lot.part_id)
        .where(
            Job.closed_at.is_(None),
            Job.stage.in_(NOT_YET_FITTED),
            Lot.use_by <= until,
            StockMove.kind.in_(DRAWN),
        )
        .group_by(
            Job.number,
            Lot.use_by,
            Part.number,
            Part.description,
            Lot.number,
            Lot.quarantined,
            Lot.use_by_source,
        )
        .having(out > 0)
    )
    earliest: dict[int, Expiring] = {}
    for row in rows:
        tag = f"J-{row.job}"
        one = Expiring(
            row.use_by,
            (row.use_by - today).days,
            row.number,
            row.description,
            row.lot,
            int(row.pieces),
            f"kit of {tag}",
            (tag,),
            row.quarantined,
            row.use_by_source,
        )
        known = earliest.get(row.job)
        if known is None or (one.use_by, one.part) < (known.use_by, known.part):
            earliest[row.job] = one
    return tuple(earliest.values())
