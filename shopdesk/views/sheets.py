"""One job's sheet with its heading: what the bench stands before."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any

from sqlalchemy import Connection, Row, bindparam, func, select
from sqlalchemy.orm import aliased

from shopdesk.errors import NotFound
from shopdesk.records.tables import Customer, Job, Person, ProcedureMove, Unit, UnitModel, WorkOrder
from shopdesk.rules import sheet as sheets
from shopdesk.rules.answers import Answer
from shopdesk.rules.sheet import Sheet
from shopdesk.views import documents, facts, moves
from shopdesk.views.answers import answers
from shopdesk.views.moves import Move

__all__ = ["Heading", "SheetView", "answers", "load", "tag", "with_answer"]


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
    order: str
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


@dataclass(frozen=True, slots=True)
class Read:
    """A sheet with the revision it runs on, its job's moves and every answer."""

    view: SheetView
    revision_id: int
    moved: Sequence[Move]
    given: Sequence[Answer]


def tag(number: int) -> str:
    """The job's tag: J-1047."""
    return f"J-{number}"


_assigned = aliased(Person)
_JOB = (
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
        func.coalesce(WorkOrder.reference, "").label("order"),
        func.coalesce(_assigned.initials, "").label("assigned"),
        select(func.count(ProcedureMove.id))
        .where(ProcedureMove.job_id == Job.id)
        .correlate(Job)
        .scalar_subquery()
        .label("moves"),
    )
    .join(Unit, Unit.id == Job.unit_id)
    .join(UnitModel, UnitModel.id == Unit.unit_model_id)
    .join(Customer, Customer.id == Job.customer_id)
    .outerjoin(WorkOrder, WorkOrder.id == Job.work_order_id)
    .outerjoin(_assigned, _assigned.id == Job.assigned_to)
    .where(Job.number == bindparam("number"))
)
_VERSION = select(Job.version).where(Job.number == bindparam("number"))


def load(
    db: Connection, number: int, now: datetime, *, known: SheetView | None = None
) -> SheetView:
    """The sheet of the job with this number. ``known``, a sheet loaded earlier, is given back as
    of ``now`` when nobody has changed the job since; what the shelf could give is as it was then.
    Raises NotFound."""
    if known is not None and known.heading.number != number:
        known = None
    if known is not None and db.execute(_VERSION, {"number": number}).scalar() == _version(known):
        return _as_of(known, now)
    return read(db, number, now).view


def read(db: Connection, number: int, now: datetime) -> Read:
    """The sheet of the job with this number, and what it was laid out from. Raises NotFound."""
    row: Row[*tuple[Any, ...]] | None = db.execute(_JOB, {"number": number}).one_or_none()
    if row is None:
        raise NotFound(f"no job {tag(number)} in this shop; look for it at the counter")
    procedure = documents.revision(db, row.procedure_revision_id)
    shop, roads = documents.in_force(db)
    moved = moves.of_job(db, row.id) if row.moves else ()
    given = answers(db, row.id, moved)
    laid = sheets.lay_out(
        procedure,
        roads,
        shop,
        facts.facts(db, row, procedure, shop, now),
        given,
        moves.kept_by(db, moved, procedure, given),
    )
    view = SheetView(_heading(row, procedure.revision), laid)
    return Read(view, row.procedure_revision_id, moved, given)


def _version(view: SheetView) -> int:
    return view.sheet.facts.version


def _as_of(view: SheetView, now: datetime) -> SheetView:
    sheet = view.sheet
    return SheetView(view.heading, sheet.with_facts(replace(sheet.facts, now=now)))


def with_answer(db: Connection, view: SheetView, answer: Answer, *, stock_moved: bool) -> SheetView:
    """The sheet with an answer just recorded, where that changed nothing of the job but the
    stock; the same as loading it anew."""
    sheet = view.sheet
    of_now = sheet.facts
    if stock_moved:
        of_now = facts.with_stock(db, of_now, sheet.procedure, sheet.shop)
    after = sheets.answered(sheet, of_now, answer)
    if after.stage == "parts" and not stock_moved:  # the shelf changes without the job
        after = after.with_facts(facts.with_shelf(db, of_now, sheet.procedure))
    return SheetView(view.heading, after)


def assigned_to(view: SheetView, initials: str) -> SheetView:
    """The sheet once it lies on that technician's bench."""
    of_now = replace(view.sheet.facts, assigned=initials)
    return SheetView(replace(view.heading, assigned=initials), view.sheet.with_facts(of_now))


def quoted(db: Connection, view: SheetView) -> SheetView:
    """The sheet after its quote was made or answered, and stock was reserved for it."""
    sheet = view.sheet
    of_now = facts.with_stock(db, sheet.facts, sheet.procedure, sheet.shop)
    of_now = facts.with_quote(db, of_now)
    return SheetView(view.heading, sheets.regarded(sheet, of_now))


_HEADING = tuple(name for name in Heading.__slots__ if name not in ("job_id", "revision"))


def _heading(row: Row[*tuple[Any, ...]], revision: str) -> Heading:
    values = row._mapping
    kept = {name: values[name] for name in _HEADING}
    return Heading(job_id=values["id"], revision=revision, **kept)
