"""Where the money is: in work, in quotes, in warranty, on the shelf; month by month."""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from sqlalchemy import Connection, func, select

from shopdesk.records.tables import (
    Approval,
    CoreDeposit,
    Job,
    JobCost,
    Lot,
    Part,
    Quote,
    QuoteLine,
    StockMove,
    Unit,
)
from shopdesk.rules.shop import ShopRules
from shopdesk.views import documents

MONTHS = 13


@dataclass(frozen=True, slots=True)
class Cost:
    """Cents of one job so far: parts at their lots' cost, told labour at the shop's rate, told
    outside work and freight."""

    parts: int = 0
    labour: int = 0
    outside: int = 0

    @property
    def total(self) -> int:
        return self.parts + self.labour + self.outside


@dataclass(frozen=True, slots=True)
class Against:
    """Quoted and actual cents by cause, over closed jobs with an approved quote."""

    cause: str
    quoted: int
    actual: int


@dataclass(frozen=True, slots=True)
class Month:
    month: date
    opened: int
    closed: int
    approved_cents: int
    warranty_cents: int
    warranty_jobs: int


@dataclass(frozen=True, slots=True)
class InWork:
    number: int
    model_id: int
    stage: str
    opened_at: datetime
    cost: Cost
    quoted_cents: int


@dataclass(frozen=True, slots=True)
class Shelf:
    """``dead_cents``: lots of parts nothing was issued of for a year."""

    stock_cents: int
    dead_cents: int
    deposits: int
    deposit_cents: int
    overdue: int
    pool_units: int


def costs(db: Connection, ids: Sequence[int], rules: ShopRules) -> dict[int, Cost]:
    """What each job has cost so far."""
    parts: Counter[int] = Counter()
    labour: Counter[int] = Counter()
    outside: Counter[int] = Counter()
    for some in _some(ids):
        moved = db.execute(
            select(StockMove.job_id, func.sum(-StockMove.on_hand_change * Lot.unit_cost_cents))
            .join(Lot, Lot.id == StockMove.lot_id)
            .where(StockMove.job_id.in_(some), StockMove.kind.in_(("issue", "return")))
            .group_by(StockMove.job_id)
        )
        parts.update({job: int(cents) for job, cents in moved if job is not None})
        told = db.execute(
            select(JobCost.job_id, func.sum(JobCost.minutes), func.sum(JobCost.cents))
            .where(JobCost.job_id.in_(some))
            .group_by(JobCost.job_id)
        )
        for job, minutes, cents in told:
            labour[job] += round(minutes * rules.labour_cents_per_hour / 60)
            outside[job] += int(cents)
    return {job: Cost(parts[job], labour[job], outside[job]) for job in ids}


def _some(ids: Sequence[int]) -> Iterable[Sequence[int]]:
    return (ids[n : n + 500] for n in range(0, len(ids), 500))


def quoted(db: Connection, ids: Sequence[int]) -> dict[int, Counter[str]]:
    """The cents of each job's approved quote by kind of line."""
    found: dict[int, Counter[str]] = {}
    for some in _some(ids):
        rows = db.execute(
            select(Quote.job_id, QuoteLine.kind, func.sum(QuoteLine.cents))
            .join(QuoteLine, QuoteLine.quote_id == Quote.id)
            .join(Approval, Approval.quote_id == Quote.id)
            .where(Quote.job_id.in_(some), Approval.answer == "approved")
            .group_by(Quote.job_id, QuoteLine.kind)
        )
        for job, kind, cents in rows:
            found.setdefault(job, Counter())[kind] += int(cents)
    return found


def in_work(db: Connection) -> tuple[InWork, ...]:
    """Every open job with what lies in it, the dearest first."""
    jobs = db.execute(
        select(Job.id, Job.number, Unit.unit_model_id, Job.stage, Job.opened_at)
        .join(Unit, Unit.id == Job.unit_id)
        .where(Job.closed_at.is_(None))
    ).all()
    ids = [job.id for job in jobs]
    spent, offered = costs(db, ids, documents.rules(db)), quoted(db, ids)
    found = [
        InWork(
            job.number,
            job.unit_model_id,
            job.stage,
            job.opened_at,
            spent[job.id],
            sum(offered.get(job.id, Counter()).values()),
        )
        for job in jobs
    ]
    return tuple(sorted(found, key=lambda each: (-each.cost.total, each.number)))


