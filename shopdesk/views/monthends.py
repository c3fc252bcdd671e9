"""What the shop's money was tied up in at the end of each of the last months."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import BigInteger, Connection, cast, func, or_, select

from shopdesk.records.tables import Approval, CoreDeposit, Job, Lot, Quote, StockMove
from shopdesk.views import costs
from shopdesk.views.days import midnight

_WORTH = StockMove.on_hand_change * cast(Lot.unit_cost_cents, BigInteger)


@dataclass(frozen=True, slots=True)
class TiedUp:
    """Cents at a moment: in lots of the shop's own, in open jobs, in quotes then unanswered, in
    deposits for cores that customers had not brought back."""

    at: datetime
    stock: int
    work: int
    quotes: int
    deposits: int


def tied_up(db: Connection, moments: Sequence[datetime]) -> tuple[TiedUp, ...]:
    """At each of the moments, the oldest first."""
    stock = _stock(db, moments)
    return tuple(
        TiedUp(
            moment,
            value,
            sum(job.cost_cents for job in costs.in_work(db, moment)),
            _quotes(db, moment),
            _deposits(db, moment),
        )
        for moment, value in zip(moments, stock, strict=True)
    )


def _stock(db: Connection, moments: Sequence[datetime]) -> list[int]:
    """What lies there now, less what the ledger says of it since; a piece that went from one lot
    into another went at the same cost."""
    own = Lot.origin != "customer"
    now = db.execute(select(costs.VALUE).where(Lot.on_hand > 0, own)).scalar_one()
    before = db.execute(  # the newest move that is no newer: the ledger is walked from its end
        select(StockMove.id)
        .where(StockMove.at <= moments[0])
        .order_by(StockMove.id.desc())
        .limit(1)
    ).scalar()
    since = db.execute(
        select(StockMove.at, _WORTH)
        .join(Lot, Lot.id == StockMove.lot_id)
        .where(StockMove.id > (before or 0), StockMove.on_hand_change != 0, own)
    ).all()
    return [int(now) - sum(int(worth) for at, worth in since if at > m) for m in moments]


def _quotes(db: Connection, moment: datetime) -> int:
    """Of each job open then, its newest quote of then, where nobody had answered it."""
    newest = (
        select(func.max(Quote.id))
        .join(Job, Job.id == Quote.job_id)
        .where(costs.open_at(moment), Quote.at <= moment)
        .group_by(Quote.job_id)
    )
    asked = (
        select(func.coalesce(func.sum(cast(Quote.total_cents, BigInteger)), 0))
        .outerjoin(Approval, Approval.quote_id == Quote.id)
        .where(Quote.id.in_(newest), or_(Approval.id.is_(None), Approval.at > moment))
    )
    return int(db.execute(asked).scalar_one())


def _deposits(db: Connection, moment: datetime) -> int:
    """Until the core was taken in."""
    held = (
        select(func.coalesce(func.sum(cast(CoreDeposit.cents, BigInteger)), 0))
        .outerjoin(Job, Job.id == CoreDeposit.settled_job_id)
        .where(CoreDeposit.at <= moment, or_(Job.id.is_(None), Job.opened_at > moment))
    )
    return int(db.execute(held).scalar_one())


def ends(now: datetime, first_days: Sequence[date]) -> tuple[datetime, ...]:
    """The end of each month that begins on these days; of the last, now."""
    return (*(midnight(day) for day in first_days[1:]), now)
