"""A calculation's form: every field a line, the result live below."""

from typing import TYPE_CHECKING

from rich.text import Text
from textual import events
from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import VerticalScroll
from textual.screen import Screen
from textual.timer import Timer
from textual.widgets import Static

from shopdesk.desk.calculator import CALCULATIONS
from shopdesk.desk.calculator.drawn import DRAWN, drawing
from shopdesk.tui import keeping
from shopdesk.tui.calculator import reckoning, showing
from shopdesk.tui.calculator.boxes import Boxes
from shopdesk.tui.frame import Keys, Notice, Top, app_of

if TYPE_CHECKING:
    from shopdesk.desk.calculator.curves import Drawing
    from shopdesk.tui.calculator.reckoning import Reckoned

KEPT_AFTER_S = 0.3
LEAST_BELOW = 8
"""Lines kept for the result, however many fields there are."""
_FRAME = 8


class CalculationScreen(Screen[None]):
    HELP = (
        "Type each figure as you read it, with its unit: 210 bar, 3 5/16 in, 68 F. The result "
        "stands below as soon as nothing is missing, and follows what you type. Plain bar and psi "
        "are gauge; bara and psia are absolute."
    )
    BINDINGS = [
        Binding("escape", "back", "Back", id="sum.back", tooltip="Back; what is typed stays"),
        Binding("f7", "example", "Example", id="sum.example", tooltip="Put the worked example in; "
                "again puts your figures back"),
        Binding("f8", "draw", "Draw", id="sum.draw", tooltip="Draw it, where there is a drawing"),
        Binding("f9", "empty", "Empty", id="sum.empty", tooltip="Empty the form; again puts your "
                "figures back"),
        Binding("pageup", "scroll(-1)", "Page up", id="sum.up", show=False),
        Binding("pagedown", "scroll(1)", "Page down", id="sum.down", show=False),
    ]  # fmt: skip
    DEFAULT_CSS = """
    CalculationScreen .title { height: 1; }
    CalculationScreen .said { height: 2; }
    CalculationScreen .rule { height: 1; }
    CalculationScreen VerticalScroll { height: 1fr; scrollbar-size-vertical: 1; }
    CalculationScreen VerticalScroll Static { height: auto; }
    """

    def __init__(self, name: str) -> None:
        super().__init__()
        self.calculation = CALCULATIONS[name]
        self.boxes = Boxes(self.calculation)
        self.reckoned: Reckoned | None = None
        self._lent: tuple[str, dict[str, str]] | None = None
        """The key that put other figures in place of one's own, and those figures."""
        self._own: dict[str, str] = {}
        self._kept: dict[str, str] = {}
        self._timer: Timer | None = None
        self._example = ""

    @property
    def sum(self) -> str:
        """The calculation's name."""
        return self.calculation.name

    def compose(self) -> ComposeResult:
        yield Top(f"Calculator: {self.sum}")
        yield Static(f" {self.calculation.title}", classes="title", markup=False)
        yield self.boxes
        self.said = Static(classes="said", markup=False)
        yield self.said
        yield Static("─" * 200, classes="rule", markup=False)
        with VerticalScroll(can_focus=False) as self.below:
            self.result = Static(markup=False)
            yield self.result
        yield Notice()
        draw = "F8 Draw   " if self.sum in DRAWN else ""
        yield Keys(f"Enter next field   F7 Example   {draw}F9 Empty   PgUp PgDn   Esc Back")

    def on_mount(self) -> None:
        self.boxes.focus()
        self._fit()
        self._reckon()
        self._offer()
        app_of(self).reckon(
            "example", lambda: showing.example(self.calculation), self._known, app_of(self).quiet
        )

    def on_resize(self) -> None:
        self._fit()
        self._paint()

    def _fit(self) -> None:
        self.boxes.most = max(3, self.app.size.height - _FRAME - LEAST_BELOW)
        self.boxes.refresh(layout=True)

    def on_key(self, event: events.Key) -> None:
        """Keys that came before the fields had the focus still reach them."""
        if self.focused is None and self.boxes.take(
            event.key, event.character if event.is_printable else None
        ):
            event.stop()

    def _known(self, example: str) -> None:
        self._example = example

    def help_text(self) -> str:
        """The field the cursor is in, every field, the worked example."""
        fields = "\n".join(
            f"  {each.name.replace('-', ' ')}: {each.help}"
            + ("" if each.required else " May stay empty.")
            for each in self.calculation.inputs
        )
        return f"{self.calculation.title}\n{fields}\n\n{self._example}"

    def on_fields_changed(self, _: Boxes.Changed) -> None:
        self._hint()
        self._reckon()
        if self._lent is not None and self.boxes.typed() != self._lent[1]:
            self._lent = None
        if self._timer is not None:
            self._timer.stop()
        self._timer = self.set_timer(KEPT_AFTER_S, self._keep)

    def _hint(self) -> None:
        room = max(20, self.app.size.width - 2)
        self.said.update(Text(showing.wrapped([f"  {self.boxes.said}"], room)), layout=False)

    # the result

    def _reckon(self) -> None:
        lines = self.boxes.lines()
        app_of(self).reckon(
            f"sum:{self.sum}", lambda: reckoning.reckon(self.sum, lines), self._answered
        )

    def _answered(self, reckoned: "Reckoned") -> None:
        self.reckoned = reckoned
        if self.is_attached:
            self.boxes.refuse(reckoned.refused)
            self._hint()
            self._paint()

    def _paint(self) -> None:
        if self.reckoned is not None:
            self.result.update(showing.shown(self.reckoned, self.app.size.width - 2))

    def action_scroll(self, by: int) -> None:
        step = by * max(1, self.below.size.height - 1)
        self.below.scroll_relative(y=step, animate=False)

    # what was typed here before

    def _offer(self) -> None:
        def found(typed: dict[str, str]) -> None:
            if typed and not self.boxes.typed():
                self._kept = typed
                self.boxes.put(typed)
                app_of(self).say("as you left it; F9 empties it")

        app = app_of(self)
        app.look(f"calc:{self.sum}", keeping.kept(f"calculator/{self.sum}"), found, app.quiet)

    def _keep(self) -> None:
        """The worked example is nobody's figures: those it stands in place of are kept."""
        lent = self._lent is not None and self._lent[0] == "F7"
        typed = self._own if lent else self.boxes.typed()
        if typed != self._kept:
            self._kept = typed
            app = app_of(self)
            app.do(keeping.keep(f"calculator/{self.sum}", typed), app.quiet, app.quiet)

    # keys

    def action_example(self) -> None:
        self._lend("F7", dict(self.calculation.example), "the worked example")

    def action_empty(self) -> None:
        self._lend("F9", {}, "emptied")

    def _lend(self, key: str, typed: dict[str, str], said: str) -> None:
        """Puts other figures in; the same key again puts one's own back."""
        if self._lent is not None and self._lent[0] == key:
            self._lent = None
            self.boxes.put(self._own)
            app_of(self).say("your figures again")
            return
        if self._lent is None:
            self._own = self.boxes.typed()
        self.boxes.put(typed)
        self._lent = (key, self.boxes.typed())
        again = f"; {key} again puts your figures back" if self._own else ""
        app_of(self).say(f"{said}{again}")

    def action_draw(self) -> None:
        app, name = app_of(self), self.sum
        if name not in DRAWN:
            app.say(f"{name} has no drawing")
            return
        typed = self.boxes.typed()

        def draw() -> "Drawing | None":
            import shopdesk.tui.drawings.screen  # noqa: F401 (loaded here, off the keys' thread)

            return drawing(name, reckoning.with_files(name, typed))

        app.reckon(f"draw:{name}", draw, self._open)

    def _open(self, made: "Drawing | None") -> None:
        from shopdesk.tui.drawings.screen import DrawingScreen

        if made is not None and self.is_current:
            self.app.push_screen(DrawingScreen(made))

    def action_back(self) -> None:
        self._keep()
        self.dismiss()
