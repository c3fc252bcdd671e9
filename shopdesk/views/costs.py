"""What jobs cost, and what the shop's money lies in: stock, work in progress, cores."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import (
    BigInteger,
    ColumnElement,
    Connection,
    and_,
    cast,
    func,
    or_,
    select,
    true,
    tuple_,
)
from sqlalchemy.orm import InstrumentedAttribute, aliased

from shopdesk.errors import NotFound
from shopdesk.records.tables import (
    Approval,
    CoreDeposit,
    CoreGrade,
    Customer,
    Entry,
    Job,
    JobCost,
    Lot,
    Part,
    PurchaseLine,
    Quote,
    QuoteLine,
    StockMove,
    Unit,
    UnitModel,
)
from shopdesk.rules import costing, ledger
from shopdesk.rules.costing import CostLine, Quoted, Stamp, Told, Used
from shopdesk.views import documents
from shopdesk.views.arrivals import DUE
from shopdesk.views.asked import ASKED, with_asked
from shopdesk.views.rework import Rework, answered_again, drawn_again
from shopdesk.views.rework import opened as opened_again


@dataclass(frozen=True, slots=True)
class JobMoney:
    """A job's cost line by line against its last quote. ``quoted_cents``: what the customer was
    asked, margin in it; ``answer`` "" while unanswered or not quoted."""

    job: str
    kind: str
    model: str
    customer: str
    quoted_cents: int
    margin_cents: int
    answer: str
    cost_cents: int
    currency: str
    lines: Sequence[CostLine]
    causes: Sequence[tuple[str, int]]

    @property
    def left_cents(self) -> int:
        """What the quote leaves over the cost; negative where the job cost more."""
        return self.quoted_cents - self.cost_cents


@dataclass(frozen=True, slots=True)
class InWork:
    """An open job's cost so far."""

    job: str
    model: str
    customer: str
    stage: str
    parts_cents: int
    labour_cents: int
    other_cents: int
    cost_cents: int
    quoted_cents: int


@dataclass(frozen=True, slots=True)
class Position:
    """One thing the shop's money lies in; what it owes is negative."""

    what: str
    count: int
    cents: int
    note: str


_before = aliased(Entry)
_SINCE = (
    select(_before.at)
    .where(
        _before.person_id == Entry.person_id,
        tuple_(_before.at, _before.id) < tuple_(Entry.at, Entry.id),
    )
    .order_by(_before.at.desc(), _before.id.desc())
    .limit(1)
    .correlate(Entry)
    .scalar_subquery()
)
_ANSWERED = select(Entry.id, Entry.job_id, Entry.line, Entry.at, _SINCE.label("since"))
"""Each answer, and when the same person gave the last one before it, on whatever job."""
VALUE = func.coalesce(func.sum(Lot.on_hand * cast(Lot.unit_cost_cents, BigInteger)), 0)
"""Cents that lie in lots, each at what it cost."""
_LOTS = "lots, each at what it cost"


def job(db: Connection, number: int) -> JobMoney:
    """The job's money. Raises NotFound."""
    row = db.execute(
        select(Job.id, Job.kind, UnitModel.code, Customer.name)
        .join(Unit, Unit.id == Job.unit_id)
        .join(UnitModel, UnitModel.id == Unit.unit_model_id)
        .join(Customer, Customer.id == Job.customer_id)
        .where(Job.number == number)
    ).one_or_none()
    if row is None:
        raise NotFound(f"no job J-{number}")
    rules = documents.rules(db)
    quoted, total, answer = _quote(db, row.id)
    rework = opened_again(db, (row.id,))
    used = _used(db, (row.id,), rework)[row.id]
    own = _minutes(db, (row.id,), rework, rules.labour.longest_gap_min)[row.id]
    told = _told(db, (row.id,))[row.id]
    lines = costing.against_quote(quoted, used, told, own, rules.labour)
    return JobMoney(
        job=f"J-{number}",
        kind=row.kind,
        model=row.code,
        customer=row.name,
        quoted_cents=total,
        margin_cents=sum(q.cents for q in quoted if q.kind == costing.MARGIN),
        answer=answer,
        cost_cents=sum(line.actual_cents for line in lines),
        currency=rules.currency,
        lines=lines,
        causes=costing.by_cause(lines),
    )


