"""From a lot, tool, procedure revision, person or period to units and whose they are."""

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from sqlalchemy import Connection, Select, func, or_, select
from sqlalchemy.orm import aliased

from shopdesk.errors import BadInput, NotFound
from shopdesk.records.tables import (
    Customer,
    Entry,
    Instrument,
    Job,
    Person,
    ProcedureMove,
    ProcedureRevision,
    Shipment,
    Unit,
    UnitModel,
)
from shopdesk.views import trace
from shopdesk.views.days import midnight

_to = aliased(ProcedureRevision)
KINDS = ("lot", "tool", "procedure", "person", "period")


@dataclass(frozen=True, slots=True)
class Recalled:
    """One job whose unit is concerned; ``left_on`` None: it never left by a shipment."""

    job: int
    serial: str
    model: str
    customer: str
    phone: str
    left_on: date | None
    why: str


def units(db: Connection, kind: str, value: str) -> tuple[Recalled, ...]:
    """Jobs concerned, those whose unit left first, the newest first. ``value``: a lot number, an
    instrument's code, "MODEL REV", initials, or "2026-01-01..2026-01-31" (days units left on).
    Raises BadInput, NotFound."""
    if kind not in _WHY:
        raise BadInput(f"read {kind[:20]!r}; a recall starts from a {', '.join(KINDS)}")
    why = _WHY[kind](db, value.strip())
    found = []
    for row in _jobs(db, tuple(why)):
        left = None if row.at is None else row.at.astimezone().date()
        found.append(
            Recalled(
                row.number, row.serial, row.model, row.customer, row.phone, left, why[row.number]
            )
        )
    return tuple(sorted(found, key=lambda unit: (unit.left_on is None, -unit.job)))


def _jobs(db: Connection, numbers: tuple[int, ...]) -> list[Any]:
    rows: list[Any] = []
    for first in range(0, len(numbers), 500):
        rows += db.execute(_JOBS.where(Job.number.in_(numbers[first : first + 500])))
    return rows


def _of_lot(db: Connection, value: str) -> dict[int, str]:
    uses = trace.of_lot(db, value.upper())
    if not uses and trace.of(db, value).kind != "lot":
        raise NotFound(f"read {value[:40]!r}: no lot of this shop")
    why: dict[int, str] = {}
    for use in uses:
        job, said = int(use.job.removeprefix("J-")), f"{use.pieces} x {use.part}"
        why[job] = f"{why[job]}, {said}" if job in why else said
    return why


def _of_tool(db: Connection, value: str) -> dict[int, str]:
    known = select(Instrument.id).where(Instrument.code == value.upper())
    tool = db.execute(known).scalar()
    if tool is None:
        raise NotFound(f"read {value[:40]!r}: no instrument of this shop")
    return _counted(db, _ENTRIES.where(Entry.instrument_id == tool))


def _of_person(db: Connection, value: str) -> dict[int, str]:
    person = db.execute(select(Person.id).where(Person.initials == value.upper())).scalar()
    if person is None:
        raise NotFound(f"read {value[:20]!r}: nobody of this shop has these initials")
    by_them = or_(Entry.person_id == person, Entry.witness_id == person)
    return _counted(db, _ENTRIES.where(by_them))


def _of_procedure(db: Connection, value: str) -> dict[int, str]:
    words = value.replace(" rev ", " ").split()
    if len(words) != 2:
        raise BadInput(f"read {value[:40]!r}; a procedure is named by model and revision: PA-016 D")
    model, revision = words[0].upper(), words[1].upper()
    found = db.execute(
        select(ProcedureRevision.id)
        .join(UnitModel, UnitModel.id == ProcedureRevision.unit_model_id)
        .where(UnitModel.code == model, func.upper(ProcedureRevision.revision) == revision)
    ).scalar()
    if found is None:
        raise NotFound(f"this shop never had a procedure {model[:30]} rev {revision[:10]}")
    rows = db.execute(select(Job.number).where(Job.procedure_revision_id == found)).scalars()
    why = dict.fromkeys(rows, f"done by rev {words[1]}")
    left = select(Job.number, _to.revision, ProcedureMove.at, Job.procedure_revision_id)
    for row in db.execute(
        left.join(ProcedureMove, ProcedureMove.job_id == Job.id)
        .join(_to, _to.id == ProcedureMove.to_revision_id)
        .where(ProcedureMove.from_revision_id == found)
        .order_by(ProcedureMove.id)
    ):
        day = row.at.astimezone().date().isoformat()
        why[row.number] = f"on rev {words[1]} until moved over to rev {row.revision} on {day}"
    return why


def _of_period(db: Connection, value: str) -> dict[int, str]:
    first, dots, last = value.partition("..")
    try:
        begins = date.fromisoformat(first.strip())
        ends = date.fromisoformat(last.strip()) if dots else begins
    except ValueError:
        raise BadInput(
            f"read {value[:40]!r}; a period is a day or two: 2026-01-01..2026-01-31"
        ) from None
    if ends < begins:
        raise BadInput(f"the period ends ({ends}) before it begins ({begins})")
    rows = db.execute(
        select(Job.number)
        .join(Shipment, Shipment.job_id == Job.id)
        .where(Shipment.at >= midnight(begins), Shipment.at < midnight(ends + timedelta(days=1)))
    ).scalars()
    return dict.fromkeys(rows, "left in the period")


def _counted(db: Connection, question: Select[*tuple[Any, ...]]) -> dict[int, str]:
    return {
        number: f"{count} {'entry' if count == 1 else 'entries'}"
        for number, count in db.execute(question)
    }


_WHY = {
    "lot": _of_lot,
    "tool": _of_tool,
    "procedure": _of_procedure,
    "person": _of_person,
    "period": _of_period,
}
_ENTRIES = (
    select(Job.number, func.count(Entry.id))
    .join(Entry, Entry.job_id == Job.id)
    .group_by(Job.number)
)
_JOBS = (
    select(
        Job.number,
        Unit.serial,
        UnitModel.code.label("model"),
        Customer.name.label("customer"),
        Customer.phone,
        Shipment.at,
    )
    .join(Unit, Unit.id == Job.unit_id)
    .join(UnitModel, UnitModel.id == Unit.unit_model_id)
    .join(Customer, Customer.id == Job.customer_id)
    .outerjoin(Shipment, Shipment.job_id == Job.id)
)
