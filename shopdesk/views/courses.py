"""Jobs as they went, for forecasts: where every open one stands, and the newest closed ones."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sqlalchemy import Connection, Row, Select, select

from shopdesk.procedure import SECTIONS, Procedure, Wait
from shopdesk.records.tables import (
    Customer,
    Entry,
    Job,
    Person,
    Unit,
    UnitModel,
)
from shopdesk.rules import calendar, history
from shopdesk.rules.calendar import Axis
from shopdesk.rules.forecast import Means, Work
from shopdesk.rules.history import PAUSE_H, Busy, Course, Hold, Past, Touch
from shopdesk.rules.shop import ShopRules
from shopdesk.rules.waiting import parts_waited_for
from shopdesk.views import arrivals, documents

NEWEST = 300
GENERATED = frozenset({"receipt", "decision", "parts", "release", "shipment"})
LEAVING = ("declined", "scrapped")


@dataclass(frozen=True, slots=True)
class OpenJob:
    job_id: int
    number: int
    kind: str
    serial: str
    model: str
    customer: str
    gas_state: str
    road: str
    stage: str
    waiting_for: str
    waiting_on: str
    waiting_since: datetime
    opened_at: datetime
    first_promised_on: date
    promised_on: date
    assigned_to: int | None


@dataclass(frozen=True, slots=True)
class Floor:
    """All that a forecast needs, as the record says it at ``now``."""

    now: datetime
    rules: ShopRules
    axis: Axis
    now_h: float
    jobs: Mapping[int, OpenJob]
    works: tuple[Work, ...]
    courses: tuple[Course, ...]
    past: Past
    means: Means
    names: Mapping[int, str]

    @property
    def today(self) -> date:
        return self.now.astimezone().date()


def floor(db: Connection, now: datetime, newest: int = NEWEST) -> Floor:
    """The shop as it stands: every open job, and the newest closed ones to learn from."""
    rules = documents.rules(db)
    rows = [*db.execute(_jobs().where(Job.closed_at.is_(None)).order_by(Job.number)).all()]
    closed = db.execute(
        _jobs().where(Job.closed_at.is_not(None)).order_by(Job.closed_at.desc()).limit(newest)
    ).all()
    rows += closed
    entries, started = _entries(db, rows)
    axis = calendar.axis(rules.calendar, now, [row.opened_at for row in rows])
    docs = {n: documents.revision(db, n) for n in {row.procedure_revision_id for row in rows}}
    courses = tuple(
        _course(
            row,
            docs[row.procedure_revision_id],
            entries.get(row.job_id, ()),
            started.get(row.job_id, {}),
            axis,
        )
        for row in rows
    )
    past = Past(courses, Busy(courses))
    waited = {
        part for row in rows if row.closed_at is None for part in parts_waited_for(row.waiting_for)
    }
    due = arrivals.due_days(db, waited, now.astimezone().date(), rules.calendar)
    works = tuple(
        _work(row, docs[row.procedure_revision_id], course, axis, axis.at(now), due)
        for row, course in zip(rows, courses, strict=True)
        if row.closed_at is None
    )
    people = db.execute(select(Person.id, Person.initials, Person.role, Person.active)).all()
    means = Means(
        tuple(p.id for p in people if p.active and p.role == "technician"),
        tuple(p.id for p in people if p.active and p.role == "counter"),
        rules.benches,
    )
    jobs = {row.number: _open(row) for row in rows if row.closed_at is None}
    names = {p.id: p.initials for p in people}
    return Floor(now, rules, axis, axis.at(now), jobs, works, courses, past, means, names)


def _jobs() -> Select[*tuple[Any, ...]]:
    return (
        select(
            Job.id.label("job_id"),
            Job.number,
            Job.kind,
            Job.road,
            Job.stage,
            Job.gas_state,
            Job.waiting_for,
            Job.waiting_on,
            Job.waiting_since,
            Job.opened_at,
            Job.closed_at,
            Job.first_promised_on,
            Job.promised_on,
            Job.assigned_to,
            Job.procedure_revision_id,
            Unit.serial,
            UnitModel.code.label("model"),
            Customer.name.label("customer"),
        )
        .join(Unit, Unit.id == Job.unit_id)
        .join(UnitModel, UnitModel.id == Unit.unit_model_id)
        .join(Customer, Customer.id == Job.customer_id)
    )


def _open(row: Row[*tuple[Any, ...]]) -> OpenJob:
    values = row._mapping
    return OpenJob(**{name: values[name] for name in OpenJob.__slots__})


Started = dict[str, datetime]


def _entries(
    db: Connection, rows: Sequence[Row[*tuple[Any, ...]]]
) -> tuple[dict[int, list[tuple[str, int, datetime]]], dict[int, Started]]:
    """Of each job every entry's section, person and moment; the holds begun, by line."""
    found: dict[int, list[tuple[str, int, datetime]]] = {}
    started: dict[int, Started] = {}
    ids = [row.job_id for row in rows]
    for n in range(0, len(ids), 500):
        read = db.execute(
            select(Entry.job_id, Entry.line, Entry.slot, Entry.person_id, Entry.at)
            .where(Entry.job_id.in_(ids[n : n + 500]))
            .order_by(Entry.job_id, Entry.id)
        ).all()  # row by row it takes a third longer
        for job_id, line, slot, person, at in read:
            found.setdefault(job_id, []).append((line.partition(".")[0], person, at))
            if slot == "started":
                started.setdefault(job_id, {})[line] = at
    return found, started


