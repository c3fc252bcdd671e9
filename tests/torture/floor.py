"""The shop's floor under torture: terminals at work, the hour of the day's copy, commands that come
and go, and kills."""

import mmap
import random
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import psycopg

from tests.torture import books
from tests.torture.terminal import Terminal
from tests.torture.visitors import NAMES, Visitor

PAUSE_S = 0.03
INSIDE_EVERY, CUT_EVERY, VISIT_EVERY, COPIES_EVERY = 3, 6, 8, 45
"""So many kills lie between two of a kind."""
FIRST_COPIES = 12
VISITORS_KILLED, VISIT_S, MOST_VISITORS = 0.25, 0.1, 3
DEEDS = ("entry", "core", "lot")
INSIDE_PATIENCE_S, COPY_PATIENCE_S, WORKED_AFTER = 10.0, 20.0, 4


@dataclass
class Floor:
    url: str
    scratch: Path
    processes: int
    seed: int
    fault: str
    kills: int = 0
    inside: int = 0
    inside_copies: int = 0
    cut: int = 0
    heard: list[list[dict[str, Any]]] = field(default_factory=list)
    visitors: list[Visitor] = field(default_factory=list)

    def __post_init__(self) -> None:
        self._draw = random.Random(self.seed)
        self._board = mmap.mmap(-1, self.processes)
        self._server = self.url.startswith("postgresql")
        self._visits = 0
        self._terminals = [self._started(index) for index in range(self.processes)]

    def work(self, kills: int, most_s: float) -> None:
        end = time.monotonic() + most_s
        while self.kills < kills and time.monotonic() < end:
            time.sleep(self._draw.uniform(0, 2 * PAUSE_S))
            self._let_them_work()
            if self._server and self.kills % CUT_EVERY == 0:
                self.cut += self._cut()
            if self.kills % COPIES_EVERY == FIRST_COPIES:
                self._hour_of_the_copy()
            if self.kills % VISIT_EVERY == 0:
                self._visited()
            victim = self._draw.choice(self._terminals)
            if self.kills % INSIDE_EVERY == 0:
                self.inside += victim.stands_inside(INSIDE_PATIENCE_S)
            self._kill(victim)
        for each in self._terminals:
            self.heard.append(each.kill())
            self.kills += 1
        for visitor in self.visitors:
            visitor.wait()

    def told(self) -> list[dict[str, Any]]:
        return [one for terminal in self.heard for one in terminal]

    def deeds(self) -> list[dict[str, Any]]:
        return [one for one in self.told() if one["kind"] in DEEDS]

    def raw(self) -> list[str]:
        """What was not said in a sentence, or should not have been said at all."""
        said = [one["said"] for one in self.told() if one["kind"] == "raw"]
        return said + [v.said() for v in self.visitors if v.status and not self._excused(v)]

    def _excused(self, visitor: Visitor) -> bool:
        """Killed, or its connection was cut and it said so."""
        return visitor.killed or (self.cut > 0 and visitor.cut_off())

    def kept(self) -> list[tuple[Path, list[dict[str, Any]]]]:
        """Every finished copy, and the deeds its taker had told of before: those it must hold."""
        before = {one["path"]: told for terminal in self.heard for one, told in _copies(terminal)}
        found = [p for p in sorted(self.scratch.rglob("*")) if p.suffix in (".db", ".dump")]
        return [(path, before.get(str(path), [])) for path in found]

    def _started(self, index: int) -> Terminal:
        seed = self._draw.randrange(1 << 30)
        return Terminal(self.url, index, self._board, seed, self.scratch, fault=self.fault)

    def _kill(self, victim: Terminal) -> Terminal:
        """Whoever takes its place."""
        self.heard.append(victim.kill())
        self.kills += 1
        new = self._terminals[victim.index] = self._started(victim.index)
        return new

    def _let_them_work(self, patience_s: float = 1.0) -> None:
        """Until somebody told something: on a busy machine kills would else come before any
        work."""
        end = time.monotonic() + patience_s
        while not sum(each.listen() for each in self._terminals) and time.monotonic() < end:
            time.sleep(0.005)

    def _hour_of_the_copy(self) -> None:
        """Every terminal takes one, one is killed over it; when all have theirs a command comes
        and goes, and what they record after that must stand like anything else."""
        for each in self._terminals:
            each.ask_for_copy()
        victim = self._draw.choice(self._terminals)
        self._until(lambda: victim.inside_copy or not victim.copying)
        time.sleep(self._draw.uniform(0, PAUSE_S))
        self.inside_copies += victim.inside_copy
        self._kill(victim).ask_for_copy()
        self._until(lambda: not any(each.copying for each in self._terminals))
        self._come_and_go(NAMES[0]).wait()
        for _ in range(WORKED_AFTER):
            self._let_them_work()

    def _until(self, holds: Callable[[], bool]) -> None:
        end = time.monotonic() + COPY_PATIENCE_S
        while not holds() and time.monotonic() < end:
            for each in self._terminals:
                each.listen()
            time.sleep(0.001)

    def _visited(self) -> None:
        """One command more; some are killed at it."""
        visitor = self._come_and_go(NAMES[self._visits % len(NAMES)])
        self._visits += 1
        if self._draw.random() < VISITORS_KILLED:
            time.sleep(self._draw.uniform(0, VISIT_S))
            visitor.kill()
        elif len([one for one in self.visitors if not one.ended()]) > MOST_VISITORS:
            visitor.wait()

    def _come_and_go(self, name: str) -> Visitor:
        self.visitors.append(Visitor(name, self.url, self.scratch))
        return self.visitors[-1]

    def _cut(self) -> int:
        """Ends one of the connections, as a router would."""
        with psycopg.connect(self.url.replace("+psycopg", ""), autocommit=True) as db:
            rows = db.execute(
                "SELECT pid FROM pg_stat_activity"
                " WHERE datname = current_database() AND pid <> pg_backend_pid()"
            ).fetchall()
            if not rows:
                return 0
            db.execute("SELECT pg_terminate_backend(%s)", [self._draw.choice(rows)[0]])
            return 1


def _copies(
    told: list[dict[str, Any]],
) -> list[tuple[dict[str, Any], list[dict[str, Any]]]]:
    """Each copy a terminal told of, with the deeds it had told of before."""
    deeds = [(at, one) for at, one in enumerate(told) if one["kind"] in DEEDS]
    return [
        (one, [deed for before, deed in deeds if before < at])
        for at, one in enumerate(told)
        if one["kind"] == "copy"
    ]


def counted(floor: Floor, faults: list[str], copies: int, seconds: float) -> dict[str, Any]:
    """The numbers."""
    told = floor.told()
    return {
        "processes": floor.processes,
        "operations": len(floor.deeds()),
        "kinds": dict(Counter(one["kind"] for one in told)),
        "kills": floor.kills,
        "kills_inside_a_transaction": floor.inside,
        "kills_inside_a_copy": floor.inside_copies,
        "commands": dict(Counter(visitor.name for visitor in floor.visitors)),
        "commands_killed": sum(visitor.killed for visitor in floor.visitors),
        "copies": copies,
        "connections_cut": floor.cut,
        "said": dict(Counter(one["text"] for one in told if one["kind"] in ("fault", "full"))),
        "raw": floor.raw()[:3],
        "seconds": round(seconds, 1),
        "losses": len(faults),
        "faults": faults[:10],
    }


def faults(floor: Floor) -> list[str]:
    found = books.faults(floor.url, floor.deeds())
    return found + [fault for path, told in floor.kept() for fault in books.copy_faults(path, told)]
