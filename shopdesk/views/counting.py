"""What is to be counted and how every count stands. How many there should be is not said."""

import heapq
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from sqlalchemy import Connection, Row, func, select

from shopdesk.errors import NotFound
from shopdesk.records.tables import Job, Lot, Part, Person, StockCount, StockMove
from shopdesk.rules import counting as rules
from shopdesk.rules import ledger
from shopdesk.rules.counting import CountClass, Counting, Outcome
from shopdesk.views import documents
from shopdesk.views.lots import BIN, OF_SET

YEAR = timedelta(days=365)


@dataclass(frozen=True, slots=True)
class ToCount:
    """``state`` is "" where nobody has counted it, or how its count stands; then ``by`` did."""

    bin: str
    part: str
    description: str
    lot: str
    use_by: date | None
    quarantined: bool
    count_class: str = ""
    last: date | None = None
    state: str = ""
    by: str = ""
    matched_set: str = ""


@dataclass(frozen=True, slots=True)
class CountSheet:
    """``bins`` is what the bins begin with, "" for the whole shelf; ``due`` where only what is due
    today stands on it; ``rule`` is the shop's own on counts, "" without one."""

    shop: str
    bins: str
    at: datetime
    lots: tuple[ToCount, ...]
    rule: str
    due: bool = False


@dataclass(frozen=True, slots=True)
class Due:
    """The day's counting: what waits for a second count or a manager first, then the lots longest
    over their day; ``more`` of those are left for another day. ``counting`` is the shop's rule,
    None where it says nothing of counts."""

    lots: tuple[ToCount, ...]
    more: int
    counting: Counting | None


@dataclass(frozen=True, slots=True)
class CountRow:
    """One step of a count; ``expected`` is what the ledger said at that moment."""

    at: datetime
    part: str
    lot: str
    count_class: str
    step: str
    counted: int
    expected: int
    outcome: str
    by: str
    reason: str
    unit_cost_cents: int


@dataclass(frozen=True, slots=True)
class MovedSince:
    id: int
    said: str


_COUNTED = Lot.origin != "customer"  # what a customer brought is no stock of the shop's
_LOTS = (
    select(
        Lot.id,
        Part.id.label("part_id"),
        BIN.label("bin"),
        Part.number.label("part"),
        Part.description,
        Lot.number.label("lot"),
        Lot.use_by,
        Lot.quarantined,
        OF_SET,
    )
    .join(Part, Part.id == Lot.part_id)
    .where(_COUNTED)
    .order_by(BIN, Part.number, Lot.id)
)
_RECEIVED = select(Lot.id, Lot.part_id, Lot.received_at).where(Lot.on_hand > 0, _COUNTED)
_NEWEST = select(func.max(StockCount.id)).group_by(StockCount.lot_id)
_STANDING = (
    select(StockCount.lot_id, StockCount.outcome, StockCount.at, Person.initials)
    .join(Person, Person.id == StockCount.person_id)
    .where(StockCount.id.in_(_NEWEST))
)
_UNFINISHED = (Outcome.RECOUNT.value, Outcome.APPROVAL.value)


def count_sheet(db: Connection, bins: str, now: datetime) -> CountSheet:
    """Lots the ledger has pieces of, in the order of the bins. Raises NotFound where the bins
    hold none."""
    begins = bins.strip().upper()
    rows = db.execute(_LOTS.where(Lot.on_hand > 0, BIN.startswith(begins, autoescape=True)))
    found = tuple(_to_count(row) for row in rows)
    if not found:
        raise NotFound(f"no bin that begins with {bins.strip()[:30]!r} holds anything")
    return CountSheet(documents.rules(db).name, begins, now, found, rule(db))


def due_sheet(db: Connection, now: datetime) -> CountSheet:
    """What is to be counted today, by bin. Raises NotFound where nothing is."""
    lots = [lot for lot in due(db, now).lots if lot.state != Outcome.APPROVAL]
    if not lots:
        raise NotFound("nothing is to be counted today")
    ordered = sorted(lots, key=lambda lot: (lot.bin, lot.part, lot.lot))
    return CountSheet(documents.rules(db).name, "", now, tuple(ordered), rule(db), due=True)


def rule(db: Connection) -> str:
    """The shop's rule on counts by its source and revision; "" without one."""
    counting = documents.rules(db).counting
    return "" if counting is None else counting.rule


def due(db: Connection, now: datetime) -> Due:
    """What is to be counted today by the shop's rule: recounts and approvals, then what is over
    its day, longest first by its class's own period. Without a rule only the former."""
    counting = documents.rules(db).counting
    standing = {row.lot_id: row for row in db.execute(_STANDING)}
    begun = [lot for lot, row in standing.items() if row.outcome in _UNFINISHED]
    if counting is None:
        return Due(_named(db, begun, standing, {}), 0, None)
    classes, today = _classes(db, counting, now), now.astimezone().date()
    late = []
    for lot_id, part_id, received in db.execute(_RECEIVED):
        stood = standing.get(lot_id)
        if stood is None or stood.outcome not in _UNFINISHED:
            klass = classes[part_id]
            over = _over(counting.of(klass), received, stood, today)
            if over is not None:
                late.append((-over, klass, lot_id))
    first = [lot_id for _, _, lot_id in heapq.nsmallest(counting.lots_a_day, late)]
    listed = _named(db, begun, standing, classes) + _named(db, first, standing, classes)
    return Due(listed, len(late) - len(first), counting)


def _named(
    db: Connection,
    lots: Sequence[int],
    standing: Mapping[int, Row[*tuple[Any, ...]]],
    classes: Mapping[int, str],
) -> tuple[ToCount, ...]:
    """The lots by bin."""
    return tuple(
        _to_count(row, classes.get(row.part_id, ""), standing.get(row.id))
        for row in db.execute(_LOTS.where(Lot.id.in_(lots)))
    )


