"""What can be wrong with a SQLite record: each a sentence, exit status 6, nothing half-written."""

import os
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from sqlalchemy import Connection, text
from sqlalchemy.exc import DBAPIError

from shopdesk.errors import BadInput, RecordFault
from shopdesk.records import faults, migrate, sqlite
from shopdesk.records.engine import Record, open_record
from shopdesk.records.sqlite import file_of

from .conftest import Fill
from .test_chain import add, verified


def opening(url: object) -> str:
    """The sentence with which a record is refused."""
    with pytest.raises(RecordFault) as caught:
        open_record(str(url))
    assert caught.value.exit_status == 6
    assert "Traceback" not in str(caught.value)
    assert "sqlalche.me" not in str(caught.value)
    return str(caught.value)


@pytest.fixture
def path(sqlite_url: str) -> Path:
    return file_of(sqlite_url)


def test_missing(tmp_path: Path) -> None:
    said = opening(tmp_path / "nowhere.db")
    assert said.startswith(f"There is no record at {tmp_path}/nowhere.db")
    assert "`shopdesk db create`" in said
    assert list(tmp_path.iterdir()) == []


def test_a_folder_and_a_missing_folder(tmp_path: Path) -> None:
    assert "is a folder" in opening(tmp_path)
    with pytest.raises(RecordFault, match="there is no folder"):
        migrate.create(str(tmp_path / "none" / "shop.db"))


@pytest.mark.parametrize(("content", "said"), [(b"", "is empty"), (b"a note\n" * 900, "is not a")])
def test_no_database(tmp_path: Path, content: bytes, said: str) -> None:
    path = tmp_path / "note.db"
    path.write_bytes(content)
    assert said in opening(path)
    assert path.read_bytes() == content


def test_a_header_and_then_nonsense(path: Path) -> None:
    whole = path.read_bytes()
    path.write_bytes(whole[:16] + os.urandom(len(whole) - 16))
    said = opening(path)
    assert "is not a SQLite database" in said or "is damaged" in said


def test_another_programs_database(tmp_path: Path) -> None:
    path = tmp_path / "other.db"
    other = sqlite3.connect(path)
    other.execute("CREATE TABLE t (x)")
    other.close()
    assert "holds no shopdesk record" in opening(path)


@pytest.mark.parametrize("kept", [0.9, 0.5, 0.02])
def test_truncated(path: Path, kept: float) -> None:
    whole = path.read_bytes()
    path.write_bytes(whole[: int(len(whole) * kept)])
    said = opening(path)
    assert "is damaged" in said
    assert "last backup" in said


