"""``floor``: the test shop on each database. ``at``: the same with a job walked to a section.

The walk is done once for each section, on SQLite, and copied: row by row into PostgreSQL.
"""

import shutil
from collections.abc import Callable, Iterator
from datetime import datetime
from pathlib import Path
from typing import Any

import psycopg
import pytest
from sqlalchemy import create_engine, insert, select, text
from sqlalchemy.engine import make_url

from shopdesk.desk.shop import Shop
from shopdesk.records.engine import Record, open_record
from shopdesk.records.tables import Base
from tests.desk.floor import START, Clock, Floor, opened
from tests.desk.stocked import fill

TABLES = Base.metadata.sorted_tables


class Stages:
    """Shops at rest: one file for each section a job was walked to."""

    def __init__(self, empty: Path, folder: Path) -> None:
        self._empty, self._folder = empty, folder
        self._made: dict[tuple[str, str], tuple[Path, datetime, int]] = {}

    def shop(self) -> Path:
        return self._stage("", "", self._filled)[0]

    def job(self, model: str, section: str) -> tuple[Path, datetime, int]:
        return self._stage(model, section, lambda floor: self._walked(floor, model, section))

    def _stage(
        self, model: str, section: str, work: Callable[[Floor], None]
    ) -> tuple[Path, datetime, int]:
        found = self._made.get((model, section))
        if found is None:
            path = self._folder / f"{model}{section or 'shop'}.db"
            shutil.copyfile(self.shop() if model else self._empty, path)
            clock = Clock()
            record = open_record(f"sqlite:///{path}")
            floor = Floor(opened(record, clock), clock)
            work(floor)
            record.close()
            found = self._made[model, section] = (path, clock.now, floor.number)
        return found

    def _filled(self, floor: Floor) -> None:
        fill(floor.shop)

    def _walked(self, floor: Floor, model: str, section: str) -> None:
        floor.take_in(model)
        floor.go(section)


@pytest.fixture(scope="session")
def stages(sqlite_pattern: Path, tmp_path_factory: pytest.TempPathFactory) -> Stages:
    return Stages(sqlite_pattern, tmp_path_factory.mktemp("stages"))


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def at(database_url: str, stages: Stages, clock: Clock) -> Iterator[Callable[..., Floor]]:
    """Gives the shop with its first job's cursor in ``section``: at("build"), at("parts", "PT-1").
    Once a test."""
    records: list[Record] = []

    def made(section: str, model: str = "GT-1") -> Floor:
        path, clock.now, number = stages.job(model, section)
        return _floor(path, database_url, clock, number, records)

    yield made
    for record in records:
        record.close()


@pytest.fixture
def floor(database_url: str, stages: Stages, clock: Clock) -> Iterator[Floor]:
    """The shop, nothing taken in yet."""
    records: list[Record] = []
    clock.now = START
    yield _floor(stages.shop(), database_url, clock, 0, records)
    for record in records:
        record.close()


@pytest.fixture
def shop(floor: Floor) -> Shop:
    return floor.shop


def _floor(path: Path, url: str, clock: Clock, number: int, records: list[Record]) -> Floor:
    if url.startswith("sqlite"):
        shutil.copyfile(path, Path(make_url(url).database or ""))
    else:
        copy_rows(path, url)
    record = open_record(url)
    records.append(record)
    return Floor(opened(record, clock), clock, number)


_dumps: dict[Path, list[tuple[str, bytes]]] = {}


def copy_rows(path: Path, url: str) -> None:
    """Every row of a SQLite record into an empty record on PostgreSQL, keys included. What the
    server made of it the first time is copied as it is from then on."""
    with psycopg.connect(url) as db:
        if path in _dumps:
            db.execute("SET session_replication_role = replica")
            db.execute("DELETE FROM chain_head")
            for name, rows in _dumps[path]:
                with db.cursor().copy(f'COPY "{name}" FROM STDIN') as into:
                    into.write(rows)
        else:
            _carry(path, url)
            _dumps[path] = [(made.name, _dump(db, made.name)) for made in TABLES]
        for table in TABLES:
            db.execute(_CONTINUE.format(table=table.name)) if "id" in table.c else None


_CONTINUE = """
SELECT setval(found, (SELECT coalesce(max(id), 0) + 1 FROM "{table}"), false)
FROM pg_get_serial_sequence('"{table}"', 'id') AS found WHERE found IS NOT NULL"""


def _dump(db: psycopg.Connection[tuple[Any, ...]], table: str) -> bytes:
    with db.cursor().copy(f'COPY "{table}" TO STDOUT') as out:
        return b"".join(bytes(piece) for piece in out)


def _carry(path: Path, url: str) -> None:
    source = create_engine(f"sqlite:///{path}")
    target = create_engine(make_url(url).set(drivername="postgresql+psycopg"))
    with source.connect() as old, target.begin() as new:
        new.execute(text("SET session_replication_role = replica"))
        new.execute(text("DELETE FROM chain_head"))
        for table in TABLES:
            rows = [dict(row._mapping) for row in old.execute(select(table))]
            if rows:
                new.execute(insert(table), rows)
    source.dispose()
    target.dispose()
