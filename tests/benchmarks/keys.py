"""Keys on what scrolls, timed until the terminal is quiet, two programs in turn.

A key is over with the last byte before a silence, whoever painted it: what follows the first
painting is felt as well. Whether a key scrolled is read off the screen.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import chain, cycle, repeat
from time import perf_counter

from tests.acceptance.own_terminal import OwnTerminal

SILENCE_S = 0.2
"""Longer than anything that still belongs to a key has been seen to come after it."""
BEFORE_S = 0.05
"""Looked on before each key, so that nothing of before is taken for it."""
DOWN, UP = "\x1b[B", "\x1b[A"
KEYS, SCROLLED, OPENED = 60, 15, 40
"""Keys of each kind, how far a walk scrolls before it turns round, what is opened."""


@dataclass
class Timed:
    """Milliseconds of each key that moved the cursor within the screen, and that scrolled."""

    within: list[float] = field(default_factory=list)
    scrolling: list[float] = field(default_factory=list)

    @property
    def enough(self) -> bool:
        return min(len(self.within), len(self.scrolling)) >= KEYS


def in_turn(*walks: "Walk") -> None:
    """A key of each in turn, until every one has enough of both kinds."""
    while not all(walk.timed.enough for walk in walks):
        for walk in walks:
            walk.step()


class Walk:
    """Down and up a list whose first row stands on the screen's line ``top``."""

    def __init__(self, terminal: OwnTerminal, top: int) -> None:
        self.timed = Timed()
        self._terminal, self._top = terminal, top
        self._ways = cycle((DOWN, UP))
        self._turn()

    def step(self) -> None:
        before = self._first_row()
        took = timed(self._terminal, self._way)
        if took is None:  # the end of the list
            self._turn()
            return
        if self._first_row() == before:
            self.timed.within.append(took)
            return
        self.timed.scrolling.append(took)
        self._left -= 1
        if not self._left:
            self._turn()

    def _turn(self) -> None:
        self._way, self._left = next(self._ways), SCROLLED

    def _first_row(self) -> str:
        return self._terminal.text().split("\n")[self._top][1:]  # without the cursor's mark


def timed(terminal: OwnTerminal, keys: str) -> float | None:
    """Milliseconds from the keys to the last byte before the silence; None where none came."""
    terminal.rest(BEFORE_S)
    begun = perf_counter()
    terminal.type(keys)
    over = terminal.painted(SILENCE_S)
    return None if over is None else (over - begun) * 1e3


def opened(terminal: OwnTerminal, there: str, back: str) -> Iterator[float]:
    """Milliseconds of a key that opens what ``back`` leaves again, from each row of a list."""
    for keys in chain.from_iterable(repeat((there, back), OPENED)):
        took = timed(terminal, keys)
        if keys == there:
            assert took is not None, f"nothing opens:\n{terminal.text()}"
            yield took
        else:
            timed(terminal, DOWN)
