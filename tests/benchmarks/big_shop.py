"""A shop as it is after very many jobs: closed ones, with their events, behind a shop there is.

    python -m tests.benchmarks.big_shop DATABASE JOBS [--open N]

DATABASE is a SQLite file or a PostgreSQL address. Where it holds no record the sample shop is
built first. The same shop and number give the same rows. Every closed job has fifteen events in
the chain; every hundredth has all the entries of a real one of its model. Rows go in by the
driver's own bulk load; triggers rest meanwhile.
"""

import argparse
import random
import sqlite3
import sys
import time
from collections.abc import Iterable, Iterator, Sequence
from contextlib import closing, contextmanager
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import Any, Protocol

import psycopg

from shopdesk import settings
from shopdesk.desk import sample
from shopdesk.records import chain, migrate
from shopdesk.records.tables import Base

EVENTS = 15
FULL = 100
"""Every so many jobs one has entries."""
YEARS = 25
CUSTOMERS = 800
VISITS = 2.5
UNTIL = datetime(2026, 3, 1, 12, tzinfo=UTC)
TRADES = ("Quarry", "Dredging", "Forestry", "Rail", "Crane hire", "Press shop", "Mining", "Ferry")

Rows = Iterable[Sequence[Any]]


class Loader(Protocol):
    """Reads and fills tables of one database through its driver alone."""

    def all(self, query: str) -> list[tuple[Any, ...]]: ...
    def fill(self, table: str, columns: Sequence[str], rows: Rows) -> None: ...


class SqliteLoader:
    def __init__(self, db: sqlite3.Connection) -> None:
        self._db = db

    def all(self, query: str) -> list[tuple[Any, ...]]:
        return self._db.execute(query).fetchall()

    def fill(self, table: str, columns: Sequence[str], rows: Rows) -> None:
        places = ", ".join("?" * len(columns))
        self._db.executemany(
            f'INSERT INTO "{table}" ({", ".join(columns)}) VALUES ({places})',
            ([_for_sqlite(value) for value in row] for row in rows),
        )


class PostgresLoader:
    def __init__(self, db: psycopg.Connection[tuple[Any, ...]]) -> None:
        self._db = db

    def all(self, query: str) -> list[tuple[Any, ...]]:
        return self._db.execute(query).fetchall()

    def fill(self, table: str, columns: Sequence[str], rows: Rows) -> None:
        named = ", ".join(columns)
        with self._db.cursor().copy(f'COPY "{table}" ({named}) FROM STDIN') as into:
            for row in rows:
                into.write_row(row)


def _for_sqlite(value: Any) -> Any:
    if isinstance(value, datetime):
        return value.astimezone(UTC).strftime("%Y-%m-%d %H:%M:%S.%f")
    return value.isoformat() if isinstance(value, date) else value


@contextmanager
def loading(url: str) -> Iterator[Loader]:
    """One transaction of bulk load; what the database keeps by itself is caught up at its end."""
    if url.startswith("sqlite"):
        with closing(sqlite3.connect(url.removeprefix("sqlite:///"))) as db:
            yield from _sqlite(db)
        return
    with psycopg.connect(url.replace("+psycopg", "")) as server:
        server.execute("SET session_replication_role = replica")
        yield PostgresLoader(server)
        for table in Base.metadata.sorted_tables:
            server.execute(_CONTINUE.format(table=table.name))
        server.commit()
        server.autocommit = True
        server.execute("VACUUM ANALYZE")


_CONTINUE = """
SELECT setval(found, (SELECT coalesce(max(id), 0) + 1 FROM "{table}"), false)
FROM pg_get_serial_sequence('"{table}"', 'id') AS found WHERE found IS NOT NULL"""


def _sqlite(db: sqlite3.Connection) -> Iterator[Loader]:
    db.execute("PRAGMA synchronous = OFF")
    db.execute("PRAGMA cache_size = -2000000")
    guards = db.execute(
        "SELECT name, sql FROM sqlite_master WHERE type = 'trigger' AND name NOT LIKE 'unit_%'"
    ).fetchall()
    for name, _ in guards:
        db.execute(f"DROP TRIGGER {name}")
    yield SqliteLoader(db)
    for _, made in guards:
        db.execute(made)
    db.commit()
    db.execute("PRAGMA wal_checkpoint(TRUNCATE)")


