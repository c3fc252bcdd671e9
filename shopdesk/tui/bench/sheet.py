"""The sheet: type, Enter, next. The cursor stands on the first open line."""

import re
from typing import TYPE_CHECKING

from rich.text import Text
from textual import on
from textual.app import ComposeResult
from textual.binding import Binding
from textual.screen import Screen
from textual.timer import Timer
from textual.widgets import Input, Static

from shopdesk.errors import NotFound, ShopError
from shopdesk.tui.bench.entry import EntryLine
from shopdesk.tui.frame import Keys, Notice, Top, app_of
from shopdesk.tui.lines import Lines

if TYPE_CHECKING:
    from shopdesk.desk.entries import Recorded
    from shopdesk.desk.shop import Shop
    from shopdesk.rules.sheet import LineState
    from shopdesk.views.lists import Scan
    from shopdesk.views.sheets import SheetView

CODE = re.compile(r"[A-Za-z]{1,3}-[A-Za-z0-9-]{1,20}")
DRAFT_AFTER_S = 0.2
YES = ("y", "yes")


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
        Binding("escape", "back", "Back", id="sheet.back", tooltip="Back to the list"),
    ]
    DEFAULT_CSS = """
    SheetScreen #state { height: 1; }
    SheetScreen #rule, SheetScreen #rule2 { height: 1; }
    SheetScreen #beside { height: auto; max-height: 6; }
    SheetScreen #entry-row { height: 1; layout: horizontal; }
    SheetScreen #mark { width: 2; }
    SheetScreen EntryLine { width: 1fr; }
    """

    def __init__(self, number: int) -> None:
        super().__init__()
        self.number = number
        self.view: SheetView | None = None
        self.queue: list[str] = []
        self.running = False
        self.held: tuple[str, str] | None = None  # (line, text) waiting for a yes
        self.correcting: tuple[int, str, str] | None = None  # entry, line, new text
        self.awaiting: tuple[str, str, str] | None = None  # instrument kind, line, text
        self.wanted: str | None = None
        self._draft_timer: Timer | None = None
        self._drafted = ""

    def compose(self) -> ComposeResult:
        yield Top(f"J-{self.number}")
        yield Static(id="state", markup=False)
        yield Static("─" * 200, id="rule", markup=False)
        yield Lines(id="lines")
        yield Static("─" * 200, id="rule2", markup=False)
        yield Static(id="beside", markup=False)
        yield Notice()
        with Static(id="entry-row"):
            yield Static("> ", id="mark", markup=False)
            yield EntryLine()
        yield Keys("Enter records  F7 Correct  F8 Next open  F9 It hissed  Esc Back  ↑↓ line")

    def on_mount(self) -> None:
        self.query_one(Lines).can_focus = False
        self.query_one(EntryLine).focus()
        self.reload()

    # what is shown

    def reload(self) -> None:
        """Loads the sheet anew; the cursor stays on its line."""
        number = self.number

        def load(shop: "Shop") -> "SheetView":
            from shopdesk.views import sheets

            with shop.read() as db:
                return sheets.load(db, number, shop.clock())

        first = self.view is None

        def loaded(view: "SheetView") -> None:
            self.show(view)
            if first:
                self.go_open()

        app_of(self).look("sheet", load, loaded, self.gone)

    def changed(self) -> None:
        """Another terminal wrote: repaint without touching what is being typed."""
        if not self.running:
            self.reload()

    def gone(self, fault: ShopError) -> None:
        app_of(self).complain(fault)
        if isinstance(fault, NotFound) and self.view is None:
            self.dismiss()
            app_of(self).complain(fault)

    def show(self, view: "SheetView") -> None:
        from shopdesk.tui.bench import painting

        self.view = view
        heading = view.heading
        top = self.query_one(Top)
        top.heading = (
            f"J-{heading.number}  {heading.model_name}   {heading.serial}   {heading.customer}"
        )
        top.repaint()
        late = heading.promised_on < view.sheet.facts.now.date()
        self.query_one("#state", Static).update(
            Text(
                f" {painting.heading(view.sheet, heading.promised_on.isoformat(), late)}",
                style="bold",
                no_wrap=True,
            )
        )
        self.query_one(Lines).show(painting.rows(view.sheet), at=self.wanted)
        self.wanted = None
        self.describe()

    def state(self) -> "LineState | None":
        """The line under the cursor."""
        key = self.query_one(Lines).cursor_key
        if self.view is None or not isinstance(key, str):
            return None
        return self.view.sheet.get(key)

    def go_open(self, after: str | None = None) -> None:
        """Puts the cursor on the next open line after ``after`` in its section, else the first."""
        if self.view is None:
            return
        sheet = self.view.sheet
        target = sheet.cursor
        if after is not None:
            here = sheet.get(after)
            if here is not None and here.open:
                target = here
            elif here is not None:
                section = sheet.section(here.line.section)
                later = section[[s.line.key for s in section].index(after) + 1 :]
                target = next((s for s in later if s.open), sheet.cursor)
        if target is not None:
            self.query_one(Lines).go(target.line.key)
        self.describe()
        self.offer_draft()

    def describe(self) -> None:
        """Cautions, what the line asks, what there is to compute for it."""
        state, view = self.state(), self.view
        if state is None or view is None:
            return
        key = state.line.key
        beside = self.query_one("#beside", Static)
        beside.update(Text(self._asked(state)))

        def advise(shop: "Shop") -> tuple[str, ...]:
            from shopdesk.views import advice

            with shop.read() as db:
                return advice.beside(db, view.sheet, state)

        def said(lines: tuple[str, ...]) -> None:
            if lines and (now := self.state()) is not None and now.line.key == key:
                beside.update(Text("\n".join((self._asked(state), *(f" {t}" for t in lines)))))

        app_of(self).look("advice", advise, said)

    def _asked(self, state: "LineState") -> str:
        from shopdesk.rules import gates

        view = self.view
        assert view is not None
        said = []
        cautions = (
            [state.line.caution]
            if state.line.caution
            else list(view.sheet.shop.cautions_for(state.line.section))
        )
        if cautions and state.open:
            said.append(f" CAUTION  {' '.join(cautions)}")
        slot = state.next_slot
        refusal = gates.closed_line(view.sheet, state.line.key)
        if refusal is not None:
            said.append(f" Closed: {refusal.sentence}. Move: {refusal.whose_move}.")
        elif slot is not None:
            options = "  ".join(f"{n} {word}" for n, word in enumerate(slot.options, 1))
            unit = f" in {slot.unit}" if slot.unit else ""
            said.append(f" Asks: {slot.prompt}{unit}" + (f": {options}" if options else ""))
        limit = limit_of(state)
        if limit:
            said.append(f" Limit: {limit}")
        return "\n".join(said)

    def help_text(self) -> str:
        """The help of the line under the cursor, for F1."""
        state = self.state()
        if state is None:
            return ""
        slot = state.next_slot
        parts = [state.line.text, state.line.help, self._asked(state).strip()]
        if slot is not None and slot.unit:
            parts.append(
                "Type the value as you read it, with its unit where it could be another: "
                "3 5/16 in, 2-3/8, .312, 5 thou, 210 bar, 62 bar at 21 C."
            )
        return "\n\n".join(part for part in parts if part)

    # what is typed

    @on(EntryLine.Entered)
    def entered(self, event: EntryLine.Entered) -> None:
        self.queue.extend(event.texts)
        self._next()

    def _next(self) -> None:
        if self.running or not self.queue or self.view is None:
            return
        text = self.queue.pop(0)
        app = app_of(self)
        if self.correcting is not None:
            self._correction_text(text)
        elif self.held is not None:
            self._held_answer(text)
        elif CODE.fullmatch(text.strip()) and self._scan_matters():
            self.running = True
            app.look(
                "scan",
                lambda shop: _what_is(shop, text),
                lambda s: self._scanned(s, text),
                lambda fault: self._failed(fault, text),
            )
        else:
            app.with_person(lambda: self._record(text))

    def _scan_matters(self) -> bool:
        """Whether a code typed here can be something else than the line's own answer."""
        from shopdesk.rules.slots import Ask

        state = self.state()
        slot = state.next_slot if state else None
        return slot is None or slot.ask not in (Ask.LOT, Ask.SIGN, Ask.INSTRUMENT)

    def _scanned(self, scan: "Scan | None", text: str) -> None:
        self.running = False
        app = app_of(self)
        if scan is None:
            app.with_person(lambda: self._record(text))
            return
        if scan.kind == "job":
            app.open_sheet(int(scan.name))
            return
        if scan.kind == "instrument":
            app.in_hand[scan.name] = scan.code
            app.say(f"{scan.code} in hand: {scan.name}")
            if self.awaiting is not None and self.awaiting[0] == scan.name:
                _, line, held = self.awaiting
                self.awaiting = None
                self._record(held, line=line)
                return
        else:
            app.say(
                f"{scan.code} is a {scan.kind} ({scan.name}); this line does not ask for one",
                loud=True,
            )
        self._next()

    def _record(self, text: str, *, confirmed: bool = False, line: str | None = None) -> None:
        state = self.state()
        view = self.view
        key = line or (state.line.key if state else None)
        target = view.sheet.get(key) if view and key else None
        if view is None or key is None or target is None:
            return
        app = app_of(self)
        slot = target.next_slot.name if target.next_slot else None
        person, number, in_hand = app.person, self.number, dict(app.in_hand)
        self.running = True

        def work(shop: "Shop") -> "Recorded":
            from shopdesk.desk import entries

            return entries.record_entry(
                shop, person, number, key, text, slot=slot, confirmed=confirmed, in_hand=in_hand
            )

        app.do(work, self._recorded, lambda fault: self._failed(fault, text, key))

    def _recorded(self, recorded: "Recorded") -> None:
        self.running = False
        app = app_of(self)
        self._drop_draft()
        self.show(recorded.view)
        self._take_in_hand(recorded)
        self.go_open(recorded.line)
        app.say(recorded.echo, loud=recorded.verdict.value == "outside")
        self._next()

    def _take_in_hand(self, recorded: "Recorded") -> None:
        from shopdesk.procedure import Prepare

        state = recorded.view.sheet.get(recorded.line)
        if state is not None and isinstance(state.line, Prepare) and state.line.instrument:
            app_of(self).in_hand[state.line.instrument] = state.given["instrument"].answer

    def _failed(self, fault: ShopError, text: str, line: str | None = None) -> None:
        """Nothing typed is lost: a question waits for its yes, else the text comes back."""
        from shopdesk.desk.entries import Question
        from shopdesk.desk.instruments import NeedsInstrument

        self.running = False
        if isinstance(fault, NeedsInstrument) and line is not None:
            self.awaiting = (fault.kind, line, text)
            app_of(self).say(f"{fault}. {text} is recorded once it is scanned", loud=True)
            self._next()
            return
        dropped, self.queue = self.queue, []
        if isinstance(fault, Question) and line is not None:
            self.held = (line, text)
            app_of(self).say(
                f"{fault} y and Enter records it, anything else is typed anew", loud=True
            )
            return
        entry = self.query_one(EntryLine)
        if not entry.value and not self._secret():
            entry.value = text
            entry.select_all()
        app_of(self).complain(fault)
        if dropped:
            app_of(self).say(f"{fault} Not recorded either: {', '.join(dropped)}", loud=True)
        self.reload()

    def _held_answer(self, text: str) -> None:
        assert self.held is not None
        line, held = self.held
        self.held = None
        if text.strip().casefold() in YES:
            self._record(held, confirmed=True, line=line)
        elif text.strip():
            self._record(text, line=line)
        else:
            self.query_one(EntryLine).value = held
            app_of(self).say("not recorded")

    # corrections

    def action_correct(self) -> None:
        """Asks for the new text of the line's newest answer, then for the reason."""
        state = self.state()
        if state is None or not state.given:
            app_of(self).say("nothing on this line to correct", loud=True)
            return
        newest = max(state.given.values(), key=lambda answer: answer.id)
        self.correcting = (newest.id, state.line.key, "")
        self._drop_draft()
        self.query_one(EntryLine).value = newest.typed
        app_of(self).say(f"correct {newest.answer}: type it as it should be, Enter; Esc leaves it")

    def _correction_text(self, text: str) -> None:
        assert self.correcting is not None
        entry_id, line, new = self.correcting
        if not new:
            if not text.strip():
                app_of(self).say("type it as it should be, Enter; Esc leaves it")
                return
            self.correcting = (entry_id, line, text)
            app_of(self).say(f"corrected to {text}: why? (Enter records it, Esc leaves it)")
            self._next()
            return
        self.correcting = None
        app_of(self).with_person(lambda: self._correct(entry_id, line, new, text))

    def _correct(self, entry_id: int, line: str, new: str, reason: str) -> None:
        app = app_of(self)
        person, number, in_hand = app.person, self.number, dict(app.in_hand)
        self.running = True

        def work(shop: "Shop") -> "Recorded":
            from shopdesk.desk import entries

            return entries.correct_entry(
                shop, person, number, entry_id, new, reason, confirmed=True, in_hand=in_hand
            )

        app.do(work, self._recorded, lambda fault: self._failed(fault, new, line))

    # drafts

    @on(Input.Changed)
    def typed(self, event: Input.Changed) -> None:
        if self._secret() or self.correcting is not None or self.held is not None:
            return
        if self._draft_timer is not None:
            self._draft_timer.stop()
        self._draft_timer = self.set_timer(DRAFT_AFTER_S, self._keep_draft)

    def _secret(self) -> bool:
        from shopdesk.rules.slots import Ask

        state = self.state()
        slot = state.next_slot if state else None
        return slot is not None and slot.ask is Ask.SIGN

    def _place(self) -> str | None:
        state = self.state()
        slot = state.next_slot if state else None
        return (
            None
            if slot is None or state is None
            else (f"J-{self.number}/{state.line.key}/{slot.name}")
        )

    def _keep_draft(self) -> None:
        place, text = self._place(), self.query_one(EntryLine).value
        if place is None or text == self._drafted:
            return
        self._drafted = text
        self._write_draft(place, text)

    def _write_draft(self, place: str, text: str) -> None:
        def work(shop: "Shop") -> None:
            from shopdesk.desk import drafts

            drafts.keep(shop, place, text)

        app_of(self).do(work, app_of(self).quiet)

    def _drop_draft(self) -> None:
        if self._draft_timer is not None:
            self._draft_timer.stop()
        place = self._place()
        if place is not None and self._drafted:
            self._write_draft(place, "")
        self._drafted = ""

    def offer_draft(self) -> None:
        """Puts back what this terminal typed on this line and did not record."""
        place = self._place()
        if place is None or self._secret() or self.query_one(EntryLine).value:
            return

        def work(shop: "Shop") -> str:
            from shopdesk.desk import drafts

            return drafts.kept(shop, place)

        def found(text: str) -> None:
            entry = self.query_one(EntryLine)
            if text and not entry.value and self._place() == place:
                self._drafted = text
                entry.value = text
                entry.cursor_position = len(text)
                app_of(self).say(f"typed here and not recorded: {text}. Enter records it")

        app_of(self).look("draft", work, found)

    # keys

    def action_move(self, step: int) -> None:
        self._leave_line()
        self.query_one(Lines).action_move(step)
        self._arrived()

    def action_page(self, step: int) -> None:
        self._leave_line()
        self.query_one(Lines).action_page(step)
        self._arrived()

    def action_first_open(self) -> None:
        self._leave_line()
        if self.view is not None:
            self.go_open()

    def _leave_line(self) -> None:
        """What is half typed stays with its line as a draft."""
        self._keep_draft()
        self.correcting = self.held = self.awaiting = None
        self._drafted = ""
        entry = self.query_one(EntryLine)
        with entry.prevent(Input.Changed):
            entry.value = ""

    def _arrived(self) -> None:
        self.describe()
        self.offer_draft()

    def action_hiss(self) -> None:
        """Reports gas where there should be none; what is typed is the word on it."""
        app = app_of(self)
        saw = self.query_one(EntryLine).value
        number = self.number

        def report() -> None:
            person = app.person

            def work(shop: "Shop") -> "SheetView":
                from shopdesk.desk import bench

                return bench.report_hiss(shop, person, number, saw)

            def done(view: "SheetView") -> None:
                self._leave_line()
                self.show(view)
                self.go_open()
                app.say(
                    "GAS CHARGED: the vent record is void. Stand clear; vent it anew", loud=True
                )

            app.do(work, done)

        app.with_person(report)

    def action_back(self) -> None:
        if self.correcting is not None or self.held is not None:
            self.correcting = self.held = None
            self.query_one(EntryLine).value = ""
            app_of(self).say("left as it was")
            return
        entry = self.query_one(EntryLine)
        if entry.value:
            self._drop_draft()
            entry.value = ""
            return
        self._keep_draft()
        self.dismiss()


def limit_of(state: "LineState") -> str:
    """The line's own limit with its source, as it will be judged."""
    from shopdesk.procedure import Reading, Repeat, Survey, Torque
    from shopdesk.rules import verdicts

    line = state.line
    if isinstance(line, Reading | Survey | Repeat) and line.limit is not None:
        limit = line.limit
        return (
            f"{verdicts.limit_text(limit, line.unit)} "
            f"({verdicts.sourced(limit.source, limit.revision)})"
        )
    if isinstance(line, Torque) and line.target is not None and line.tolerance is not None:
        return (
            f"{line.target.typed} ± {line.tolerance.typed} "
            f"({verdicts.sourced(line.source, line.revision)})"
        )
    return ""


def _what_is(shop: "Shop", text: str) -> "Scan | None":
    from shopdesk.views import lists

    with shop.read() as db:
        return lists.what_is(db, text)
