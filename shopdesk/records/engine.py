"""An open record: reading, writing, writing again where the database asks for it.

One rule on both databases: a write is one transaction, all or nothing; where the database was
busy, saw a conflict or lost its connection before COMMIT, the same work runs again, up to
``patience_s`` seconds in all; after that a RecordFault says so.
"""

import os
import random
import threading
import time
import weakref
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from typing import Literal, Protocol, TypeVar

from sqlalchemy import Connection, Engine
from sqlalchemy.exc import DBAPIError

from shopdesk import settings
from shopdesk.errors import RecordFault
from shopdesk.records import faults
from shopdesk.records.faults import Unsettled
from shopdesk.records.migrate import HEAD, REVISIONS
from shopdesk.records.migrate import create as create_record

Result = TypeVar("Result")
Dialect = Literal["sqlite", "postgresql"]

PATIENCE_S = 15.0
NOTICEABLE_S = 0.3
_FIRST_PAUSE_S = 0.01
_LONGEST_PAUSE_S = 0.5


class Backend(Protocol):
    """What SqliteFile and PostgresServer have in common."""

    @property
    def dialect(self) -> Dialect: ...
    @property
    def reading(self) -> Engine: ...
    @property
    def writing(self) -> Engine: ...
    def turn(self, patience_s: float) -> AbstractContextManager[None]: ...
    def ready(self, patience_s: float) -> None: ...
    def revision(self) -> str | None: ...
    def mark(self) -> int: ...
    def close(self) -> None: ...


class Record:
    """One open database, used by any number of threads; a forked process opens its own.

    ``on_wait`` is called once, from another thread, when a write has not come through after 0.3 s.
    """

    def __init__(self, url: str, backend: Backend, *, patience_s: float = PATIENCE_S) -> None:
        self.url = url
        self.dialect: Dialect = backend.dialect
        self.patience_s = patience_s
        self.on_wait: Callable[[], None] | None = None
        self._backend = backend
        self._process = os.getpid()
        self._end = weakref.finalize(self, _close, backend, self._process)

    @contextmanager
    def read(self) -> Iterator[Connection]:
        """A short transaction that sees one state of the record and cannot write."""
        self._own()
        with faults.guarded(self.url), self._backend.reading.begin() as db:
            yield db

    @contextmanager
    def write(self) -> Iterator[Connection]:
        """One transaction, not repeated: committed at the end, or rolled back by an exception."""
        self._own()
        with (
            faults.guarded(self.url),
            self._backend.turn(self.patience_s),
            self._backend.writing.begin() as db,
        ):
            yield db

    def run(self, work: Callable[[Connection], Result], *, keyed: bool = False) -> Result:
        """Runs ``work`` in a write transaction and returns what it returned.

        ``work`` may run several times and must leave no mark but through its connection. When the
        connection breaks at COMMIT nobody knows the outcome: Unsettled is raised, unless ``keyed``
        says that ``work`` recognises its own earlier commit, then it runs again.
        """
        self._own()
        deadline = time.monotonic() + self.patience_s
        with self._watched(), faults.guarded(self.url):
            tries = 0
            while True:
                try:
                    return self._once(work, deadline)
                except (DBAPIError, Unsettled) as error:
                    again = keyed if isinstance(error, Unsettled) else faults.transient(error)
                    if not again or time.monotonic() >= deadline:
                        raise
                time.sleep(_pause(tries))
                tries += 1

    def change_mark(self) -> int:
        """A number that differs when something was committed since, by anybody. Cheap to ask."""
        self._own()
        with faults.guarded(self.url):
            return self._backend.mark()

    def close(self) -> None:
        """Gives every connection back; closing twice does nothing."""
        self._end()

    def _once(self, work: Callable[[Connection], Result], deadline: float) -> Result:
        with (
            self._backend.turn(deadline - time.monotonic()),
            self._backend.writing.connect() as db,
        ):
            with db.begin() as transaction:
                result = work(db)
                try:
                    transaction.commit()
                except DBAPIError as error:
                    if self.dialect == "postgresql" and faults.lost(error):
                        raise Unsettled(
                            f"The connection to {faults.where(self.url)} broke while an entry was "
                            "being saved; look whether it is there before entering it again."
                        ) from error
                    raise
            return result

    @contextmanager
    def _watched(self) -> Iterator[None]:
        if self.on_wait is None:
            yield
            return
        timer = threading.Timer(NOTICEABLE_S, self.on_wait)
        timer.daemon = True
        timer.start()
        try:
            yield
        finally:
            timer.cancel()

    def _own(self) -> None:
        if os.getpid() != self._process:
            raise RuntimeError("this record was opened by another process; open it here anew")


def open_record(url: str, *, create: bool = False) -> Record:
    """Opens the record at ``url`` (a path, ``sqlite:///path`` or ``postgresql://...``); with
    ``create``, makes an empty one where there is none. Raises RecordFault when it cannot be used.
    """
    url = settings.database_url(url)
    if create:
        create_record(url, exist_ok=True)
    with faults.guarded(url, files=True):
        backend = _backend(url)
        try:
            backend.ready(PATIENCE_S)
            _check_revision(backend.revision(), url)
        except BaseException:
            backend.close()
            raise
    return Record(url, backend)


def _backend(url: str) -> Backend:
    if url.startswith("sqlite"):
        from shopdesk.records import sqlite

        sqlite.check_file(sqlite.file_of(url))
        return sqlite.SqliteFile(url)
    from shopdesk.records.postgresql import PostgresServer

    return PostgresServer(url)


def _check_revision(found: str | None, url: str) -> None:
    where = faults.where(url)
    if found == HEAD:
        return
    if found is None:
        raise RecordFault(
            f"{where} holds no shopdesk record; name another, or make one with "
            "`shopdesk db create`."
        )
    if found in REVISIONS:
        raise RecordFault(
            f"{where} was made by an older program (revision {found}, this one needs {HEAD}); "
            "bring it up with `shopdesk db upgrade`, which keeps a copy first."
        )
    raise RecordFault(
        f"{where} was made by a newer program (revision {found}, this one knows {HEAD}); "
        "install that program's version on this computer."
    )


def _close(backend: Backend, process: int) -> None:
    if os.getpid() == process:
        backend.close()


def _pause(tries: int) -> float:
    longest: float = min(_FIRST_PAUSE_S * 2**tries, _LONGEST_PAUSE_S)
    return random.uniform(longest / 2, longest)
