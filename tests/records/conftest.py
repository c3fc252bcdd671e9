"""An address where nothing is yet, and a record with a row in every table."""

import re
from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime
from hashlib import sha256
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import CheckConstraint, Column, Connection, Date, Double, Integer, Table, Text

from shopdesk.records import chain
from shopdesk.records.tables import Base
from shopdesk.records.tables.base import JsonText, UtcTime

MOMENT = datetime(2026, 1, 31, 8, 0, tzinfo=UTC)

Fill = Callable[[Connection], None]


@pytest.fixture(params=["sqlite", "postgresql"])
def empty_url(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[str]:
    """Where a record may be made: a file that is not there, an empty database."""
    if request.param == "sqlite":
        yield f"sqlite:///{tmp_path}/new.db"
        return
    server = request.getfixturevalue("server")
    url = server.new()
    yield url
    server.drop(url)


@pytest.fixture
def fill() -> Fill:
    """Puts one row into every table, a second part; its columns hold the first value their checks
    allow."""

    def filled(db: Connection) -> None:
        for table in Base.metadata.sorted_tables:
            if table.name not in ("event", "chain_head"):
                db.execute(table.insert().values(row_of(table)))
            if table.name == "part":
                unheld = {"number": "y", "on_hand": 0, "reserved": 0}
                db.execute(table.insert().values({**row_of(table), **unheld}))
        chain.append(db, at=MOMENT, kind="test", job_id=1, person_id=1, payload={"n": 1})

    return filled


def row_of(table: Table) -> dict[str, Any]:
    # ids are left to the database, whose first is 1, so that its own numbering goes on after it
    row = {c.name: _value(table, c) for c in table.columns if not c.primary_key}
    if "document" in row:
        row["sha256"] = sha256(row["document"].encode()).hexdigest()
    return row


def _value(table: Table, column: Column[Any]) -> Any:
    kind = column.type
    if isinstance(kind, Integer):
        return {"stand_in_id": 2, "called_off": 0}.get(column.name, 1)
    if isinstance(kind, Double):
        return 1.0
    if isinstance(kind, UtcTime):
        return MOMENT
    if isinstance(kind, Date):
        return date(2026, 1, 31)
    if isinstance(kind, JsonText):
        return ["line"]
    return _allowed(table, column) if not isinstance(kind, Text) else "text"


def _allowed(table: Table, column: Column[Any]) -> Any:
    if column.type.python_type is bool:
        return False
    for check in table.constraints:
        if isinstance(check, CheckConstraint):
            listed = re.match(rf"{column.name} IN \('([^']+)'", str(check.sqltext))
            if listed:
                return listed[1]
    return "x"
