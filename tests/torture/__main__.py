"""Terminals at work on one record, killed at any moment; then the books are checked.

    python -m tests.torture DATABASE [--processes 8] [--kills 100] [--seconds S] [--fault NAME]

DATABASE is a new SQLite file or the address of an empty PostgreSQL database. Prints one JSON
object. Every third kill strikes inside an open transaction, everything written and nothing
committed. At times every terminal takes the day's copy. Commands (`stores parts`, `verify`,
`backup`, `paper handover`, `export`) come and go beside them, some of them killed. On SQLite the
disk is full at times, on PostgreSQL connections are cut. ``--fault`` gives the terminals one that
must be found: ``early`` acknowledges before the commit, ``beside`` opens SQLite's file beside
SQLite. Exit status 1 when the books are wrong.
"""

import argparse
import contextlib
import io
import json
import sys
import tempfile
import time
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from shopdesk import quantities, settings
from shopdesk.desk.sample import reading
from shopdesk.desk.shop import Shop
from shopdesk.records import migrate
from shopdesk.records.engine import open_record
from tests.torture import floor, visitors


def torture(
    url: str, *, processes: int, kills: int, most_s: float, seed: int, fault: str
) -> dict[str, Any]:
    """Lays a shop out, lets the terminals work and kills them; what was counted."""
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as name:
        _lay_out(url)
        begun = time.monotonic()
        at_work = floor.Floor(url, Path(name), processes, seed, fault)
        at_work.work(kills, most_s)
        seconds = time.monotonic() - begun
        return floor.counted(at_work, floor.faults(at_work), len(at_work.kept()), seconds)


def _lay_out(url: str) -> None:
    """The sample's people, instruments, parts and procedures; and everything is loaded once."""
    migrate.create(url)
    quantities.warm()
    record = open_record(url)
    now = datetime.now(UTC)
    found = reading.read(reading.folder(), now.date())
    reading.put_down(Shop(record=record), found, now, now.date())
    record.close()
    said, aside = io.StringIO(), tempfile.TemporaryDirectory()
    with aside as name, contextlib.redirect_stdout(said), contextlib.redirect_stderr(said):
        visitors.load(url, Path(name))


def main(arguments: Sequence[str] | None = None) -> int:
    wanted = argparse.ArgumentParser(description="Terminals at work on one record, and killed.")
    wanted.add_argument("database")
    wanted.add_argument("--processes", type=int, default=8)
    wanted.add_argument("--kills", type=int, default=100)
    wanted.add_argument("--seconds", type=float, default=600.0, help="end after so long at most")
    wanted.add_argument("--seed", type=int, default=1)
    wanted.add_argument("--fault", choices=("early", "beside"), default="")
    given = wanted.parse_args(arguments)
    counted = torture(
        settings.database_url(given.database),
        processes=given.processes,
        kills=given.kills,
        most_s=given.seconds,
        seed=given.seed,
        fault=given.fault,
    )
    sys.stdout.write(json.dumps(counted, indent=1) + "\n")
    return 1 if counted["losses"] or counted["raw"] else 0


if __name__ == "__main__":
    sys.exit(main())
