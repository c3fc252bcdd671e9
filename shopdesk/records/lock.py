"""One writer at a time on a SQLite file: a lock on a file beside it, taken before SQLite's own.

Two reasons. Fairness: SQLite's waiting writers sleep and try again, so a busy one can keep the
others out for good; here they wait in the kernel. And SQLite before 3.51.3 can damage a database
when two connections write and checkpoint at the same instant (https://sqlite.org/wal.html,
"The WAL-Reset Bug"): every commit, every checkpoint and every closing of the file by shopdesk
happens under this lock, so that instant does not come. Another program that writes to the file
does not know the lock; SQLite's own still stands between them.
"""

import os
import stat
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from shopdesk.errors import RecordFault

try:
    import fcntl
except ImportError as error:  # not a Unix system
    raise RecordFault(
        "A SQLite record needs a Unix system's file locks; use PostgreSQL on this computer."
    ) from error


class FileLock:
    """An exclusive lock between threads and between processes; every ``held`` opens it anew."""

    def __init__(self, guarded: Path) -> None:
        self.path = guarded.with_name(guarded.name + "-lock")
        self._guarded = guarded

    @contextmanager
    def held(self, patience_s: float) -> Iterator[None]:
        """Raises TimeoutError after ``patience_s`` seconds, OSError where there can be no lock."""
        descriptor = self._open()
        if not _acquired(descriptor, patience_s):
            raise TimeoutError(f"{self.path} is held by another program")
        try:
            yield
        finally:
            _release(descriptor)

    def _open(self) -> int:
        try:
            return os.open(self.path, os.O_RDONLY | os.O_CLOEXEC)
        except FileNotFoundError:
            descriptor = os.open(self.path, os.O_RDONLY | os.O_CREAT | os.O_CLOEXEC, 0o600)
        if self._guarded.exists():  # whoever may use the database may use its lock
            os.fchmod(descriptor, stat.S_IMODE(self._guarded.stat().st_mode))
        return descriptor


def _acquired(descriptor: int, patience_s: float) -> bool:
    try:
        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
        return True
    except BlockingIOError:
        pass
    except OSError:
        os.close(descriptor)
        raise
    return _Queued(descriptor).granted(patience_s)


def _release(descriptor: int) -> None:
    fcntl.flock(descriptor, fcntl.LOCK_UN)  # closing alone would leave it to a forked child
    os.close(descriptor)


class _Queued:
    """A place in the kernel's queue, which can be given up: flock itself knows no time limit."""

    def __init__(self, descriptor: int) -> None:
        self._descriptor = descriptor
        self._settled = threading.Lock()
        self._answer = threading.Event()
        self._left = False
        threading.Thread(target=self._wait, name="record-lock", daemon=True).start()

    def _wait(self) -> None:
        fcntl.flock(self._descriptor, fcntl.LOCK_EX)
        with self._settled:
            if self._left:
                _release(self._descriptor)
            else:
                self._answer.set()

    def granted(self, patience_s: float) -> bool:
        if self._answer.wait(max(patience_s, 0.0)):
            return True
        with self._settled:
            self._left = not self._answer.is_set()
            return not self._left