@dataclass(frozen=True, slots=True)
class Model:
    """A procedure revision, with a closed job of it to take entries and events after."""

    revision_id: int
    model_id: int
    entries: list[tuple[Any, ...]]
    events: list[tuple[Any, ...]]


@dataclass
class Ground:
    """Where the shop that is there ends, and how much is added to it."""

    models: list[Model]
    people: list[int]
    ids: dict[str, int]
    number: int
    head: tuple[int, str]
    closed: int
    open_jobs: int

    @property
    def jobs(self) -> int:
        return self.closed + self.open_jobs

    @property
    def units(self) -> int:
        return max(1, int(self.closed / VISITS)) + self.open_jobs

    def unit_of(self, at: int) -> int:
        """Open jobs are the last, each on a unit of its own."""
        over = at < self.closed
        return at % (self.units - self.open_jobs) if over else self.units - (self.jobs - at)

    def model_of(self, unit: int) -> Model:
        return self.models[unit % len(self.models)]

    def owner_of(self, unit: int) -> int:
        return self.ids["customer"] + 1 + unit * 31 % CUSTOMERS

    def opened(self, at: int) -> datetime:
        return UNTIL - timedelta(days=365.25 * YEARS) * ((self.jobs - at) / self.jobs)


def grow(url: str, closed: int, *, open_jobs: int = 150, seed: int = 1) -> None:
    """Adds ``closed`` closed jobs and ``open_jobs`` open ones to the shop in the record."""
    with loading(url) as db:
        ground = _ground(db, closed, open_jobs)
        draw = random.Random(seed)
        db.fill("customer", CUSTOMER, (_customer(ground, draw, at) for at in range(CUSTOMERS)))
        db.fill("unit", UNIT, (_unit(ground, at) for at in range(ground.units)))
        db.fill("job", JOB, (_job(ground, at) for at in range(ground.jobs)))
        db.fill("entry", ENTRY, _entries(ground))
        db.fill("event", EVENT, _events(ground))
        event_id, hashed = ground.head
        db.all(f"UPDATE chain_head SET event_id = {event_id}, hash = '{hashed}' RETURNING id")


CUSTOMER = ("id", "code", "name", "name_key", "phone", "email", "place", "house")
UNIT = ("id", "unit_model_id", "serial", "serial_key", "customer_id", "pool")
JOB = [
    "id",
    "number",
    "kind",
    "unit_id",
    "customer_id",
    "procedure_revision_id",
    "complaint",
    "opened_at",
    "first_promised_on",
    "promised_on",
    "road",
    "stage",
    "gas_state",
    "waiting_for",
    "waiting_on",
    "waiting_since",
    "closed_at",
    "version",
]
ENTRY = [
    "id",
    "job_id",
    "line",
    "slot",
    "typed",
    "value_si",
    "unit",
    "answer",
    "verdict",
    "limit_text",
    "limit_source",
    "instrument_id",
    "person_id",
    "witness_id",
    "at",
    "supersedes",
    "reason",
]
EVENT = ["id", "at", "kind", "job_id", "person_id", "payload", "commit_key", "previous", "hash"]
STAGES = ("vent", "teardown", "decision", "parts", "build", "proof", "charge", "hold")


def _ground(db: Loader, closed: int, open_jobs: int) -> Ground:
    tables = ("customer", "unit", "job", "entry")
    ids = {name: db.all(f"SELECT max(id) FROM {name}")[0][0] or 0 for name in tables}
    [(number,)] = db.all("SELECT max(number) FROM job")
    [head] = db.all("SELECT event_id, hash FROM chain_head")
    people = [row[0] for row in db.all("SELECT id FROM person ORDER BY id")]
    patterns = db.all(
        "SELECT r.id, r.unit_model_id, max(j.id) FROM procedure_revision r JOIN job j"
        " ON j.procedure_revision_id = r.id WHERE j.closed_at IS NOT NULL AND j.road = 'repair'"
        " GROUP BY r.id, r.unit_model_id ORDER BY r.id"
    )
    models = [_model(db, *row) for row in patterns]
    return Ground(models, people, ids, number, (head[0], head[1]), closed, open_jobs)


