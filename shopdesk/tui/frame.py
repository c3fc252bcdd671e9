"""The frame every screen stands in: a top line, a notice line, the keys."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, cast

from rich.text import Text
from textual.screen import ModalScreen, Screen
from textual.widget import Widget
from textual.widgets import Static

from shopdesk.tui.columns import fitted

if TYPE_CHECKING:
    from shopdesk.tui.app import ShopApp

SMALLEST = (80, 24)


def app_of(screen: Screen[Any]) -> "ShopApp":
    """The screen's app, typed."""
    return cast("ShopApp", screen.app)


class Top(Static):
    """Where one is and who stands here; on a terminal too small, a sentence in place of all."""

    DEFAULT_CSS = "Top { height: 1; text-style: bold; }"

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
            self.update(
                Text(
                    f"This terminal is {size.width} x {size.height}; shopdesk needs "
                    f"{SMALLEST[0]} x {SMALLEST[1]}. Make it larger: nothing typed is lost."
                )
            )
            return
        person = cast("ShopApp", self.app).person
        key = "F6 " if person and not isinstance(self.screen, ModalScreen) else ""
        left = f" {self.heading}"
        right = f"{key}at this terminal: {person or 'nobody yet: F6'} "
        if cast("ShopApp", self.app).cut_off:
            right = f"NO CONNECTION TO THE RECORD  {key}{person} "
        width = self.app.size.width
        room = max(1, width - len(right))
        self.update(Text(fitted(left, room - 1) + " " + right), layout=False)


def wrapped(widget: Widget, text: Text) -> Sequence[Text]:
    """The text in lines as wide as the terminal, one at least."""
    width = max(1, widget.app.size.width)
    if "\n" not in text.plain and text.cell_len <= width:
        return [text]
    return list(text.wrap(widget.app.console, width))


class Said(Static):
    """Wrapped text as high as it is, up to ``most`` lines. The screen is laid out anew only when
    that height changes: at every entry it would be felt."""

    DEFAULT_CSS = "Said { height: 1; }"

    def __init__(
        self,
        *,
        most: int = 4,
        id: str | None = None,  # noqa: A002 (Textual's own name)
    ) -> None:
        super().__init__(markup=False, id=id)
        self.most = most
        self._text = Text()

    def paint(self, text: Text) -> None:
        if text == self._text and text.style == self._text.style:
            return
        self._paint(text)

    def _paint(self, text: Text) -> None:
        self._text = text
        high = min(self.most, len(wrapped(self, text)))
        if self.styles.height is None or self.styles.height.value != high:
            self.styles.height = high
            self.update(text)
        else:
            self.update(text, layout=False)

    def on_resize(self) -> None:
        if self._text.plain:
            self._paint(self._text)


class Notice(Said):
    """The last thing the shop said: an echo, a refusal, what is being waited for."""

    def __init__(self) -> None:
        super().__init__(most=4)
        self.said = ""
        self.loud = False
        self._working = ""

    def say(self, text: str, *, loud: bool = False) -> None:
        self.said, self.loud, self._working = text, loud, ""
        self._say(text)

    def working(self, on: bool, words: str) -> None:
        working = words if on else ""
        if working != self._working:
            self._working = working
            self._say(working or self.said)

    def _say(self, text: str) -> None:
        mark = "! " if self.loud and text else ""
        self.paint(Text(f" {mark}{text}", style="bold" if self.loud else ""))


class Keys(Static):
    """The keys that do something here, always in the same places."""

    DEFAULT_CSS = "Keys { height: auto; dock: bottom; }"
    PLACES = "F1 Help F2 Counter F3 Bench F4 Stores F5 Office F11 Calc F12 Paper F10 Leave"

    def __init__(self, own: str) -> None:
        super().__init__(markup=False)
        self.show(own)

    def show(self, own: str) -> None:
        """``own`` are this screen's keys, above those of the places."""
        self.update(Text(f" {own}\n {self.PLACES}"))
