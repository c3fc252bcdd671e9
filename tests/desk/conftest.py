"""``floor``: the test shop on each database. ``at``: the same with a job walked to a section.

The walk is done once a run for each section, on SQLite, and copied: row by row into PostgreSQL. One
record of each kind stays open, so that a test costs what it does, not what opening costs.
"""

import json
import shutil
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import dataclass, field
from datetime import datetime
from functools import partial
from pathlib import Path
from typing import Any

import psycopg
import pytest
from sqlalchemy import create_engine, insert, select, text
from sqlalchemy.engine import make_url

from shopdesk.desk.shop import Shop
from shopdesk.procedure import SECTIONS
from shopdesk.records.engine import Record, open_record
from shopdesk.records.tables import Base
from tests import sharing
from tests.desk.floor import START, Clock, Floor, opened
from tests.desk.stocked import fill

TABLES = Base.metadata.sorted_tables


class Stages:
    """Shops at rest: one file for each place a job was walked to, walked on from the one before."""

    def __init__(self, empty: Path, folder: Path) -> None:
        self._empty, self._folder = empty, folder
        self._made: dict[tuple[str, str], tuple[Path, datetime, int]] = {}

    def shop(self) -> Path:
        return self._stage(("", ""), (self._empty, START, 0), lambda floor: fill(floor.shop))[0]

    def job(self, model: str, place: str) -> tuple[Path, datetime, int]:
        """The shop with a job of the model whose cursor stands on the section or line."""
        if place == "receipt":
            before, work = (self.shop(), START, 0), lambda floor: floor.take_in(model)
        else:
            section = place.split(".")[0]
            known = section if section != place else SECTIONS[SECTIONS.index(place) - 1]
            if model == "PT-1" and known in ("vent", "charge", "hold"):  # it has none of these
                known = {"vent": "receipt", "charge": "proof", "hold": "proof"}[known]
            before, work = self.job(model, known), lambda floor: floor.go(place)
        return self._stage((model, place), before, work)

    def _stage(
        self,
        name: tuple[str, str],
        before: tuple[Path, datetime, int],
        work: Callable[[Floor], object],
    ) -> tuple[Path, datetime, int]:
        if name not in self._made:
            path = self._folder / f"stage-{'-'.join(filter(None, name)) or 'shop'}.db"
            note = sharing.once(path.with_suffix(".json"), partial(_walk, path, before, work))
            now, number = json.loads(note.read_text())
            self._made[name] = (path, datetime.fromisoformat(now), number)
        return self._made[name]


def _walk(
    path: Path, before: tuple[Path, datetime, int], work: Callable[[Floor], object], note: Path
) -> None:
    """Makes the shop's file, and a note of its moment and its job's number."""
    source, now, number = before
    shutil.copyfile(source, path)
    clock = Clock(now)
    record = open_record(f"sqlite:///{path}")
    floor = Floor(opened(record, clock), clock, number)
    work(floor)
    record.close()
    note.write_text(json.dumps([clock.now.isoformat(), floor.number]))


@pytest.fixture(scope="session")
def stages(sqlite_pattern: Path, tmp_path_factory: pytest.TempPathFactory) -> Stages:
    return Stages(sqlite_pattern, sharing.folder(tmp_path_factory))


@pytest.fixture
def clock() -> Clock:
    return Clock()


@dataclass
class Standing:
    """One open record of each kind for the whole session: what stands in it is exchanged."""

    request: pytest.FixtureRequest
    folder: Path
    open: dict[str, tuple[str, Record]] = field(default_factory=dict)
    dumps: dict[Path, list[tuple[str, bytes]]] = field(default_factory=dict)

    def floor(self, kind: str, path: Path, clock: Clock, number: int) -> Floor:
        url, record = self._opened(kind, path)
        if kind == "sqlite":
            with (
                closing(sqlite3.connect(path)) as source,
                closing(sqlite3.connect(make_url(url).database or "")) as target,
            ):
                source.backup(target)
        else:
            self._copy(path, url)
        return Floor(opened(record, clock), clock, number)

    def _opened(self, kind: str, path: Path) -> tuple[str, Record]:
        if kind not in self.open:
            url = f"sqlite:///{self.folder / 'shop.db'}"
            if kind == "sqlite":
                shutil.copyfile(path, self.folder / "shop.db")
            else:
                url = self.request.getfixturevalue("server").lend()  # dropped with the server's own
            self.open[kind] = (url, open_record(url))
        return self.open[kind]

    def _copy(self, path: Path, url: str) -> None:
        """Every row of a SQLite record into the one on PostgreSQL, keys included. What the server
        made of it the first time is copied as it is from then on."""
        with psycopg.connect(url) as db:
            db.execute("SET session_replication_role = replica")
            db.execute("; ".join(f'DELETE FROM "{table.name}"' for table in TABLES))
            if path in self.dumps:
                for name, rows in self.dumps[path]:
                    with db.cursor().copy(f'COPY "{name}" FROM STDIN') as into:
                        into.write(rows)
            else:
                db.commit()
                _carry(path, url)
                self.dumps[path] = [(made.name, _dump(db, made.name)) for made in TABLES]
            db.execute("; ".join(_CONTINUE.format(table=made.name) for made in TABLES))


# `id` alone is counted up by the server; of the two tables without a sequence nothing is set.
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
        for table in TABLES:
            rows = [dict(row._mapping) for row in old.execute(select(table))]
            if rows:
                new.execute(insert(table), rows)
    source.dispose()
    target.dispose()


@pytest.fixture(scope="session")
def standing(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Standing]:
    found = Standing(request, tmp_path_factory.mktemp("standing"))
    yield found
    for _, record in found.open.values():
        record.close()


@pytest.fixture(params=["sqlite", "postgresql"])
def database(request: pytest.FixtureRequest) -> str:
    return str(request.param)


@pytest.fixture
def at(database: str, stages: Stages, standing: Standing, clock: Clock) -> Callable[..., Floor]:
    """Gives the shop with its first job's cursor in ``section``: at("build"), at("parts", "PT-1").
    Once a test."""

    def made(section: str, model: str = "GT-1") -> Floor:
        path, clock.now, number = stages.job(model, section)
        return standing.floor(database, path, clock, number)

    return made


@pytest.fixture
def floor(database: str, stages: Stages, standing: Standing, clock: Clock) -> Floor:
    """The shop, nothing taken in yet."""
    return standing.floor(database, stages.shop(), clock, 0)


@pytest.fixture
def shop(floor: Floor) -> Shop:
    return floor.shop
