"""What came back, what passed at first and what did not: figures of the newest closed jobs."""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import Connection, Row, Subquery, func, select
from sqlalchemy.orm import aliased

from shopdesk.calc.stats import proportion_bounds
from shopdesk.procedure import Line, Regulator, Torque
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
from shopdesk.rules import ledger
from shopdesk.views import documents, moves

NEWEST = 1000
TESTS = ("proof", "charge", "hold")
CARRIES = 0.35  # a share whose bounds lie further apart says nothing worth a row
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
    """Each lot built into a unit that left (what was given back is not), with whether the unit came
    back."""
    returned = {each.job_id: each.returned for each in units}
    found: list[tuple[str, bool]] = []
    ids = list(returned)
    for n in range(0, len(ids), 500):
        read = db.execute(
            select(StockMove.job_id, Part.number, Lot.number)
            .join(Lot, Lot.id == StockMove.lot_id)
            .join(Part, Part.id == Lot.part_id)
            .where(StockMove.job_id.in_(ids[n : n + 500]), StockMove.kind.in_(ledger.DRAWN))
            .group_by(StockMove.job_id, Part.number, Lot.number)
            .having(func.sum(StockMove.on_hand_change) < 0)
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


Of = dict[int, tuple[str, dict[str, Line]]]
"""By job: its model's code, and its sheet's lines by key."""


def entries(db: Connection, newest: int = NEWEST) -> Entries:
    """An entry that was corrected gives way to its correction: a slip of the keys is no failure."""
    jobs = db.execute(
        select(Job.id, Job.kind, Job.complaint, UnitModel.code, Job.procedure_revision_id)
        .join(Unit, Unit.id == Job.unit_id)
        .join(UnitModel, UnitModel.id == Unit.unit_model_id)
        .where(Job.closed_at.is_not(None))
        .order_by(Job.closed_at.desc())
        .limit(newest)
    ).all()
    lines = {
        revision: {line.key: line for line in documents.revision(db, revision).lines}
        for revision in {job.procedure_revision_id for job in jobs}
    }
    dropped = moves.dropped_lines(db, [job.id for job in jobs])
    of = {
        job.id: (job.code, dropped.get(job.id, {}) | lines[job.procedure_revision_id])
        for job in jobs
    }
    first: dict[tuple[int, str], dict[str, bool]] = {}
    findings: Counter[str] = Counter()
    rework: Counter[str] = Counter()
    correction = aliased(Entry)
    ids = list(of)
    for n in range(0, len(ids), 500):
        some = ids[n : n + 500]
        read = db.execute(
            select(Entry.job_id, Entry.line, Entry.slot, Entry.answer, Entry.verdict)
            .outerjoin(correction, correction.supersedes == Entry.id)
            .where(Entry.job_id.in_(some), Entry.verdict != "none", correction.id.is_(None))
            .order_by(Entry.job_id, Entry.id)
        )
        seen: set[tuple[int, str]] = set()
        for job_id, line, slot, answer, verdict in read:
            section = line.partition(".")[0]
            if section in TESTS and _is_test(of[job_id][1].get(line)):
                first.setdefault((job_id, line), {}).setdefault(slot, verdict == "within")
            elif section == "teardown" and verdict == "outside":
                name = _text(of[job_id][1], line)
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
        tuple(findings.most_common()),
        tuple(complaints.most_common()),
        len(jobs),
    )


def _is_test(line: Line | None) -> bool:
    """A wrench or a regulator is set to what it is to be; that proves nothing of the unit."""
    return not isinstance(line, Torque | Regulator)


def _text(lines: dict[str, Line], key: str) -> str:
    return lines[key].text if key in lines else key


def _yields(first: dict[tuple[int, str], dict[str, bool]], of: Of) -> tuple[Yield, ...]:
    """A line passed at first when the first answer to each thing it asks was within."""
    passed: Counter[tuple[str, str]] = Counter()
    tested: Counter[tuple[str, str]] = Counter()
    for (job_id, line), answers in first.items():
        model, lines = of[job_id]
        key = (model, _text(lines, line))
        tested[key] += 1
        passed[key] += all(answers.values())
    found = [Yield(*key, rate(key[1], passed[key], count)) for key, count in tested.items()]
    return tuple(sorted(found, key=lambda y: (y.rate.share, -y.rate.of, y.model, y.line)))
