"""The shop's instruments, the first due first; and what one that failed puts in doubt."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, select

from shopdesk.errors import NotFound
from shopdesk.procedure import Line, Procedure
from shopdesk.records.tables import (
    Bottle,
    Calibration,
    Customer,
    Entry,
    Instrument,
    Job,
    Shipment,
    Unit,
    UnitModel,
)
from shopdesk.rules import doubts as rules
from shopdesk.rules.doubts import Doubt
from shopdesk.views import claims, documents, moves
from shopdesk.views.answers import answers


@dataclass(frozen=True, slots=True)
class Kept:
    id: int
    code: str
    kind: str
    description: str
    unit: str
    low_si: float | None
    high_si: float | None
    resolution_si: float | None
    interval_days: int | None
    interval_cycles: int | None
    refused: str
    checked_at: datetime | None
    due: datetime | None
    certificate: str


@dataclass(frozen=True, slots=True)
class Suspect:
    """``failed_at`` None: the instrument never failed."""

    code: str
    description: str
    error_share: float | None
    failed_at: datetime | None
    good_at: datetime | None
    doubts: tuple[Doubt, ...] = ()


def kept(db: Connection, now: datetime) -> tuple[Kept, ...]:
    """Every instrument with its last good check: overdue and next due first, retired last."""
    checks = {
        row.instrument_id: row
        for row in db.execute(
            select(
                Calibration.instrument_id, Calibration.at, Calibration.due, Calibration.certificate
            )
            .where(Calibration.passed)
            .order_by(Calibration.at, Calibration.id)
        )
    }
    found = []
    for row in db.execute(select(*(getattr(Instrument, name) for name in _OF_INSTRUMENT))):
        check = checks.get(row.id)
        values = dict(row._mapping)
        values["refused"] = values["refused"] or ""
        found.append(
            Kept(
                **values,
                checked_at=check.at if check else None,
                due=check.due if check else None,
                certificate=check.certificate if check else "",
            )
        )
    far = now.replace(year=9999)
    return tuple(
        sorted(found, key=lambda k: (k.refused.startswith("retired"), k.due or far, k.code))
    )


_OF_INSTRUMENT = tuple(Kept.__slots__)[: Kept.__slots__.index("checked_at")]


def bottles(db: Connection) -> Sequence[tuple[str, str, bool]]:
    """Code, gas, and whether it is marked empty."""
    rows = db.execute(select(Bottle.code, Bottle.gas, Bottle.empty).order_by(Bottle.code))
    return [(row.code, row.gas, row.empty) for row in rows]


def suspect(db: Connection, code: str) -> Suspect:
    """What the last failed check of an instrument puts in doubt: every reading that counts taken
    with it since its last good check, worst first. Raises NotFound."""
    key = code.strip().upper()
    tool = db.execute(
        select(Instrument.id, Instrument.description).where(Instrument.code == key)
    ).one_or_none()
    if tool is None:
        raise NotFound(f"no instrument {key[:30]!r} on the shop's list")
    checks = db.execute(
        select(Calibration.at, Calibration.passed, Calibration.error_share)
        .where(Calibration.instrument_id == tool.id)
        .order_by(Calibration.at, Calibration.id)
    ).all()
    failed = max((n for n, check in enumerate(checks) if not check.passed), default=None)
    if failed is None:
        return Suspect(key, tool.description, None, None, checks[-1].at if checks else None)
    good = [check.at for check in checks[:failed] if check.passed]
    after = [check.at for check in checks[failed:] if check.passed]
    since, until = (good[-1] if good else None), (after[0] if after else None)
    error = checks[failed].error_share
    found = _doubts(db, tool.id, since, until, error)
    return Suspect(key, tool.description, error, checks[failed].at, since, rules.worst_first(found))


def _doubts(
    db: Connection,
    instrument_id: int,
    since: datetime | None,
    until: datetime | None,
    error: float | None,
) -> list[Doubt]:
    question = _TAKEN.where(Entry.instrument_id == instrument_id)
    if since is not None:
        question = question.where(Entry.at > since)
    if until is not None:
        question = question.where(Entry.at <= until)
    rows = db.execute(question.order_by(Entry.id)).all()
    counting = {
        answer.id
        for job_id in {row.job_id for row in rows}
        for answer in answers(db, job_id)
        if answer.counts
    }
    found = []
    for row in rows:
        if row.id not in counting:
            continue
        procedure = documents.revision(db, row.procedure_revision_id)
        line = _line(db, row.job_id, procedure, row.line)
        if not rules.last_pull(line, row.slot):
            continue
        true_si = rules.corrected(row.value_si, row.unit, error)
        left = row.left_at
        found.append(
            Doubt(
                entry_id=row.id,
                job=row.number,
                closed=row.closed_at is not None,
                unit_id=row.unit_id,
                serial=row.serial,
                model=row.model,
                customer=row.customer,
                phone=row.phone,
                taken_on=row.at.astimezone().date(),
                shipped_on=None if left is None else left.astimezone().date(),
                joint=line.text if line is not None else row.line,
                unit=row.unit,
                recorded_si=row.value_si,
                corrected_si=true_si,
                holds_pressure=rules.holds_pressure(line),
                direction=rules.direction(line, error),
                judged=rules.judged(line, true_si),
            )
        )
    return found


def _line(db: Connection, job_id: int, procedure: Procedure, key: str) -> Line | None:
    """What was read, wherever the sheet had it from."""
    found = moves.line_of(db, job_id, procedure, key) or claims.line_of(db, job_id, key)
    beside = (line for lines in documents.roads(db).values() for line in lines if line.key == key)
    return found or next(beside, None)


_TAKEN = (
    select(
        Entry.id,
        Entry.job_id,
        Entry.line,
        Entry.slot,
        Entry.value_si,
        Entry.unit,
        Entry.at,
        Job.number,
        Job.unit_id,
        Job.closed_at,
        Job.procedure_revision_id,
        Unit.serial,
        UnitModel.code.label("model"),
        Customer.name.label("customer"),
        Customer.phone,
        Shipment.at.label("left_at"),
    )
    .join(Job, Job.id == Entry.job_id)
    .join(Unit, Unit.id == Job.unit_id)
    .join(UnitModel, UnitModel.id == Unit.unit_model_id)
    .join(Customer, Customer.id == Job.customer_id)
    .outerjoin(Shipment, Shipment.job_id == Job.id)
    .where(Entry.value_si.is_not(None))
)
