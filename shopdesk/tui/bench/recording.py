"""Entries on their way to the record: one after the other, and nothing typed is lost."""

from collections.abc import Callable
from typing import TYPE_CHECKING
from uuid import uuid4

from shopdesk.errors import Question, ShopError
from shopdesk.tui.bench import scanning
from shopdesk.tui.bench.correcting import Correcting
from shopdesk.tui.bench.entry import EntryLine
from shopdesk.tui.bench.scanning import Means
from shopdesk.tui.finding import what_is
from shopdesk.tui.frame import app_of

if TYPE_CHECKING:
    from shopdesk.desk.entries import Recorded
    from shopdesk.desk.shop import Shop
    from shopdesk.tui.bench.sheet import SheetScreen
    from shopdesk.views.lists import Scan

YES = ("y", "yes")
Again = Callable[[bool], None]  # records what was held, confirmed or not
Anew = Callable[[str], None]  # takes other text in place of what was held, "" for none
Asked = tuple[str, str] | None  # a line and its slot


class Recording:
    """``held``: what a yes to the question asked records, and what any other text does;
    ``awaiting``: an instrument's kind a reading waits for, with what then records it.

    A text answers what the line asked when one began to type it, whatever another terminal
    recorded meanwhile: the record then says who was first.
    """

    def __init__(self, screen: "SheetScreen") -> None:
        self._screen = screen
        self._queue: list[tuple[str, Asked]] = []
        self._before = ""
        self._begun: Asked = None
        self.running = False
        self.held: tuple[Again, Anew] | None = None
        self.awaiting: tuple[str, Again] | None = None
        self.correcting = Correcting(screen, self)

    @property
    def asking(self) -> bool:
        """Whether what is typed answers a question of the sheet's, not the line."""
        return self.held is not None or self.correcting.now is not None

    def forget(self) -> None:
        """Leaves what was being asked; nothing was recorded."""
        self.held = self.awaiting = self.correcting.now = self._begun = None
        self._before = ""

    @property
    def holds(self) -> bool:
        """Whether a text is neither on the entry line nor on record yet."""
        return self.running or self.asking or self.awaiting is not None

    def typed(self, text: str) -> None:
        """Remembers what is asked when one begins to type, also over what stood there."""
        if text and (not self._before or len(text) == 1 < len(self._before)):
            self._begun = self._asked()
        self._before = text

    def _asked(self) -> Asked:
        state, slot = self._screen.state(), self._screen.next_slot()
        return (state.line.key, slot.name) if state is not None and slot is not None else None

    def take(self, texts: tuple[str, ...], *, first: bool = False) -> None:
        """Queues what was entered; several scans of one burst are as many entries. ``first``: it
        was scanned before the sheet stood, so ahead of what was entered since."""
        ahead = self.running or bool(self._queue)
        begun, self._begun = self._begun, None
        came: list[tuple[str, Asked]] = [
            (text, begun if n == 0 and text and not ahead else None) for n, text in enumerate(texts)
        ]
        self._queue = [*came, *self._queue] if first else [*self._queue, *came]
        self._next()

    def go_on(self) -> None:
        """Takes what was entered next, if anything waits."""
        self._next()

    def _next(self) -> None:
        if self.running or not self._queue or self._screen.view is None:
            return
        text, begun = self._queue.pop(0)
        app = app_of(self._screen)
        if self.correcting.now is not None:
            self.correcting.take(text)
        elif scanning.is_code(text):
            self.running = True
            app.look(
                "scan",
                lambda shop: what_is(shop, text),
                lambda scan: self._scanned(scan, text, begun),
                lambda fault: self._failed(fault, text),
            )
        else:
            self._answered(text, begun)

    def _answered(self, text: str, begun: Asked) -> None:
        """What was entered answers the question that was asked, or the line."""
        if self.held is not None:
            self._answer(text)
        else:
            app_of(self._screen).with_person(
                lambda: self._record(text, asked=begun), lambda: self._unsigned(text)
            )

    def _unsigned(self, text: str) -> None:
        self._give_back(ShopError("nobody said who they are; nothing was recorded"), text)

    def _scanned(self, scan: "Scan | None", text: str, begun: Asked) -> None:
        self.running = False
        app, slot = app_of(self._screen), self._screen.next_slot()
        match scanning.meaning(scan, text, None if self.held else slot):
            case Means.SHEET if scan and int(scan.name) != self._screen.number:
                self._opens(int(scan.name))
            case Means.SHEET:
                app.say(f"{text.strip()}: this is its sheet")
                self._next()
            case Means.IN_HAND if scan:
                self._in_hand(scan)
            case Means.SIGNER:
                self._signer(text.strip())
            case Means.PERSON if scan:
                app.ask_who(self._next, self._next, badge=scan.name)
            case Means.WRONG:
                app.say(scanning.wrong(scan, text, slot), loud=True)
                self._next()
            case _:
                self._answered(text, begun)

    def _opens(self, number: int) -> None:
        """Another job's tag: what was scanned and typed behind it goes to that job's sheet."""
        ahead = tuple(text for text, _ in self._queue)
        entry = self._screen.entry
        begun, self._queue = entry.value, []
        with entry.prevent(EntryLine.Changed):
            entry.value = ""
        app_of(self._screen).open_sheet(number, ahead, begun)

    def _signer(self, badge: str) -> None:
        """A badge where a signature is asked: its PIN follows, or has followed."""
        entry = self._screen.entry
        if self._queue:
            pin, begun = self._queue.pop(0)
            self._answered(f"{badge} {pin}", begun)
        else:
            entry.value = f"{badge} {entry.value}"
            app_of(self._screen).say("now the PIN")

    def _in_hand(self, scan: "Scan") -> None:
        app = app_of(self._screen)
        app.in_hand[scan.name] = scan.code
        app.say(f"{scan.code} in hand: {scan.name}")
        if self.awaiting is not None and self.awaiting[0] == scan.name:
            _, again = self.awaiting
            self.awaiting = None
            again(False)
        else:
            self._next()

    def _record(
        self, text: str, *, confirmed: bool = False, line: str | None = None, asked: Asked = None
    ) -> None:
        view, state = self._screen.view, self._screen.state()
        key = line or (state.line.key if state else None)
        target = view.sheet.get(key) if view and key else None
        if key is None or target is None:
            return
        app = app_of(self._screen)
        slot = target.next_slot.name if target.next_slot else None
        if asked is not None and asked[0] == key:
            slot = asked[1]
        person, number, in_hand = app.person, self._screen.number, dict(app.in_hand)
        commit_key, draft = uuid4().hex, self._screen.drafting.place
        self.running = True

        def work(shop: "Shop") -> "Recorded":
            from shopdesk.desk import entries

            return entries.record_entry(
                shop,
                person,
                number,
                key,
                text,
                slot=slot,
                confirmed=confirmed,
                in_hand=in_hand,
                commit_key=commit_key,
                known=view,
                draft=draft,
            )

        def again(confirmed: bool) -> None:
            self._record(text, confirmed=confirmed, line=key, asked=(key, slot) if slot else None)

        def anew(other: str) -> None:
            if other:
                self._record(other, line=key)
            else:
                self._screen.entry.value = text

        shown = "" if self._screen.drafting.secret() else text
        app.do(
            work,
            self._recorded,
            lambda fault: self._failed(fault, text, again, anew),
            typed=shown,
        )

    def correct(
        self,
        work: "Callable[[Shop], Recorded]",
        text: str,
        again: Again,
        anew: Anew,
        back: Callable[[], None],
        done: Callable[[], None],
    ) -> None:
        """Records a correction; ``back`` puts it in front of the person again, ``done`` hears that
        it is on record."""

        def recorded(found: "Recorded") -> None:
            done()
            self._recorded(found)

        self.running = True
        app_of(self._screen).do(
            work, recorded, lambda fault: self._failed(fault, text, again, anew, back)
        )

    def _recorded(self, recorded: "Recorded") -> None:
        from shopdesk.procedure import Prepare

        self.running = False
        app = app_of(self._screen)
        self._screen.drafting.spent()
        state = recorded.view.sheet.get(recorded.line)
        if state is not None and isinstance(state.line, Prepare) and state.line.instrument:
            app.in_hand[state.line.instrument] = state.given["instrument"].answer
        self._screen.show(recorded.view)
        self._screen.go_open(recorded.line)
        if self._screen.entry.value:  # typed ahead, for what is asked now
            self._begun = self._asked()
            self._screen.drafting.typed()
        app.say(recorded.echo, loud=recorded.verdict.value == "outside")
        self._next()
        self._screen.catch_up()

    def _failed(
        self,
        fault: ShopError,
        text: str,
        again: Again | None = None,
        anew: Anew | None = None,
        back: Callable[[], None] | None = None,
    ) -> None:
        """A question waits for its yes, a reading for its instrument, else the text comes back."""
        from shopdesk.desk.instruments import NeedsInstrument

        self.running = False
        app = app_of(self._screen)
        if isinstance(fault, NeedsInstrument) and again is not None:
            self.awaiting = (fault.kind, again)
            self._hold(text, back)
            app.say(f"{fault}. {text} is recorded once it is scanned", loud=True)
            self._next()
        elif isinstance(fault, Question) and again is not None and anew is not None:
            self.held = (again, anew)
            self._hold(text, back)
            app.say(f"{fault} y and Enter records it, anything else is typed anew", loud=True)
        else:
            self._give_back(fault, text, back)

    def _hold(self, text: str, back: Callable[[], None] | None) -> None:
        if back is None:  # a correction is kept where it was typed
            self._screen.drafting.hold(text)

    def _give_back(
        self, fault: ShopError, text: str, back: Callable[[], None] | None = None
    ) -> None:
        dropped, self._queue = [text for text, _ in self._queue], []
        entry = self._screen.entry
        if not entry.value and back is not None:
            back()
        elif not entry.value and not self._screen.drafting.secret():
            entry.value = text
            entry.select_all()
        app = app_of(self._screen)
        app.complain(fault)
        if dropped:
            app.say(f"{fault} Not recorded either: {', '.join(dropped)}", loud=True)
        self._screen.reload()

    def _answer(self, text: str) -> None:
        assert self.held is not None
        again, anew = self.held
        self.held = None
        if text.strip().casefold() in YES:
            again(True)
        else:
            anew(text.strip() and text)
            if not text.strip():
                app_of(self._screen).say("not recorded")
