"""A list of lines with a cursor, painted line by line: cheap at any length."""

from collections.abc import Hashable, Sequence
from dataclasses import dataclass

from rich.segment import Segment
from rich.style import Style
from rich.text import Text
from textual import events
from textual.binding import Binding
from textual.geometry import Region, Size
from textual.message import Message
from textual.scroll_view import ScrollView
from textual.strip import Strip

LONGEST_PASTE = 20_000
"""Signs taken of one paste, wherever it goes."""


@dataclass(frozen=True, slots=True)
class Row:
    """One painted line; rows without ``key`` are headings the cursor passes over."""

    text: Text
    key: Hashable | None = None


class Lines(ScrollView, can_focus=True):
    """Rows with a cursor. Posts ``Moved`` when the cursor lands elsewhere, ``Chosen`` on Enter."""

    BINDINGS = [
        Binding("up", "move(-1)", "Up", id="lines.up", show=False),
        Binding("down", "move(1)", "Down", id="lines.down", show=False),
        Binding("pageup", "page(-1)", "Page up", id="lines.page_up", show=False),
        Binding("pagedown", "page(1)", "Page down", id="lines.page_down", show=False),
        Binding("home", "edge(0)", "First", id="lines.first", show=False),
        Binding("end", "edge(-1)", "Last", id="lines.last", show=False),
        Binding("enter", "choose", "Open", id="lines.choose", show=False),
    ]
    DEFAULT_CSS = "Lines { height: 1fr; scrollbar-size-vertical: 1; overflow-x: hidden; }"

    @dataclass
    class Moved(Message):
        lines: "Lines"
        key: Hashable | None

    @dataclass
    class Chosen(Message):
        lines: "Lines"
        key: Hashable

    def __init__(self, *, id: str | None = None, empty: str = "") -> None:  # noqa: A002 (Textual's own name)
        super().__init__(id=id)
        self._rows: Sequence[Row] = ()
        self._cursor = -1
        self.empty = empty

    @property
    def cursor_key(self) -> Hashable | None:
        return self._rows[self._cursor].key if 0 <= self._cursor < len(self._rows) else None

    @property
    def rows(self) -> Sequence[Row]:
        return self._rows

    def show(self, rows: Sequence[Row], *, at: Hashable | None = None) -> None:
        """Paints these rows; the cursor goes to the row ``at``, else stays on the key it had."""
        wanted = at if at is not None else self.cursor_key
        self._rows = rows
        self.virtual_size = Size(self.size.width, max(len(rows), 1))
        keys = [row.key for row in rows]
        if wanted is not None and wanted in keys:
            self._cursor = keys.index(wanted)
        else:
            near = min(max(self._cursor, 0), len(rows) - 1)
            self._cursor = self._nearest(near, 1)
        self._seen()
        self.refresh()

    def unmark(self) -> None:
        """Takes the cursor off every row."""
        self._cursor = -1
        self.refresh()

    def go(self, key: Hashable) -> None:
        """Puts the cursor on the row with this key, if it is there."""
        for index, row in enumerate(self._rows):
            if row.key == key:
                self._land(index)

    def on_resize(self) -> None:
        """A line less to paint on must not hide the cursor."""
        self._seen()

    def render_line(self, y: int) -> Strip:
        index = y + self.scroll_offset.y
        width = self.size.width
        base = self.rich_style
        if index >= len(self._rows):
            said = self.empty if index == 0 and not self._rows else ""
            return Strip([Segment(said.ljust(width)[:width], base)])
        row = self._rows[index]
        marked = index == self._cursor
        style = base + Style(reverse=True) if marked else base
        text = Text.assemble(">" if marked else " ", row.text)
        text.truncate(width, overflow="ellipsis", pad=True)
        segments = list(text.render(self.app.console))
        return Strip(Segment.apply_style(segments, style), width)

    def action_move(self, step: int) -> None:
        self._land(self._nearest(self._cursor + step, step))

    def action_page(self, step: int) -> None:
        goal = self._cursor + step * max(1, self.size.height - 1)
        goal = min(max(goal, 0), len(self._rows) - 1)
        self._land(self._nearest(goal, -step))

    def action_edge(self, index: int) -> None:
        start = 0 if index == 0 else len(self._rows) - 1
        self._land(self._nearest(start, 1 if index == 0 else -1))

    def action_choose(self) -> None:
        key = self.cursor_key
        if key is not None:
            self.post_message(self.Chosen(self, key))

    def on_click(self, event: events.Click) -> None:
        index = event.y + self.scroll_offset.y
        if 0 <= index < len(self._rows) and self._rows[index].key is not None:
            self._land(index)

    def _nearest(self, index: int, step: int) -> int:
        """The first row from ``index`` on, in this direction, that the cursor may stand on."""
        while 0 <= index < len(self._rows):
            if self._rows[index].key is not None:
                return index
            index += step
        return self._cursor if 0 <= self._cursor < len(self._rows) else -1

    def _land(self, index: int) -> None:
        if not 0 <= index < len(self._rows) or index == self._cursor:
            return
        left, self._cursor = self._cursor, index
        before = self.scroll_offset
        self._seen()
        if self.scroll_offset == before:
            self.refresh_line(left)
            self.refresh_line(index)
        else:
            self.refresh()
        self.post_message(self.Moved(self, self._rows[index].key))

    def _seen(self) -> None:
        if self._cursor < 0:
            return
        top, high = self.scroll_offset.y, self._high()
        if not top <= self._cursor <= self._cursor + high <= top + self.size.height:
            place = Region(0, self._cursor, 1, high)
            self.scroll_to_region(place, animate=False, force=True)

    def _high(self) -> int:
        """Lines of the row under the cursor: what is written beneath it belongs to it."""
        beneath = self._rows[self._cursor + 1 :]
        own = next((n for n, row in enumerate(beneath) if row.key is not None), len(beneath))
        return min(1 + own, max(1, self.size.height))
