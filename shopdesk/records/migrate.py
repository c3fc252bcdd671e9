"""Making a record and bringing it up to this program; Alembic is imported only in here."""

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from sqlalchemy import Connection, Engine, create_engine, event, inspect, make_url
from sqlalchemy.pool import NullPool

from shopdesk import settings
from shopdesk.errors import RecordFault
from shopdesk.records import faults

if TYPE_CHECKING:
    from alembic.config import Config

REVISIONS = (
    "0001",
    "0002",
    "0003",
    "0004",
    "0005",
    "0006",
    "0007",
    "0008",
    "0009",
    "0010",
    "0011",
    "0012",
    "0013",
    "0014",
    "0015",
    "0016",
    "0017",
    "0018",
    "0019",
    "0020",
    "0021",
)
"""Every revision of the tables, oldest first; a test holds it against the migrations."""

HEAD = REVISIONS[-1]

_PATIENCE_S = 60.0
_ADVISORY_LOCK = 0x73686F70
_PACKAGE = Path(__file__).resolve().parent.parent


def migrations_folder() -> Path:
    """The migrations beside the installed package, else those of the checkout."""
    packaged = _PACKAGE / "_migrations"
    return packaged if packaged.is_dir() else _PACKAGE.parent / "migrations"


def create(url: str, *, exist_ok: bool = False) -> None:
    """Makes an empty record: a new SQLite file, or the tables in an empty PostgreSQL database.
    It is there whole or not at all. One that exists is refused, or left alone with ``exist_ok``.
    """
    url = settings.database_url(url)
    with faults.guarded(url, files=True):
        made = _create_file(url) if url.startswith("sqlite") else _create_tables(url)
    if not made and not exist_ok:
        raise RecordFault(f"{faults.where(url)} is there already; nothing was changed.")


def upgrade(url: str, *, backup: bool = True) -> str:
    """Brings the record up to HEAD, one transaction a revision, and says in a sentence what was
    done. A checked copy is kept first: of a SQLite file beside it, of a PostgreSQL database a dump.
    Raises RecordFault for a record that is newer, or that is none."""
    url = settings.database_url(url)
    with faults.guarded(url, files=True), connection(url) as db:
        found = _revision(db)
        _check_upgradable(found, url)
        if found == HEAD:
            return f"{faults.where(url)} is at revision {HEAD} already; nothing was changed."
        kept = _backup(url, str(found)) if backup else None
        _run(db, "upgrade", HEAD)
    copy = f" The record as it was is kept as {kept}." if kept else ""
    return f"{faults.where(url)} went from revision {found} to {HEAD}.{copy}"


def downgrade(url: str, revision: str) -> None:
    """Takes the record back to ``revision`` ("base": no tables), losing what that one cannot
    hold. RecordFault, at the first revision whose rows the chain tells of (``refuse_loss``)."""
    url = settings.database_url(url)
    with faults.guarded(url, files=True), connection(url) as db:
        _run(db, "downgrade", revision)


def current(url: str) -> str | None:
    """The record's revision; None where there is none."""
    url = settings.database_url(url)
    if url.startswith("sqlite"):
        from shopdesk.records import sqlite

        if not sqlite.file_of(url).exists():
            return None
    with faults.guarded(url, files=True), connection(url) as db:
        return _revision(db)


@contextmanager
def connection(url: str) -> Iterator[Connection]:
    """A connection for changing tables, alone with the record: under SQLite's file lock with
    foreign keys off (a batch change would empty child tables), or PostgreSQL's advisory lock."""
    url = settings.database_url(url)
    if url.startswith("sqlite"):
        from shopdesk.records import sqlite
        from shopdesk.records.lock import FileLock

        path = sqlite.file_of(url)
        sqlite.check_file(path)
        with FileLock(path).held(_PATIENCE_S), _opened(_sqlite_engine(path)) as db:
            yield db
        return
    from shopdesk.records.postgresql import engine_for

    with _opened(engine_for(url)) as db:
        db.exec_driver_sql(f"SELECT pg_advisory_lock({_ADVISORY_LOCK})")
        db.commit()
        yield db


def check_foreign_keys(db: Connection) -> None:
    """Refuses, before the commit, a change that left a row without its parent."""
    if db.dialect.name != "sqlite":
        return
    orphan = db.exec_driver_sql("PRAGMA foreign_key_check").first()
    if orphan is not None:
        raise RecordFault(
            f'Changing the tables would leave row {orphan[1]} of "{orphan[0]}" without its row in '
            f'"{orphan[2]}"; the record was left as it was.'
        )


def compared(_object: object, name: str | None, *_more: object) -> bool:
    """Whether Alembic holds it against the mapped classes: not what finds serials by pieces,
    which is another thing on each database."""
    return "_pieces" not in str(name)


def refuse_loss(db: Connection, rows: str, which: str) -> None:
    """Keeps the record from going down past rows that its chain tells of (``rows`` is FROM and
    WHERE): without them, or written otherwise, they would be what an older program calls forged."""
    found = db.exec_driver_sql(f"SELECT count(*) FROM {rows}").scalar_one()
    if found:
        raise RecordFault(
            f"The record stays at revision {_at(db)}: it holds {found} {which}, which an older "
            "program has no place for and its chain of events would tell of still; nothing was "
            "changed. To go back, restore a copy made before them."
        )


