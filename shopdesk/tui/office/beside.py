"""Two revisions of a procedure side by side: what differs, or all of it."""

import textwrap
from collections.abc import Hashable, Iterator, Sequence
from itertools import groupby, zip_longest
from typing import TYPE_CHECKING

from rich.text import Text
from textual.binding import Binding

from shopdesk.tui.columns import fitted, plain
from shopdesk.tui.lines import Row
from shopdesk.tui.places import ListScreen

if TYPE_CHECKING:
    from shopdesk.desk.shop import Shop
    from shopdesk.procedure.comparing import Compared

SIGNS = {"added": "+", "dropped": "-", "changed": "~", "same": " "}


class BesideScreen(ListScreen):
    HELP = (
        "The earlier revision on the left, the later one on the right, section by section. + is a "
        "line the later one adds, - one it drops, ~ one it changes, with each field that differs "
        "under it. A shows all lines or only those that differ."
    )
    LETTERS = "a"
    OWN_KEYS = "A All lines, or what differs   F7 Find   Esc Back"
    FINDS = "line, section or value"
    EMPTY = " nothing differs; A shows all lines"
    BINDINGS = [
        Binding("a,A", "all", "All", id="beside.all", tooltip="All lines, or what differs"),
        Binding("escape", "back", "Back", id="beside.back", tooltip="Back to the procedures"),
    ]

    def __init__(self, model: str, was: str, now: str) -> None:
        super().__init__()
        self.HEADING = f"{model}: rev {was} beside rev {now}"  # type: ignore[misc]
        self.model, self.was, self.now = model, was, now
        self.everything = False

    def ask(self, shop: "Shop", text: str) -> "tuple[Compared, ...]":
        from shopdesk.procedure.comparing import compare
        from shopdesk.views import procedures

        with shop.read() as db:
            was = procedures.find(db, self.model, self.was)[1]
            now = procedures.find(db, self.model, self.now)[1]
        key = text.strip().casefold()
        return tuple(one for one in compare(was, now) if key in _said(one))

    @property
    def half(self) -> int:
        """Cells of one side."""
        return (self.width - 5) // 2

    def repaint(self) -> None:
        super().repaint()
        if self.answer is not None:
            heads = f"   {fitted(f'rev {self.was}', self.half)} │ rev {self.now}"
            self.titles.update(Text(heads, no_wrap=True), layout=False)

    def rows(self) -> Sequence[Row]:
        shown = [one for one in self.answer if self.everything or one.mark != "same"]
        rows: list[Row] = []
        for part, ones in groupby(shown, key=lambda one: one.part):
            rows.append(Row(Text(part.upper(), style="bold")))
            for one in ones:
                rows += self._rows(one)
        return rows

    def _rows(self, one: "Compared") -> Iterator[Row]:
        beneath = [each for each in one.differs if each.field != "words"]
        pairs = [(one.was, one.now)]
        pairs += [
            (each.was and f"  {each.field}: {each.was}", each.now and f"  {each.field}: {each.now}")
            if one.mark != "changed"
            else (f"  {each.field}: {each.was or 'none'}", f"  {each.field}: {each.now or 'none'}")
            for each in beneath
        ]
        first = True
        for was, now in pairs:
            for left, right in zip_longest(self._wrapped(was), self._wrapped(now), fillvalue=""):
                sign = SIGNS[one.mark] if first else " "
                line = Text(f"{sign} {fitted(left, self.half)} │ {right}", no_wrap=True)
                yield Row(line, (one.part, one.key) if first else None)
                first = False

    def _wrapped(self, text: str) -> list[str]:
        indent = "    " if text.startswith("  ") else "  "
        start = "  " if text.startswith("  ") else ""
        return textwrap.wrap(plain(text), self.half, initial_indent=start, subsequent_indent=indent)

    def paint_find(self) -> None:
        super().paint_find()
        if self.answer is not None and not self.lines.text and not self.lines.typing:
            from shopdesk.procedure.comparing import summary

            shown = "all" if self.everything else "what differs"
            self.say_found(f"{summary(self.answer)}.  Shown: {shown} (A).")

    def about(self, key: Hashable | None) -> Sequence[str]:
        one = next((one for one in self.answer if (one.part, one.key) == key), None)
        if one is None:
            return ()
        fields = ", ".join(each.field for each in one.differs) if one.mark == "changed" else ""
        return f"{one.key}: {one.mark}", fields

    def action_all(self) -> None:
        self.everything = not self.everything
        self.repaint()

    def action_back(self) -> None:
        self.dismiss()


def _said(one: "Compared") -> str:
    values = (f"{each.field} {each.was} {each.now}" for each in one.differs)
    return " ".join((one.part, one.key, one.was, one.now, *values)).casefold()
