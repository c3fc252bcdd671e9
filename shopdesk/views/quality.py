"""What came back, what passed at first and what did not: figures of the newest closed jobs."""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import Connection, Row, Subquery, func, select
from sqlalchemy.orm import aliased

from shopdesk.calc.stats import proportion_bounds
from shopdesk.procedure import Line
from shopdesk.records.tables import (
    Customer,
    Entry,
    Job,
    Lot,
    Part,
    Person,
    Reopening,
    Shipment,
    StockMove,
    Unit,
    UnitModel,
)
from shopdesk.rules.slots import slots
from shopdesk.views import documents, moves

NEWEST = 1000
TESTS = ("proof", "charge", "hold")
CARRIES = 0.35  # a share whose bounds lie further apart says nothing worth a row
LEAST_VISITS = 3
MONTH_DAYS = 30.44


@dataclass(frozen=True, slots=True)
class Rate:
    """``count`` of ``of``, with exact 95 % bounds."""

    of_what: str
    count: int
    of: int
    low: float
    high: float

    @property
    def share(self) -> float:
        return self.count / self.of


def rate(of_what: str, count: int, of: int) -> Rate:
    return Rate(of_what, count, of, *proportion_bounds(count, of))


@dataclass(frozen=True, slots=True)
class Left:
    """A repaired unit that left: until when it has been watched, and whether it came back under
    warranty then."""

    job_id: int
    number: int
    model: str
    customer: str
    technician: str
    unit_id: int
    at: datetime
    until: datetime
    returned: bool
    return_number: int | None

    @property
    def days(self) -> float:
        return max(0.5, (self.until - self.at).total_seconds() / 86400.0)


@dataclass(frozen=True, slots=True)
class Yield:
    """How many jobs passed a test line at the first reading."""

    model: str
    line: str
    rate: Rate


def left(db: Connection, now: datetime, newest: int = NEWEST) -> tuple[Left, ...]:
    """The repairs among the newest that left, the newest first. One that came back for other work
    is watched until then, and none longer than its warranty: later it is no return."""
    warranty = timedelta(days=documents.rules(db).warranty_months * MONTH_DAYS)
    technician, gone = aliased(Person), _newest_gone(newest)
    shipped = db.execute(
        select(
            Job.id,
            Job.number,
            Job.unit_id,
            UnitModel.code.label("model"),
            Customer.name.label("customer"),
            func.coalesce(technician.initials, "").label("technician"),
            gone.c.at,
        )
        .join(gone, gone.c.job_id == Job.id)
        .join(Unit, Unit.id == Job.unit_id)
        .join(UnitModel, UnitModel.id == Unit.unit_model_id)
        .join(Customer, Customer.id == gone.c.customer_id)
        .outerjoin(technician, technician.id == Job.assigned_to)
        .where(Job.road == "repair", Job.closed_at.is_not(None))
        .order_by(gone.c.id.desc())
    ).all()
    visits: dict[int, list[tuple[datetime, str, int]]] = {}
    ids = list({row.unit_id for row in shipped})
    for n in range(0, len(ids), 500):
        read = db.execute(
            select(Job.unit_id, Job.opened_at, Job.kind, Job.number)
            .where(Job.unit_id.in_(ids[n : n + 500]))
            .order_by(Job.opened_at)
        )
        for unit_id, opened, kind, number in read:
            visits.setdefault(unit_id, []).append((opened, kind, number))
    return tuple(_left(row, visits[row.unit_id], now, warranty) for row in shipped)


def _newest_gone(newest: int) -> Subquery:
    """Chosen before anything is joined, so that no plan walks all the jobs there ever were."""
    columns = (Shipment.id, Shipment.job_id, Shipment.customer_id, Shipment.at)
    return select(*columns).order_by(Shipment.id.desc()).limit(newest).subquery()


def _left(
    row: Row[*tuple[Any, ...]],
    visits: Sequence[tuple[datetime, str, int]],
    now: datetime,
    warranty: timedelta,
) -> Left:
    after = next((visit for visit in visits if visit[0] > row.at), None)
    back = after is not None and after[1] == "warranty"
    until = now if after is None else after[0]
    if not back:
        until = min(until, row.at + warranty)
    return Left(
        row.id,
        row.number,
        row.model,
        row.customer,
        row.technician,
        row.unit_id,
        row.at,
        until,
        back,
        after[2] if back and after else None,
    )


