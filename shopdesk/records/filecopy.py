"""A SQLite file copied while people work: one state of it, in a file of its own, checked."""

import os
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from shopdesk.errors import RecordFault
from shopdesk.records import sqlite

Progress = Callable[[str, float], None]
"""What is being done, and how much of it is done, from 0 to 1."""

_STEP_PAGES = 2000


def copy(source: sqlite3.Connection, target: Path, mode: int, progress: Progress) -> None:
    """``source`` as it stands now into ``target``, which appears whole and checked or not at all.

    SQLite's online backup (https://sqlite.org/backup.html): the open read transaction holds one
    state, so writers go on meanwhile and the copy never begins anew.
    """
    if target.exists():
        raise RecordFault(f"{target} is there already; name another file.")
    unfinished = target.with_name(target.name + ".unfinished")
    try:
        remove(unfinished)
        os.close(os.open(unfinished, os.O_CREAT | os.O_EXCL | os.O_WRONLY, mode))
        with closing(sqlite.connect(unfinished, query_only=False)) as made:
            _in_steps(source, made, progress)
            made.execute("PRAGMA journal_mode = DELETE")
        check(unfinished)
        put_in_place(unfinished, target)
    except BaseException:
        remove(unfinished)
        raise


@contextmanager
def kept_in(folder: Path) -> Iterator[None]:
    """Makes the folder for a copy; what the disk refuses inside is a fault of the copy's, not the
    record's."""
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        yield
    except (OSError, sqlite3.OperationalError) as error:
        why = getattr(error, "strerror", None) or error
        raise RecordFault(
            f"The copy cannot be kept in {folder} ({why}); the record itself is as it was."
        ) from error


def check(path: Path) -> None:
    """SQLite's own check of every page, index and constraint. Raises RecordFault."""
    with closing(sqlite.connect(path, query_only=True)) as db:
        sound = db.execute("PRAGMA integrity_check(1)").fetchone()[0]
        orphan = db.execute("PRAGMA foreign_key_check").fetchone()
    if sound != "ok":
        raise RecordFault(f"The copy {path} is damaged ({sound}); it was not kept.")
    if orphan is not None:
        raise RecordFault(
            f'A row of "{orphan[0]}" has lost its row in "{orphan[2]}"; the copy was not kept.'
        )


def put_in_place(unfinished: Path, target: Path) -> None:
    """Renames, with file and folder on the disk before and after."""
    sync(unfinished)
    unfinished.replace(target)
    sync(target.parent)


def sync(path: Path) -> None:
    descriptor = os.open(path, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


def remove(path: Path) -> None:
    """The file with what SQLite keeps beside it."""
    for end in ("", "-wal", "-shm", "-journal"):
        path.with_name(path.name + end).unlink(missing_ok=True)


def _in_steps(source: sqlite3.Connection, made: sqlite3.Connection, progress: Progress) -> None:
    def told(_status: int, left: int, total: int) -> None:
        progress("Copying", 1 - left / total if total else 1.0)

    source.execute("BEGIN")
    try:
        source.execute("SELECT count(*) FROM sqlite_master").fetchone()  # takes hold of the state
        source.backup(made, pages=_STEP_PAGES, progress=told)
    finally:
        source.execute("ROLLBACK")
