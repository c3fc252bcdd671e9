"""One terminal of the shop under test: keys go in, the painted screen comes out."""

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass, field

from textual import events
from textual.keys import _character_to_key as _key
from textual.pilot import Pilot

from shopdesk.desk.shop import Shop
from shopdesk.tui.app import ShopApp
from shopdesk.tui.bench.sheet import SheetScreen
from shopdesk.tui.lines import Lines

PATIENCE_S = 20.0


@dataclass
class Terminal:
    """Counts what a person presses: ``content`` is what is said, ``control`` every other key."""

    app: ShopApp
    pilot: Pilot[int]
    content: int = 0
    control: int = 0
    pressed: list[str] = field(default_factory=list)

    async def press(self, *keys: str) -> None:
        """Keys that are not content: arrows, function keys, Enter."""
        for key in keys:
            self.control += 1
            self.pressed.append(key)
            await self.pilot.press(key)
            await self.settled()

    async def write(self, text: str) -> None:
        """Types characters, each a key, as fast as a scanner would."""
        self.content += len(text)
        self.pressed.append(text)
        for char in text:
            self.app.post_message(events.Key(_key(char), char))
        await self.pilot.pause()

    async def enter(self, text: str = "") -> None:
        """Types and presses Enter."""
        await self.write(text)
        await self.press("enter")

    async def settled(self) -> None:
        """Waits until nothing runs off the interface's thread and all is painted."""
        loop = asyncio.get_running_loop()
        until = loop.time() + PATIENCE_S
        while True:
            await self.pilot.pause()
            screen = self.app.screen
            recording = isinstance(screen, SheetScreen) and screen.recording.running
            if not (self.app.busy or recording or self._working()):
                break
            assert loop.time() < until, f"still working after {PATIENCE_S} s:\n{self.screen()}"
            await asyncio.sleep(0.01)
        assert not self.app.faults, self.app.faults

    def _working(self) -> bool:
        return any(
            worker.is_running and worker.group.startswith(("look", "deed"))
            for worker in self.app.workers
        )

    def screen(self) -> str:
        """The screen as text, line by line."""
        strips = self.app.screen._compositor.render_strips()
        return "\n".join(strip.text.rstrip() for strip in strips)

    def shows(self, *words: str) -> None:
        """Asserts that the screen says each of these."""
        flat = " ".join(self.screen().split())
        for word in words:
            assert word in flat, f"{word!r} is not on the screen:\n{self.screen()}"

    def hides(self, *words: str) -> None:
        flat = " ".join(self.screen().split())
        for word in words:
            assert word not in flat, f"{word!r} is on the screen:\n{self.screen()}"

    @property
    def sheet(self) -> SheetScreen:
        assert isinstance(self.app.screen, SheetScreen), self.screen()
        return self.app.screen

    @property
    def line(self) -> str:
        """The key of the line under the sheet's cursor."""
        return str(self.sheet.query_one(Lines).cursor_key)


@asynccontextmanager
async def terminal(
    shop: Shop, *, person: str = "", size: tuple[int, int] = (80, 24)
) -> AsyncIterator[Terminal]:
    """The app on the shop's record, at its first screen."""
    app = ShopApp(lambda: shop, person=person)
    async with app.run_test(size=size) as pilot:
        made = Terminal(app, pilot)
        await made.settled()
        yield made