def _at(db: Connection) -> str:
    return str(db.exec_driver_sql("SELECT version_num FROM alembic_version").scalar())


@contextmanager
def _opened(engine: Engine) -> Iterator[Connection]:
    try:
        with engine.connect() as db:
            yield db
    finally:
        engine.dispose()


def _sqlite_engine(path: Path) -> Engine:
    from shopdesk.records import sqlite

    def plain() -> sqlite3.Connection:
        opened = sqlite.connect(path, query_only=False)
        opened.execute("PRAGMA foreign_keys = OFF")
        return opened

    engine = create_engine("sqlite://", creator=plain, poolclass=NullPool)

    @event.listens_for(engine, "begin")
    def _begin(db: Connection) -> None:
        db.exec_driver_sql("BEGIN IMMEDIATE")

    return engine


def _revision(db: Connection) -> str | None:
    if not inspect(db).has_table("alembic_version"):
        db.rollback()
        return None
    found = db.exec_driver_sql("SELECT version_num FROM alembic_version").scalar()
    db.rollback()
    return None if found is None else str(found)


def _check_upgradable(found: str | None, url: str) -> None:
    if found is None:
        raise RecordFault(f"{faults.where(url)} holds no shopdesk record to bring up.")
    if found not in REVISIONS:
        raise RecordFault(
            f"{faults.where(url)} was made by a newer program (revision {found}, this one knows "
            f"{HEAD}); it was left as it is."
        )


def _create_file(url: str) -> bool:
    from shopdesk.records import filecopy, sqlite
    from shopdesk.records.lock import FileLock

    path = sqlite.file_of(url)
    if path.exists():
        return False
    sqlite.check_place(path)
    lock = FileLock(path)
    with lock.held(_PATIENCE_S):
        if path.exists():
            return False
        _check_no_orphan(path)
        unfinished = path.with_name(f"{path.name}.unfinished")
        _build_file(unfinished)
        unfinished.replace(path)
        lock.path.chmod(path.stat().st_mode & 0o777)
        filecopy.sync(path.parent)
    return True


def _check_no_orphan(path: Path) -> None:
    """SQLite would replay a log left by another file into the new one."""
    orphan = path.with_name(path.name + "-wal")
    if orphan.exists():
        raise RecordFault(
            f"{orphan} is left of a record whose file is gone, and may hold its last entries; "
            "put that file back, or move the log away, then make the new record."
        )


def _build_file(path: Path) -> None:
    from shopdesk.records import sqlite

    for leftover in (path, *(path.with_name(path.name + end) for end in ("-wal", "-shm"))):
        leftover.unlink(missing_ok=True)
    try:
        os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o660))
        sqlite.set_wal(path)
        with _opened(_sqlite_engine(path)) as db:
            _run(db, "upgrade", HEAD)
    except BaseException:
        path.unlink(missing_ok=True)
        raise


def _create_tables(url: str) -> bool:
    with connection(url) as db:
        if _revision(db) is not None:
            return False
        others = set(inspect(db).get_table_names()) - {"alembic_version"}
        encoding = db.exec_driver_sql("SHOW server_encoding").scalar_one()
        db.rollback()
        if others:
            raise RecordFault(
                f"{faults.where(url)} holds other tables ({sorted(others)[0]}); a record needs a "
                "database of its own."
            )
        if encoding != "UTF8":
            raise RecordFault(
                f"{faults.where(url)} is encoded as {encoding}; make it anew with encoding UTF8."
            )
        _run(db, "upgrade", HEAD)
    return True


def _backup(url: str, revision: str) -> Path:
    """A checked copy: beside a SQLite file; of a server's database in the folder for backups, else
    among the user's data. The caller holds the lock."""
    from shopdesk.records import filecopy, serverdump, sqlite

    stamp = datetime.now(UTC).strftime("%Y%m%dT%H%M%SZ")
    if url.startswith("sqlite"):
        path = sqlite.file_of(url)
        copy = path.with_name(f"{path.name}.{revision}-{stamp}")
        with (
            filecopy.kept_in(path.parent),
            closing(sqlite.connect(path, query_only=True)) as source,
        ):
            filecopy.copy(source, copy, path.stat().st_mode & 0o777, _silent)
        return copy
    folder = settings.backup_folder(url) or settings.data_dir() / "backups"
    copy = folder / f"{make_url(url).database}.{revision}-{stamp}.dump"
    with filecopy.kept_in(folder):
        serverdump.dump(url, copy, None, _silent)
    return copy


def _silent(_what: str, _share: float) -> None:
    pass


def _run(db: Connection, way: str, revision: str) -> None:
    from alembic import command

    db.rollback()
    if way == "upgrade":
        command.upgrade(_config(db), revision)
    else:
        command.downgrade(_config(db), revision)


def _config(db: Connection) -> "Config":
    from alembic.config import Config

    config = Config(attributes={"connection": db})
    config.set_main_option("script_location", str(migrations_folder()).replace("%", "%%"))
    return config
