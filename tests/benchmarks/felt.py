"""What people feel, in a real pseudo-terminal: start, keys, a line recorded, memory.

Each figure stands beside the same thing in an empty Textual app (``empty_app``), measured in turn
with it. A key's time ends when the terminal has fallen quiet: whatever it brings is felt.
"""

import sqlite3
import sys
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

from shopdesk.records import migrate
from tests.acceptance.bore_job import job_at_the_bore
from tests.acceptance.own_terminal import OwnTerminal
from tests.benchmarks.big_shop import ENTRY
from tests.benchmarks.keys import KEYS, Timed, Walk, in_turn, opened, timed
from tests.benchmarks.table import Figure, p50, p95

EMPTY = [sys.executable, "-m", "tests.benchmarks.empty_app"]
F2, F3, F6, ENTER, ESCAPE = "\x1bOQ", "\x1bOR", "\x1b[17~", "\r", "\x1b"
ROUNDS = 5
EMPTY_TOP, LIST_TOP, SHEET_TOP = 2, 3, 3
"""The screen's line with the first row, counted from 0."""


def felt(url: str, label: str) -> Iterator[Figure]:
    """The figures for one shop, measured beside the empty app."""
    starts = [
        (_start(_shop(url), "Counter", "J-"), _start(EMPTY, "empty", "J-1")) for _ in range(ROUNDS)
    ]
    ours, theirs = [a for a, _ in starts], [b for _, b in starts]
    for at, (name, goal) in enumerate((("first paint", 1.2), ("first list complete", 2.2))):
        yield Figure(
            f"{label}: {name}", p50([t[at] for t in ours]), p50([t[at] for t in theirs]), goal
        )
    yield Figure(f"{label}: memory, MB", max(t[2] for t in ours), None, None, most=130, unit="MB")
    with _running(EMPTY, "J-1") as empty, _running(_shop(url), "J-") as shop:
        floor = Walk(empty, EMPTY_TOP)
        on_list = Walk(shop, LIST_TOP)
        in_turn(on_list, floor)
        yield from _keys(f"{label}: key on a list", on_list.timed, floor.timed)
        shop.type(F3)
        shop.until("Bench")
        shop.rest(1)
        times = list(opened(shop, ENTER, ESCAPE))
        yield Figure(f"{label}: a sheet opened, p95", p95(times), None, None, most=150)
        shop.type(ENTER)
        shop.until("Asks:")
        shop.rest(1)
        on_sheet, floor = Walk(shop, SHEET_TOP), Walk(empty, EMPTY_TOP)
        in_turn(on_sheet, floor)
        yield from _keys(f"{label}: key on a sheet", on_sheet.timed, floor.timed)
        yield from _find(shop, label)
    yield _committing(p50(floor.timed.within), label)


def _keys(name: str, ours: Timed, theirs: Timed) -> Iterator[Figure]:
    """Each kind of key beside the same key in the empty app."""
    for kind, mine, floor in (
        ("within the screen", ours.within, theirs.within),
        ("scrolling", ours.scrolling, theirs.scrolling),
    ):
        yield Figure(f"{name}, {kind}, median", p50(mine), p50(floor))
        yield Figure(f"{name}, {kind}, p95", p95(mine), p95(floor), 2)


def _find(shop: OwnTerminal, label: str) -> Iterator[Figure]:
    shop.type(F2)
    shop.until("Counter")
    shop.rest(1)
    times = []
    for word in ("k0-0079", "dredging 0", "m3-4411"):
        found = [timed(shop, sign) for sign in word]
        times += [took for took in found if took is not None]
        shop.type(ESCAPE)
        shop.rest(0.6)
    yield Figure(f"{label}: a key while finding, p95", p95(times), None, None, most=100)


def _committing(paint_ms: float, label: str) -> Figure:
    """Enter on a reading until its echo and verdict stand, beside a durable insert and a paint."""
    times: list[float] = []
    with TemporaryDirectory() as folder:
        for number in range(ROUNDS):
            path = Path(folder) / f"{number}.db"
            migrate.create(str(path))
            job = job_at_the_bore(f"sqlite:///{path}")
            with _running(_shop(str(path)), "J-") as shop:
                times += _survey(shop, job)
        bare = _durable_insert(Path(folder) / "bare.db")
    return Figure(
        f"{label}: a reading recorded, beside a durable insert and a paint",
        p50(times),
        p50(bare) + paint_ms,
        4,
    )


def _survey(shop: OwnTerminal, job: int) -> Iterator[float]:
    shop.type(F6)
    shop.until("Who stands at this terminal?")
    shop.type("RT 9046\r")
    shop.until("at this terminal: RT")
    shop.type(f"J-{job}\r")
    shop.until("Asks: at 20 mm, 0-180")
    shop.type("K-01\r")
    shop.until("K-01 in hand")
    for done in range(1, 6):
        shop.type("40.012 mm")
        shop.until("> 40.012 mm")
        shop.rest(0.5)
        begun = time.perf_counter()
        shop.type("\r")
        shop.until(f"{done} of 6", "WITHIN", every_s=0.001)
        yield (time.perf_counter() - begun) * 1e3


def _durable_insert(path: Path) -> list[float]:
    """Into a table of the same columns as the entries', one transaction each."""
    with closing(sqlite3.connect(path, isolation_level=None)) as db:
        db.execute("PRAGMA journal_mode = WAL")
        db.execute("PRAGMA synchronous = FULL")
        db.execute(f"CREATE TABLE entry (id INTEGER PRIMARY KEY, {', '.join(ENTRY[1:])})")
        row = ["40.012 mm"] * (len(ENTRY) - 1)
        into = f"INSERT INTO entry ({', '.join(ENTRY[1:])}) VALUES ({', '.join('?' * len(row))})"
        return [_once(db, into, row) for _ in range(KEYS)]


def _once(db: sqlite3.Connection, statement: str, row: list[str]) -> float:
    begun = time.perf_counter()
    db.execute("BEGIN IMMEDIATE")
    db.execute(statement, row)
    db.execute("COMMIT")
    return (time.perf_counter() - begun) * 1e3


def _shop(url: str) -> list[str]:
    return [sys.executable, "-m", "shopdesk", "open", url]


def _start(command: list[str], first: str, complete: str) -> tuple[float, float, float]:
    """Milliseconds to the first paint and to the whole list, and the memory it then has in MB."""
    begun = time.perf_counter()
    with OwnTerminal(command, {"SHOPDESK_TERMINAL": "bench"}) as terminal:
        terminal.until(first, every_s=0.001)
        painted = time.perf_counter()
        terminal.until(complete, every_s=0.001)
        whole = time.perf_counter()
        terminal.rest(1)
        return (painted - begun) * 1e3, (whole - begun) * 1e3, terminal.memory_mb()


@contextmanager
def _running(command: list[str], sign: str) -> Iterator[OwnTerminal]:
    with OwnTerminal(command, {"SHOPDESK_TERMINAL": "bench"}) as terminal:
        terminal.until(sign)
        terminal.rest(1.5)
        yield terminal
