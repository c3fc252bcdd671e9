"""The frame every screen stands in: a top line, a notice line, the keys."""

from typing import TYPE_CHECKING, Any, cast

from rich.text import Text
from textual.screen import Screen
from textual.widgets import Static

if TYPE_CHECKING:
    from shopdesk.tui.app import ShopApp

SMALLEST = (80, 24)


def app_of(screen: Screen[Any]) -> "ShopApp":
    """The screen's app, typed."""
    return cast("ShopApp", screen.app)


class Top(Static):
    """Where one is and who stands here; on a terminal too small, a sentence in place of all."""

    DEFAULT_CSS = """
    Top { height: 1; text-style: bold; }
    Screen.-too-small > * { display: none; }
    Screen.-too-small > Top { display: block; height: auto; }
    """

    def __init__(self, title: str) -> None:
        super().__init__(markup=False)
        self.heading = title

    def on_mount(self) -> None:
        self.repaint()

    def on_resize(self) -> None:
        self.repaint()

    def repaint(self) -> None:
        size = self.app.size
        small = size.width < SMALLEST[0] or size.height < SMALLEST[1]
        self.screen.set_class(small, "-too-small")
        if small:
            self.update(Text(
                f"This terminal is {size.width} x {size.height}; shopdesk needs "
                f"{SMALLEST[0]} x {SMALLEST[1]}. Make it larger: nothing typed is lost."
            ))
            return
        person = cast("ShopApp", self.app).person or "nobody yet: F6"
        left, right = f" {self.heading}", f"at this terminal: {person} "
        width = self.app.size.width
        room = max(1, width - len(right))
        self.update(Text(left[: room - 1].ljust(room) + right))


class Notice(Static):
    """The last thing the shop said: an echo, a refusal, what is being waited for."""

    DEFAULT_CSS = "Notice { height: auto; max-height: 4; min-height: 1; }"

    def __init__(self, text: str = "") -> None:
        super().__init__(markup=False)
        self.said = text
        self.loud = False

    def say(self, text: str, *, loud: bool = False) -> None:
        self.said, self.loud = text, loud
        self._paint(text)

    def working(self, on: bool) -> None:
        self._paint("… working" if on else self.said)

    def _paint(self, text: str) -> None:
        mark = "! " if self.loud and text else ""
        self.update(Text(f" {mark}{text}", style="bold" if self.loud else ""))


class Keys(Static):
    """The keys that do something here, always in the same places."""

    DEFAULT_CSS = "Keys { height: auto; dock: bottom; }"
    PLACES = "F1 Help  F2 Counter  F3 Bench  F4 Stores  F5 Office  F6 Who  F10 Leave"

    def __init__(self, own: str) -> None:
        super().__init__(markup=False)
        self.show(own)

    def show(self, own: str) -> None:
        """``own`` are this screen's keys, above those of the places."""
        self.update(Text(f" {own}\n {self.PLACES}"))
