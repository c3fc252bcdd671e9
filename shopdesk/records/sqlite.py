"""What only SQLite has: its file, its pragmas, the lock beside it, its change counter.

Writing and reading have a pool each. A writing transaction is BEGIN IMMEDIATE under the file lock
(``lock``), synchronous FULL, so that what was acknowledged survives a power cut. Reading
connections are ``query_only``: they can neither write past the lock nor be kept waiting by it.
"""

import os
import sqlite3
import threading
from collections.abc import Iterator
from contextlib import ExitStack, closing, contextmanager
from pathlib import Path
from typing import Any, Literal
from urllib.parse import quote

from sqlalchemy import (
    ColumnElement,
    Engine,
    Integer,
    PoolProxiedConnection,
    Select,
    Text,
    column,
    create_engine,
    select,
    table,
)
from sqlalchemy.pool import QueuePool

from shopdesk.errors import RecordFault
from shopdesk.records import faults
from shopdesk.records.lock import FileLock
from shopdesk.records.mounts import network_type

BUSY_S = 5.0
"""How long SQLite itself waits for programs that do not know the file lock."""

_CLOSING_PATIENCE_S = 2.0
_PRAGMAS = (
    "PRAGMA synchronous = FULL",
    "PRAGMA foreign_keys = ON",
    "PRAGMA recursive_triggers = ON",  # so that REPLACE, too, meets the triggers on deleting
)
_READING = (
    "PRAGMA query_only = ON",
    "PRAGMA trusted_schema = OFF",  # not for writing: SQLite counts FTS5 in a trigger as unsafe
)


class SqliteFile:
    """One open SQLite record."""

    dialect: Literal["sqlite"] = "sqlite"

    def __init__(self, url: str) -> None:
        self._url = url
        self.path = file_of(url)
        self._lock = FileLock(self.path)
        self.writing = _engine(self.path, "BEGIN IMMEDIATE", query_only=False)
        self.reading = _engine(self.path, "BEGIN", query_only=True)
        self._watching: sqlite3.Connection | None = None
        self._watch = threading.Lock()

    @contextmanager
    def turn(self, patience_s: float) -> Iterator[None]:
        """This writer's turn; raises RecordFault when it does not come."""
        with ExitStack() as stack:
            with faults.guarded(self._url, files=True):
                stack.enter_context(self._lock.held(patience_s))
            yield

    def ready(self, patience_s: float) -> None:
        """Puts the file into WAL mode where it is not (a restored or foreign copy)."""
        with self.reading.connect() as db:
            if db.exec_driver_sql("PRAGMA journal_mode").scalar_one() == "wal":
                return
        with self.turn(patience_s):
            set_wal(self.path)

    def revision(self) -> str | None:
        """The revision in the file, or None where it holds no record."""
        with self.reading.connect() as db:
            named = "SELECT count(*) FROM sqlite_master WHERE name = 'alembic_version'"
            if not db.exec_driver_sql(named).scalar_one():
                return None
            rows = db.exec_driver_sql("SELECT version_num FROM alembic_version")
            return str(found) if (found := rows.scalar()) is not None else None

    def mark(self) -> int:
        """SQLite's own counter of commits by other connections, this process's included."""
        with self._watch:
            if self._watching is None:
                self._watching = connect(self.path, query_only=True)
            return int(self._watching.execute("PRAGMA data_version").fetchone()[0])

    def close(self) -> None:
        """Closes under the lock: the last to close a file writes its log back into it."""
        try:
            with self.turn(_CLOSING_PATIENCE_S):
                self._close()
        except RecordFault:  # held by another program, which then is the last; or no lock to have
            self._close()

    def _close(self) -> None:
        with self._watch:
            if self._watching is not None:
                self._watching.close()
                self._watching = None
        self.reading.dispose()
        self.writing.dispose()


def file_of(url: str) -> Path:
    return Path(url.removeprefix("sqlite:///"))


