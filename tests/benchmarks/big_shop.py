"""A shop as it is after very many jobs: closed ones, with their events, behind a shop there is.

    python -m tests.benchmarks.big_shop DATABASE JOBS [--open N]

DATABASE is a SQLite file or a PostgreSQL address. Where it holds no record the sample shop is
built first. The same shop and number give the same rows. Every closed job has fifteen events in
the chain; every hundredth has all the entries of a real one of its model. The newest closed ones
and the open ones go as one of the sample shop went, whole weeks later and up to the present, so
that forecasts have a past and a floor. Rows go in by the driver's own bulk load; triggers rest
meanwhile.
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
NEWEST, NEWEST_WEEKS = 700, 52
"""Closed jobs with a course of their own, and the weeks in which they were closed."""
OPEN = 200
WEEK = timedelta(weeks=1)
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
class Course:
    """How a job of the sample shop went: its entries without those that supersede another."""

    opened: datetime
    closed: datetime
    stage: str
    entries: list[tuple[Any, ...]]

    def later(self, weeks: int, until: datetime | None = None) -> "Course":
        """The same so many weeks later; as far as it has come by ``until``."""
        moved = [(*e[:WHEN], e[WHEN] + weeks * WEEK, *e[WHEN + 1 :]) for e in self.entries]
        if until is not None:
            moved = [entry for entry in moved if entry[WHEN] <= until]
        stage = str(moved[-1][0]).partition(".")[0] if until and moved else self.stage
        return Course(self.opened + weeks * WEEK, self.closed + weeks * WEEK, stage, moved)


@dataclass(frozen=True, slots=True)
class Model:
    """A procedure revision, with the closed jobs of it to go after, and one's events."""

    revision_id: int
    model_id: int
    courses: list[Course]
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
        course = self.course(at)
        if course is not None:
            return course.opened
        since = timedelta(days=365.25 * YEARS) * ((self.jobs - at) / self.jobs)
        return UNTIL - NEWEST_WEEKS * WEEK - since

    def course(self, at: int) -> Course | None:
        """How one of the newest went; None for an older one."""
        newest = self.closed - at
        if newest > min(NEWEST, self.closed):
            return None
        courses = self.model_of(self.unit_of(at)).courses
        course = courses[at * 31 % len(courses)]
        if newest > 0:
            ago = NEWEST_WEEKS * newest // NEWEST
            return course.later((UNTIL - course.closed) // WEEK - ago)
        first, last = (UNTIL - course.closed) // WEEK + 1, (UNTIL - course.opened) // WEEK
        return course.later(last - at % max(1, last - first + 1), UNTIL)


def grow(url: str, closed: int, *, open_jobs: int = OPEN, seed: int = 1) -> None:
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
WHEN, SUPERSEDES = ENTRY[2:].index("at"), ENTRY[2:].index("supersedes")
EVENT = ["id", "at", "kind", "job_id", "person_id", "payload", "commit_key", "previous", "hash"]


def _ground(db: Loader, closed: int, open_jobs: int) -> Ground:
    tables = ("customer", "unit", "job", "entry")
    ids = {name: db.all(f"SELECT max(id) FROM {name}")[0][0] or 0 for name in tables}
    [(number,)] = db.all("SELECT max(number) FROM job")
    [head] = db.all("SELECT event_id, hash FROM chain_head")
    people = [row[0] for row in db.all("SELECT id FROM person ORDER BY id")]
    revisions = db.all(
        "SELECT r.id, r.unit_model_id, max(j.id) FROM procedure_revision r JOIN job j"
        f" ON j.procedure_revision_id = r.id WHERE {COURSES}"
        " GROUP BY r.id, r.unit_model_id ORDER BY r.id"
    )
    models = [_model(db, *row) for row in revisions]
    return Ground(models, people, ids, number, (head[0], head[1]), closed, open_jobs)


COURSES = "j.closed_at IS NOT NULL AND j.road = 'repair'"


def _model(db: Loader, revision_id: int, model_id: int, job_id: int) -> Model:
    jobs = db.all(
        "SELECT j.id, j.opened_at, j.closed_at, j.stage FROM job j"
        f" WHERE {COURSES} AND j.procedure_revision_id = {revision_id} ORDER BY j.id"
    )
    courses = [_course(db, *row) for row in jobs]
    events = db.all(f"SELECT kind, payload FROM event WHERE job_id = {job_id} ORDER BY id")
    spread = [events[at * len(events) // EVENTS] for at in range(EVENTS)]
    return Model(revision_id, model_id, courses, spread)


def _course(db: Loader, job_id: int, opened: Any, closed: Any, stage: str) -> Course:
    kept = ", ".join(ENTRY[2:])
    entries = db.all(f"SELECT {kept} FROM entry WHERE job_id = {job_id} ORDER BY id")
    timed = [(*e[:WHEN], _moment(e[WHEN]), *e[WHEN + 1 :]) for e in entries]
    plain = [entry for entry in timed if entry[SUPERSEDES] is None]
    return Course(_moment(opened), _moment(closed), stage, plain)


def _moment(stored: Any) -> datetime:
    """As SQLite keeps it, or as PostgreSQL gives it."""
    found = datetime.fromisoformat(stored) if isinstance(stored, str) else stored
    return found.replace(tzinfo=UTC) if found.tzinfo is None else found


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
    course, opened = ground.course(at), ground.opened(at)
    due = (opened + timedelta(days=21)).date()
    closed = opened + timedelta(days=9) if course is None else course.closed
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
        "done" if over or course is None else course.stage,
        "vented" if over or at % 3 else "unknown",
        "" if over else "the next open line",
        "" if over else "technician",
        opened + timedelta(days=1),
        closed if over else None,
        EVENTS,
    )


def _entries(ground: Ground) -> Iterator[tuple[Any, ...]]:
    found = ground.ids["entry"]
    for at in range(ground.jobs):
        course = ground.course(at)
        if course is not None:
            entries = course.entries
        elif at % FULL == 0:
            entries = _minutes_apart(ground, at)
        else:
            continue
        for row in entries:
            found += 1
            yield (found, ground.ids["job"] + 1 + at, *row)


def _minutes_apart(ground: Ground, at: int) -> list[tuple[Any, ...]]:
    opened, pattern = ground.opened(at), ground.model_of(ground.unit_of(at)).courses[-1].entries
    return [
        (*row[:WHEN], opened + timedelta(minutes=n), *row[WHEN + 1 :])
        for n, row in enumerate(pattern)
    ]


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
    asked.add_argument("--open", type=int, default=OPEN)
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
