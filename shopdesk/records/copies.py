"""A backup of the whole record, and putting one back.

SQLite gives a database file, PostgreSQL a dump in pg_dump's custom format. Both hold one state of
the record, taken while people work, and both are checked before they get their name.
"""

import dataclasses
import sqlite3
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from sqlalchemy import Connection, Engine, create_engine, make_url
from sqlalchemy.pool import NullPool

from shopdesk import settings
from shopdesk.errors import RecordFault
from shopdesk.records import chain, faults, filecopy, serverdump, witness
from shopdesk.records.filecopy import Progress
from shopdesk.records.migrate import HEAD, REVISIONS

_PATIENCE_S = 60.0
_NAMED = "%Y%m%dT%H%M%SZ"
_ENDINGS = {"sqlite": ".db", "postgresql": ".dump"}


@dataclass(frozen=True, slots=True)
class Copied:
    """``chain_fault`` says where the record itself, and so its copy, does not stand; ``kept`` is
    what a restored record took the place of."""

    where: str
    revision: str
    events: int
    head: str
    chain_fault: str | None = None
    kept: str | None = None


def name_for(url: str, when: datetime) -> str:
    """``shop-20260131T080000Z.db``"""
    return f"{stem(url)}-{when.astimezone(UTC).strftime(_NAMED)}{ending(url)}"


def stem(url: str) -> str:
    return Path(make_url(url).database or "shop").stem


def ending(url: str) -> str:
    return _ENDINGS["sqlite" if url.startswith("sqlite") else "postgresql"]


def take(url: str, target: Path, progress: Progress) -> Copied:
    """A checked copy of the record in ``target``, which must not exist. A copy whose chain is
    broken is kept all the same, and says so. Raises RecordFault."""
    url = settings.database_url(url)
    with faults.guarded(url), filecopy.kept_in(target.parent):
        return (_take_file if url.startswith("sqlite") else _take_dump)(url, target, progress)


def restore(copy: Path, url: str, progress: Progress, *, replace: bool = False) -> Copied:
    """Puts a copy in the place of the record at ``url``, after its pages and its chain were found
    whole there. A record that stands is refused without ``replace``, and with it is kept beside.
    """
    url = settings.database_url(url)
    if not copy.is_file():
        raise RecordFault(f"There is no copy at {copy}; name a file `shopdesk backup` made.")
    with faults.guarded(url, files=True):
        if url.startswith("sqlite"):
            return _restore_file(copy, url, progress, replace)
        from shopdesk.records import serverswap

        def verify(db: Connection) -> Copied:
            return _verified(db, faults.where(url), progress)

        found, kept = serverswap.restore(copy, url, progress, verify, replace)
        return dataclasses.replace(found, kept=kept)


def _verified(db: Connection, where: str, progress: Progress) -> Copied:
    """The revision, the chain and the rows it tells of, of what is to be put back. Raises
    RecordFault."""
    progress("Verifying the chain", 0.7)
    found = _found_in(db, where)
    if found.chain_fault is not None:
        raise RecordFault(
            f"The copy's chain of events is broken ({found.chain_fault}); it was not "
            "put back, and the record was left as it is."
        )
    if found.revision not in REVISIONS:
        raise RecordFault(
            f"The copy was made by a newer program (revision {found.revision}, this one knows "
            f"{HEAD}); it was not put back."
        )
    changed = witness.fault(db) if found.revision == HEAD else None  # it reads today's tables
    if changed is not None:
        raise RecordFault(
            f"The copy's chain of events stands, but {changed}; it was not put back and the "
            "record was left as it is."
        )
    return found


def _found_in(db: Connection, where: str) -> Copied:
    revision = str(db.exec_driver_sql("SELECT version_num FROM alembic_version").scalar_one())
    report = chain.verify(db)
    return Copied(where, revision, report.rows, report.head, report.broken)


def _take_file(url: str, target: Path, progress: Progress) -> Copied:
    from shopdesk.records import sqlite

    path = sqlite.file_of(url)
    sqlite.check_file(path)
    backend = sqlite.SqliteFile(url)
    try:
        source = backend.reading.raw_connection()
        try:
            driver = source.driver_connection
            assert isinstance(driver, sqlite3.Connection)
            filecopy.copy(driver, target, path.stat().st_mode & 0o777, progress)
        finally:
            source.close()
    finally:
        backend.close()
    progress("Verifying the chain", 0.9)
    return _of_file(target, _found_in)


