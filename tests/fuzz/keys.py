"""Bursts of keys and pastes into the app, whatever stands on its screen."""

import asyncio
import random
import time
from collections import deque
from collections.abc import Sequence
from pathlib import Path

from textual import events
from textual.keys import _character_to_key
from textual.pilot import Pilot

from shopdesk.desk.shop import Shop
from shopdesk.records import migrate
from shopdesk.records.engine import open_record
from shopdesk.tui.app import ShopApp
from tests.fuzz import texts
from tests.tui.conftest import fill, on_shelf, quoted, rebuilt, take_in, torn_down

SLOW_S = 5.0
SESSION, STAY = 300, 10
"""Bursts of one app, and before it goes to another place."""
SIZES = ((80, 24), (120, 36))

# All but F10 and what else closes the app: the fuzz would end there.
NAMED = (
    *(f"f{n}" for n in range(1, 13) if n != 10),
    *("up", "down", "left", "right", "pageup", "pagedown", "home", "end", "tab", "shift+tab"),
    *("enter", "enter", "enter", "escape", "backspace", "delete", "space", "insert"),
    *("ctrl+a", "ctrl+e", "ctrl+k", "ctrl+u", "ctrl+w", "ctrl+left", "ctrl+right", "shift+end"),
    *("ctrl+x", "ctrl+v", "ctrl+d", "ctrl+f", "ctrl+p", "ctrl+@", "f13", "ctrl+home"),
)
PLACES = (
    *((place, *then) for place in ("f2", "f3", "f4", "f5") for then in ((), ("enter",))),
    *(("f2", key) for key in "nhx"),
    *(("f3", key) for key in ("t", "c")),
    *(("f3", "enter", key) for key in ("f7", "f8", "f9", "f11")),
    *(("f4", key) for key in ("tab", "shift+tab", "f8", "f9")),
    *(("f4", "enter", key) for key in "bkstrwqgp"),
    *(("f5", key) for key in "qapcsutilmvrdw"),
    *(("f5", "i", key) for key in "abrc"),
    *(("f5", "w", key) for key in "abnrx"),
    *(("f11", *("down",) * steps, "enter") for steps in range(0, 24, 3)),
    ("f12",),
    ("f6",),
    ("f1",),
)
SCANS = (
    *("J-1001", "J-1003", "OR-014-N90", "L-1", "B-TT1", "G-11", "V-100", "MM 4711", "TT 3333"),
    *("y", "1", "2", "30.11.", "1.2 mm", "181 bar", "plugged", "readable", "cannot: head sheared"),
)


def laid_out(folder: Path) -> Shop:
    """A small shop with jobs at the counter, torn down, quoted, done."""
    path = folder / "fuzz.db"
    migrate.create(str(path))
    shop = Shop(record=open_record(f"sqlite:///{path}"), terminal="fuzz")
    fill(shop)
    on_shelf(shop)
    torn_down(shop, "V-100")
    quoted(shop, "V-200")
    rebuilt(shop, "V-300")
    for n in range(4):
        take_in(shop, f"V-{n}", customer="C02", complaint="[red]drips[/] \u05d0\u05d1")
    return shop


def faults(bursts: int, seed: int, folder: Path) -> tuple[list[tuple[str, str]], set[str]]:
    """What went wrong, each with the bursts that led to it; and the screens that were seen."""
    rng, left = random.Random(seed), bursts
    found: list[tuple[str, str]] = []
    screens: set[str] = set()
    shop = laid_out(folder)
    while left > 0:
        fuzz = Session(rng, min(left, SESSION))
        try:
            asyncio.run(fuzz.run(shop))
        except Exception as fault:
            found.append((fuzz.trail, f"{type(fault).__name__}: {fault}"))
        found += [(fuzz.trail, repr(fault)) for fault in fuzz.app.faults]
        found += [(trail, f"took {took:.1f} s") for trail, took in fuzz.slow]
        screens |= fuzz.screens
        left -= max(fuzz.done, 1)
    shop.record.close()
    return found, screens


class Session:
    """One app for so many bursts."""

    def __init__(self, rng: random.Random, bursts: int) -> None:
        self.rng, self.bursts, self.done = rng, bursts, 0
        self.slow: list[tuple[str, float]] = []
        self.screens: set[str] = set()
        self._trail: deque[str] = deque(maxlen=STAY)

    @property
    def trail(self) -> str:
        return " | ".join(self._trail)

    async def run(self, shop: Shop) -> None:
        self.app = ShopApp(lambda: shop, person=self.rng.choice(("MM", "MM", "TT", "CC", "")))
        async with self.app.run_test(size=self.rng.choice(SIZES)) as pilot:
            while self.done < self.bursts and self.app._exception is None:
                await self._burst(pilot)
                self.done += 1

    async def _burst(self, pilot: Pilot[int]) -> None:
        if self.done % STAY == 0:
            self._trail.clear()
            await self._press(pilot, ("escape", "escape", *self.rng.choice(PLACES)))
        if self.rng.random() < 0.005:  # nobody touched it for a long time
            self._trail.append("locked")
            self.app._touched = -1e9
            self.app._lock()
        begun = time.perf_counter()
        kind = self.rng.random()
        if kind < 0.45:
            await self._press(pilot, self.rng.choices(NAMED, k=self.rng.randint(1, 6)))
        elif kind < 0.9:
            await self._press(pilot, self._typed())
        else:
            await self._paste(pilot, texts.string(self.rng, paste=0.01))
        self.screens.add(type(pilot.app.screen).__name__)
        if (took := time.perf_counter() - begun) > SLOW_S:
            self.slow.append((self.trail, took))

    def _typed(self) -> Sequence[str]:
        """Letters that are keys of a list, something scanned, or nasty text; often Enter."""
        kind = self.rng.random()
        if kind < 0.3:
            signs = self.rng.choices("abcdefghijklmnopqrstuvwxyzQ0123456789 /+-[]", k=3)
        elif kind < 0.65:
            signs = list(self.rng.choice(SCANS))
        else:
            signs = list(texts.string(self.rng, paste=0)[:40])
        return [*signs, *(("enter",) if self.rng.random() < 0.7 else ())]

    async def _press(self, pilot: Pilot[int], keys: Sequence[str]) -> None:
        self._trail.append(ascii(" ".join(keys)))
        for key in keys:
            sign = key if len(key) == 1 else None
            name = _character_to_key(key) if sign else key
            event = events.Key("enter" if sign in ("\n", "\r") else name, sign)
            event.set_sender(pilot.app)
            pilot.app.post_message(event)
        await pilot.pause()

    async def _paste(self, pilot: Pilot[int], text: str) -> None:
        self._trail.append(f"paste of {len(text)}: {text[:60]!a}")
        event = events.Paste(text)
        event.set_sender(pilot.app)
        pilot.app.post_message(event)
        await pilot.pause()
