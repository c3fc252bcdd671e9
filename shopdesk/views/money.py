"""The office's money over many jobs: quote against actual by cause, warranty, month by month."""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from sqlalchemy import Connection, func, select

from shopdesk.records.tables import Approval, Job, Lot, Quote, StockMove, Unit
from shopdesk.rules import claims
from shopdesk.rules.costing import CostLine
from shopdesk.views import costs, decided
from shopdesk.views.days import midnight

MONTHS = 13
NEWEST = 200
AT_ONCE = 500
LATELY = 30_000  # newest rows looked at, however old the shop: more than a year of a large one


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


def _costs(db: Connection, ids: Sequence[int]) -> dict[int, Sequence[CostLine]]:
    found: dict[int, Sequence[CostLine]] = {}
    for n in range(0, len(ids), AT_ONCE):
        found |= costs.against_quotes(db, ids[n : n + AT_ONCE])
    return found


def against(db: Connection) -> tuple[tuple[Against, ...], int]:
    """Quoted and actual of the newest closed repairs whose quote was approved, by cause, the
    largest difference first; and how many jobs."""
    lately = select(Job.id).where(
        Job.closed_at.is_not(None), Job.road == "repair", Job.kind == "customer"
    )
    newest = lately.order_by(Job.closed_at.desc()).limit(NEWEST).subquery()
    ids = (
        db.execute(
            select(Quote.job_id)
            .join(Approval, Approval.quote_id == Quote.id)
            .where(Quote.job_id.in_(select(newest.c.id)), Approval.answer == "approved")
            .order_by(Quote.job_id)
        )
        .scalars()
        .all()
    )
    quoted: Counter[str] = Counter()
    actual: Counter[str] = Counter()
    every = tuple(dict.fromkeys(ids))
    for lines in _costs(db, every).values():
        for line in lines:
            quoted[line.cause] += line.quoted_cents
            actual[line.cause] += line.actual_cents
    found = [Against(cause, quoted[cause], actual[cause]) for cause in {**quoted, **actual}]
    found.sort(key=lambda each: (-abs(each.actual - each.quoted), each.cause))
    return tuple(found), len(every)


def still(db: Connection, now: datetime) -> int:
    """Cents in lots of parts nothing was issued of for a year."""
    lately = (
        select(StockMove.part_id, StockMove.kind, StockMove.at)
        .order_by(StockMove.id.desc())
        .limit(LATELY)
        .subquery()
    )
    moving = select(lately.c.part_id).where(
        lately.c.kind == "issue", lately.c.at >= now - timedelta(days=365)
    )
    cents = db.execute(
        select(costs.VALUE).where(
            Lot.on_hand > 0, Lot.origin != "customer", Lot.part_id.not_in(moving)
        )
    ).scalar_one()
    return int(cents)


def pool(db: Connection) -> int:
    """Exchange units ready on the shelf."""
    return int(db.execute(select(func.count()).select_from(Unit).where(Unit.pool)).scalar_one())


def months(db: Connection, now: datetime, count: int = MONTHS) -> tuple[Month, ...]:
    """Jobs in and out, quotes approved and what warranty work cost the shop, the newest month
    last. A claim that was not covered is the customer's to pay."""
    today = now.astimezone().date()
    since = midnight(_month(today, count - 1))
    newest = select(Job.opened_at).order_by(Job.number.desc()).limit(LATELY).subquery()
    came = db.execute(select(newest.c.opened_at).where(newest.c.opened_at >= since)).scalars()
    left = db.execute(select(Job.id, Job.closed_at, Job.kind).where(Job.closed_at >= since)).all()
    warranty = [job for job in left if job.kind == "warranty"]
    covers = decided.covers(db, [job.id for job in warranty])
    warranty = [job for job in warranty if covers.get(job.id) != claims.NOT_COVERED]
    spent = _costs(db, [job.id for job in warranty])
    cents: Counter[date] = Counter()
    for job in warranty:
        cents[_of(job.closed_at)] += sum(line.actual_cents for line in spent[job.id])
    approved: Counter[date] = Counter()
    answers = select(Approval.quote_id, Approval.at, Approval.answer)
    last = answers.order_by(Approval.id.desc()).limit(LATELY).subquery()
    for at, total in db.execute(
        select(last.c.at, Quote.total_cents)
        .join(Quote, Quote.id == last.c.quote_id)
        .where(last.c.at >= since, last.c.answer == "approved")
    ):
        approved[_of(at)] += total
    opened, closed = _counted(came), _counted(job.closed_at for job in left)
    returned = _counted(job.closed_at for job in warranty)
    every = [_month(today, back) for back in range(count - 1, -1, -1)]
    return tuple(Month(m, opened[m], closed[m], approved[m], cents[m], returned[m]) for m in every)


def _counted(moments: Iterable[datetime | None]) -> Counter[date]:
    return Counter(_of(moment) for moment in moments if moment is not None)


def _of(moment: datetime | None) -> date:
    assert moment is not None
    return moment.astimezone().date().replace(day=1)


def _month(today: date, back: int) -> date:
    """The first day of the month so many months before."""
    months_in = today.year * 12 + today.month - 1 - back
    return date(months_in // 12, months_in % 12 + 1, 1)
