"""A list of lines with a cursor, painted line by line: cheap at any length.

It scrolls by itself. Textual's own scrolling lays the screen out anew and paints it up to four
times over; here a key is one painting, however far it moves.
"""

from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass

from rich.segment import Segment
from rich.style import Style
from rich.text import Text
from textual import events
from textual.binding import Binding
from textual.geometry import Region
from textual.message import Message
from textual.strip import Strip
from textual.widget import Widget

LONGEST_PASTE = 20_000
"""Signs taken of one paste, wherever it goes."""
WHEEL = 3
"""Rows that a turn of the wheel moves."""
REVERSE = Style(reverse=True)


@dataclass(frozen=True, slots=True)
class Row:
    """One painted line; rows without ``key`` are headings the cursor passes over."""

    text: Text
    key: Hashable | None = None


class Lines(Widget, can_focus=True):
    """Rows with a cursor, above the lines of a foot that gives way to none.

    ``moved`` is called when the cursor lands elsewhere, at once: what it says of the row is painted
    with it. Posts ``Chosen`` on Enter.
    """

    BINDINGS = [
        Binding("up", "move(-1)", "Up", id="lines.up", show=False),
        Binding("down", "move(1)", "Down", id="lines.down", show=False),
        Binding("pageup", "page(-1)", "Page up", id="lines.page_up", show=False),
        Binding("pagedown", "page(1)", "Page down", id="lines.page_down", show=False),
        Binding("home", "edge(0)", "First", id="lines.first", show=False),
        Binding("end", "edge(-1)", "Last", id="lines.last", show=False),
        Binding("enter", "choose", "Open", id="lines.choose", show=False),
    ]
    DEFAULT_CSS = "Lines { height: 1fr; }"

    @dataclass
    class Chosen(Message):
        lines: "Lines"
        key: Hashable

    def __init__(self, *, id: str | None = None, empty: str = "") -> None:  # noqa: A002 (Textual's own name)
        super().__init__(id=id)
        self._rows: Sequence[Row] = ()
        self._foot: Sequence[Text] = ()
        self._cursor = -1
        self._top = 0
        self._strips: dict[int, tuple[Row, Strip]] = {}
        self._base = Style()
        self.empty = empty
        self.moved: Callable[[], None] = lambda: None

    @property
    def cursor_key(self) -> Hashable | None:
        return self._rows[self._cursor].key if 0 <= self._cursor < len(self._rows) else None

    @property
    def rows(self) -> Sequence[Row]:
        return self._rows

    def show(self, rows: Sequence[Row], *, at: Hashable | None = None) -> None:
        """Paints these rows; the cursor goes to the row ``at``, else stays on the key it had."""
        wanted = at if at is not None else self.cursor_key
        before, cursor, top = self._rows, self._cursor, self._top
        self._rows = rows
        keys = [row.key for row in rows]
        if wanted is not None and wanted in keys:
            self._cursor = keys.index(wanted)
        else:
            near = min(max(self._cursor, 0), len(rows) - 1)
            self._cursor = self._nearest(near, 1)
        self._keep_seen(self._top)
        if not rows or self._top != top or len(before) != len(rows):
            self.refresh()
        else:
            other = [n for n, row in enumerate(rows) if row is not before[n]]
            self._refresh_rows(*other, cursor, self._cursor)

    def show_foot(self, foot: Sequence[Text]) -> None:
        """Paints these lines beneath the rows, as many as leave the row under the cursor seen."""
        if foot == self._foot:
            return
        before, top = self._page, self._top
        self._foot = foot
        self._keep_seen(self._top)
        if self._top != top:
            self.refresh()
        else:
            self._refresh_from(min(before, self._page))

    def unmark(self) -> None:
        """Takes the cursor off every row and shows the first."""
        self._cursor, self._top = -1, 0
        self.refresh()

    def go(self, key: Hashable) -> None:
        """Puts the cursor on the row with this key, if it is there."""
        for index, row in enumerate(self._rows):
            if row.key == key:
                self._land(index)

    def on_resize(self) -> None:
        """A line less to paint on must not hide the cursor."""
        self._strips.clear()
        self._keep_seen(self._top)
        self.refresh()

    # painting

    @property
    def _page(self) -> int:
        """Rows that are seen at once."""
        return max(1, self.size.height - len(self._foot))

    def render_lines(self, crop: Region) -> list[Strip]:
        self._base = self.rich_style  # looked up anew it takes longer than a row does
        return super().render_lines(crop)

    def render_line(self, y: int) -> Strip:
        page, width = self._page, self.size.width
        if y >= page:
            return self._painted(self._foot[y - page], width)
        bar = self._bar(y, page)
        index = y + self._top
        if index >= len(self._rows):
            said = self.empty if index == 0 and not self._rows else ""
            return Strip([Segment(said.ljust(width)[: width - 1], self._base), bar], width)
        marked = index == self._cursor
        row = self._rows[index]
        made_of, strip = self._strips.get(index, (None, None))
        if marked or strip is None or made_of is not row:
            text = Text.assemble(">" if marked else " ", row.text)
            strip = self._painted(text, width - 1, reverse=marked)
            if not marked:
                self._strips[index] = (row, strip)
        return Strip([*strip, bar], width)

    def _painted(self, text: Text, width: int, *, reverse: bool = False) -> Strip:
        text = text.copy()
        text.truncate(width, overflow="ellipsis", pad=True)
        style = self._base + REVERSE if reverse else self._base
        return Strip(Segment.apply_style(text.render(self.app.console), style), width)

    def _bar(self, y: int, page: int) -> Segment:
        """Where what is seen stands in the whole, in one column."""
        count = max(page, len(self._rows))
        high = max(1, page * page // count)
        start = (page - high) * self._top // max(1, count - page)
        marked = high < page and start <= y < start + high
        return Segment(" ", self._base + REVERSE if marked else self._base)

    def _refresh_rows(self, *indices: int) -> None:
        places = [index - self._top for index in indices]
        width, page = self.size.width, self._page
        self.refresh(*(Region(0, y, width, 1) for y in places if 0 <= y < page))

    def _refresh_from(self, y: int) -> None:
        self.refresh(Region(0, y, self.size.width, max(1, self.size.height - y)))

    # moving

    def action_move(self, step: int) -> None:
        self._land(self._nearest(self._cursor + step, step))

    def action_page(self, step: int) -> None:
        goal = self._cursor + step * max(1, self._page - 1)
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
        index = event.y + self._top
        if event.y < self._page and index < len(self._rows) and self._rows[index].key is not None:
            self._land(index)

    def on_mouse_scroll_down(self) -> None:
        self._look_at(self._top + WHEEL)

    def on_mouse_scroll_up(self) -> None:
        self._look_at(self._top - WHEEL)

    def _look_at(self, top: int) -> None:
        """Shows other rows; the cursor stays where it is."""
        self._top = min(max(0, top), max(0, len(self._rows) - self._page))
        self.refresh()

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
        top = self._top
        self._keep_seen(top)
        if self._top == top:
            self._refresh_rows(left, index)
        else:
            self.refresh()
        self.moved()

    def _keep_seen(self, top: int) -> None:
        """Scrolls so that the cursor, with what belongs to its row, is seen."""
        page = self._page
        top = min(max(0, top), max(0, len(self._rows) - page))
        if self._cursor >= 0:
            last = self._cursor + self._high(page) - 1
            first = next(n for n, row in enumerate(self._rows) if row.key is not None)
            above = 0 if self._cursor == first else self._cursor  # what stands above the first
            top = max(min(top, above), last - page + 1)
        self._top = top

    def _high(self, page: int) -> int:
        """Lines of the row under the cursor: what is written beneath it belongs to it."""
        beneath = self._rows[self._cursor + 1 :]
        own = next((n for n, row in enumerate(beneath) if row.key is not None), len(beneath))
        return min(1 + own, page)
