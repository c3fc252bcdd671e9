"""One job's sheet with its heading: what the bench stands before."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sqlalchemy import Connection, Row, Select, func, select
from sqlalchemy.orm import aliased

from shopdesk.errors import NotFound
from shopdesk.procedure import KitLine, Procedure
from shopdesk.records.tables import (
    Approval,
    Concession,
    Customer,
    Entry,
    Instrument,
    Job,
    Lot,
    Part,
    Person,
    Quote,
    QuoteLine,
    Reopening,
    StockMove,
    Unit,
    UnitModel,
)
from shopdesk.rules import sheet as sheets
from shopdesk.rules.answers import (
    Answer,
    GasState,
    JobFacts,
    KitState,
    LeftWith,
    QuoteState,
    Road,
    Verdict,
)
from shopdesk.rules.sheet import Sheet
from shopdesk.rules.shop import ShopRules
from shopdesk.views import charges, documents


@dataclass(frozen=True, slots=True)
class Heading:
    job_id: int
    number: int
    kind: str
    unit_id: int
    serial: str
    model: str
    model_name: str
    customer: str
    customer_code: str
    complaint: str
    opened_at: datetime
    promised_on: date
    first_promised_on: date
    revision: str
    assigned: str
    stage: str
    waiting_for: str
    waiting_on: str
    waiting_since: datetime


@dataclass(frozen=True, slots=True)
class SheetView:
    heading: Heading
    sheet: Sheet


def tag(number: int) -> str:
    """The job's tag: J-1047."""
    return f"J-{number}"


def load(db: Connection, number: int, now: datetime) -> SheetView:
    """The sheet of the job with this number. Raises NotFound."""
    row = db.execute(_heading_query().where(Job.number == number)).one_or_none()
    if row is None:
        raise NotFound(f"no job {tag(number)} in this shop; look for it at the counter")
    job: Row[*tuple[Any, ...]] = row
    procedure = documents.revision(db, row.procedure_revision_id)
    shop = documents.rules(db)
    facts = _facts(db, row, procedure, shop, now)
    laid = sheets.lay_out(procedure, documents.roads(db), shop, facts, answers(db, row.id))
    return SheetView(_heading(job, procedure.revision), laid)


def _heading_query() -> Select[*tuple[Any, ...]]:
    assigned = aliased(Person)
    return (
        select(
            Job.id,
            Job.number,
            Job.kind,
            Job.unit_id,
            Job.complaint,
            Job.opened_at,
            Job.promised_on,
            Job.first_promised_on,
            Job.stage,
            Job.road,
            Job.gas_state,
            Job.waiting_for,
            Job.waiting_on,
            Job.waiting_since,
            Job.closed_at,
            Job.version,
            Job.procedure_revision_id,
            Unit.serial,
            UnitModel.code.label("model"),
            UnitModel.name.label("model_name"),
            Customer.name.label("customer"),
            Customer.code.label("customer_code"),
            func.coalesce(assigned.initials, "").label("assigned"),
        )
        .join(Unit, Unit.id == Job.unit_id)
        .join(UnitModel, UnitModel.id == Unit.unit_model_id)
        .join(Customer, Customer.id == Job.customer_id)
        .outerjoin(assigned, assigned.id == Job.assigned_to)
    )


_HEADING = tuple(name for name in Heading.__slots__ if name not in ("job_id", "revision"))


def _heading(row: Row[*tuple[Any, ...]], revision: str) -> Heading:
    values = row._mapping
    kept = {name: values[name] for name in _HEADING}
    return Heading(job_id=values["id"], revision=revision, **kept)


def _facts(
    db: Connection,
    row: Row[*tuple[Any, ...]],
    procedure: Procedure,
    shop: ShopRules,
    now: datetime,
) -> JobFacts:
    job = row._mapping
    return JobFacts(
        id=job["id"],
        number=job["number"],
        kind=job["kind"],
        road=Road(job["road"]),
        gas_state=GasState(job["gas_state"]),
        now=now,
        quote=_quote(db, job["id"]),
        extra_cents=extra_cents(db, job["id"], shop),
        kit=_kit(db, job["id"], procedure),
        conceded=frozenset(
            db.execute(select(Concession.entry_id).where(Concession.job_id == job["id"])).scalars()
        ),
        left_with=_left_with(db, job["unit_id"], job["opened_at"]),
        assigned=job["assigned"],
        closed=job["closed_at"] is not None,
        version=job["version"],
    )


def _left_with(db: Connection, unit_id: int, opened_at: datetime) -> LeftWith | None:
    found = charges.left_with(db, unit_id, opened_at)
    return None if found is None else LeftWith(*found)


