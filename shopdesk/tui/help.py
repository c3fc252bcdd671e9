"""Help on the screen one stands on: its own words, the line's own words, its keys."""

from collections.abc import Iterable
from typing import Any

from rich.text import Text
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.screen import ModalScreen, Screen
from textual.widgets import Static

from shopdesk.tui.columns import plain
from shopdesk.tui.frame import Keys, Top


class TextScreen(ModalScreen[None]):
    """A text to read; any of Esc, Enter, F1 and F2 closes it."""

    HEADING = "Read"
    BINDINGS = [
        Binding("escape,enter,f1,f2", "close", "Close", id="text.close", tooltip="Close this"),
        Binding("up", "scroll(-1)", "Up", id="text.up", show=False),
        Binding("down", "scroll(1)", "Down", id="text.down", show=False),
        Binding("pageup", "scroll(-15)", "Page up", id="text.page_up", show=False),
        Binding("pagedown", "scroll(15)", "Page down", id="text.page_down", show=False),
    ]
    DEFAULT_CSS = """
    TextScreen { background: ansi_default; }
    TextScreen VerticalScroll { height: 1fr; padding: 0 1; scrollbar-size-vertical: 1; }
    TextScreen VerticalScroll Static { height: auto; }
    """

    def __init__(self, text: str, heading: str = "") -> None:
        super().__init__()
        self.text = text
        self.heading = heading or self.HEADING

    def compose(self) -> ComposeResult:
        yield Top(self.heading)
        with VerticalScroll(can_focus=False):
            lines = "\n".join(plain(line) for line in self.text.split("\n"))
            yield Static(Text(lines), markup=False)
        keys = Keys("")
        keys.update(" Up, Down, Page Up, Page Down   Esc, Enter, F1 or F2 close")
        yield keys

    def action_scroll(self, by: int) -> None:
        self.query_one(VerticalScroll).scroll_relative(y=by, animate=False)

    def action_close(self) -> None:
        self.dismiss(None)


class HelpScreen(TextScreen):
    HEADING = "Help"


def help_of(screen: Screen[Any]) -> str:
    """The screen's words (``HELP``), its line's (``help_text``), its keys and the places'."""
    own = getattr(screen, "help_text", None)
    parts = [screen.HELP or "", own() if callable(own) else ""]
    places = () if isinstance(screen, ModalScreen) else (type(screen.app),)
    keys = [
        key
        for kind in (*type(screen).__mro__, *places)
        for key in _keys(vars(kind).get("BINDINGS", ()))
        if kind.__module__.startswith("shopdesk")
    ]
    parts.append("\n".join(dict.fromkeys(keys)))
    return "\n\n".join(part.strip("\n") for part in parts if part.strip())


def _keys(bindings: Iterable[BindingType]) -> list[str]:
    made = Binding.make_bindings(bindings)
    return [
        f"{_key_name(binding.key):>9}  {binding.tooltip or binding.description}"
        for binding in made
        if binding.tooltip or binding.show
    ]


def _key_name(key: str) -> str:
    names = {"escape": "Esc", "pageup": "Page Up", "pagedown": "Page Down"}
    word = key.isalpha() and len(key) > 1
    return names.get(key, key.capitalize() if word else key.upper())
