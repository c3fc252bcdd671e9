"""How fast lines are recorded by 1, 4 and 16 terminals at once: the desk's deed, each terminal a
process of its own, beside the very statements that deed sends, given to the bare driver by as many
processes. Both hold the same locks: the file's on SQLite, the chain's on either.
"""

import multiprocessing
import time
import uuid
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

from shopdesk import quantities
from shopdesk.desk import entries
from shopdesk.desk.shop import Shop
from shopdesk.records import chain
from shopdesk.records.engine import open_record
from shopdesk.views import sheets
from tests.benchmarks import bare
from tests.benchmarks.bores import FIRST, JOBS, LINE, SLOTS, Databases, Files, Shops, build
from tests.benchmarks.table import Figure, p99

TERMINALS = (1, 4, 16)
ROUNDS, MOST_S = 3, 2.0
HANDS = {"bore gauge": "K-01"}
LEAST = {"SQLite": 0.15, "PostgreSQL": 0.3}
FAIR = 0.3

Commit = Callable[[], object]
Opening = Callable[[str, Sequence[int]], tuple[Sequence[Commit], Sequence[Commit]]]
"""Opens the database for a terminal with these jobs: what warms up, what is timed."""


@dataclass(frozen=True, slots=True)
class Run:
    per_second: float
    times_ms: tuple[float, ...]
    fairness: float


def commits(folder: Path, server: str | None) -> Iterator[Figure]:
    """The figures on SQLite, and on PostgreSQL where a server is named."""
    pattern = folder / "bores.db"
    if not pattern.exists():
        build(pattern)
    with TemporaryDirectory(dir=folder) as made:
        yield from _figures("SQLite", Files(pattern, Path(made)))
    if server is not None:
        databases = Databases(pattern, server)
        try:
            yield from _figures("PostgreSQL", databases)
        finally:
            databases.drop()


def _figures(kind: str, shops: Shops) -> Iterator[Figure]:
    quantities.warm()
    statements = bare.captured(shops.new(), _first_deed)
    for count in TERMINALS:
        ours, theirs = [], []
        for _ in range(ROUNDS):
            url = shops.new()
            ours.append(_run(url, count, _desk))
            _require_whole(url)
            theirs.append(_run(shops.new(), count, bare.opening(statements)))
        label = f"{kind}: a line recorded by {count} terminal{'s' if count > 1 else ''} at once"
        yield Figure(
            f"{label}, commits a second",
            _middle([run.per_second for run in ours]),
            _middle([run.per_second for run in theirs]),
            unit="/s",
            least=LEAST[kind],
        )
        yield Figure(
            f"{label}, p99",
            p99([ms for run in ours for ms in run.times_ms]),
            p99([ms for run in theirs for ms in run.times_ms]),
        )
        if count > 1:
            yield Figure(
                f"{label}, the slowest beside the fastest",
                min(run.fairness for run in ours),
                1.0,
                unit="",
                least=FAIR,
            )


def _require_whole(url: str) -> None:
    record = open_record(url)
    with record.read() as db:
        assert chain.verify(db).broken is None
    record.close()


def _middle(values: Sequence[float]) -> float:
    return sorted(values)[len(values) // 2]


# Terminals ---------------------------------------------------------------------------------------


def _run(url: str, count: int, opening: Opening) -> Run:
    """All terminals begin at once and stop when the time is up or the first has no work left."""
    forked = multiprocessing.get_context("fork")
    gate, over, told = forked.Barrier(count), forked.Event(), forked.SimpleQueue()

    def work(jobs: Sequence[int]) -> None:
        before, timed = opening(url, jobs)
        for commit in before:
            commit()
        gate.wait()
        begun, spans = time.perf_counter(), []
        for commit in timed:
            if over.is_set() or time.perf_counter() > begun + MOST_S:
                break
            at = time.perf_counter()
            commit()
            spans.append((time.perf_counter() - at) * 1e3)
        over.set()
        told.put((time.perf_counter() - begun, spans))

    numbers = range(JOBS)
    hands = [forked.Process(target=work, args=(numbers[n::count],)) for n in range(count)]
    for each in hands:
        each.start()
    results = [told.get() for _ in hands]
    for each in hands:
        each.join()
    done = [len(spans) for _, spans in results]
    return Run(
        sum(done) / max(seconds for seconds, _ in results),
        tuple(ms for _, spans in results for ms in spans),
        min(done) / max(done),
    )


def _desk(url: str, jobs: Sequence[int]) -> tuple[Sequence[Commit], Sequence[Commit]]:
    """As the sheet's screen does it: the sheet as last seen, a key of the commit's own, a draft."""
    record = open_record(url)
    shop = Shop(record=record, terminal=f"bench-{jobs[0]}")
    with shop.read() as db:
        seen = {n: sheets.load(db, FIRST + n, shop.clock()) for n in jobs}

    def commit(job: int) -> None:
        seen[job] = _deed(shop, seen[job]).view

    made = [lambda job=job: commit(job) for job in jobs for _ in range(SLOTS)]
    return made[:SLOTS], made[SLOTS:]


def _deed(shop: Shop, seen: sheets.SheetView) -> entries.Recorded:
    state = seen.sheet.get(LINE)
    assert state is not None
    assert state.next_slot is not None
    number = seen.heading.number
    return entries.record_entry(
        shop,
        "RT",
        number,
        LINE,
        "40.012 mm",
        slot=state.next_slot.name,
        in_hand=HANDS,
        commit_key=uuid.uuid4().hex,
        known=seen,
        draft=f"J-{number}/{LINE}/{state.next_slot.name}",
    )


def _first_deed(shop: Shop) -> None:
    with shop.read() as db:
        seen = sheets.load(db, FIRST, shop.clock())
    _deed(shop, seen)