def _model(db: Loader, revision_id: int, model_id: int, job_id: int) -> Model:
    kept = ", ".join(ENTRY[2:])
    entries = db.all(f"SELECT {kept} FROM entry WHERE job_id = {job_id} ORDER BY id")
    events = db.all(f"SELECT kind, payload FROM event WHERE job_id = {job_id} ORDER BY id")
    spread = [events[at * len(events) // EVENTS] for at in range(EVENTS)]
    plain = [row for row in entries if row[13] is None]  # those that supersede no other
    return Model(revision_id, model_id, plain, spread)


def _customer(ground: Ground, draw: random.Random, at: int) -> tuple[Any, ...]:
    name = f"{draw.choice(TRADES)} {at:04d}"
    return ground.ids["customer"] + 1 + at, f"B{at:04d}", name, name.casefold(), "", "", "", False


def _unit(ground: Ground, at: int) -> tuple[Any, ...]:
    serial = f"{'KLMNPRST'[at % 8]}{at % 7}-{at * 7919 % 1_000_003:06d}"
    return (
        ground.ids["unit"] + 1 + at,
        ground.model_of(at).model_id,
        serial,
        serial.replace("-", ""),
        ground.owner_of(at),
        False,
    )


def _job(ground: Ground, at: int) -> tuple[Any, ...]:
    over = at < ground.closed
    unit = ground.unit_of(at)
    opened = ground.opened(at)
    due = (opened + timedelta(days=21)).date()
    return (
        ground.ids["job"] + 1 + at,
        ground.number + 1 + at,
        "customer",
        ground.ids["unit"] + 1 + unit,
        ground.owner_of(unit),
        ground.model_of(unit).revision_id,
        "pressure sags overnight",
        opened,
        due,
        due,
        "repair",
        "done" if over else STAGES[at % len(STAGES)],
        "vented" if over or at % 3 else "unknown",
        "" if over else "the next open line",
        "" if over else "technician",
        opened + timedelta(days=1),
        opened + timedelta(days=9) if over else None,
        EVENTS,
    )


def _entries(ground: Ground) -> Iterator[tuple[Any, ...]]:
    found = ground.ids["entry"]
    for at in range(0, ground.closed, FULL):
        opened = ground.opened(at)
        for minute, row in enumerate(ground.model_of(ground.unit_of(at)).entries):
            found += 1
            *head, _, supersedes, reason = row
            when = opened + timedelta(minutes=minute)
            yield (found, ground.ids["job"] + 1 + at, *head, when, supersedes, reason)


def _events(ground: Ground) -> Iterator[tuple[Any, ...]]:
    """Each carries the hash of the one before; the ground's head moves on with them."""
    last, previous = ground.head
    for at in range(ground.closed):
        opened = ground.opened(at)
        for step, (kind, payload) in enumerate(ground.model_of(ground.unit_of(at)).events):
            last += 1
            moment = opened + timedelta(hours=step)
            fields = {
                "id": last,
                "at": chain._moment(moment),
                "kind": kind,
                "job_id": ground.ids["job"] + 1 + at,
                "person_id": ground.people[(at + step) % len(ground.people)],
                "payload": payload,
                "commit_key": None,
                "previous": previous,
            }
            previous = chain._hash(fields)
            yield (last, moment, *list(fields.values())[2:], previous)
    ground.head = (last, previous)


def main(arguments: Sequence[str] | None = None) -> int:
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    asked.add_argument("database")
    asked.add_argument("jobs", type=int)
    asked.add_argument("--open", type=int, default=150)
    given = asked.parse_args(arguments)
    url = settings.database_url(given.database)
    if migrate.current(url) is None:
        sample.build(url, today=UNTIL.date())
    start = time.monotonic()
    grow(url, given.jobs, open_jobs=given.open)
    sys.stdout.write(f"{given.jobs} jobs in {time.monotonic() - start:.0f} s\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
