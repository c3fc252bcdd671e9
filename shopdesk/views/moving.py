"""Running jobs of a model beside the revision in force, and what moving one over would do."""

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, func, select
from sqlalchemy.orm import aliased

from shopdesk.errors import Refused
from shopdesk.records.tables import Customer, Job, ProcedureMove, ProcedureRevision, Unit
from shopdesk.rules import moving, revisions
from shopdesk.rules.moving import Plan
from shopdesk.views import documents, facts, moves, procedures, sheets
from shopdesk.views.sheets import SheetView


@dataclass(frozen=True, slots=True)
class RunsOn:
    """An open job and the revision it runs on; ``begun_on`` is another where it was moved over."""

    job: int
    serial: str
    customer: str
    stage: str
    gas_state: str
    revision: str
    begun_on: str


@dataclass(frozen=True, slots=True)
class Running:
    """The open jobs of a model. ``in_force`` "" where nothing is approved yet."""

    model: str
    in_force: str
    jobs: tuple[RunsOn, ...]


@dataclass(frozen=True, slots=True)
class MovePlan:
    """A job, where it runs, where it would run, and what becomes of its lines."""

    view: SheetView
    was: str
    now: str
    from_id: int
    to_id: int
    plan: Plan


_begun, _moves = aliased(ProcedureRevision), aliased(ProcedureMove)
_first_move = (
    select(func.min(_moves.id)).where(_moves.job_id == Job.id).correlate(Job).scalar_subquery()
)


def running(db: Connection, model: str) -> Running:
    """Raises NotFound for a model without procedures."""
    model_id, code = procedures.model_of(db, model)
    found = db.execute(documents.newest_of(model_id)).scalar()
    in_force = "" if found is None else documents.revision(db, found).revision
    rows = db.execute(
        select(
            Job.number,
            Unit.serial,
            Customer.name.label("customer"),
            Job.stage,
            Job.gas_state,
            ProcedureRevision.revision,
            func.coalesce(_begun.revision, ProcedureRevision.revision),
        )
        .join(ProcedureRevision, ProcedureRevision.id == Job.procedure_revision_id)
        .join(Unit, Unit.id == Job.unit_id)
        .join(Customer, Customer.id == Job.customer_id)
        .outerjoin(ProcedureMove, ProcedureMove.id == _first_move)
        .outerjoin(_begun, _begun.id == ProcedureMove.from_revision_id)
        .where(ProcedureRevision.unit_model_id == model_id, Job.closed_at.is_(None))
        .order_by(Job.number)
    )
    return Running(code, in_force, tuple(RunsOn(*row) for row in rows))


def plan(db: Connection, number: int, now: datetime, to: str = "") -> MovePlan:
    """What moving the job over would do, to the revision in force or a newer approved one.
    Raises NotFound, Refused."""
    read = sheets.read(db, number, now)
    view = read.view
    to_id, doc = procedures.find(db, view.heading.model, to)
    _may_run_on(db, to_id, doc.revision, view)
    found = moving.plan(
        view.sheet,
        read.given,
        doc,
        documents.roads(db),
        facts.with_shelf(db, view.sheet.facts, doc),
        moves.kept_by(db, read.moved, view.sheet.procedure, read.given),
    )
    return MovePlan(view, view.heading.revision, doc.revision, read.revision_id, to_id, found)


def _may_run_on(db: Connection, to_id: int, revision: str, view: SheetView) -> None:
    heading = view.heading
    approved = db.execute(
        select(ProcedureRevision.id).where(ProcedureRevision.id == to_id, documents.APPROVED)
    ).scalar()
    if approved is None:
        raise Refused(
            f"{heading.model} rev {revision} is not approved: no job runs on it", (), "manager"
        )
    if revisions.order(revision) <= revisions.order(heading.revision):
        raise Refused(
            f"J-{heading.number} runs on rev {heading.revision}; rev {revision} is not newer"
        )