def return_rates(units: Iterable[tuple[str, bool]]) -> tuple[tuple[Rate, ...], int]:
    """Rates where the numbers carry them, the highest lower bound first, and how many were left
    out because they do not."""
    of: Counter[str] = Counter()
    back: Counter[str] = Counter()
    for name, returned in units:
        of[name] += 1
        back[name] += returned
    every = [rate(name, back[name], count) for name, count in of.items() if name]
    carried = [each for each in every if each.high - each.low <= CARRIES]
    carried.sort(key=lambda each: (-each.low, -each.share, each.of_what))
    return tuple(carried), len(every) - len(carried)


def by_lot(db: Connection, units: Sequence[Left]) -> list[tuple[str, bool]]:
    """Each lot built into a unit that left, with whether the unit came back."""
    returned = {each.job_id: each.returned for each in units}
    found: list[tuple[str, bool]] = []
    ids = list(returned)
    for n in range(0, len(ids), 500):
        read = db.execute(
            select(StockMove.job_id, Part.number, Lot.number)
            .join(Lot, Lot.id == StockMove.lot_id)
            .join(Part, Part.id == Lot.part_id)
            .where(StockMove.job_id.in_(ids[n : n + 500]), StockMove.kind.in_(("issue", "fit")))
            .distinct()
        )
        found += [(f"{part} {lot}", returned[job]) for job, part, lot in read if job is not None]
    return found


@dataclass(frozen=True, slots=True)
class Entries:
    """What the newest closed jobs' sheets say: first readings of tests, causes, findings."""

    yields: tuple[Yield, ...]
    rework: tuple[tuple[str, int], ...]
    findings: tuple[tuple[str, int], ...]
    complaints: tuple[tuple[str, int], ...]
    jobs: int


def entries(db: Connection, newest: int = NEWEST) -> Entries:
    jobs = db.execute(
        select(Job.id, Job.kind, Job.complaint, UnitModel.code, Job.procedure_revision_id)
        .join(Unit, Unit.id == Job.unit_id)
        .join(UnitModel, UnitModel.id == Unit.unit_model_id)
        .where(Job.closed_at.is_not(None))
        .order_by(Job.closed_at.desc())
        .limit(newest)
    ).all()
    texts = {
        revision: {line.key: line.text for line in documents.revision(db, revision).lines}
        for revision in {job.procedure_revision_id for job in jobs}
    }
    dropped = moves.dropped_texts(db, [job.id for job in jobs])
    of = {
        job.id: (job.code, dropped.get(job.id, {}) | texts[job.procedure_revision_id])
        for job in jobs
    }
    first: dict[tuple[int, str], bool] = {}
    findings: Counter[str] = Counter()
    rework: Counter[str] = Counter()
    ids = list(of)
    for n in range(0, len(ids), 500):
        some = ids[n : n + 500]
        read = db.execute(
            select(Entry.job_id, Entry.line, Entry.slot, Entry.answer, Entry.verdict)
            .where(Entry.job_id.in_(some), Entry.verdict != "none")
            .order_by(Entry.job_id, Entry.id)
        )
        seen: set[tuple[int, str]] = set()
        for job_id, line, slot, answer, verdict in read:
            section = line.partition(".")[0]
            if section in TESTS:
                key = (job_id, line)
                first[key] = first.get(key, True) and (verdict == "within" or key in seen)
                seen |= {key} if slot in ("value", "answer", "left", "p1") else set()
            elif section == "teardown" and verdict == "outside":
                name = of[job_id][1].get(line, line)
                said = f"{name}: {answer}" if slot == "condition" else f"{name}: outside its limit"
                if (job_id, said) not in seen:
                    seen.add((job_id, said))
                    findings[said] += 1
        reopened = db.execute(
            select(Reopening.reason).where(Reopening.job_id.in_(some), Reopening.cause == "rework")
        )
        rework.update(row.reason.removesuffix(": rework") for row in reopened)
    complaints = Counter(job.complaint for job in jobs if job.kind == "warranty")
    return Entries(
        _yields(first, of),
        tuple(rework.most_common()),
        tuple(findings.most_common(20)),
        tuple(complaints.most_common(10)),
        len(jobs),
    )


