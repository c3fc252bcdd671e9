"""Running jobs of a model beside the revision in force, and what moving one over would do."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Row, select

from shopdesk.errors import Refused
from shopdesk.records.tables import Customer, Job, ProcedureRevision, Unit
from shopdesk.rules import moving, revisions
from shopdesk.rules.moving import Plan
from shopdesk.views import documents, facts, moves, procedures, sheets
from shopdesk.views.answers import answers
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


def running(db: Connection, model: str) -> Running:
    """Raises NotFound for a model without procedures."""
    model_id, code = procedures.model_of(db, model)
    found = db.execute(documents.newest_of(model_id)).scalar()
    in_force = "" if found is None else documents.revision(db, found).revision
    rows = db.execute(
        select(
            Job.id,
            Job.number,
            Unit.serial,
            Customer.name.label("customer"),
            Job.stage,
            Job.gas_state,
            ProcedureRevision.revision,
        )
        .join(ProcedureRevision, ProcedureRevision.id == Job.procedure_revision_id)
        .join(Unit, Unit.id == Job.unit_id)
        .join(Customer, Customer.id == Job.customer_id)
        .where(ProcedureRevision.unit_model_id == model_id, Job.closed_at.is_(None))
        .order_by(Job.number)
    ).all()
    return Running(code, in_force, tuple(_runs_on(db, row) for row in rows))


def _runs_on(db: Connection, row: Row[*tuple[Any, ...]]) -> RunsOn:
    moved = moves.of_job(db, row.id)
    begun = moved[0].was if moved else row.revision
    return RunsOn(
        row.number, row.serial, row.customer, row.stage, row.gas_state, row.revision, begun
    )


def plan(db: Connection, number: int, now: datetime, to: str = "") -> MovePlan:
    """What moving the job over would do, to the revision in force or a newer approved one.
    Raises NotFound, Refused."""
    view = sheets.load(db, number, now)
    from_id = db.execute(select(Job.procedure_revision_id).where(Job.number == number)).scalar_one()
    to_id, doc = procedures.find(db, view.heading.model, to)
    _may_run_on(db, to_id, doc.revision, view)
    moved = moves.of_job(db, view.heading.job_id)
    given = answers(db, view.heading.job_id, moved)
    found = moving.plan(
        view.sheet,
        given,
        doc,
        documents.roads(db),
        facts.with_shelf(db, view.sheet.facts, doc),
        moves.kept_by(db, moved, view.sheet.procedure, given),
    )
    return MovePlan(view, view.heading.revision, doc.revision, from_id, to_id, found)


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
