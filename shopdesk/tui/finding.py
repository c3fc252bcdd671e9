"""A list that is searched by typing: whatever is typed or scanned on it is looked for."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from textual import events
from textual.message import Message

from shopdesk.tui.lines import LONGEST_PASTE, Lines

if TYPE_CHECKING:
    from shopdesk.desk.shop import Shop
    from shopdesk.views.lists import Scan

MOVES = {
    "up": ("move", -1),
    "down": ("move", 1),
    "pageup": ("page", -1),
    "pagedown": ("page", 1),
    "home": ("edge", 0),
    "end": ("edge", -1),
}
LONGEST = 80


def what_is(shop: "Shop", code: str) -> "Scan | None":
    """Looks a scanned code up in the record; for a lane."""
    from shopdesk.views import lists

    with shop.read() as db:
        return lists.what_is(db, code)


class FindLines(Lines):
    """Takes every key itself, in the order typed, so that a fast scan loses none.

    ``letters`` act (as the screen's bindings) only while nothing is being typed; any other sign
    begins a search. Arrow keys end the typing and keep what was found.
    """

    @dataclass
    class Typed(Message):
        """The text looked for changed, or typing ended."""

        lines: "FindLines"
        text: str

    @dataclass
    class Entered(Message):
        """Enter behind typed text, or one line of a paste: a scan, or a search to go on with."""

        lines: "FindLines"
        text: str

    def __init__(self, letters: frozenset[str], *, empty: str = "") -> None:
        super().__init__(empty=empty)
        self.letters = letters
        self.text = ""
        self.typing = False
        self._entered = False

    @property
    def begun(self) -> str:
        """What is being typed and was not entered yet."""
        return self.text if self.typing and not self._entered else ""

    def begin(self) -> None:
        """From here on letters are typed."""
        self.typing = True
        self._say()

    def settle(self) -> None:
        """Letters act again; what was looked for stays."""
        self.typing = False
        self._say()

    def clear(self) -> None:
        self.text, self.typing, self._entered = "", False, False
        self._say()

    def on_key(self, event: events.Key) -> None:
        if self.take(event.key, event.character if event.is_printable else None):
            event.stop()
            event.prevent_default()

    def on_paste(self, event: events.Paste) -> None:
        event.stop()
        whole, *more = event.text[:LONGEST_PASTE].splitlines() or [""]
        if more or event.text.endswith(("\n", "\r")):
            lines = [line.strip()[:LONGEST] for line in (whole, *more) if line.strip()]
            for line in lines:
                self.post_message(self.Entered(self, line))
            if lines:  # as if it had been typed: until it is found, letters begin another
                self.text, self.typing, self._entered = lines[-1], True, True
        else:
            for sign in whole[:LONGEST]:
                self._type(sign)

    def take(self, key: str, sign: str | None) -> bool:
        """Does what the key says; False where it is left to the screen."""
        if key in MOVES:
            self._move(*MOVES[key])
        elif key == "enter":
            self._enter()
        elif key == "backspace" and self.text:
            self._entered = False
            self.text, self.typing = self.text[:-1], True
            self._say()
        elif key in ("escape", "ctrl+u") and (self.text or self.typing):
            self.clear()
        elif sign is not None and (self.typing or sign.lower() not in self.letters):
            self._type(sign)
        else:
            return False
        return True

    def _move(self, action: str, step: int) -> None:
        if self.typing:
            self.settle()
        getattr(self, f"action_{action}")(step)

    def _enter(self) -> None:
        if self.typing and self.text.strip():
            self._entered = True  # a scanner's next code does not join this one
            self.post_message(self.Entered(self, self.text.strip()))
        else:
            self.action_choose()

    def _type(self, sign: str) -> None:
        if not self.typing or self._entered:
            self.text, self.typing, self._entered = "", True, False
        if sign.isprintable() and len(self.text) < LONGEST and (self.text or sign != " "):
            self.text += sign
        self._say()

    def _say(self) -> None:
        self.post_message(self.Typed(self, self.text))