def answers(db: Connection, job_id: int) -> tuple[Answer, ...]:
    """Every entry of the job in the order made, marked where it no longer counts."""
    witness = aliased(Person)
    rows = db.execute(
        select(
            Entry.id,
            Entry.line,
            Entry.slot,
            Entry.typed,
            Entry.answer,
            Entry.verdict,
            Entry.at,
            Entry.value_si,
            Entry.unit,
            Entry.limit_text,
            Entry.limit_source,
            Entry.supersedes,
            Entry.reason,
            Person.initials.label("person"),
            func.coalesce(witness.initials, "").label("witness"),
            func.coalesce(Instrument.code, "").label("instrument"),
        )
        .join(Person, Person.id == Entry.person_id)
        .outerjoin(witness, witness.id == Entry.witness_id)
        .outerjoin(Instrument, Instrument.id == Entry.instrument_id)
        .where(Entry.job_id == job_id)
        .order_by(Entry.id)
    ).all()
    aside = _set_aside(db, job_id)
    superseded = {row.supersedes for row in rows if row.supersedes is not None}
    return tuple(
        Answer(
            id=row.id,
            line=row.line,
            slot=row.slot,
            typed=row.typed,
            answer=row.answer,
            verdict=Verdict(row.verdict),
            person=row.person,
            at=row.at,
            value_si=row.value_si,
            unit=row.unit,
            limit_text=row.limit_text,
            limit_source=row.limit_source,
            instrument=row.instrument,
            witness=row.witness,
            supersedes=row.supersedes,
            reason=row.reason,
            superseded=row.id in superseded,
            set_aside=_aside_for(aside, row.line, row.id),
        )
        for row in rows
    )


def _set_aside(db: Connection, job_id: int) -> Sequence[tuple[str, frozenset[str], int]]:
    rows = db.execute(
        select(Reopening.cause, Reopening.lines, Reopening.up_to_entry)
        .where(Reopening.job_id == job_id)
        .order_by(Reopening.id)
    )
    return [(row.cause, frozenset(row.lines), row.up_to_entry) for row in rows]


def _aside_for(aside: Sequence[tuple[str, frozenset[str], int]], line: str, entry_id: int) -> str:
    return next((cause for cause, lines, up_to in aside if line in lines and entry_id <= up_to), "")


def _quote(db: Connection, job_id: int) -> QuoteState | None:
    row = db.execute(
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
        .where(Quote.job_id == job_id)
        .order_by(Quote.id.desc())
        .limit(1)
    ).one_or_none()
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


def _kit(db: Connection, job_id: int, procedure: Procedure) -> tuple[KitState, ...]:
    """The procedure's kit lines, with what is reserved for and issued to this job."""
    parts = {
        row.number: row
        for row in db.execute(
            select(
                Part.number,
                Part.description,
                (Part.on_hand - Part.reserved).label("available"),
            ).where(Part.number.in_({kit.part for kit in procedure.kit}))
        )
    }
    moves = {
        row.kit_line: row
        for row in db.execute(
            select(
                StockMove.kit_line,
                func.sum(StockMove.reserved_change).label("reserved"),
                func.sum(StockMove.on_hand_change).label("moved"),
            )
            .where(StockMove.job_id == job_id)
            .group_by(StockMove.kit_line)
        )
    }
    return tuple(_kit_state(kit, parts.get(kit.part), moves.get(kit.id)) for kit in procedure.kit)


def _kit_state(
    kit: KitLine, part: Row[*tuple[Any, ...]] | None, moved: Row[*tuple[Any, ...]] | None
) -> KitState:
    return KitState(
        id=kit.id,
        part=kit.part,
        description=part.description if part else "not in stores",
        quantity=kit.quantity,
        issued=-int(moved.moved) if moved else 0,
        reserved=int(moved.reserved) if moved else 0,
        available=int(part.available) if part else 0,
    )


def extra_cents(db: Connection, job_id: int, shop: ShopRules) -> int:
    """Cost, with the shop's margin, of pieces issued to the job beyond what its quote counts."""
    quoted = {
        row.part_id: int(row.pieces)
        for row in db.execute(
            select(QuoteLine.part_id, func.sum(QuoteLine.quantity).label("pieces"))
            .where(
                QuoteLine.part_id.is_not(None),
                QuoteLine.quote_id
                == select(func.max(Quote.id)).where(Quote.job_id == job_id).scalar_subquery(),
            )
            .group_by(QuoteLine.part_id)
        )
    }
    if not quoted:
        return 0
    issued = db.execute(
        select(
            StockMove.part_id,
            func.sum(-StockMove.on_hand_change).label("pieces"),
            func.max(Lot.unit_cost_cents).label("cents"),
        )
        .join(Lot, Lot.id == StockMove.lot_id)
        .where(StockMove.job_id == job_id, StockMove.kind.in_(("issue", "return")))
        .group_by(StockMove.part_id)
    )
    extra = sum(
        max(0, int(row.pieces) - quoted.get(row.part_id, 0)) * int(row.cents) for row in issued
    )
    return round(extra * (1 + shop.margin_percent / 100))
