"""What is costly to make is made once a run: by the worker that asks first, in a folder which all
workers have in common. PostgreSQL databases made so are dropped when all workers are done."""

import fcntl
import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import psycopg
import pytest

_DATABASES = "databases-to-drop"


def folder(factory: pytest.TempPathFactory) -> Path:
    """The run's own folder."""
    base = factory.getbasetemp()
    return base.parent if os.environ.get("PYTEST_XDIST_WORKER") else base


@contextmanager
def alone(path: Path) -> Iterator[None]:
    """No other worker is at the path."""
    with path.with_name(f"{path.name}.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        yield


def once(path: Path, make: Callable[[Path], None]) -> Path:
    """The file, which ``make`` writes where it is given if nobody has yet."""
    with alone(path):
        if not path.exists():
            unfinished = path.with_name(f"unfinished-{path.name}")
            make(unfinished)
            unfinished.replace(path)
    return path


def to_drop(factory: pytest.TempPathFactory, database: str) -> None:
    with (folder(factory) / _DATABASES).open("a") as noted:
        noted.write(f"{database}\n")


def drop_all(session: pytest.Session, postgres: str) -> None:
    """Called at the end of every process; the one that began the run drops what was noted."""
    factory = getattr(session.config, "_tmp_path_factory", None)
    if hasattr(session.config, "workerinput") or factory is None:
        return
    noted = factory.getbasetemp() / _DATABASES
    if noted.exists():
        with psycopg.connect(postgres, autocommit=True, connect_timeout=3) as admin:
            for name in noted.read_text().split():
                admin.execute(f"DROP DATABASE IF EXISTS {name} WITH (FORCE)")