def _take_dump(url: str, target: Path, progress: Progress) -> Copied:
    """The chain is walked in the very snapshot that is dumped."""
    from shopdesk.records.postgresql import PostgresServer

    backend = PostgresServer(url)
    try:
        with backend.reading.begin() as db:
            db.exec_driver_sql("SET LOCAL idle_in_transaction_session_timeout = 0")
            snapshot = db.exec_driver_sql("SELECT pg_export_snapshot()").scalar_one()
            progress("Verifying the chain", 0.0)
            found = _found_in(db, str(target))
            serverdump.dump(url, target, str(snapshot), progress)
        return found
    finally:
        backend.close()


def _of_file(path: Path, asked: Callable[[Connection, str], Copied]) -> Copied:
    engine = _plain(path)
    with engine.connect() as db:
        return asked(db, str(path))


def _plain(path: Path) -> Engine:
    from shopdesk.records import sqlite

    return create_engine(
        "sqlite://", creator=lambda: sqlite.connect(path, query_only=True), poolclass=NullPool
    )


def _restore_file(copy: Path, url: str, progress: Progress, replace: bool) -> Copied:
    from shopdesk.records import sqlite
    from shopdesk.records.lock import FileLock

    path = sqlite.file_of(url)
    sqlite.check_place(path)
    unfinished = path.with_name(f"{path.name}.restoring")
    with FileLock(path).held(_PATIENCE_S):
        if path.exists() and not replace:
            raise RecordFault(
                f"{path} is there already and was left as it was; say --replace to put the copy in "
                "its place (what stands there is then kept beside it)."
            )
        filecopy.remove(unfinished)
        try:
            _copied(copy, unfinished, progress)
            found = _of_file(unfinished, lambda db, _: _verified(db, str(path), progress))
            kept = _set_aside(path) if path.exists() else None
            filecopy.put_in_place(unfinished, path)
        finally:
            filecopy.remove(unfinished)
    return dataclasses.replace(found, kept=None if kept is None else str(kept))


def _copied(copy: Path, unfinished: Path, progress: Progress) -> None:
    """Read without a mark on the copy, which may lie on a disk that cannot be written."""
    with copy.open("rb") as file:
        start = file.read(15)
    if start != b"SQLite format 3":
        raise RecordFault(f"{copy} is not a SQLite database; name a copy of this shop's file.")
    source = sqlite3.connect(f"{copy.absolute().as_uri()}?mode=ro", uri=True, isolation_level=None)
    try:
        filecopy.copy(source, unfinished, 0o660, progress)
    except sqlite3.DatabaseError as error:
        if error.sqlite_errorcode & 0xFF in (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB):
            raise RecordFault(
                f"The copy {copy} is damaged ({error}); nothing was put back: take another one."
            ) from error
        raise
    finally:
        source.close()


def _set_aside(path: Path) -> Path:
    """The record that stands, renamed with its log. Nobody may have it open: what a terminal wrote
    on into the old file would be lost."""
    stamp = datetime.now(UTC).strftime(_NAMED)
    kept = path.with_name(f"{path.name}.before-{stamp}")
    db = sqlite3.connect(path, timeout=0.0, isolation_level=None)
    try:
        db.execute("PRAGMA journal_mode = DELETE")  # needs the file alone, and takes its log in
        db.execute("BEGIN EXCLUSIVE")
    except sqlite3.OperationalError as error:
        if "locked" in str(error):
            db.close()
            raise RecordFault(
                f"{path} is open at a terminal and was left as it is; leave it there (F10), then "
                "restore again."
            ) from error
    except sqlite3.DatabaseError:
        pass  # too damaged to be open anywhere; its log, if any, goes with it
    try:
        for end in ("-wal", "-shm"):
            part = path.with_name(path.name + end)
            if part.exists():
                part.rename(kept.with_name(kept.name + end))
        try:
            kept.hardlink_to(path)  # so that at no moment there is no record
        except OSError:  # a disk without hard links
            path.rename(kept)
        filecopy.sync(path.parent)
    finally:
        db.close()
    return kept