def against(db: Connection, now: datetime, days: int = 365) -> tuple[tuple[Against, ...], int]:
    """Quoted and actual of the jobs closed in the last year, by cause; and how many jobs. Labour
    only of jobs whose minutes were told."""
    ids = (
        db.execute(
            select(Job.id)
            .where(
                Job.closed_at >= now - timedelta(days=days),
                Job.road == "repair",
                Job.kind == "customer",
            )
            .order_by(Job.closed_at.desc())
            .limit(2000)
        )
        .scalars()
        .all()
    )
    offered = quoted(db, ids)
    spent = costs(db, list(offered), documents.rules(db))
    told = [job for job in offered if spent[job].labour]
    return (
        Against(
            "parts",
            sum(lines["part"] for lines in offered.values()),
            sum(spent[job].parts for job in offered),
        ),
        Against(
            f"labour ({len(told)} jobs with minutes told)",
            sum(offered[job]["labour"] for job in told),
            sum(spent[job].labour for job in told),
        ),
        Against(
            "outside work and freight",
            sum(lines["outside"] for lines in offered.values()),
            sum(spent[job].outside for job in offered),
        ),
    ), len(offered)


def shelf(db: Connection, now: datetime) -> Shelf:
    value = db.execute(
        select(func.coalesce(func.sum(Lot.on_hand * Lot.unit_cost_cents), 0)).where(Lot.on_hand > 0)
    ).scalar_one()
    moving = (
        select(StockMove.id)
        .where(
            StockMove.part_id == Part.id,
            StockMove.kind == "issue",
            StockMove.at >= now - timedelta(days=365),
        )
        .exists()
    )
    dead = db.execute(
        select(func.coalesce(func.sum(Lot.on_hand * Lot.unit_cost_cents), 0))
        .join(Part, Part.id == Lot.part_id)
        .where(Lot.on_hand > 0, ~moving)
    ).scalar_one()
    owed = db.execute(
        select(CoreDeposit.cents, CoreDeposit.due_on).where(CoreDeposit.settled_job_id.is_(None))
    ).all()
    pool = db.execute(select(func.count()).select_from(Unit).where(Unit.pool)).scalar_one()
    today = now.astimezone().date()
    return Shelf(
        int(value),
        int(dead),
        len(owed),
        sum(row.cents for row in owed),
        sum(row.due_on < today for row in owed),
        int(pool),
    )


def months(db: Connection, now: datetime, count: int = MONTHS) -> tuple[Month, ...]:
    """Jobs in and out, quotes approved and what warranty work cost, the newest month last."""
    first = _month(now.astimezone().date(), count - 1)
    since = datetime.combine(first, datetime.min.time()).astimezone()
    opened = Counter(
        _of(row)
        for row in db.execute(select(Job.opened_at).where(Job.opened_at >= since)).scalars()
    )
    closed_jobs = db.execute(
        select(Job.id, Job.closed_at, Job.kind).where(Job.closed_at >= since)
    ).all()
    closed = Counter(_of(job.closed_at) for job in closed_jobs)
    warranty = [job for job in closed_jobs if job.kind == "warranty"]
    spent = costs(db, [job.id for job in warranty], documents.rules(db))
    cents: Counter[date] = Counter()
    for job in warranty:
        cents[_of(job.closed_at)] += spent[job.id].total
    jobs = Counter(_of(job.closed_at) for job in warranty)
    approved: Counter[date] = Counter()
    for at, total in db.execute(
        select(Approval.at, Quote.total_cents)
        .join(Quote, Quote.id == Approval.quote_id)
        .where(Approval.at >= since, Approval.answer == "approved")
    ):
        approved[_of(at)] += total
    every = [_month(now.astimezone().date(), back) for back in range(count - 1, -1, -1)]
    return tuple(Month(m, opened[m], closed[m], approved[m], cents[m], jobs[m]) for m in every)


def _of(moment: datetime) -> date:
    return moment.astimezone().date().replace(day=1)


def _month(today: date, back: int) -> date:
    """The first day of the month so many months before."""
    months_in = today.year * 12 + today.month - 1 - back
    return date(months_in // 12, months_in % 12 + 1, 1)
