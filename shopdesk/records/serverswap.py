"""A dump put back on PostgreSQL: into a database of its own, verified there, then swapped in."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import TypeVar

from sqlalchemy import Connection, make_url

from shopdesk.errors import RecordFault
from shopdesk.records import faults, serverdump
from shopdesk.records.filecopy import Progress
from shopdesk.records.postgresql import engine_for

Found = TypeVar("Found")


def restore(
    copy: Path, url: str, progress: Progress, verified: Callable[[Connection], Found], force: bool
) -> tuple[Found, str | None]:
    """What ``verified`` found in the dump, and the name under which the old database stays on the
    server. The user must be allowed to create databases; who is connected to the old one is cut
    off at the swap."""
    name = str(make_url(url).database)
    trial = f"{name}_restoring"
    serverdump.read_through(copy, url, progress)
    with _administering(url) as admin:
        stands = _exists(admin, name)
        if stands and not force and _has_tables(url):
            raise RecordFault(
                f"{faults.where(url)} holds tables and was left as it was; say --replace to put "
                "the copy in its place (what stands there is then kept under another name)."
            )
        _sql(admin, f"DROP DATABASE IF EXISTS {_quoted(trial)}")
        _sql(admin, f"CREATE DATABASE {_quoted(trial)} TEMPLATE template0 ENCODING 'UTF8'")
        try:
            trial_url = make_url(url).set(database=trial).render_as_string(hide_password=False)
            serverdump.load(copy, trial_url, progress)
            if not _has_tables(trial_url):
                raise RecordFault(f"The copy {copy} holds no record; nothing was put back.")
            with _connected(trial_url) as db:
                found = verified(db)
            kept = _set_aside(admin, name) if stands else None
            _sql(admin, f"ALTER DATABASE {_quoted(trial)} RENAME TO {_quoted(name)}")
        except BaseException:
            _sql(admin, f"DROP DATABASE IF EXISTS {_quoted(trial)}")
            raise
    return found, kept


def _set_aside(admin: Connection, name: str) -> str:
    kept = f"{name}_before_{datetime.now(UTC).strftime('%Y%m%dt%H%M%Sz')}"
    _sql(admin, f"ALTER DATABASE {_quoted(name)} ALLOW_CONNECTIONS false")
    try:
        _sql(
            admin,
            "SELECT pg_terminate_backend(pid, 5000) FROM pg_stat_activity"
            f" WHERE datname = '{_literal(name)}' AND pid <> pg_backend_pid()",
        )
        _sql(admin, f"ALTER DATABASE {_quoted(name)} RENAME TO {_quoted(kept)}")
    except BaseException:
        _sql(admin, f"ALTER DATABASE {_quoted(name)} ALLOW_CONNECTIONS true")
        raise
    _sql(admin, f"ALTER DATABASE {_quoted(kept)} ALLOW_CONNECTIONS true")
    return kept


@contextmanager
def _administering(url: str) -> Iterator[Connection]:
    """A database cannot be renamed from within."""
    with _connected(make_url(url).set(database="postgres").render_as_string(False)) as db:
        yield db.execution_options(isolation_level="AUTOCOMMIT")


@contextmanager
def _connected(url: str) -> Iterator[Connection]:
    engine = engine_for(url)
    try:
        with engine.connect() as db:
            yield db
    finally:
        engine.dispose()


def _exists(admin: Connection, name: str) -> bool:
    asked = f"SELECT count(*) FROM pg_database WHERE datname = '{_literal(name)}'"
    return bool(admin.exec_driver_sql(asked).scalar_one())


def _has_tables(url: str) -> bool:
    with _connected(url) as db:
        asked = "SELECT count(*) FROM pg_tables WHERE schemaname = 'public'"
        return bool(db.exec_driver_sql(asked).scalar_one())


def _sql(admin: Connection, statement: str) -> None:
    admin.exec_driver_sql(statement.replace("%", "%%"))


def _quoted(name: str) -> str:
    doubled = name.replace('"', '""')
    return f'"{doubled}"'


def _literal(name: str) -> str:
    return name.replace("'", "''")