def _over(
    allowed: CountClass,
    received: datetime,
    stood: Row[*tuple[Any, ...]] | None,
    today: date,
) -> float | None:
    """A delivery was counted when it came in."""
    if stood is not None and stood.outcome == Outcome.DISMISSED:
        return float("inf")
    last = received if stood is None else max(received, stood.at)
    return rules.overdue(allowed, last.astimezone().date(), today)


def _to_count(
    row: Row[*tuple[Any, ...]], klass: str = "", stood: Row[*tuple[Any, ...]] | None = None
) -> ToCount:
    return ToCount(
        row.bin,
        row.part,
        row.description,
        row.lot,
        row.use_by,
        row.quarantined,
        klass,
        None if stood is None else stood.at.astimezone().date(),
        "" if stood is None or Outcome(stood.outcome).done else stood.outcome,
        "" if stood is None else stood.initials,
        row.matched_set,
    )


def class_of(db: Connection, part: str, now: datetime) -> CountClass | None:
    """How the part is counted; None where the shop has no rule for it, or no such part."""
    counting = documents.rules(db).counting
    if counting is None:
        return None
    part_id = db.execute(select(Part.id).where(Part.number == part.strip().upper())).scalar()
    return None if part_id is None else counting.of(_classes(db, counting, now)[part_id])


def _classes(db: Connection, counting: Counting, now: datetime) -> Mapping[int, str]:
    """Every part's class by the yearly value of what jobs draw of it, at its cost today."""
    drawn: dict[int, int] = dict(
        db.execute(
            select(StockMove.part_id, func.sum(-StockMove.on_hand_change))
            .where(StockMove.kind.in_(("issue", "return")), StockMove.at >= now - YEAR)
            .group_by(StockMove.part_id)
        ).all()
    )
    parts = db.execute(select(Part.id, Part.unit_cost_cents, Part.critical)).all()
    value = {
        str(part_id): float(max(0, int(drawn.get(part_id, 0))) * cents)
        for part_id, cents, _ in parts
    }
    critical = frozenset(str(part_id) for part_id, _, yes in parts if yes)
    return {int(part): name for part, name in rules.classes(counting, value, critical).items()}


def counts(db: Connection, *, part: str = "", most: int = 200) -> Sequence[CountRow]:
    """The newest steps of counts, the newest first."""
    question = (
        select(
            StockCount.at,
            Part.number,
            Lot.number,
            StockCount.count_class,
            StockCount.step,
            StockCount.counted,
            StockCount.expected,
            StockCount.outcome,
            Person.initials,
            StockCount.reason,
            Lot.unit_cost_cents,
        )
        .join(Lot, Lot.id == StockCount.lot_id)
        .join(Part, Part.id == Lot.part_id)
        .join(Person, Person.id == StockCount.person_id)
        .order_by(StockCount.id.desc())
        .limit(most)
    )
    if part:
        question = question.where(Part.number == part.strip().upper())
    return tuple(CountRow(*row) for row in db.execute(question))


def on_hand(db: Connection, part: str, lot: str) -> int | None:
    """What the ledger says of the lot; None if there is no such lot."""
    asked = (
        select(Lot.on_hand)
        .join(Part, Part.id == Lot.part_id)
        .where(Part.number == part.strip().upper(), Lot.number == lot.strip().upper())
    )
    return db.execute(asked).scalar()


def newest_move(db: Connection, part: str, lot: str) -> int:
    """The lot's newest move: a count that begins now knows of all up to it."""
    asked = (
        select(func.coalesce(func.max(StockMove.id), 0))
        .join(Lot, Lot.id == StockMove.lot_id)
        .join(Part, Part.id == Lot.part_id)
        .where(Part.number == part, Lot.number == lot)
    )
    return int(db.execute(asked).scalar_one())


def moved_since(
    db: Connection, lot_id: int, seen: int | None, at: datetime | None
) -> Sequence[MovedSince]:
    """What came to the lot or went since a count of it began, the oldest first; nothing where it
    is not said when it began."""
    if seen is None and at is None:
        return ()
    since = StockMove.id > seen if at is None else StockMove.at >= at
    rows = db.execute(
        select(
            StockMove.id,
            StockMove.kind,
            StockMove.on_hand_change,
            StockMove.at,
            Person.initials,
            Job.number,
        )
        .join(Person, Person.id == StockMove.person_id)
        .outerjoin(Job, Job.id == StockMove.job_id)
        .where(StockMove.lot_id == lot_id, StockMove.on_hand_change != 0, since)
        .order_by(StockMove.id)
    ).all()
    carried: Counter[datetime] = Counter()  # out of one bin and into another: nothing has changed
    for row in rows:
        carried[row.at] += row.on_hand_change if row.kind == "transfer" else 0
    return tuple(
        MovedSince(row.id, _said(row))
        for row in rows
        if row.kind != "transfer" or carried[row.at] != 0
    )


_DONE = {
    "receive": "received {}",
    "issue": "issued {}",
    "return": "gave back {}",
    "scrap": "scrapped {}",
    "count": "put right what was counted",  # by how many would tell what the ledger says
    "bring": "took in {}",
    "harvest": "took in {}",
    "hand back": "handed {} back",
    "transfer": "put {} under another lot number",
}


def _said(row: Row[*tuple[Any, ...]]) -> str:
    done = _DONE.get(ledger.on_shelf(row.kind), f"{row.kind} {{}}").format(abs(row.on_hand_change))
    job = f" for J-{row.number}" if row.number is not None else ""
    return f"{row.initials} {done}{job} at {row.at.astimezone():%H:%M}"
