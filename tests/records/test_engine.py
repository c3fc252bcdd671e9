"""Reading, writing, writing again: the same rule on both databases."""

import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

import psycopg
import pytest
from sqlalchemy import Connection, select, update

from shopdesk import settings
from shopdesk.errors import RecordFault, Unreachable
from shopdesk.records import chain
from shopdesk.records.engine import Record, open_record
from shopdesk.records.faults import Unsettled
from shopdesk.records.lock import FileLock
from shopdesk.records.sqlite import file_of
from shopdesk.records.tables import ChainHead, Part

from .conftest import Fill
from .test_chain import add, verified


def stock(db: Connection) -> int:
    return int(db.execute(select(Part.on_hand).where(Part.id == 1)).scalar_one())


def one_more(db: Connection) -> int:
    db.execute(update(Part).values(on_hand=Part.on_hand + 1))
    return stock(db)


@contextmanager
def held(record: Record) -> Iterator[None]:
    """Another terminal in the middle of a write: it has the lock every writer needs."""
    if record.dialect == "sqlite":
        with FileLock(file_of(record.url)).held(1.0):
            yield
        return
    with psycopg.connect(record.url.replace("+psycopg", "")) as other:
        other.execute("SELECT * FROM chain_head FOR UPDATE")
        yield
        other.rollback()


def test_what_work_returns_is_returned_and_recorded(record: Record, fill: Fill) -> None:
    record.run(fill)
    assert record.run(one_more) == 2
    with record.write() as db:
        one_more(db)
    with record.read() as db:
        assert stock(db) == 3


@pytest.mark.parametrize("way", ["run", "write"])
def test_all_or_nothing(record: Record, fill: Fill, way: str) -> None:
    record.run(fill)

    def fails(db: Connection) -> None:
        one_more(db)
        add(db)
        raise KeyError("halfway")

    def written() -> None:
        with record.write() as db:
            fails(db)

    with pytest.raises(KeyError):
        record.run(fails) if way == "run" else written()
    with record.read() as db:
        assert stock(db) == 1
    assert verified(record).rows == 1


def test_reading_cannot_write(record: Record, fill: Fill) -> None:
    record.run(fill)
    with pytest.raises(RecordFault, match="may be read but not written"), record.read() as db:
        one_more(db)
    record.run(one_more)


def test_one_read_sees_one_state(record: Record, fill: Fill) -> None:
    record.run(fill)
    with record.read() as db:
        assert stock(db) == 1
        record.run(one_more)
        assert stock(db) == 1
    with record.read() as db:
        assert stock(db) == 2


def test_a_reader_does_not_wait_for_a_writer(record: Record, fill: Fill) -> None:
    record.run(fill)
    with record.write() as db:
        chain.lock(db)
        one_more(db)
        began = time.monotonic()
        with record.read() as reading:
            assert stock(reading) == 1
        assert time.monotonic() - began < 1.0


