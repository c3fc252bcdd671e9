"""The screen a drawing fills, with what its signs mean beneath."""

import textwrap
from typing import TYPE_CHECKING

from rich.text import Text
from textual.app import ComposeResult
from textual.binding import Binding
from textual.screen import Screen
from textual.widgets import Static

from shopdesk.tui.columns import plain
from shopdesk.tui.drawings.plot import LINE_SHOWN, Plot
from shopdesk.tui.frame import Keys, Notice, Said, Top

if TYPE_CHECKING:
    from shopdesk.desk.calculator.curves import Drawing


class DrawingScreen(Screen[None]):
    """Esc goes back to where it was asked for."""

    HELP = (
        "A drawing of the figures you came from. Curves are told apart by their signs, which are "
        "explained beneath; the numbers on the scales are in the units named above."
    )
    BINDINGS = [
        Binding("escape", "back", "Back", id="drawing.back", tooltip="Back to the figures"),
        Binding("enter", "back", "Back", id="drawing.done", show=False),
    ]
    DEFAULT_CSS = """
    DrawingScreen .scales { height: 1; text-style: bold; }
    DrawingScreen Plot { height: 1fr; }
    """

    def __init__(self, drawing: "Drawing") -> None:
        super().__init__()
        self.drawing = drawing

    def compose(self) -> ComposeResult:
        yield Top(self.drawing.title)
        yield Static(Text(f" {self._scales()}", no_wrap=True), classes="scales", markup=False)
        yield Plot(self.drawing)
        yield Said(id="signs", most=6)
        yield Notice()
        yield Keys("Esc Back")

    def on_mount(self) -> None:
        self._explain()

    def on_resize(self) -> None:
        self._explain()

    def _explain(self) -> None:
        width = max(20, self.app.size.width - 1)
        lines = [
            textwrap.fill(
                line,
                width,
                initial_indent=" ",
                subsequent_indent="   ",
                break_on_hyphens=False,
                replace_whitespace=False,
            )
            for line in self._signs()
        ]
        self.query_one("#signs", Said).paint(Text("\n".join(lines)))

    def _scales(self) -> str:
        drawing = self.drawing
        right = f"   right: {drawing.right.label}" if drawing.right else ""
        return plain(f"up: {drawing.up}   across: {drawing.across}{right}")

    def _signs(self) -> list[str]:
        """The signs on one line, then the figures."""
        named = [
            f"{curve.sign or LINE_SHOWN} {curve.label}"
            for curve in self.drawing.curves
            if curve.label
        ]
        return [plain(line) for line in ("   ".join(named), *self.drawing.said)]

    def action_back(self) -> None:
        self.dismiss()

    def help_text(self) -> str:
        return "\n".join(self._signs())
