"""What very large stores answer: the order list beside hand-written SQL, finding, tracing."""

import sqlite3
from collections.abc import Callable, Iterator, Sequence
from datetime import UTC, date, datetime
from functools import partial
from itertools import accumulate
from typing import Any

import psycopg
from sqlalchemy import Connection, func, select

from shopdesk.records.engine import Record, open_record
from shopdesk.records.tables import Lot
from shopdesk.views import ordering, stores, trace
from tests.benchmarks.asked import in_turn, timed
from tests.benchmarks.table import Figure, p50, p95

ROUNDS = 7
WORDS = ("z01234-nbr", "seal 12 x", "b4-11", "or-219-n90", "no such part")

# By hand: what every decision stands on (stock, purchases, prices, each part's demand by job).
ORDER_LIST = """
WITH coming AS (SELECT part_id, sum(quantity - received) AS pieces FROM purchase_line GROUP BY 1),
  job AS (SELECT part_id, -sum(on_hand_change) AS n FROM stock_move
    WHERE kind IN ('issue', 'return') GROUP BY part_id, job_id),
  uses AS (SELECT part_id, count(*) AS jobs, sum(n) AS pieces, sum(n * n) AS squares FROM job
    WHERE n > 0 GROUP BY 1)
SELECT p.number, p.description, p.pack, p.minimum,
  p.on_hand - p.reserved + coalesce(c.pieces, 0), s.code, s.name, s.lead_days, r.price_cents,
  u.jobs, u.pieces, u.squares
FROM part p JOIN part_supplier r ON r.part_id = p.id JOIN supplier s ON s.id = r.supplier_id
  LEFT JOIN coming c ON c.part_id = p.id LEFT JOIN uses u ON u.part_id = p.id
ORDER BY s.code, p.number"""


def stored(url: str, label: str) -> Iterator[Figure]:
    record = open_record(url)
    try:
        ours, theirs = in_turn(lambda: _asked(record, _order_list), _bare(url), ROUNDS)
        yield Figure(f"{label}: order list, whole shop", p50(ours), None, None, 2000)
        yield Figure(f"{label}: order list, beside SQL by hand", p50(ours), p50(theirs), 3)
        keys = p95(_keys(record))
        yield Figure(f"{label}: a part found, the record's part of a key", keys, None, None, 100)
        yield Figure(f"{label}: a lot traced", p95(_traced(record)), None, None, 300)
    finally:
        record.close()


def _order_list(db: Connection) -> Sequence[ordering.OrderRow]:
    return ordering.to_order(db, _today())


def _found(text: str) -> Callable[[Connection], Any]:
    return lambda db: stores.parts(db, _today(), text)


def _today() -> date:
    return datetime.now(UTC).date()


def _asked(record: Record, question: Callable[[Connection], Any]) -> Any:
    with record.read() as db:
        return question(db)


def _bare(url: str) -> Callable[[], list[tuple[Any, ...]]]:
    if url.startswith("postgresql"):
        server = psycopg.connect(url, autocommit=True)
        return lambda: server.execute(ORDER_LIST).fetchall()
    file = sqlite3.connect(url.removeprefix("sqlite:///"))
    return lambda: file.execute(ORDER_LIST).fetchall()


def _keys(record: Record) -> Sequence[float]:
    """Every key of the words, as somebody types them."""
    texts = [text for word in WORDS for text in accumulate(word)]
    return [timed(partial(_asked, record, _found(text))) for text in texts]


def _traced(record: Record) -> Sequence[float]:
    with record.read() as db:
        last = db.execute(select(func.max(Lot.id))).scalar_one()
        picked = [last - n * 997 for n in range(50) if n * 997 < last]
        lots = db.execute(select(Lot.number).where(Lot.id.in_(picked))).scalars().all()
    return [timed(partial(_asked, record, partial(trace.of, code=lot))) for lot in lots]
