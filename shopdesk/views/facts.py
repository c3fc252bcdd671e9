"""What a sheet needs to know of its job beside the entries: quote, kit, cost, past charges."""

from dataclasses import replace
from datetime import datetime
from functools import lru_cache
from typing import Any

from sqlalchemy import Connection, Row, Select, bindparam, func, select

from shopdesk.procedure import KitLine, Procedure
from shopdesk.records.tables import (
    Approval,
    Concession,
    Event,
    Interchange,
    Lot,
    Part,
    Quote,
    QuoteLine,
    StockMove,
)
from shopdesk.rules import ledger
from shopdesk.rules.answers import GasState, JobFacts, KitState, LeftWith, QuoteState, Road
from shopdesk.rules.shop import ShopRules
from shopdesk.views import charges, claims, rework, usable
from shopdesk.views.asked import ASKED_ID

_CONCEDED = select(Concession.entry_id).where(Concession.job_id == bindparam("job_id"))


_ROAD = (
    select(Event.payload)
    .where(Event.job_id == bindparam("job_id"), Event.kind == "road")
    .order_by(Event.id.desc())
    .limit(1)
)


def facts(
    db: Connection,
    row: Row[*tuple[Any, ...]],
    procedure: Procedure,
    shop: ShopRules,
    now: datetime,
) -> JobFacts:
    """``row`` is the job's own; its names are those of the table."""
    job = row._mapping
    return JobFacts(
        id=job["id"],
        number=job["number"],
        kind=job["kind"],
        road=Road(job["road"]),
        gas_state=GasState(job["gas_state"]),
        now=now,
        road_reason=_road_reason(db, job["id"]) if job["road"] != Road.REPAIR.value else "",
        quote=_quote(db, job["id"]),
        extra_cents=extra_cents(db, job["id"], shop),
        kit=_kit(db, job["id"], procedure, now),
        conceded=frozenset(db.execute(_CONCEDED, {"job_id": job["id"]}).scalars()),
        left_with=_left_with(db, job["unit_id"], job["opened_at"]),
        claim=claims.of(db, job["id"], shop) if job["kind"] == "warranty" else None,
        assigned=job["assigned"],
        closed=job["closed_at"] is not None,
        version=job["version"],
    )


def _road_reason(db: Connection, job_id: int) -> str:
    told = db.execute(_ROAD, {"job_id": job_id}).scalar()
    return str(told["reason"]) if told else ""


def _left_with(db: Connection, unit_id: int, opened_at: datetime) -> LeftWith | None:
    found = charges.left_with(db, unit_id, opened_at)
    return None if found is None else LeftWith(*found)


def with_shelf(db: Connection, known: JobFacts, procedure: Procedure) -> JobFacts:
    """The same facts with what the shelf could give now."""
    return replace(known, kit=_kit(db, known.id, procedure, known.now))


def with_quote(db: Connection, known: JobFacts) -> JobFacts:
    """The same facts with the newest quote and its answer."""
    return replace(known, quote=_quote(db, known.id))


def with_stock(db: Connection, known: JobFacts, procedure: Procedure, shop: ShopRules) -> JobFacts:
    """The same facts after pieces went to the job or came back from it."""
    extra = extra_cents(db, known.id, shop)
    return replace(with_shelf(db, known, procedure), extra_cents=extra)


_QUOTE = (
    select(
        Quote.id,
        Quote.total_cents,
        Quote.at,
        Approval.answer,
        Approval.cap_cents,
        Approval.who,
        Approval.how,
    )
    .outerjoin(Approval, Approval.quote_id == Quote.id)
    .where(Quote.job_id == bindparam("job_id"))
    .order_by(Quote.id.desc())
    .limit(1)
)


def _quote(db: Connection, job_id: int) -> QuoteState | None:
    row = db.execute(_QUOTE, {"job_id": job_id}).one_or_none()
    if row is None:
        return None
    return QuoteState(
        row.id,
        row.total_cents,
        row.at,
        row.answer or "",
        row.cap_cents or 0,
        row.who or "",
        row.how or "",
    )


