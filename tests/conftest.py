"""A record of each kind, for every test that asks: ``database_url`` and ``record``.

PostgreSQL is the server SHOPDESK_TEST_POSTGRES names (the address of a database from which others
may be created). Where none answers its tests are skipped, or fail if SHOPDESK_REQUIRE_POSTGRES=1.
"""

import gc
import os
import shutil
import sys
import uuid
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import psycopg
import pytest

from shopdesk.records import migrate
from shopdesk.records.engine import Record, open_record
from tests import sharing
from tests.scheduling import Scheduling, place

# Workers and the programs that tests start load the same modules again and again.
sys.dont_write_bytecode = False
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
os.environ.setdefault("TEXTUAL_FPS", "500")  # as the command sets it

POSTGRES = os.environ.get("SHOPDESK_TEST_POSTGRES", "postgresql://postgres@127.0.0.1:5432/postgres")

_SHAPE = """
SELECT md5(string_agg(line, ';' ORDER BY line)) FROM (
  SELECT attrelid::regclass || attname || atttypid || attnotnull AS line
    FROM pg_attribute JOIN pg_class c ON c.oid = attrelid
    WHERE relnamespace = 'public'::regnamespace AND relkind IN ('r', 'i') AND attnum > 0
  UNION ALL SELECT tgrelid::regclass || tgname || tgenabled::text FROM pg_trigger
  UNION ALL SELECT conname || pg_get_constraintdef(oid) FROM pg_constraint
  UNION ALL SELECT proname || prosrc FROM pg_proc WHERE pronamespace = 'public'::regnamespace
  UNION ALL SELECT setconfig::text FROM pg_db_role_setting JOIN pg_database d
    ON d.oid = setdatabase WHERE datname = current_database()
  UNION ALL SELECT version_num FROM alembic_version
) AS lines"""

_EMPTIED = """
SET session_replication_role = replica;
DO $$ DECLARE found record; BEGIN
  FOR found IN SELECT tablename FROM pg_tables
    WHERE schemaname = 'public' AND tablename <> 'alembic_version'
  LOOP EXECUTE format('DELETE FROM %I', found.tablename); END LOOP;
  FOR found IN SELECT sequencename FROM pg_sequences WHERE schemaname = 'public'
  LOOP PERFORM setval(found.sequencename::regclass, 1, false); END LOOP;
END $$;
INSERT INTO chain_head (id, event_id, hash) VALUES (1, 0, repeat('0', 64))"""


def pytest_xdist_auto_num_workers() -> int:
    """One more than there are processors: tests of the interface wait half of their time."""
    return min(8, (os.cpu_count() or 1) + 1)


def pytest_xdist_make_scheduler(config: pytest.Config, log: object) -> Scheduling:
    config.option.loadscopereorder = False  # the order is our own, not by the number of tests
    return Scheduling(config, log)


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    if hasattr(config, "workerinput"):
        items.sort(key=place)


def pytest_collection_finish(session: pytest.Session) -> None:
    """What was imported and collected stays to the end: garbage is not looked for in it."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(20_000, 20, 20)


def pytest_sessionfinish(session: pytest.Session) -> None:
    sharing.drop_all(session, POSTGRES)


class Server:
    """Databases on the tests' PostgreSQL server. An empty record that a test left in its old
    shape is emptied and lent again: that takes a tenth of the time a new database takes."""

    def __init__(self, admin: psycopg.Connection[tuple[Any, ...]]) -> None:
        self._admin = admin
        self._made: list[str] = []
        self._spare: list[str] = []
        self._pattern = ""
        self._shape: object = None

    def new(self, template: str = "template0") -> str:
        """The address of a database made after the template."""
        name = f"shopdesk_test_{uuid.uuid4().hex[:12]}"
        self._admin.execute(f"CREATE DATABASE {name} TEMPLATE {template} ENCODING 'UTF8'")
        self._made.append(name)
        return urlsplit(POSTGRES)._replace(path=f"/{name}").geturl()

    def drop(self, url: str) -> None:
        name = urlsplit(url).path.lstrip("/")
        self._admin.execute(f"DROP DATABASE IF EXISTS {name} WITH (FORCE)")
        self._made.remove(name)

    def lend(self) -> str:
        """The address of an empty record."""
        if not self._pattern:
            url = self.new()
            migrate.create(url)
            self._pattern = urlsplit(url).path.lstrip("/")
            self._shape = self._shape_of(url)
        return self._spare.pop() if self._spare else self.new(self._pattern)

    def take_back(self, url: str) -> None:
        try:
            if self._shape_of(url) == self._shape:
                with psycopg.connect(url) as db:
                    db.execute("SET lock_timeout = '2s'")
                    db.execute(_EMPTIED)
                self._spare.append(url)
                return
        except psycopg.Error:  # too far gone, or not a superuser's server
            pass
        self.drop(url)

    def forget(self, name: str) -> None:
        """Drops a database that something else made beside those made here."""
        self._admin.execute(f"DROP DATABASE {name} WITH (FORCE)")

    def drop_all(self) -> None:
        for name in reversed(self._made):
            self._admin.execute(f"DROP DATABASE IF EXISTS {name} WITH (FORCE)")

    def _shape_of(self, url: str) -> object:
        with psycopg.connect(url) as db:
            row = db.execute(_SHAPE).fetchone()
        return row and row[0]


@pytest.fixture(scope="session", autouse=True)
def _idle() -> Iterator[None]:
    from tests import idle

    with pytest.MonkeyPatch.context() as patch:
        idle.put_in(patch)
        yield


@pytest.fixture(scope="session")
def server() -> Iterator[Server]:
    """The tests' PostgreSQL server; what was made on it goes at the end."""
    try:
        admin = psycopg.connect(POSTGRES, autocommit=True, connect_timeout=3)
    except psycopg.OperationalError as error:
        words = f"no PostgreSQL for the tests (SHOPDESK_TEST_POSTGRES): {error}"
        if os.environ.get("SHOPDESK_REQUIRE_POSTGRES") == "1":
            pytest.fail(words)
        pytest.skip(words)
    with admin:
        found = Server(admin)
        yield found
        found.drop_all()


@pytest.fixture
def postgres_url(server: Server) -> Iterator[str]:
    """An empty record on PostgreSQL."""
    url = server.lend()
    yield url
    server.take_back(url)


@pytest.fixture(scope="session")
def sqlite_pattern(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An empty record made once, to be copied."""
    path = tmp_path_factory.mktemp("pattern") / "pattern.db"
    migrate.create(str(path))
    return path


@pytest.fixture
def sqlite_url(sqlite_pattern: Path, tmp_path: Path) -> str:
    """An empty record in a SQLite file."""
    path = tmp_path / "shop.db"
    shutil.copyfile(sqlite_pattern, path)
    return f"sqlite:///{path}"


@pytest.fixture(params=["sqlite", "postgresql"])
def database_url(request: pytest.FixtureRequest) -> str:
    """An empty record, once on each database."""
    kind = {"sqlite": "sqlite_url", "postgresql": "postgres_url"}[request.param]
    return str(request.getfixturevalue(kind))


@pytest.fixture
def record(database_url: str) -> Iterator[Record]:
    """An empty record, open, once on each database."""
    opened = open_record(database_url)
    yield opened
    opened.close()
