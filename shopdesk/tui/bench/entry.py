"""The line one types on: pastes of several scans become several entries, history is not kept.

It takes every key itself, Enter too, in the order typed: as a binding Enter would come after the
signs of a fast scanner's next code, and two codes would become one.
"""

from dataclasses import dataclass

from rich.text import Text
from textual import events
from textual.message import Message
from textual.widget import Widget

from shopdesk.tui.filling import Field, Filled, edited, shown
from shopdesk.tui.lines import LONGEST_PASTE

LONGEST = 2000
MARK = "> "
TAKES_AWAY = frozenset({"backspace", "delete", "ctrl+u", "ctrl+k", "ctrl+w"})
ASKED, SECRET = Field("entry", ""), Field("entry", "", secret=True)


class EntryLine(Widget, can_focus=True):
    """One line of text; Enter makes an entry of it, a paste of several lines as many entries."""

    DEFAULT_CSS = "EntryLine { height: 1; }"

    @dataclass
    class Entered(Message):
        texts: tuple[str, ...]

    @dataclass
    class Changed(Message):
        """Another text stands here now."""

        value: str

    def __init__(self) -> None:
        super().__init__()
        self._held = Filled(ASKED, "", 0, ())

    @property
    def value(self) -> str:
        return self._held.value

    @value.setter
    def value(self, text: str) -> None:
        self._put(text, len(text))

    @property
    def cursor_position(self) -> int:
        return self._held.at

    def hide(self, secret: bool) -> None:
        """Shows what stands behind the first space, a PIN, as dots, or no longer."""
        asked = SECRET if secret else ASKED
        if self._held.asked is not asked:
            self._held.asked = asked
            self.refresh()

    def select_all(self) -> None:
        """The first sign typed takes the place of what stands here."""
        self._held.offered = bool(self.value)
        self.refresh()

    def insert_text_at_cursor(self, text: str) -> None:
        held = self._held
        before, behind = ("", "") if held.offered else self._split()
        room = LONGEST - len(before) - len(behind)
        self._put(before + text[:room] + behind, len(before) + len(text[:room]))

    def render(self) -> Text:
        return Text(MARK, no_wrap=True) + shown(self._held, self.size.width - len(MARK), here=True)

    def on_key(self, event: events.Key) -> None:
        if self._takes(event.key, event.character if event.is_printable else None):
            event.stop()
            event.prevent_default()

    def on_paste(self, event: events.Paste) -> None:
        event.stop()
        lines = [line for line in event.text[:LONGEST_PASTE].splitlines() if line.strip()]
        if len(lines) > 1:
            text, self.value = self.value, ""
            self.post_message(self.Entered((text + lines[0], *lines[1:])))
        elif lines:
            self.insert_text_at_cursor(lines[0])

    def _takes(self, key: str, sign: str | None) -> bool:
        held = self._held
        if key == "enter":
            text, self.value = self.value, ""
            self.post_message(self.Entered((text,)))
        elif sign is not None:
            self.insert_text_at_cursor(sign)
        elif held.offered and key in TAKES_AWAY:
            self.value = ""
        elif (found := edited(held.value, held.at, key)) is not None:
            self._put(*found)
        else:
            return False
        return True

    def _split(self) -> tuple[str, str]:
        return self.value[: self._held.at], self.value[self._held.at :]

    def _put(self, text: str, at: int) -> None:
        held = self._held
        changed = text != held.value
        if changed or held.offered or at != held.at:
            held.value, held.at, held.offered = text, at, False
            self.refresh()
        if changed:
            self.post_message(self.Changed(text))
