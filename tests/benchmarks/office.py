"""What the office waits for: the forecast of every open job, the morning page, a certificate."""

from collections.abc import Callable, Iterator

from sqlalchemy import func, select

from shopdesk.desk import reports
from shopdesk.desk.shop import Shop
from shopdesk.paper import making
from shopdesk.records.engine import open_record
from shopdesk.records.tables import Entry, Job, StockMove
from shopdesk.views import forecasts
from tests.benchmarks.asked import timed
from tests.benchmarks.big_shop import UNTIL
from tests.benchmarks.table import Figure, p50

ROUNDS = 7
LEAST = 200
"""Open jobs the figures speak of."""


def office(url: str, label: str) -> Iterator[Figure]:
    """On the day up to which the shop was built; what is imported once is imported before."""
    record = open_record(url)
    shop = Shop(record=record, clock=lambda: UNTIL, terminal="bench")

    def forecast() -> forecasts.Promises:
        with shop.read() as db:
            return forecasts.promises(db, shop.clock())

    try:
        count = len(forecast().dates)
        assert count >= LEAST, f"only {count} jobs are open"
        for name, work, most in (
            (f"forecast of {count} open jobs", forecast, 2000),
            ("the morning page", lambda: reports.make(shop, "morning"), 1000),
            ("the longest certificate", _certificate(shop), 500),
        ):
            work()
            times = [timed(work) for _ in range(ROUNDS)]
            yield Figure(f"{label}: {name}", p50(times), None, None, most)
    finally:
        record.close()


def _certificate(shop: Shop) -> Callable[[], object]:
    """The paper, as PDF and as text, of the finished job with the most entries; the sample shop's
    own, since they alone drew parts."""
    drew = select(StockMove.job_id).where(StockMove.job_id.is_not(None))
    with shop.read() as db:
        [number] = db.execute(
            select(Job.number)
            .join(Entry, Entry.job_id == Job.id)
            .where(Job.id.in_(drew), Job.closed_at.is_not(None), Job.road == "repair")
            .group_by(Job.id, Job.number)
            .order_by(func.count(Entry.id).desc())
            .limit(1)
        ).one()
    return lambda: making.of_job(shop, "certificate", number).pdf(False)