def in_work(db: Connection, until: datetime | None = None) -> Sequence[InWork]:
    """Every open job with what it has cost so far, the dearest first; with ``until``, every job
    that was open then with what it had cost."""
    rules = documents.rules(db)
    rows = db.execute(
        select(Job.id, Job.number, UnitModel.code, Customer.name, Job.stage)
        .join(Unit, Unit.id == Job.unit_id)
        .join(UnitModel, UnitModel.id == Unit.unit_model_id)
        .join(Customer, Customer.id == Job.customer_id)
        .where(open_at(until))
    ).all()
    ids = tuple(row.id for row in rows)
    rework = opened_again(db, ids)
    used, told = _used(db, ids, rework, until), _told(db, ids, until)
    minutes = _minutes(db, ids, rework, rules.labour.longest_gap_min, until)
    quotes = _totals(db, ids)
    found = []
    for row in rows:
        lines = costing.against_quote((), used[row.id], told[row.id], minutes[row.id], rules.labour)
        parts = sum(use.cents for use in used[row.id])
        labour = sum(x.actual_cents for x in lines if x.name.startswith("labour "))
        whole = sum(x.actual_cents for x in lines)
        found.append(
            InWork(
                f"J-{row.number}",
                row.code,
                row.name,
                row.stage,
                parts,
                labour,
                whole - parts - labour,
                whole,
                quotes.get(row.id, 0),
            )
        )
    return tuple(sorted(found, key=lambda one: -one.cost_cents))


def open_at(moment: datetime | None) -> ColumnElement[bool]:
    """Of a job: whether it was open then, or is open now."""
    if moment is None:
        return Job.closed_at.is_(None)
    return and_(Job.opened_at <= moment, or_(Job.closed_at.is_(None), Job.closed_at > moment))


def _by(column: InstrumentedAttribute[datetime], until: datetime | None) -> ColumnElement[bool]:
    return true() if until is None else column <= until


def against_quotes(db: Connection, ids: Sequence[int]) -> dict[int, Sequence[CostLine]]:
    """Many jobs' costs line by line, each against its last quote."""
    labour = documents.rules(db).labour
    rework = opened_again(db, ids)
    used, told = _used(db, ids, rework), _told(db, ids)
    minutes = _minutes(db, ids, rework, labour.longest_gap_min)
    newest = select(func.max(Quote.id)).where(Quote.job_id.in_(ids)).group_by(Quote.job_id)
    quoted: dict[int, list[Quoted]] = defaultdict(list)
    for row in db.execute(
        select(
            Quote.job_id,
            QuoteLine.kind,
            QuoteLine.text,
            QuoteLine.quantity,
            QuoteLine.cents,
            Part.number,
        )
        .join(QuoteLine, QuoteLine.quote_id == Quote.id)
        .outerjoin(Part, Part.id == QuoteLine.part_id)
        .where(Quote.id.in_(newest))
        .order_by(QuoteLine.id)
    ):
        line = Quoted(row.kind, row.number or row.text, row.quantity, row.cents)
        quoted[row.job_id].append(line)
    return {
        job: costing.against_quote(quoted[job], used[job], told[job], minutes[job], labour)
        for job in ids
    }


def position(db: Connection, today: date) -> Sequence[Position]:
    """What the shop's money lies in today: stock, purchases, open jobs, cores either way."""
    return (*_stock(db, today), _coming(db), _work(db), *_cores(db, today))


def _stock(db: Connection, today: date) -> list[Position]:
    over = Lot.use_by < today
    found = []
    new, good = Lot.origin == "bought", Lot.quarantined.is_(False)
    for what, which, note in (
        ("stock to be used", new & good & (Lot.use_by.is_(None) | ~over), _LOTS),
        ("stock over its time", new & good & over, "may no longer be fitted"),
        ("used parts from cores", (Lot.origin == "harvested") & good, "graded, never new"),
        (
            "stock in quarantine",
            (Lot.origin != "customer") & Lot.quarantined.is_(True),
            "may not be issued",
        ),
    ):
        row = db.execute(select(func.count(Lot.id), VALUE).where(Lot.on_hand > 0, which)).one()
        found.append(Position(what, row[0], int(row[1]), note))
    return found


def _coming(db: Connection) -> Position:
    row = db.execute(
        select(
            func.count(PurchaseLine.id),
            func.coalesce(func.sum(DUE * cast(PurchaseLine.unit_cost_cents, BigInteger)), 0),
        ).where(DUE > 0)
    ).one()
    return Position("on order", row[0], int(row[1]), "purchase lines not yet received")


def _work(db: Connection) -> Position:
    jobs = in_work(db)
    cents = sum(one.cost_cents for one in jobs)
    return Position("work in progress", len(jobs), cents, "open jobs with parts and labour")


