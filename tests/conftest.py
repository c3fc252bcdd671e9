"""A record of each kind, for every test that asks: ``database_url`` and ``record``.

PostgreSQL is the server SHOPDESK_TEST_POSTGRES names (the address of a database from which others
may be created). Where none answers its tests are skipped, or fail if SHOPDESK_REQUIRE_POSTGRES=1.
"""

import os
import shutil
import uuid
from collections.abc import Callable, Iterator
from pathlib import Path
from urllib.parse import urlsplit

import psycopg
import pytest

from shopdesk.records import migrate
from shopdesk.records.engine import Record, open_record

POSTGRES = os.environ.get("SHOPDESK_TEST_POSTGRES", "postgresql://postgres@127.0.0.1:5432/postgres")

NewDatabase = Callable[[str], str]


@pytest.fixture(scope="session")
def sqlite_pattern(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An empty record made once, to be copied."""
    path = tmp_path_factory.mktemp("pattern") / "pattern.db"
    migrate.create(str(path))
    return path


@pytest.fixture(scope="session")
def new_postgres() -> Iterator[NewDatabase]:
    """Makes a database after a named template and gives its address; all go at the end."""
    try:
        admin = psycopg.connect(POSTGRES, autocommit=True, connect_timeout=3)
    except psycopg.OperationalError as error:
        words = f"no PostgreSQL for the tests (SHOPDESK_TEST_POSTGRES): {error}"
        if os.environ.get("SHOPDESK_REQUIRE_POSTGRES") == "1":
            pytest.fail(words)
        pytest.skip(words)
    made: list[str] = []

    def new(template: str) -> str:
        name = f"shopdesk_test_{uuid.uuid4().hex[:12]}"
        admin.execute(f"CREATE DATABASE {name} TEMPLATE {template} ENCODING 'UTF8'")
        made.append(name)
        return urlsplit(POSTGRES)._replace(path=f"/{name}").geturl()

    yield new
    for name in reversed(made):
        admin.execute(f"DROP DATABASE IF EXISTS {name} WITH (FORCE)")
    admin.close()


@pytest.fixture(scope="session")
def postgres_pattern(new_postgres: NewDatabase) -> str:
    """The name of a database with an empty record, made once, to be copied."""
    url = new_postgres("template0")
    migrate.create(url)
    return urlsplit(url).path.lstrip("/")


@pytest.fixture
def postgres_url(new_postgres: NewDatabase, postgres_pattern: str) -> Iterator[str]:
    """An empty record on PostgreSQL."""
    url = new_postgres(postgres_pattern)
    yield url
    drop(url)


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


def drop(url: str) -> None:
    with psycopg.connect(POSTGRES, autocommit=True) as admin:
        name = urlsplit(url).path.lstrip("/")
        admin.execute(f"DROP DATABASE IF EXISTS {name} WITH (FORCE)")