def test_threads_lose_no_update(record: Record, fill: Fill) -> None:
    """Read, then write: only the lock between them makes this right."""
    record.run(fill)

    def read_then_write(db: Connection) -> None:
        chain.lock(db)
        db.execute(update(Part).values(on_hand=stock(db) + 1))

    def ten() -> None:
        for _ in range(10):
            record.run(read_then_write)

    threads = [threading.Thread(target=ten) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    with record.read() as db:
        assert stock(db) == 41


def test_a_wait_is_told_and_ends_well(record: Record) -> None:
    told = threading.Event()
    record.on_wait = told.set
    record.run(add)
    assert not told.is_set()
    with held(record):
        waiting = threading.Thread(target=record.run, args=(add,))
        waiting.start()
        assert told.wait(5.0)
    waiting.join(10.0)
    assert verified(record).rows == 2


def test_a_wait_without_end_ends(record: Record) -> None:
    record.patience_s = 0.4
    with held(record), pytest.raises(RecordFault, match=r"nothing was (recorded|written)") as told:
        record.run(impatient)
    assert told.value.exit_status == 6
    record.run(add)
    assert verified(record).rows == 1


def impatient(db: Connection) -> int:
    if db.dialect.name == "postgresql":
        db.exec_driver_sql("SET LOCAL lock_timeout = '100ms'")
    return add(db)


def test_a_place_in_the_queue_that_was_given_up_blocks_nobody(sqlite_url: str) -> None:
    lock = FileLock(file_of(sqlite_url))
    with lock.held(1.0), pytest.raises(TimeoutError), lock.held(0.05):
        pass
    for _ in range(3):
        with lock.held(2.0):
            pass


def noticed(record: Record, mark: int) -> int:
    """The mark after a change elsewhere; PostgreSQL's word of it comes a moment after."""
    until = time.monotonic() + 5.0
    while (found := record.change_mark()) == mark:
        assert time.monotonic() < until, "not noticed"
        time.sleep(0.005)
    return found


def test_a_change_is_noticed(record: Record, database_url: str, fill: Fill) -> None:
    record.run(fill)
    other = open_record(database_url)
    mark = record.change_mark()
    assert record.change_mark() == mark
    other.run(add)
    changed = noticed(record, mark)
    assert record.change_mark() == changed
    record.run(add)
    noticed(record, changed)
    other.close()


def test_a_listener_that_was_cut_off_listens_again(postgres_url: str, fill: Fill) -> None:
    record = open_record(postgres_url)
    record.run(fill)
    mark = record.change_mark()
    with psycopg.connect(postgres_url, autocommit=True) as admin:
        admin.execute(
            "SELECT pg_terminate_backend(pid, 5000) FROM pg_stat_activity"
            " WHERE datname = current_database() AND query LIKE 'LISTEN%'"
        )
    with pytest.raises(Unreachable):
        noticed(record, mark)
    assert noticed(record, mark) > mark  # what happened meanwhile counts as a change
    record.close()


def test_a_deadlock_is_not_seen(postgres_url: str, fill: Fill) -> None:
    """Two terminals lock the same two rows in opposite order; PostgreSQL ends one of them."""
    record = open_record(postgres_url)
    record.run(fill)
    both_have_one = threading.Barrier(2, timeout=10)
    tries: list[str] = []

    def crossing(first: str, second: str) -> Callable[[Connection], None]:
        def work(db: Connection) -> None:
            tries.append(first)
            db.exec_driver_sql(f"SELECT * FROM {first} FOR UPDATE")
            if tries.count(first) == 1:
                both_have_one.wait()
            db.exec_driver_sql(f"SELECT * FROM {second} FOR UPDATE")
            one_more(db)

        return work

    works = [crossing("lot", "bottle"), crossing("bottle", "lot")]
    threads = [threading.Thread(target=record.run, args=(work,)) for work in works]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(30)
    with record.read() as db:
        assert stock(db) == 3
    assert len(tries) == 3
    record.close()


def backend_of(db: Connection) -> int:
    return int(db.exec_driver_sql("SELECT pg_backend_pid()").scalar_one())


def cut(backend: int, url: str) -> None:
    """The server ends this connection, as a restart or a broken line would."""
    with psycopg.connect(url, autocommit=True) as other:
        other.execute("SELECT pg_terminate_backend(%s, 5000)", (backend,))


def test_a_connection_lost_in_the_middle_is_made_again(postgres_url: str) -> None:
    record = open_record(postgres_url)
    tries: list[int] = []

    def work(db: Connection) -> None:
        add(db)
        tries.append(1)
        if len(tries) == 1:
            cut(backend_of(db), postgres_url)
        add(db)

    record.run(work)
    assert (len(tries), verified(record).rows) == (2, 2)
    record.close()


def test_a_connection_lost_at_commit_is_said_or_tried_by_key(postgres_url: str) -> None:
    record = open_record(postgres_url)
    tries: list[int] = []

    def work(db: Connection) -> None:
        add(db, key=f"k{len(tries)}")
        tries.append(1)
        if len(tries) == 1:
            cut(backend_of(db), postgres_url)

    with pytest.raises(Unsettled, match="look whether it is there"):
        record.run(work)
    assert verified(record).rows == 0
    tries.clear()
    record.run(work, keyed=True)
    assert (len(tries), verified(record).rows) == (2, 1)
    record.close()


def test_an_idle_connection_that_died_is_replaced(
    postgres_url: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    from shopdesk.records import postgresql

    record = open_record(postgres_url)
    monkeypatch.setattr(postgresql, "_IDLE_S", 0.0)
    with record.read() as db:
        backend = backend_of(db)
    cut(backend, postgres_url)
    with record.read() as db:
        assert db.execute(select(ChainHead.event_id)).scalar_one() == 0
    record.close()


def test_postgres_keeps_what_it_acknowledges(postgres_url: str) -> None:
    """synchronous_commit off would lose the last entries in a power cut: PostgreSQL manual,
    "Asynchronous Commit"."""
    database = postgres_url.rpartition("/")[2]
    with psycopg.connect(postgres_url, autocommit=True) as owner:
        owner.execute(f"ALTER DATABASE {database} SET synchronous_commit = off")
    record = open_record(postgres_url)
    with record.write() as db:
        assert db.exec_driver_sql("SHOW synchronous_commit").scalar_one() == "on"
        assert db.exec_driver_sql("SHOW transaction_isolation").scalar_one() == "read committed"
    record.close()


def test_sqlite_keeps_what_it_acknowledges(sqlite_url: str) -> None:
    """synchronous 2 is FULL: www.sqlite.org/pragma.html#pragma_synchronous."""
    record = open_record(sqlite_url)
    with record.write() as db:
        asked = ("synchronous", "foreign_keys", "journal_mode", "recursive_triggers")
        found = [db.exec_driver_sql(f"PRAGMA {name}").scalar_one() for name in asked]
    assert found == [2, 1, "wal", 1]
    record.close()


def test_closing_waits_for_its_turn(sqlite_url: str) -> None:
    """The last to close writes the log back into the file: not beside another's commit."""
    record = open_record(sqlite_url)
    record.run(add)
    closing = threading.Thread(target=record.close)
    with FileLock(file_of(sqlite_url)).held(1.0):
        closing.start()
        closing.join(0.2)
        assert closing.is_alive()
        assert file_of(sqlite_url).with_name("shop.db-wal").stat().st_size > 0
    closing.join(5.0)
    assert not closing.is_alive()
    assert not file_of(sqlite_url).with_name("shop.db-wal").exists()


def test_closing_leaves_one_file_and_twice_is_once(sqlite_url: str) -> None:
    record = open_record(sqlite_url)
    record.run(add)
    record.close()
    record.close()
    path = file_of(sqlite_url)
    assert sorted(p.name for p in path.parent.iterdir()) == ["shop.db", "shop.db-lock"]


KILLED = """
import os, signal, sys
from datetime import UTC, datetime
from shopdesk.records import chain
from shopdesk.records.engine import open_record

record = open_record(sys.argv[1])
def add(db):
    chain.append(db, at=datetime.now(UTC), kind="x", job_id=None, person_id=None, payload={})
def dies(db):
    for _ in range(5):
        add(db)
    os.kill(os.getpid(), signal.SIGKILL)
record.run(add)
record.run(dies)
"""


def test_killed_inside_a_transaction(record: Record, database_url: str) -> None:
    code = [sys.executable, "-c", KILLED, database_url]
    assert subprocess.run(code, timeout=60, check=False).returncode == -signal.SIGKILL
    assert verified(record) == chain.ChainReport(1, verified(record).head, None)
    record.run(add)
    assert verified(record).rows == 2


def test_a_forked_process_opens_its_own(record: Record) -> None:
    record._process = os.getpid() + 1
    with pytest.raises(RuntimeError, match="open it here anew"):
        record.run(add)


def test_opening_imports_no_alembic() -> None:
    code = (
        "import sys, shopdesk.records.engine;"
        "sys.exit(bool({'alembic', 'psycopg', 'textual'} & set(sys.modules)))"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


def test_every_way_to_write_an_address(sqlite_url: str) -> None:
    plain = str(file_of(sqlite_url))
    for given in (plain, sqlite_url):
        record = open_record(given)
        assert record.url == settings.database_url(sqlite_url)
        record.close()