def test_damaged_within(sqlite_url: str, path: Path, fill: Fill) -> None:
    record = open_record(sqlite_url)
    record.run(fill)
    record.close()
    pages = path.stat().st_size // 4096
    with path.open("r+b") as file:
        file.seek(4096 * (pages // 3))
        file.write(b"\xff" * (path.stat().st_size - file.tell()))
    with pytest.raises(RecordFault, match=r"is damaged|is not a SQLite database"):
        use_everything(sqlite_url)


def use_everything(url: str) -> None:
    record = open_record(url)
    try:
        with record.read() as db:
            for name in db.exec_driver_sql("SELECT name FROM sqlite_master").scalars().all():
                db.exec_driver_sql(f'SELECT count(*), * FROM "{name}"')
            problem = db.exec_driver_sql("PRAGMA quick_check").scalars().first()
        assert problem != "ok"
        raise RecordFault(f"{url} is damaged: quick_check says so, no statement met it")
    finally:
        record.close()


LOCKING = """
import sqlite3, sys
c = sqlite3.connect(sys.argv[1], isolation_level=None)
c.execute("PRAGMA locking_mode = EXCLUSIVE")
c.execute("BEGIN EXCLUSIVE")
c.execute("CREATE TABLE held (x)")
print("held", flush=True)
sys.stdin.read()
"""


@contextmanager
def locked(path: Path) -> Iterator[None]:
    """Another program that knows nothing of the lock file holds the database for itself."""
    holder = subprocess.Popen(
        [sys.executable, "-c", LOCKING, str(path)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
    )
    with holder:
        assert holder.stdout is not None
        assert holder.stdout.readline() == b"held\n"
        yield
        holder.communicate()


def test_locked_by_another_program(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sqlite, "BUSY_S", 0.1)
    with locked(path):
        assert "is locked by another program" in opening(path)
    open_record(str(path)).close()


def test_locked_while_in_use(sqlite_url: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sqlite, "BUSY_S", 0.05)
    record = open_record(sqlite_url)
    record.patience_s = 0.3
    other = sqlite3.connect(file_of(sqlite_url), isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    with pytest.raises(RecordFault, match=r"is locked by another program and nothing was written"):
        record.run(add)
    other.execute("ROLLBACK")
    other.close()
    record.run(add)
    assert verified(record).rows == 1
    record.close()


def fill_the_disk(db: Connection) -> None:
    for _ in range(400):
        add(db, "x" * 4000)


def test_no_space_left(sqlite_url: str) -> None:
    """A limit of pages gives SQLite's own "database or disk is full"."""
    record = open_record(sqlite_url)
    record.run(add)

    def work(db: Connection) -> None:
        pages = db.exec_driver_sql("PRAGMA page_count").scalar_one()
        db.exec_driver_sql(f"PRAGMA max_page_count = {pages + 20}")
        fill_the_disk(db)

    with pytest.raises(RecordFault, match=r"disk that holds .* is full, so nothing was recorded"):
        record.run(work)
    assert verified(record).rows == 1
    record.run(lambda db: db.exec_driver_sql("PRAGMA max_page_count = 1000000"))
    record.run(add)
    assert verified(record) == verified(record)
    assert (verified(record).rows, verified(record).broken) == (2, None)
    record.close()


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A file system of 2 MB of its own."""
    place = tmp_path / "disk"
    place.mkdir()
    command = ["mount", "-t", "tmpfs", "-o", "size=2m", "tmpfs", str(place)]
    if not shutil.which("mount") or subprocess.run(command, capture_output=True).returncode:
        pytest.skip("a file system cannot be mounted here (it takes root)")
    yield place
    subprocess.run(["umount", "-l", str(place)], check=True)


def test_a_disk_that_is_full(small_disk: Path, path: Path) -> None:
    shutil.copyfile(path, small_disk / "shop.db")
    record = open_record(str(small_disk / "shop.db"))
    record.run(add)
    with pytest.raises(RecordFault, match=r"disk that holds .* is full, so nothing was recorded"):
        record.run(fill_the_disk)
    assert (verified(record).rows, verified(record).broken) == (1, None)
    record.run(add)
    record.close()
    reopened = open_record(str(small_disk / "shop.db"))
    assert (verified(reopened).rows, verified(reopened).broken) == (2, None)
    reopened.close()


def test_a_disk_too_full_to_make_a_record(small_disk: Path) -> None:
    (small_disk / "big").write_bytes(b"x" * 1_950_000)
    with pytest.raises(RecordFault, match=r"disk that holds .* is full"):
        migrate.create(str(small_disk / "shop.db"))
    assert not (small_disk / "shop.db").exists()
    (small_disk / "big").unlink()
    migrate.create(str(small_disk / "shop.db"))


def test_a_read_only_disk(small_disk: Path, path: Path) -> None:
    shutil.copyfile(path, small_disk / "shop.db")
    remount = ["mount", "-o", "remount,ro", str(small_disk)]
    subprocess.run(remount, check=True, capture_output=True)
    assert "read-only for this account" in opening(small_disk / "shop.db")
    with pytest.raises(RecordFault, match="read-only for this account"):
        migrate.create(str(small_disk / "new.db"))


@pytest.mark.skipif(os.geteuid() == 0, reason="root may write where nobody else may")
@pytest.mark.parametrize("closed", ["file", "folder"])
def test_without_permission(path: Path, closed: str) -> None:
    place = path if closed == "file" else path.parent
    mode = place.stat().st_mode
    place.chmod(0o444 if closed == "file" else 0o555)
    try:
        assert "read-only for this account" in opening(path)
    finally:
        place.chmod(mode)


def test_what_cannot_be_a_number_here(record: Record, fill: Fill) -> None:
    """SQLite has 64-bit integers, these PostgreSQL columns 32-bit ones."""
    record.run(fill)
    for number in (2**31, 2**63):
        if record.dialect == "sqlite" and number == 2**31:
            continue
        statement = text("UPDATE part SET minimum = :n").bindparams(n=number)
        with pytest.raises(BadInput, match="nothing was recorded"):
            record.run(lambda db, s=statement: db.execute(s))  # type: ignore[misc]


def test_a_table_that_is_gone(record: Record) -> None:
    record.run(lambda db: db.exec_driver_sql("DROP TABLE draft"))
    with pytest.raises(RecordFault, match="draft"), record.read() as db:
        db.exec_driver_sql("SELECT * FROM draft")


def test_half_a_character(record: Record, fill: Fill) -> None:
    record.run(fill)
    statement = text("UPDATE customer SET name = :n").bindparams(n="\ud800")
    with pytest.raises(BadInput, match="nothing was recorded"):
        record.run(lambda db: db.execute(statement))


def test_a_mistake_in_a_statement_is_no_fault_of_the_database(record: Record) -> None:
    with pytest.raises(KeyError), record.read():
        raise KeyError("mine")
    with pytest.raises(FileNotFoundError), record.write():
        Path("no such photo").read_bytes()
    with pytest.raises(DBAPIError), record.read() as db:
        db.exec_driver_sql("SELECT no_column FROM part")


def test_an_error_nobody_foresaw_still_says_which_database() -> None:
    said = str(faults.translate(RuntimeError("odd"), "sqlite:////srv/shop.db"))
    assert "/srv/shop.db" in said
    assert "odd" in said
