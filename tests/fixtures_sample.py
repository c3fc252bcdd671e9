"""One sample shop for every test that asks: built once a run, each test gets a copy of its own.

``sample_url`` is a SQLite copy, ``sample_postgres_url`` one on PostgreSQL (made from a template
database), ``sample_database`` both in turn. Tests that only read share ``sample_to_read``.
"""

import os
import shutil
import uuid
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from datetime import date
from pathlib import Path
from urllib.parse import urlsplit

import psycopg
import pytest
from sqlalchemy import create_engine, delete, insert, make_url, select, text

from shopdesk.desk.sample import build
from shopdesk.records import migrate
from shopdesk.records.engine import Record, open_record
from shopdesk.records.tables import Base, ChainHead
from tests import sharing

POSTGRES = os.environ.get("SHOPDESK_TEST_POSTGRES", "postgresql://postgres@127.0.0.1:5432/postgres")
SAMPLE_DAY = date(2026, 3, 4)  # a Wednesday
_SEQUENCES = """
SELECT s.oid::regclass, t.oid::regclass FROM pg_class s JOIN pg_depend d ON d.objid = s.oid
  JOIN pg_class t ON t.oid = d.refobjid WHERE s.relkind = 'S' AND t.relkind = 'r'
"""


@pytest.fixture(scope="session")
def sample_pattern(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The sample shop in a SQLite file, to be copied and never opened."""
    return sharing.once(
        sharing.folder(tmp_path_factory) / "sample.db",
        lambda path: build(str(path), today=SAMPLE_DAY),
    )


@pytest.fixture
def sample_url(sample_pattern: Path, tmp_path: Path) -> str:
    path = tmp_path / "sample.db"
    shutil.copyfile(sample_pattern, path)
    return f"sqlite:///{path}"


@pytest.fixture(scope="session")
def sample_template(sample_pattern: Path, tmp_path_factory: pytest.TempPathFactory) -> str:
    """The name of a PostgreSQL database with the same rows, to be copied."""
    return template(sample_pattern, tmp_path_factory)


def template(pattern: Path, factory: pytest.TempPathFactory) -> str:
    """The name of a PostgreSQL database with the rows of the SQLite file, for the whole run."""

    def make(note: Path) -> None:
        name = f"shopdesk_sample_{uuid.uuid4().hex[:12]}"
        with _admin() as admin:
            admin.execute(f"CREATE DATABASE {name} TEMPLATE template0 ENCODING 'UTF8'")
        sharing.to_drop(factory, name)
        migrate.create(_address(name))
        _carry_over(pattern, name)
        note.write_text(name)

    note = sharing.folder(factory) / f"{pattern.name}-on-postgresql"
    return sharing.once(note, make).read_text()


@pytest.fixture
def sample_postgres_url(sample_template: str) -> Iterator[str]:
    with sample_copy(sample_template) as url:
        yield url


@contextmanager
def sample_copy(sample_template: str) -> Iterator[str]:
    """The address of a PostgreSQL database like the template, for as long as the block lasts."""
    name = f"shopdesk_copy_{uuid.uuid4().hex[:12]}"
    with _admin() as admin:
        admin.execute(f"CREATE DATABASE {name} TEMPLATE {sample_template}")
    yield _address(name)
    _drop(name)


@pytest.fixture(params=["sqlite", "postgresql"])
def sample_database(request: pytest.FixtureRequest) -> str:
    """A sample shop of the test's own, once on each database."""
    kind = {"sqlite": "sample_url", "postgresql": "sample_postgres_url"}[request.param]
    return str(request.getfixturevalue(kind))


@pytest.fixture(scope="session", params=["sqlite", "postgresql"])
def sample_to_read(
    request: pytest.FixtureRequest, sample_pattern: Path, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Record]:
    """The sample shop, open on each database once for all tests that do nothing but read."""
    with ExitStack() as end:
        if request.param == "sqlite":
            path = tmp_path_factory.mktemp("read") / "sample.db"
            url = f"sqlite:///{shutil.copyfile(sample_pattern, path)}"
        else:
            url = end.enter_context(sample_copy(request.getfixturevalue("sample_template")))
        record = open_record(url)
        end.callback(record.close)
        yield record


def _carry_over(pattern: Path, name: str) -> None:
    """Every row as it is: both databases hold the same record."""
    source = create_engine(f"sqlite:///file:{pattern}?mode=ro&immutable=1&uri=true")
    target = create_engine(make_url(_address(name)).set(drivername="postgresql+psycopg"))
    with source.connect() as old, target.begin() as new:
        new.execute(text("SET session_replication_role = replica"))
        new.execute(delete(ChainHead))
        for table in Base.metadata.sorted_tables:
            rows = [dict(row._mapping) for row in old.execute(select(table))]
            if rows:
                new.execute(insert(table), rows)
        for sequence, owner in new.execute(text(_SEQUENCES)).all():
            new.execute(text(f"SELECT setval('{sequence}', max(id)) FROM {owner}"))
    source.dispose()
    target.dispose()


@contextmanager
def _admin() -> Iterator["psycopg.Connection[tuple[object, ...]]"]:
    try:
        admin = psycopg.connect(POSTGRES, autocommit=True, connect_timeout=3)
    except psycopg.OperationalError as error:
        words = f"no PostgreSQL for the tests (SHOPDESK_TEST_POSTGRES): {error}"
        if os.environ.get("SHOPDESK_REQUIRE_POSTGRES") == "1":
            pytest.fail(words)
        pytest.skip(words)
    with admin:
        yield admin


def _address(name: str) -> str:
    return urlsplit(POSTGRES)._replace(path=f"/{name}").geturl()


def _drop(name: str) -> None:
    with _admin() as admin:
        admin.execute(f"DROP DATABASE IF EXISTS {name} WITH (FORCE)")