def _course(
    row: Row[*tuple[Any, ...]],
    doc: Procedure,
    entries: Sequence[tuple[str, int, datetime]],
    started: Started,
    axis: Axis,
) -> Course:
    touches = tuple([Touch(section, person, axis.at(at)) for section, person, at in entries])
    return Course(
        row.number,
        row.model,
        row.kind,
        (*SECTIONS, *LEAVING),
        axis.at(row.opened_at),
        None if row.closed_at is None else axis.at(row.closed_at),
        touches,
        _holds(doc, started, axis) if started else (),
    )


def _holds(doc: Procedure, started: Started, axis: Axis) -> tuple[Hold, ...]:
    """The long holds of a job as they fell, ended or not."""
    begun = [
        (line.section, axis.clock(started[line.key]), hours)
        for line, hours in _long_waits(doc)
        if line.key in started
    ]
    return tuple(
        Hold(section, axis.worked(at), axis.worked(at + hours)) for section, at, hours in begun
    )


def _long_waits(doc: Procedure) -> Iterator[tuple[Wait, float]]:
    """Timed holds with their clock hours; what is shorter passes under the hands."""
    for line in doc.lines:
        if isinstance(line, Wait) and (hours := line.duration.value_si / 3600.0) > PAUSE_H:
            yield line, hours


def sections_of(doc: Procedure) -> tuple[str, ...]:
    """The sections a job of this procedure goes through."""
    has = GENERATED | {line.section for line in doc.lines}
    return tuple(section for section in doc.order if section in has)


def holds_of(doc: Procedure) -> dict[str, float]:
    """Clock hours of timed holds by section."""
    holds: dict[str, float] = {}
    for line, hours in _long_waits(doc):
        holds[line.section] = holds.get(line.section, 0.0) + hours
    return holds


def _work(
    row: Row[*tuple[Any, ...]],
    doc: Procedure,
    course: Course,
    axis: Axis,
    now_h: float,
    due: Mapping[str, date],
) -> Work:
    stood = history.standing(course, now_h)
    sections, holds, earliest = left_of(doc, row.road, stood.section), holds_of(doc), {}
    since, touched, until = stood.since_h, stood.touched_h, stood.held_until_h
    if row.road in LEAVING and stood.section != row.road:
        since, touched, until = axis.at(row.waiting_since), 0.0, 0.0
    if until:
        holds.pop(stood.section, None)
    waited = [due[part] for part in parts_waited_for(row.waiting_for) if part in due]
    if waited:
        earliest["parts"] = axis.end_of(max(waited))
    return Work(
        row.number,
        row.model,
        row.kind,
        sections,
        since,
        touched,
        row.promised_on,
        row.assigned_to,
        earliest,
        holds,
        until,
    )


def left_of(doc: Procedure, road: str, section: str) -> tuple[str, ...]:
    """The sections before a job that stands in ``section``, that one first."""
    if road in LEAVING:
        return (road,)
    order = sections_of(doc)
    return order[order.index(section) :] if section in order else order
