"""Stores as they are after years: very many parts and moves, behind the shop there is.

    python -m tests.benchmarks.big_stores DATABASE [--parts N] [--moves N]

DATABASE is a SQLite file or a PostgreSQL address; where it holds no record the sample shop is
built first, with twenty thousand closed jobs. The same numbers give the same rows. Few parts move
often and most hardly ever; each is bought before it runs out. Moves have no events in the chain:
nothing here reads those. Figures on parts and lots are the ledger's sums, as everywhere.
"""

import argparse
import math
import random
import sys
from collections import deque
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from typing import Any

from shopdesk import settings
from shopdesk.desk import sample
from shopdesk.records import migrate
from tests.benchmarks import big_shop
from tests.benchmarks.big_shop import Loader, loading

PARTS, MOVES, JOBS = 50_000, 2_000_000, 20_000
YEARS = 4
COVER, BOUGHT = 120 / 365.25 / YEARS, 180 / 365.25 / YEARS
UNTIL = datetime(2026, 3, 1, 12, tzinfo=UTC)
SUPPLIERS = 40
WORDS = ("seal", "ring", "valve", "piston", "spring", "screw", "cap", "plug", "rod", "gland")
MADE = ("steel", "brass", "NBR", "FKM", "PTFE", "zinc", "bronze", "EPDM")

PART = (
    "id",
    "number",
    "description",
    "dash",
    "compound",
    "thread",
    "grade",
    "unit_cost_cents",
    "pack",
    "minimum",
    "bin",
    "critical",
    "on_hand",
    "reserved",
)
LOT = (
    "id",
    "part_id",
    "number",
    "cured",
    "use_by",
    "use_by_source",
    "unit_cost_cents",
    "certificate",
    "received_at",
    "quarantined",
    "on_hand",
)
MOVE = (
    "id",
    "kind",
    "part_id",
    "lot_id",
    "job_id",
    "kit_line",
    "on_hand_change",
    "reserved_change",
    "reason",
    "person_id",
    "at",
)
SUPPLIER = ("id", "code", "name", "email", "lead_days", "minimum_order_cents")
PRICE = ("id", "part_id", "supplier_id", "price_cents")
PURCHASE = ("id", "number", "supplier_id", "at", "due_on", "person_id")
ORDERED = ("id", "purchase_id", "part_id", "quantity", "received", "unit_cost_cents")