def connect(path: Path, *, query_only: bool) -> sqlite3.Connection:
    """A bare connection to a file that exists; SQLAlchemy's events begin its transactions."""
    connection = sqlite3.connect(
        f"file:{quote(str(path))}?mode=rw",
        uri=True,
        timeout=BUSY_S,
        isolation_level=None,
        check_same_thread=False,
    )
    try:
        for pragma in (*_PRAGMAS, *(_READING if query_only else ())):
            connection.execute(pragma)
    except BaseException:
        connection.close()
        raise
    return connection


def set_wal(path: Path) -> None:
    """Turns the file to WAL mode, which stays with it; call it in one's turn."""
    connection = connect(path, query_only=False)
    try:
        mode = connection.execute("PRAGMA journal_mode = WAL").fetchone()[0]
    finally:
        connection.close()
    if mode != "wal":
        raise RecordFault(
            f"{path} cannot be shared by several terminals where it lies (SQLite's WAL mode is "
            "refused); put it on a local disk."
        )


def check_place(path: Path) -> None:
    """Refuses a folder in which a SQLite record cannot stand."""
    kind = network_type(path)
    if kind is not None:
        raise RecordFault(
            f"{path} lies on a network file system ({kind}), where SQLite's locks do not hold "
            "between computers; put it on a local disk, or use PostgreSQL."
        )
    if not path.parent.is_dir():
        raise RecordFault(f"{path} cannot be: there is no folder {path.parent}; make it first.")
    if not os.access(path.parent, os.W_OK | os.X_OK):
        raise RecordFault(
            f"The folder {path.parent} is read-only for this account, so the record in it cannot "
            "be kept; give write permission on the folder."
        )


def check_file(path: Path) -> None:
    """Refuses what is plainly no SQLite file this account can write.

    SQLite itself looks at it. A file of one's own opened on it and closed again would end every
    lock this process has there (POSIX; https://sqlite.org/howtocorrupt.html, 2.2): another program
    would then be the last to close, take the log away under us, and what is recorded after that
    would be lost.
    """
    if path.is_dir():
        raise RecordFault(f"{path} is a folder; name the database file in it.")
    if not path.exists():
        raise RecordFault(f"There is no record at {path}; `shopdesk db create` makes an empty one.")
    check_place(path)
    if not os.access(path, os.R_OK | os.W_OK):
        raise RecordFault(
            f"{path} is read-only for this account, so nothing can be recorded in it; give write "
            "permission on the file."
        )
    empty = path.stat().st_size == 0
    if empty or not _is_database(path):
        raise RecordFault(
            f"{path} is {'empty' if empty else 'not a SQLite database'}; name the shop's own file."
        )


def _is_database(path: Path) -> bool:
    with closing(sqlite3.connect(f"file:{quote(str(path))}?mode=ro", uri=True)) as looked_at:
        try:
            looked_at.execute("PRAGMA schema_version").fetchone()
        except sqlite3.DatabaseError as error:
            # another fault than this one is told where the record is opened
            return error.sqlite_errorcode != sqlite3.SQLITE_NOTADB
    return True


def _engine(path: Path, begin: str, *, query_only: bool) -> Engine:
    engine = create_engine(
        "sqlite://",
        creator=lambda: connect(path, query_only=query_only),
        poolclass=QueuePool,
        pool_timeout=BUSY_S,
    )

    def begin_now(dbapi_connection: PoolProxiedConnection) -> None:
        dbapi_connection.cursor().execute(begin)

    # Not an event: with a listener on the engine every statement pays for looking for listeners.
    engine.dialect.do_begin = begin_now  # type: ignore[method-assign]
    return engine


def starts(column: ColumnElement[str], key: str) -> ColumnElement[bool]:
    """GLOB, because LIKE minds no case and so uses no index."""
    return column.op("GLOB")(f"{key}*")


def units_with(key: str, limit: int) -> Select[Any]:
    """Ids of units, the newest first, whose serial key holds ``key`` (three letters or digits up).
    ``unit_pieces`` is an FTS5 table of trigrams."""
    pieces = table("unit_pieces", column("rowid", Integer), column("unit_pieces", Text))
    return (
        select(pieces.c.rowid)
        .where(pieces.c.unit_pieces.op("MATCH")(f'"{key}"'))
        .order_by(pieces.c.rowid.desc())
        .limit(limit)
    )