def _yields(
    first: dict[tuple[int, str], bool], of: dict[int, tuple[str, dict[str, str]]]
) -> tuple[Yield, ...]:
    passed: Counter[tuple[str, str]] = Counter()
    tested: Counter[tuple[str, str]] = Counter()
    for (job_id, line), good in first.items():
        model, texts = of[job_id]
        key = (model, texts.get(line, line))
        tested[key] += 1
        passed[key] += good
    found = [Yield(*key, rate(key[1], passed[key], count)) for key, count in tested.items()]
    return tuple(sorted(found, key=lambda y: (y.rate.share, -y.rate.of, y.model, y.line)))


@dataclass(frozen=True, slots=True)
class Drift:
    """One reading of one serial over its visits, in SI; ``per_year`` by least squares."""

    serial: str
    model: str
    line: str
    unit: str
    readings: tuple[tuple[datetime, float], ...]
    per_year: float
    change: float


def drifts(db: Connection, newest: int = 400) -> tuple[Drift, ...]:
    """Teardown readings of the units among the newest jobs that came at least three times, those
    that moved most for their size first."""
    lately = select(Job.unit_id).order_by(Job.number.desc()).limit(newest).subquery()
    often = db.execute(
        select(Job.unit_id)
        .where(Job.unit_id.in_(select(lately.c.unit_id)))
        .group_by(Job.unit_id)
        .having(func.count() >= LEAST_VISITS)
    ).scalars()
    return drifts_of(db, often.all())


def drifts_of(db: Connection, unit_ids: Sequence[int]) -> tuple[Drift, ...]:
    rows = db.execute(
        select(
            Unit.serial,
            UnitModel.code,
            Job.procedure_revision_id,
            Entry.line,
            Entry.unit,
            Entry.slot,
            Entry.value_si,
            Entry.at,
            Job.id.label("job_id"),
        )
        .join(Job, Job.id == Entry.job_id)
        .join(Unit, Unit.id == Job.unit_id)
        .join(UnitModel, UnitModel.id == Unit.unit_model_id)
        .where(
            Job.unit_id.in_(unit_ids),
            Entry.line.like("teardown.%"),
            Entry.value_si.is_not(None),
        )
        .order_by(Entry.id)
    ).all()
    found: dict[tuple[str, str, str, str], dict[int, tuple[datetime, float]]] = {}
    for row in rows:
        doc = documents.revision(db, row.procedure_revision_id)
        name = _measured(moves.line_of(db, row.job_id, doc, row.line), row.line, row.slot)
        key = (row.serial, row.code, name, row.unit)
        found.setdefault(key, {}).setdefault(row.job_id, (row.at, row.value_si))
    made = [_drift(*key, tuple(visits.values())) for key, visits in found.items()]
    kept = [drift for drift in made if drift is not None]
    return tuple(sorted(kept, key=lambda d: (-abs(d.change), d.serial, d.line)))


def _measured(line: Line | None, key: str, slot: str) -> str:
    """What a reading is of, in the procedure's words: "Bore, at 20 mm, 0 deg"."""
    if line is None:
        return key
    asked = next((one.prompt for one in slots(line, {}) if one.name == slot), slot)
    return line.text if slot == "value" else f"{line.text}, {asked}"


def _drift(
    serial: str, model: str, line: str, unit: str, readings: tuple[tuple[datetime, float], ...]
) -> Drift | None:
    if len(readings) < LEAST_VISITS:
        return None
    years = [at.timestamp() / (365.25 * 86400.0) for at, _ in readings]
    values = [value for _, value in readings]
    mean_t, mean_v = sum(years) / len(years), sum(values) / len(values)
    spread = sum((t - mean_t) ** 2 for t in years)
    if spread <= 0.0 or mean_v == 0.0:
        return None
    slope = sum((t - mean_t) * (v - mean_v) for t, v in zip(years, values, strict=True)) / spread
    return Drift(
        serial, model, line, unit, readings, slope, slope * (years[-1] - years[0]) / mean_v
    )
