"""What the record answers: lists beside hand-written SQL, finding, sheets, however many jobs."""

import sqlite3
import time
from collections.abc import Callable, Iterator, Sequence
from datetime import UTC, datetime
from functools import partial
from itertools import accumulate
from typing import Any

import psycopg
from sqlalchemy import func, select

from shopdesk.records.engine import Record, open_record
from shopdesk.records.tables import Entry, Job
from shopdesk.views import board, finding, sheets
from tests.benchmarks.table import Figure, p50, p95

ROUNDS = 200
WORDS = ("k0-0079", "dredging 0", "m3-4411", "j-1001", "pa-016", "7919", "no such")

BACKLOG = """
SELECT j.number, j.kind, u.serial, m.code, c.name, j.gas_state, j.road, j.stage, j.waiting_for,
  j.waiting_on, j.waiting_since, j.promised_on, j.opened_at, j.closed_at, coalesce(p.initials, ''),
  j.version
FROM job j JOIN unit u ON u.id = j.unit_id JOIN unit_model m ON m.id = u.unit_model_id
  JOIN customer c ON c.id = j.customer_id LEFT JOIN person p ON p.id = j.assigned_to
WHERE j.closed_at IS NULL ORDER BY j.waiting_on, j.waiting_since, j.number LIMIT 500"""


def asked(small: str, large: str, label: str) -> Iterator[Figure]:
    """The large shop's figures, beside the small one's where they should be alike."""
    few, many = open_record(small), open_record(large)
    try:
        ours, theirs = in_turn(lambda: _backlog(many), _bare(large))
        yield Figure(f"{label}: backlog, beside SQL by the bare driver", p50(ours), p50(theirs), 2)
        ours, theirs = in_turn(lambda: _backlog(many), lambda: _backlog(few))
        yield Figure(f"{label}: backlog, beside a thousand jobs", p50(ours), p50(theirs), 1.2)
        yield Figure(
            f"{label}: finding, the record's part of a key, p95", p95(_found(many)), None, None, 100
        )
        numbers = _jobs(many)
        yield Figure(
            f"{label}: a sheet and its unit's history, p95",
            p95([timed(partial(_sheet, many, number)) for number in numbers]),
            None,
            None,
            150,
        )
    finally:
        few.close()
        many.close()


def _backlog(record: Record) -> Sequence[board.JobRow]:
    with record.read() as db:
        return board.backlog(db)


def _bare(url: str) -> Callable[[], list[tuple[Any, ...]]]:
    if url.startswith("postgresql"):
        server = psycopg.connect(url, autocommit=True)
        return lambda: server.execute(BACKLOG).fetchall()
    file = sqlite3.connect(url.removeprefix("sqlite:///"))
    return lambda: file.execute(BACKLOG).fetchall()


def _found(record: Record) -> list[float]:
    """Every key of the words, as somebody types them."""

    def look(text: str) -> None:
        with record.read() as db:
            finding.find(db, text)

    keys = [text for word in WORDS for text in accumulate(word)]
    for text in keys:
        look(text)
    return [timed(partial(look, text)) for text in keys for _ in range(3)]


def _jobs(record: Record) -> list[int]:
    """Jobs with all their entries, the newest of them."""
    with record.read() as db:
        last = db.execute(select(func.max(Entry.id))).scalar_one()
        newest = select(Entry.job_id).where(Entry.id > last - 3000)
        numbers = select(Job.number).where(Job.id.in_(newest)).order_by(Job.number.desc())
        return list(db.execute(numbers).scalars())


def _sheet(record: Record, number: int) -> None:
    with record.read() as db:
        view = sheets.load(db, number, datetime.now(UTC))
        finding.history(db, view.heading.serial)


def in_turn(
    ours: Callable[[], object], theirs: Callable[[], object], rounds: int = ROUNDS
) -> tuple[list[float], list[float]]:
    pairs = [(timed(ours), timed(theirs)) for _ in range(rounds)]
    return [a for a, _ in pairs], [b for _, b in pairs]


def timed(work: Callable[[], object]) -> float:
    begun = time.perf_counter()
    work()
    return (time.perf_counter() - begun) * 1e3