def _cores(db: Connection, today: date) -> list[Position]:
    owed = select(func.count(CoreDeposit.id), func.coalesce(func.sum(CoreDeposit.cents), 0))
    out = owed.where(CoreDeposit.settled_job_id.is_(None))
    graded = select(CoreGrade.deposit_id)
    judged = owed.where(CoreDeposit.settled_job_id.is_not(None), CoreDeposit.id.not_in(graded))
    credit = select(
        func.count(CoreGrade.id), func.coalesce(func.sum(CoreGrade.credit_cents), 0)
    ).where(CoreGrade.paid_at.is_(None), CoreGrade.credit_cents > 0)
    found = []
    for what, question, sign, note in (
        (
            "cores owed to the shop",
            out.where(CoreDeposit.due_on >= today),
            1,
            "deposits held for them",
        ),
        ("cores overdue", out.where(CoreDeposit.due_on < today), 1, "deposits held for them"),
        ("cores back, not judged", judged, -1, "deposits until judged"),
        ("credits for cores", credit, -1, "judged, not yet paid back"),
    ):
        count, cents = db.execute(question).one()
        found.append(Position(what, count, sign * int(cents), note))
    return found


def _quote(db: Connection, job_id: int) -> tuple[list[Quoted], int, str]:
    row = db.execute(
        select(Quote.id, Quote.total_cents, Approval.answer)
        .outerjoin(Approval, Approval.quote_id == Quote.id)
        .where(Quote.job_id == job_id)
        .order_by(Quote.id.desc())
        .limit(1)
    ).one_or_none()
    if row is None:
        return [], 0, ""
    lines = db.execute(
        select(QuoteLine.kind, QuoteLine.text, QuoteLine.quantity, QuoteLine.cents, Part.number)
        .outerjoin(Part, Part.id == QuoteLine.part_id)
        .where(QuoteLine.quote_id == row.id)
        .order_by(QuoteLine.id)
    )
    quoted = [Quoted(x.kind, x.number or x.text, x.quantity, x.cents) for x in lines]
    return quoted, row.total_cents, row.answer or ""


def _totals(db: Connection, ids: Sequence[int]) -> dict[int, int]:
    newest = select(func.max(Quote.id)).where(Quote.job_id.in_(ids)).group_by(Quote.job_id)
    rows = db.execute(select(Quote.job_id, Quote.total_cents).where(Quote.id.in_(newest)))
    return {row[0]: row[1] for row in rows}


def _used(
    db: Connection, ids: Sequence[int], rework: Rework, until: datetime | None = None
) -> dict[int, list[Used]]:
    found: dict[int, list[Used]] = defaultdict(list)
    for row in db.execute(
        with_asked(
            select(
                StockMove.job_id,
                StockMove.kit_line,
                StockMove.at,
                Part.number,
                ASKED.number.label("asked"),
                StockMove.on_hand_change,
                Lot.unit_cost_cents,
            )
            .join(Part, Part.id == StockMove.part_id)
            .join(Lot, Lot.id == StockMove.lot_id)
            .where(StockMove.job_id.in_(ids), StockMove.kind.in_(ledger.DRAWN))
            .where(_by(StockMove.at, until))
            .order_by(StockMove.id)
        )
    ):
        pieces = -row.on_hand_change
        again = drawn_again(rework, row.job_id, row.kit_line, row.at)
        by = row.number if row.asked else ""
        cents = pieces * row.unit_cost_cents
        found[row.job_id].append(Used(row.asked or row.number, pieces, cents, again, by))
    return found


def _told(
    db: Connection, ids: Sequence[int], until: datetime | None = None
) -> dict[int, list[Told]]:
    found: dict[int, list[Told]] = defaultdict(list)
    told = select(JobCost.__table__).where(JobCost.job_id.in_(ids), _by(JobCost.at, until))
    for row in db.execute(told):
        one = Told(row.kind, row.section, row.minutes, row.cents, row.rework)
        found[row.job_id].append(one)
    return found


def _minutes(
    db: Connection,
    ids: Sequence[int],
    rework: Rework,
    longest_gap_min: float,
    until: datetime | None = None,
) -> Mapping[int, dict[tuple[str, bool], float]]:
    """Of each of these jobs by (section, rework); the others' answers between them say when
    somebody was elsewhere."""
    rows = db.execute(_ANSWERED.where(Entry.job_id.in_(ids), _by(Entry.at, until)))
    stamps = (
        Stamp(
            job,
            line.partition(".")[0],
            (at - before).total_seconds() / 60,
            answered_again(rework, job, line, entry),
        )
        for entry, job, line, at, before in rows
        if before is not None
    )
    minutes: dict[int, dict[tuple[str, bool], float]] = defaultdict(dict)
    for (job, section, again), spent in costing.worked(stamps, longest_gap_min).items():
        minutes[job][section, again] = spent
    return minutes