_MOVED = (
    select(
        StockMove.kit_line,
        func.sum(StockMove.reserved_change).label("reserved"),
        func.sum(StockMove.on_hand_change).label("moved"),
    )
    .where(StockMove.job_id == bindparam("job_id"))
    .group_by(StockMove.kit_line)
)


_OWN = (
    select(Part.number, func.sum(Lot.on_hand))
    .join(Lot, Lot.part_id == Part.id)
    .where(
        Lot.job_id == bindparam("job_id"),
        Lot.origin == "customer",
        Lot.on_hand > 0,
        Lot.quarantined.is_(False),
    )
    .group_by(Part.number)
)


@lru_cache(maxsize=64)
def _parts(count: int) -> Select[*tuple[Any, ...]]:
    """So many parts by number: each its own parameter, so that the statement stays compiled."""
    return select(Part.number, Part.description, usable.FREE.label("available")).where(
        Part.number.in_([bindparam(f"n{n}") for n in range(count)])
    )


def _kit(db: Connection, job_id: int, procedure: Procedure, now: datetime) -> tuple[KitState, ...]:
    """The procedure's kit lines, with what is reserved for and issued to this job."""
    numbers = {f"n{n}": part for n, part in enumerate(sorted({kit.part for kit in procedure.kit}))}
    asked = ((kit.part, bool(kit.matched)) for kit in procedure.kit)
    free = usable.on(now.astimezone().date(), asked)
    parts = {row.number: row for row in db.execute(_parts(len(numbers)), {**numbers, **free})}
    moves = {row.kit_line: row for row in db.execute(_MOVED, {"job_id": job_id})}
    # only pieces brought or harvested move for a job and no kit line
    own = dict(db.execute(_OWN, {"job_id": job_id}).all()) if "" in moves else {}
    return tuple(
        _kit_state(kit, parts.get(kit.part), moves.get(kit.id), own.get(kit.part, 0))
        for kit in procedure.kit
    )


def _kit_state(
    kit: KitLine,
    part: Row[*tuple[Any, ...]] | None,
    moved: Row[*tuple[Any, ...]] | None,
    own: int,
) -> KitState:
    return KitState(
        id=kit.id,
        part=kit.part,
        description=part.description if part else "not in stores",
        quantity=kit.quantity,
        issued=-int(moved.moved) if moved else 0,
        reserved=int(moved.reserved) if moved else 0,
        available=int(part.available) if part else 0,
        own=int(own),
    )


_QUOTED = (
    select(QuoteLine.part_id, func.sum(QuoteLine.quantity).label("pieces"))
    .where(
        QuoteLine.part_id.is_not(None),
        QuoteLine.quote_id
        == select(func.max(Quote.id)).where(Quote.job_id == bindparam("job_id")).scalar_subquery(),
    )
    .group_by(QuoteLine.part_id)
)
_ISSUED = (
    select(
        ASKED_ID.label("part_id"),
        func.sum(-StockMove.on_hand_change).label("pieces"),
        func.max(Lot.unit_cost_cents).label("cents"),
    )
    .join(Lot, Lot.id == StockMove.lot_id)
    .outerjoin(Interchange, Interchange.id == StockMove.interchange_id)
    .where(
        StockMove.job_id == bindparam("job_id"),
        StockMove.kind.in_(ledger.DRAWN),
        Lot.origin != "customer",
    )
    .group_by(ASKED_ID)
)


def extra_cents(db: Connection, job_id: int, shop: ShopRules) -> int:
    """Cost, with the shop's margin, of pieces issued to the job beyond what its quote counts; what
    stands in for a part counts as that part.
    What work done over has spent is the shop's to pay: it counts towards no customer's cap."""
    job = {"job_id": job_id}
    quoted = {row.part_id: int(row.pieces) for row in db.execute(_QUOTED, job)}
    issued = db.execute(_ISSUED, job).all()
    more = {row.part_id: int(row.pieces) - quoted.get(row.part_id, 0) for row in issued}
    if not any(pieces > 0 for pieces in more.values()):
        return 0
    again = rework.pieces_again(db, job_id)
    extra = sum(
        max(0, more[row.part_id] - max(0, again.get(row.part_id, 0))) * int(row.cents)
        for row in issued
    )
    return round(extra * (1 + shop.margin_percent / 100))
