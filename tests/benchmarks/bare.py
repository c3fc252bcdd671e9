"""The statements a deed sent, given again to the bare driver: nothing is thought or judged."""

import fcntl
import hashlib
import os
import sqlite3
import uuid
from collections.abc import Callable, Sequence
from typing import Any

import psycopg
from sqlalchemy import event

from shopdesk.desk.shop import Shop
from shopdesk.records.engine import open_record
from tests.benchmarks.bores import SLOTS

Statements = Sequence[tuple[str, Any]]
Commit = Callable[[], object]
MOST = 1000
"""Commits of a terminal that nobody stops."""


def captured(url: str, deed: Callable[[Shop], object]) -> Statements:
    """What the deed sends to the database, with its values."""
    record = open_record(url)
    sent: list[tuple[str, Any]] = []

    def note(_db: Any, _cursor: Any, sql: str, values: Any, _context: Any, _many: bool) -> None:
        sent.append((sql, values))

    event.listen(record._backend.writing, "before_cursor_execute", note)
    deed(Shop(record=record, terminal="bench"))
    record.close()
    return sent


def opening(
    statements: Statements,
) -> Callable[[str, Sequence[int]], tuple[Sequence[Commit], Sequence[Commit]]]:
    def opened(url: str, jobs: Sequence[int]) -> tuple[Sequence[Commit], Sequence[Commit]]:
        made = _postgresql(url) if url.startswith("postgresql") else _sqlite(url)
        commit = Replay(statements, *made).commit
        return [commit] * SLOTS, [commit] * MOST

    return opened


class Replay:
    """``begin`` and ``end`` stand around each transaction; the chain goes on as it must: its next
    id, a new hash, a new key."""

    def __init__(
        self,
        statements: Statements,
        execute: Callable[[str, Any], Any],
        begin: Callable[[], object],
        end: Callable[[], object],
    ) -> None:
        self._statements = [(sql, values, _changes(sql)) for sql, values in statements]
        self._execute, self._begin, self._end = execute, begin, end

    def commit(self) -> None:
        self._begin()
        last, previous, key = 0, "", uuid.uuid4().hex
        for sql, values, changed in self._statements:
            if changed:
                hashed = hashlib.sha256(previous.encode()).hexdigest()
                new = {"id": last + 1, "event_id": last + 1, "previous": previous}
                new |= {"hash": hashed, "commit_key": key}
                values = _with(values, {place: new[name] for place, name in changed.items()})
            rows = self._execute(sql, values)
            if sql.startswith("SELECT chain_head"):
                last, previous = rows.fetchone()
            elif sql.startswith("SELECT") or "RETURNING" in sql:
                rows.fetchall()
        self._end()


def _changes(sql: str) -> dict[Any, str]:
    """Which of a statement's values are new each time: by place (SQLite) or name (PostgreSQL)."""
    if sql.startswith("INSERT INTO event"):
        columns = [name.strip() for name in sql.partition("(")[2].partition(")")[0].split(",")]
        kept = ("id", "previous", "hash", "commit_key")
        named = "%(id)s" in sql
        return {(name if named else at): name for at, name in enumerate(columns) if name in kept}
    if sql.startswith("UPDATE chain_head"):
        named = "%(event_id)s" in sql
        return {("event_id" if named else 0): "event_id", ("hash" if named else 1): "hash"}
    return {}


def _with(values: Any, new: dict[Any, Any]) -> Any:
    if isinstance(values, dict):
        return {**values, **new}
    return tuple(new.get(at, value) for at, value in enumerate(values))


def _sqlite(url: str) -> tuple[Callable[[str, Any], Any], Commit, Commit]:
    """As durable as ours, and under the same lock, so that none of them is starved."""
    path = url.removeprefix("sqlite:///")
    db = sqlite3.connect(path, isolation_level=None)
    for pragma in ("synchronous = FULL", "foreign_keys = ON", "recursive_triggers = ON"):
        db.execute(f"PRAGMA {pragma}")
    lock = os.open(f"{path}-lock", os.O_RDONLY | os.O_CREAT, 0o600)

    def begin() -> None:
        fcntl.flock(lock, fcntl.LOCK_EX)
        db.execute("BEGIN IMMEDIATE")

    def end() -> None:
        db.execute("COMMIT")
        fcntl.flock(lock, fcntl.LOCK_UN)

    return db.execute, begin, end


def _postgresql(url: str) -> tuple[Callable[[str, Any], Any], Commit, Commit]:
    db = psycopg.connect(url)
    return db.cursor().execute, lambda: None, db.commit
