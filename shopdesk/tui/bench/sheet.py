"""The sheet: type, Enter, next. The cursor stands on the first open line."""

from typing import TYPE_CHECKING

from rich.text import Text
from textual import on
from textual.app import ComposeResult
from textual.binding import Binding
from textual.screen import Screen
from textual.widgets import Static

from shopdesk.errors import NotFound, ShopError
from shopdesk.tui.bench.advising import Advising
from shopdesk.tui.bench.drafting import Drafting
from shopdesk.tui.bench.entry import EntryLine
from shopdesk.tui.bench.recording import Recording
from shopdesk.tui.frame import Keys, Notice, Top, app_of, wrapped
from shopdesk.tui.lines import Lines

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shopdesk.desk.shop import Shop
    from shopdesk.rules.sheet import LineState
    from shopdesk.rules.slots import Slot
    from shopdesk.tui.bench import painting
    from shopdesk.views.sheets import SheetView


RULE = "─" * 200
BESIDE = 8
"""Lines said of the line under the cursor, at most."""
KEYS = "Enter records  F7 Correct  F8 Next open  F9 It hissed  Esc Back"


class SheetScreen(Screen[None]):
    """One job's sheet. What is typed goes to the line under the cursor."""

    BINDINGS = [
        Binding("up", "move(-1)", "Line up", id="sheet.up", priority=True),
        Binding("down", "move(1)", "Line down", id="sheet.down", priority=True),
        Binding("pageup", "page(-1)", "Page up", id="sheet.page_up", priority=True),
        Binding("pagedown", "page(1)", "Page down", id="sheet.page_down", priority=True),
        Binding(
            "f7",
            "correct",
            "Correct",
            id="sheet.correct",
            tooltip="Type the line's answer anew, with the reason; the old one stays visible",
        ),
        Binding(
            "f8",
            "first_open",
            "Next open",
            id="sheet.first_open",
            tooltip="Back to the first open line",
        ),
        Binding(
            "f9",
            "hiss",
            "It hissed",
            id="sheet.hiss",
            tooltip="Gas where there should be none: the unit is charged, the vent void",
        ),
        Binding(
            "f11",
            "draw",
            "Draw",
            id="sheet.draw",
            tooltip="Draw this line (charge, leak, bore); on a part, take in the customer's own; "
            "else a claim beside the job it is on, or the calculator",
        ),
        Binding("escape", "back", "Back", id="sheet.back", tooltip="Back to the list"),
    ]
    DEFAULT_CSS = """
    SheetScreen #state { height: 1; }
    SheetScreen #rule { height: 1; }
    """

    def __init__(self, number: int, ahead: tuple[str, ...] = (), begun: str = "") -> None:
        super().__init__()
        self.number = number
        self._painted = 0
        self._kept: painting.Kept = {}
        self._said: Sequence[str] = ()
        self._ahead, self._begun = ahead, begun
        self.view: SheetView | None = None
        self.behind = False
        self.recording = Recording(self)
        self.drafting = Drafting(self)
        self.advising = Advising(self)

        self.lines = Lines(id="lines")
        self.lines.can_focus = False
        self.entry = EntryLine()

    def compose(self) -> ComposeResult:
        yield Top(f"J-{self.number}")
        yield Static(id="state", markup=False)
        yield Static(RULE, id="rule", markup=False)
        yield self.lines
        yield Notice()
        yield self.entry
        yield Keys(f"{KEYS}  ↑↓ line")

    def on_mount(self) -> None:
        self.entry.focus()
        self.entry.insert_text_at_cursor(self._begun)
        app_of(self).release_keys()
        self.reload()

    def on_screen_suspend(self) -> None:
        self.drafting.keep()  # left within the moment after which a draft is written
        key = self.lines.cursor_key
        if isinstance(key, str):
            app_of(self).left[self.number] = key

    # what is shown

    def reload(self) -> None:
        """Loads the sheet anew; the cursor stays on its line."""
        number = self.number

        def load(shop: "Shop") -> "tuple[SheetView, dict[str, str]]":
            from shopdesk.desk import drafts
            from shopdesk.views import sheets

            with shop.read() as db:
                view = sheets.load(db, number, shop.clock(), known=known)
            return view, dict(drafts.kept_places(shop))

        known, first = self.view, self.view is None

        def loaded(found: "tuple[SheetView, dict[str, str]]") -> None:
            view, drafts = found
            if not app_of(self).busy:  # else one may be on its way to the record
                self.drafting.known = drafts
            if known is self.view and known is not None and view.sheet.lines is known.sheet.lines:
                return
            waiting = self._waits_for_office()
            self.show(view)
            if waiting and not self._waits_for_office() and not self.entry.value:
                self.go_open()  # nobody types on that line, so nothing typed can land elsewhere
            if first:
                self._begin()
                self.recording.take(self._ahead, first=True)

        app_of(self).look("sheet", load, loaded, self.gone)

    def changed(self) -> None:
        """Another terminal wrote: repaint without touching what is being typed."""
        self.advising.forget()
        self.behind = self.recording.running
        if not self.behind:
            self.reload()

    def catch_up(self) -> None:
        """Loads what another terminal may have written while an entry was on its way."""
        if self.behind:
            self.changed()

    def gone(self, fault: ShopError) -> None:
        app_of(self).complain(fault)
        if isinstance(fault, NotFound) and self.view is None:
            self.dismiss()
            app_of(self).complain(fault)

    def show(self, view: "SheetView") -> None:
        from shopdesk.tui.bench import painting

        self.view = view
        self.advising.forget()
        heading = view.heading
        top = self.query_one(Top)
        top.heading = (
            f"J-{heading.number}  {heading.model} {heading.serial}  {heading.customer}"
            f"  {heading.model_name}"
        )
        top.repaint()
        if view.sheet.facts.claim is not None:
            self.query_one(Keys).show(f"{KEYS}  F11 Earlier")
        late = heading.promised_on < view.sheet.facts.now.astimezone().date()
        self.query_one("#state", Static).update(
            Text(
                f" {painting.heading(view.sheet, heading.promised_on.isoformat(), late)}",
                style="bold",
                no_wrap=True,
            ),
            layout=False,
        )
        self._paint()
        self.describe()

    def _paint(self) -> None:
        """The lines, as wide as the terminal less the mark and the scroll bar."""
        from shopdesk.tui.bench import painting

        if self.view is not None:
            self._painted = self.size.width
            self._say_beside(self._said)
            self.lines.show(painting.rows(self.view.sheet, self.size.width - 2, self._kept))

    def on_resize(self) -> None:
        if self.view is not None and self._painted != self.size.width:
            self._paint()

    def state(self) -> "LineState | None":
        """The line under the cursor."""
        key = self.lines.cursor_key
        if self.view is None or not isinstance(key, str):
            return None
        return self.view.sheet.get(key)

    def _begin(self) -> None:
        """Where one stands when the sheet opens: on the line where something is half typed, or that
        one left, while it asks the same; else on the first open one. What was scanned or typed
        behind the tag is for that."""
        before = None
        if not (self._ahead or self._begun):
            before = self.drafting.begun() or app_of(self).left.get(self.number)
        self._go(self.view.sheet.get(before) if self.view is not None and before else None)

    def go_open(self, after: str | None = None) -> None:
        """Puts the cursor on the next open line after ``after`` in its section; on the first where
        none is, or where that one has to wait for an earlier one."""
        if self.view is None:
            return
        sheet, behind = self.view.sheet, None
        here = sheet.get(after) if after is not None else None
        if here is not None and here.line.section == sheet.stage:
            section = sheet.section(sheet.stage)
            later = section[[s.line.key for s in section].index(here.line.key) :]
            behind = next((s for s in later if s.open), None)
        self._go(behind)

    def _go(self, target: "LineState | None") -> None:
        """To that line where it can be answered now, else to the first open one."""
        if self.view is None:
            return
        if target is None or not self._answerable(target):
            target = self.view.sheet.cursor
        if target is not None:
            self.lines.go(target.line.key)
        self.describe()
        self.drafting.offer()

    def _answerable(self, state: "LineState") -> bool:
        from shopdesk.rules import gates

        if self.view is None or not state.open:
            return False
        return gates.closed_line(self.view.sheet, state.line.key) is None

    def _waits_for_office(self) -> bool:
        """Whether the line under the cursor is open and answered at the office alone."""
        from shopdesk.rules.slots import Ask

        state, slot = self.state(), self.next_slot()
        return state is not None and state.open and slot is not None and slot.ask is Ask.OFFICE

    def next_slot(self) -> "Slot | None":
        state = self.state()
        return state.next_slot if state is not None else None

    def describe(self) -> None:
        """Cautions, what the line asks, what there is to compute for it."""
        from shopdesk.tui.bench.asking import asked

        state, view = self.state(), self.view
        if state is None or view is None:
            return
        self.entry.hide(self.drafting.secret())
        self._say_beside([*asked(view.sheet, state), *self.advising.of(state.line.key)])
        self.advising.arrived()

    def _say_beside(self, said: "Sequence[str]") -> None:
        """Beneath the lines: neither is laid out anew where one takes more room."""
        self._said = said
        rows = wrapped(self, Text("\n".join(said)))[:BESIDE]
        self.lines.show_foot([Text(RULE[: self.size.width]), *rows])

    def help_text(self) -> str:
        """The help of the line under the cursor, for F1."""
        from shopdesk.tui.bench.asking import help_text

        state = self.state()
        return "" if state is None or self.view is None else help_text(self.view.sheet, state)

    @on(EntryLine.Entered)
    def entered(self, event: EntryLine.Entered) -> None:
        self.recording.take(event.texts)

    @on(EntryLine.Changed)
    def typed(self, event: EntryLine.Changed) -> None:
        self.recording.typed(event.value)
        if self.recording.held is None:
            self.drafting.typed()

    def job_number(self) -> int:
        """The job whose papers F12 shows."""
        return self.number

    # keys

    def action_draw(self) -> None:
        """Draws the line where there is something to draw, takes in the customer's own for a line
        that asks a part; else opens the calculator."""
        from shopdesk.rules.generated import Issue
        from shopdesk.tui.drawings import drawing_for
        from shopdesk.tui.drawings.screen import DrawingScreen

        app, state = app_of(self), self.state()
        if state is not None and isinstance(state.line, Issue):
            self._bring(state.line.part)
            return
        try:
            made = drawing_for(self.view, state) if self.view and state else None
        except ShopError as fault:
            app.complain(fault)
            return
        if made is None and self.view is not None and self.view.sheet.facts.claim is not None:
            from shopdesk.tui.office.report import ReportScreen

            self.app.push_screen(ReportScreen(f"claim:{self.number}"))
        elif made is None:
            app.action_calculator()
        else:
            self.app.push_screen(DrawingScreen(made))

    def _bring(self, part: str) -> None:
        from shopdesk.tui.stores.deeds import bring

        def open_it() -> None:
            self.app.push_screen(bring(app_of(self), part, job=f"J-{self.number}"))

        app_of(self).with_person(open_it)

    def action_correct(self) -> None:
        self.recording.correcting.begin()

    def action_move(self, step: int) -> None:
        self._leave_line()
        self.lines.action_move(step)
        self._arrived()

    def action_page(self, step: int) -> None:
        self._leave_line()
        self.lines.action_page(step)
        self._arrived()

    def action_first_open(self) -> None:
        self._leave_line()
        app_of(self).say("")
        if self.view is not None:
            self.go_open()

    def _leave_line(self) -> None:
        self.drafting.leave()
        self.recording.forget()
        with self.entry.prevent(EntryLine.Changed):
            self.entry.value = ""

    def _arrived(self) -> None:
        app_of(self).say("")  # it was said of the line that was left
        self.describe()
        self.drafting.offer()

    def action_hiss(self) -> None:
        """Reports gas where there should be none; what is typed is the word on it."""
        app = app_of(self)
        saw = self.entry.value
        number = self.number

        def report() -> None:
            person = app.person

            def work(shop: "Shop") -> "SheetView":
                from shopdesk.desk import bench

                return bench.report_hiss(shop, person, number, saw)

            def done(view: "SheetView") -> None:
                with self.entry.prevent(EntryLine.Changed):
                    self.entry.value = ""  # it is on record as the word on the hiss
                self.drafting.drop()
                self._leave_line()
                self.show(view)
                self.go_open()
                app.say(
                    "GAS CHARGED: the vent record is void. Stand clear; vent it anew", loud=True
                )

            app.do(work, done)

        app.with_person(report)

    def action_back(self) -> None:
        """Leaves what is asked; else clears what is typed; else goes back to the list."""
        if self.recording.asking:
            self.recording.correcting.drop()
            self.recording.forget()
            self.entry.value = ""
            app_of(self).say("left as it was")
        elif self.entry.value:
            self.drafting.drop()
            self.entry.value = ""
        else:
            self.dismiss()
