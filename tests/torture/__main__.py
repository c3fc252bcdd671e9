"""Terminals at work on one record, killed at any moment; then the books are checked.

    python -m tests.torture DATABASE [--processes 8] [--kills 100] [--seconds S] [--early]

DATABASE is a new SQLite file or the address of an empty PostgreSQL database. Prints one JSON
object. Every third kill strikes inside an open transaction, everything written and nothing
committed. On SQLite the disk is full at times, on PostgreSQL connections are cut. ``--early`` makes
the terminals acknowledge before they commit: the check must then find losses. Exit status 1 when
the books are wrong.
"""

import argparse
import json
import mmap
import os
import random
import signal
import sys
import time
from collections import Counter
from collections.abc import Sequence
from datetime import UTC, datetime
from typing import Any

import psycopg

from shopdesk import quantities, settings
from shopdesk.desk.sample import reading
from shopdesk.desk.shop import Shop
from shopdesk.records import migrate
from shopdesk.records.engine import open_record
from tests.torture import books, worker

PAUSE_S = 0.03
INSIDE_EVERY = 3
CUT_EVERY = 6


class Terminal:
    """A worker's process as the parent sees it."""

    def __init__(self, url: str, index: int, board: mmap.mmap, seed: int, *, early: bool) -> None:
        self.index, self.board = index, board
        self._ear, mouth = os.pipe()
        board[index] = worker.GO
        self.pid = os.fork()
        if self.pid == 0:
            os.close(self._ear)
            try:
                worker.run(url, worker.State(index, board, mouth, early=early), seed)
            finally:
                os._exit(1)
        os.close(mouth)
        self._heard = b""
        os.set_blocking(self._ear, False)

    def listen(self) -> bool:
        """Whether it told anything since it was last listened to."""
        before = len(self._heard)
        try:
            while data := os.read(self._ear, 65536):
                self._heard += data
        except BlockingIOError:
            pass
        return len(self._heard) > before

    def stands_inside(self, patience_s: float) -> bool:
        """Asks it to stop in its next transaction, and waits until it does."""
        self.board[self.index] = worker.STOP_INSIDE
        end = time.monotonic() + patience_s
        while self.board[self.index] != worker.STANDS:
            if time.monotonic() > end:
                self.board[self.index] = worker.GO
                return self.board[self.index] == worker.STANDS
            self.listen()
            time.sleep(0.0005)
        return True

    def kill(self) -> list[dict[str, Any]]:
        """Kills it and gives what it had told: whole lines only."""
        os.kill(self.pid, signal.SIGKILL)
        os.waitpid(self.pid, 0)
        self.listen()
        os.close(self._ear)
        return [json.loads(line) for line in self._heard.split(b"\n")[:-1]]


def torture(
    url: str, *, processes: int, kills: int, most_s: float, seed: int, early: bool
) -> dict[str, Any]:
    """Lays a shop out, lets the terminals work and kills them; what was counted."""
    _lay_out(url)
    draw = random.Random(seed)
    board = mmap.mmap(-1, processes)
    heard: list[dict[str, Any]] = []
    begun = time.monotonic()

    def started(index: int) -> Terminal:
        return Terminal(url, index, board, draw.randrange(1 << 30), early=early)

    terminals = [started(index) for index in range(processes)]
    done, inside, cut = 0, 0, 0
    while done < kills and time.monotonic() < begun + most_s:
        time.sleep(draw.uniform(0, 2 * PAUSE_S))
        _let_them_work(terminals)
        if url.startswith("postgresql") and done % CUT_EVERY == 0:
            cut += _cut(url, draw)
        victim = draw.randrange(processes)
        if done % INSIDE_EVERY == 0:
            inside += terminals[victim].stands_inside(2.0)
        heard += terminals[victim].kill()
        terminals[victim] = started(victim)
        done += 1
    for each in terminals:
        heard += each.kill()
    seconds = time.monotonic() - begun
    told = [one for one in heard if one["kind"] in ("entry", "core", "lot")]
    faults = books.faults(url, told)
    return {
        "processes": processes,
        "operations": len(told),
        "kinds": dict(Counter(one["kind"] for one in heard)),
        "kills": done + processes,
        "kills_inside_a_transaction": inside,
        "connections_cut": cut,
        "said": dict(Counter(one["said"] for one in heard if one["kind"] in ("fault", "full"))),
        "raw": [one["said"] for one in heard if one["kind"] == "raw"][:3],
        "seconds": round(seconds, 1),
        "losses": len(faults),
        "faults": faults[:10],
    }


def _let_them_work(terminals: list[Terminal], patience_s: float = 1.0) -> None:
    """Until somebody told something: on a busy machine kills would else come before any work."""
    end = time.monotonic() + patience_s
    while not sum(each.listen() for each in terminals) and time.monotonic() < end:
        time.sleep(0.005)


def _lay_out(url: str) -> None:
    """The sample's people, instruments, parts and procedures; and everything is loaded once."""
    migrate.create(url)
    quantities.warm()
    record = open_record(url)
    now = datetime.now(UTC)
    found = reading.read(reading.folder(), now.date())
    reading.put_down(Shop(record=record), found, now, now.date())
    record.close()


def _cut(url: str, draw: random.Random) -> int:
    """Ends one of the terminals' connections, as a router would."""
    with psycopg.connect(url.replace("+psycopg", ""), autocommit=True) as db:
        pids = [
            row[0]
            for row in db.execute(
                "SELECT pid FROM pg_stat_activity"
                " WHERE datname = current_database() AND pid <> pg_backend_pid()"
            )
        ]
        if not pids:
            return 0
        db.execute("SELECT pg_terminate_backend(%s)", [draw.choice(pids)])
        return 1


def main(arguments: Sequence[str] | None = None) -> int:
    wanted = argparse.ArgumentParser(description="Terminals at work on one record, and killed.")
    wanted.add_argument("database")
    wanted.add_argument("--processes", type=int, default=8)
    wanted.add_argument("--kills", type=int, default=100)
    wanted.add_argument("--seconds", type=float, default=600.0, help="end after so long at most")
    wanted.add_argument("--seed", type=int, default=1)
    wanted.add_argument("--early", action="store_true", help="acknowledge before the commit")
    given = wanted.parse_args(arguments)
    counted = torture(
        settings.database_url(given.database),
        processes=given.processes,
        kills=given.kills,
        most_s=given.seconds,
        seed=given.seed,
        early=given.early,
    )
    sys.stdout.write(json.dumps(counted, indent=1) + "\n")
    return 1 if counted["losses"] else 0


if __name__ == "__main__":
    sys.exit(main())