@dataclass
class Ledger:
    """What stands on every new part's shelf while its moves are drawn; ``lots`` as [part, when it
    came, pieces left], ``open`` the lots of a part that are not empty, the oldest first."""

    first: dict[str, int]
    jobs: list[int]
    people: list[int]
    parts: int
    count: int
    on_hand: list[int] = field(default_factory=list)
    open: list[deque[int]] = field(default_factory=list)
    lots: list[list[Any]] = field(default_factory=list)

    def moves(self, draw: random.Random) -> Iterator[tuple[Any, ...]]:
        self.on_hand, self.open = [0] * self.parts, [deque() for _ in range(self.parts)]
        span = timedelta(days=365.25 * YEARS)
        for n in range(self.count):
            part = min(self.parts - 1, int(self.parts * draw.random() ** 2))
            at = UNTIL - span * ((self.count - n) / self.count)
            pieces = 1 + int(draw.random() ** 2 * 4)
            if self.on_hand[part] < pieces + 3 + self._usual(part, COVER):
                yield self._receive(n, part, at, pieces + 4 + self._usual(part, BOUGHT))
            else:
                job = self.jobs[min(n * len(self.jobs) // self.count + n % 40, len(self.jobs) - 1)]
                yield self._issue(n, part, at, pieces, job)

    def _usual(self, part: int, share: float) -> int:
        """Pieces that usually go in that share of the years: the shelf is held as a shop does
        that orders in time."""
        often = math.sqrt((part + 1) / self.parts) - math.sqrt(part / self.parts)
        return int(1.8 * self.count * often * share)

    def _receive(self, n: int, part: int, at: datetime, pieces: int) -> tuple[Any, ...]:
        self.open[part].append(len(self.lots))
        self.lots.append([part, at, pieces])
        self.on_hand[part] += pieces
        return self._row(n, "receive", part, self.open[part][-1], None, pieces, at)

    def _issue(self, n: int, part: int, at: datetime, pieces: int, job: int) -> tuple[Any, ...]:
        lot = self.open[part][0]
        pieces = min(pieces, self.lots[lot][2])
        self.lots[lot][2] -= pieces
        self.on_hand[part] -= pieces
        if not self.lots[lot][2]:
            self.open[part].popleft()
        return self._row(n, "issue", part, lot, job, -pieces, at)

    def _row(
        self,
        n: int,
        kind: str,
        part: int,
        lot: int,
        job: int | None,
        pieces: int,
        at: datetime,
    ) -> tuple[Any, ...]:
        return (
            self.first["stock_move"] + n,
            kind,
            self.first["part"] + part,
            self.first["lot"] + lot,
            job,
            "",
            pieces,
            0,
            "",
            self.people[n % len(self.people)],
            at,
        )

    def lot_rows(self) -> Iterator[tuple[Any, ...]]:
        for n, (part, at, left) in enumerate(self.lots):
            use_by = (at + timedelta(days=365 * 7)).date() if part % 8 in (2, 3, 7) else None
            made = self.first["lot"] + n, self.first["part"] + part, f"B{n:07d}"
            yield (*made, "", use_by, "", 40 + part % 900, f"C{n}", at, False, left)

    def part_rows(self) -> Iterator[tuple[Any, ...]]:
        for n in range(self.parts):
            word, made = WORDS[n % len(WORDS)], MADE[n % len(MADE)]
            yield (
                self.first["part"] + n,
                f"Z{n * 7919 % 100_003:06d}-{made.upper()}",
                f"{word} {n % 97} x {n % 13}, {made}",
                f"{n % 400:03d}" if word == "ring" else "",
                made if made.isupper() else "",
                "",
                "",
                40 + n % 900,
                (1, 5, 10, 25)[n % 4],
                n % 11,
                f"{'ABCDEFGH'[n % 8]}{n % 60}-{n % 30:02d}",
                n % 50 == 0,
                self.on_hand[n],
                0,
            )


def grow(url: str, parts: int = PARTS, moves: int = MOVES, *, seed: int = 1) -> None:
    """Adds so many parts, with so many moves of them, to the stores in the record."""
    with loading(url) as db:
        tables = ("part", "lot", "stock_move", "supplier", "part_supplier", "purchase")
        first = {name: _next(db, name) for name in (*tables, "purchase_line")}
        jobs = [
            row[0] for row in db.all("SELECT id FROM job WHERE closed_at IS NOT NULL ORDER BY id")
        ]
        people = [row[0] for row in db.all("SELECT id FROM person ORDER BY id")]
        ledger = Ledger(first, jobs, people, parts, moves)
        db.fill("supplier", SUPPLIER, (_supplier(first, n) for n in range(SUPPLIERS)))
        db.fill("stock_move", MOVE, ledger.moves(random.Random(seed)))
        db.fill("lot", LOT, ledger.lot_rows())
        db.fill("part", PART, ledger.part_rows())
        db.fill("part_supplier", PRICE, (_price(first, n) for n in range(parts)))
        db.fill("purchase", PURCHASE, (_purchase(first, people, n) for n in range(SUPPLIERS)))
        db.fill("purchase_line", ORDERED, (_ordered(first, n) for n in range(parts // 20)))


def _next(db: Loader, table: str) -> int:
    return (db.all(f"SELECT max(id) FROM {table}")[0][0] or 0) + 1


def _supplier(first: dict[str, int], n: int) -> tuple[Any, ...]:
    return first["supplier"] + n, f"Z{n:02d}", f"Invented Supply {n}", "", 3 + n % 30, n * 500


def _price(first: dict[str, int], n: int) -> tuple[Any, ...]:
    return first["part_supplier"] + n, first["part"] + n, first["supplier"] + n % SUPPLIERS, 45 + n


def _purchase(first: dict[str, int], people: list[int], n: int) -> tuple[Any, ...]:
    due = date(2026, 3, 1) + timedelta(days=n - 5)
    return (
        first["purchase"] + n,
        9_000 + n,
        first["supplier"] + n,
        UNTIL - timedelta(days=10),
        due,
        people[0],
    )


def _ordered(first: dict[str, int], n: int) -> tuple[Any, ...]:
    part = n * 20
    made = first["purchase_line"] + n, first["purchase"] + part % SUPPLIERS, first["part"] + part
    return (*made, 10 + n % 40, n % 10, 45 + part)


def main(arguments: Sequence[str] | None = None) -> int:
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    asked.add_argument("database")
    asked.add_argument("--parts", type=int, default=PARTS)
    asked.add_argument("--moves", type=int, default=MOVES)
    given = asked.parse_args(arguments)
    url = settings.database_url(given.database)
    if migrate.current(url) is None:
        sample.build(url, today=UNTIL.date())
        big_shop.grow(url, JOBS)
    grow(url, given.parts, given.moves)
    return 0


if __name__ == "__main__":
    sys.exit(main())
