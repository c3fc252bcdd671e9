"""The app: places, who stands at this terminal, what is in hand."""

import gc
from collections.abc import Callable
from time import monotonic
from typing import TYPE_CHECKING

from textual import events
from textual.binding import Binding
from textual.screen import ModalScreen, Screen
from textual.timer import Timer

from shopdesk.errors import RecordFault, Refused, ShopError
from shopdesk.tui.lanes import LanesApp

if TYPE_CHECKING:
    from shopdesk.desk.shop import Shop


WATCH_S = 0.5
WORKS = "… working"
WAITS = "no connection: {} waits here and is recorded once the record answers"
HELD_S = 2.0
"""How long keys may be held for a screen that is being put up."""
COPY_S = 120.0
"""How often a terminal looks whether the day's copy of the record is due."""


def _warm() -> None:
    """Loads what the first sheet and entry need while the first screen is being read."""
    from shopdesk import quantities
    from shopdesk.records import tables

    tables.set_up()
    quantities.warm()


def _asked_at_start(shop: "Shop") -> tuple[bool, float]:
    """Whether anybody works here yet; how long a terminal stays somebody's without a key."""
    from shopdesk.desk import signing
    from shopdesk.views import lists

    with shop.read() as db:
        return bool(lists.people(db)), signing.rules(db).idle_s


class ShopApp(LanesApp):
    """``person`` is the initials deeds are recorded under; ``in_hand`` instruments by kind."""

    CSS_PATH = "shopdesk.tcss"
    TITLE = "shopdesk"
    ENABLE_COMMAND_PALETTE = False
    BINDINGS = [
        Binding("f1", "help", "Help", id="help", tooltip="What this screen and line ask"),
        Binding("f2", "place('counter')", "Counter", id="counter", tooltip="Floor, cores, finding"),
        Binding("f3", "place('bench')", "Bench", id="bench", tooltip="My units and their sheets"),
        Binding(
            "f4", "place('stores')", "Stores", id="stores", tooltip="Parts, deliveries, orders"
        ),
        Binding("f5", "place('office')", "Office", id="office", tooltip="Backlog and quotes"),
        Binding("f6", "who", "Who", id="who", tooltip="Who stands at this terminal"),
        Binding("f11", "calculator", "Calc", id="calculator", tooltip="The bench's calculations"),
        Binding(
            "f12", "papers", "Paper", id="papers", tooltip="The papers of what is under the cursor"
        ),
        Binding("f10", "leave", "Leave", id="leave", tooltip="Close the app"),
    ]

    def __init__(self, open_shop: "Callable[[], Shop]", *, person: str = "") -> None:
        super().__init__(open_shop)
        self.person = person
        self.in_hand: dict[str, str] = {}
        self.left: dict[int, str] = {}  # the line one stood on when one left a job's sheet
        self.place = "counter"
        self.idle_s = 600.0
        self._touched = monotonic()
        self._mark: int | None = None
        self._watching = False
        self._leaves = False
        self._held: list[events.Event] | None = None
        self._holding: Timer | None = None

    def on_mount(self) -> None:
        self.action_place("counter")
        self.set_interval(WATCH_S, self._watch)
        self.set_interval(WATCH_S, self._lock)
        self.set_interval(COPY_S, self._keep_copy)

    def _keep_copy(self) -> None:
        """The day's copy, taken beside the work; nobody waits for it, so only a failure is told."""
        from shopdesk import settings

        def work() -> None:
            from shopdesk.desk import safekeeping

            folder = settings.backup_folder(self.shop.record.url)
            taken = folder and safekeeping.daily(self.shop, folder, lambda what, share: None)
            if taken and taken.chain_fault:
                raise RecordFault(f"the record's chain of events is broken: {taken.chain_fault}")

        def failed(fault: ShopError) -> None:
            self.say(f"the day's copy of the record: {fault}", loud=True)

        self.beside("copy", work, failed)

    async def on_event(self, event: events.Event) -> None:
        if isinstance(event, events.Key | events.Paste | events.MouseDown):
            self._touched = monotonic()
        if self._held is not None and isinstance(event, events.Key | events.Paste):
            self._held.append(event)
        else:
            await super().on_event(event)

    def hold_keys(self) -> None:
        """Keys wait for a screen that is being put up, so that a fast scanner loses none."""
        if self._held is None:
            self._held = []
            self._holding = self.set_timer(HELD_S, self.release_keys)

    def release_keys(self) -> None:
        """The screen is up: what was held goes to it, ahead of what comes now."""
        if self._holding is not None:
            self._holding.stop()  # it is not to end a later hold
        self.call_later(self._replay)

    async def _replay(self) -> None:
        while self._held:
            await super().on_event(self._held.pop(0))
        self._held = None

    def _lock(self) -> None:
        """Nobody has touched the terminal for as long as the shop allows."""
        if not self.person or self.busy or monotonic() - self._touched <= self.idle_s:
            return
        from shopdesk.tui.who import LockScreen, WhoScreen

        if not isinstance(self.screen, WhoScreen):
            self.push_screen(LockScreen(self.person), self._unlocked)
            self.person = ""

    def _unlocked(self, initials: str | None) -> None:
        self.person = initials or ""
        self.refresh_frame()

    def _watch(self) -> None:
        """Another terminal's change reaches the screen on top within a second."""

        def seen(mark: int) -> None:
            self._watching = False
            if self._mark is None:
                self._first_list_stands()
            known, self._mark = self._mark, mark
            changed = getattr(self.screen, "changed", None)
            if known != mark and callable(changed):  # the first screen was read before any mark
                changed()

        def failed(_: ShopError) -> None:
            self._watching = False

        if not self._watching:  # a lost connection keeps it until the record answers again
            self._watching = True
            self.look("watch", lambda shop: shop.record.change_mark(), seen, failed)

    def _first_list_stands(self) -> None:
        """Now there is time to load the rest, and to look for garbage: not in what is loaded."""
        gc.freeze()
        gc.enable()
        self.run_worker(_warm, thread=True, exit_on_error=False)
        self.look("start", _asked_at_start, self._started, self.quiet)

    def _started(self, found: tuple[bool, float]) -> None:
        staffed, self.idle_s = found
        if not staffed:
            from shopdesk.tui.first import first_manager

            self.push_screen(first_manager())

    def place_screen(self, place: str) -> Screen[None]:
        """A fresh screen for the place; each is imported when first gone to."""
        if place == "bench":
            from shopdesk.tui.bench.units import BenchScreen

            return BenchScreen()
        if place == "stores":
            from shopdesk.tui.stores.shelf import StoresScreen

            return StoresScreen()
        if place == "office":
            from shopdesk.tui.office.backlog import OfficeScreen

            return OfficeScreen()
        from shopdesk.tui.counter.floor import CounterScreen

        return CounterScreen()

    def action_place(self, place: str) -> None:
        """Goes to a place, closing what stands on top of the one before."""
        self.place = place
        while len(self.screen_stack) > 2:
            self.pop_screen()
        if len(self.screen_stack) > 1:
            self.switch_screen(self.place_screen(place))
        else:
            self.push_screen(self.place_screen(place))

    def open_sheet(self, number: int, ahead: tuple[str, ...] = (), begun: str = "") -> None:
        """Opens a job's sheet on top of the place. ``ahead`` was scanned and ``begun`` typed behind
        the job's tag: both go to the sheet."""
        from shopdesk.tui.bench.sheet import SheetScreen

        self.hold_keys()
        sheet = SheetScreen(number, ahead, begun)
        if isinstance(self.screen, SheetScreen):
            self.switch_screen(sheet)
        else:
            self.push_screen(sheet)

    def action_papers(self) -> None:
        """The papers of what stands on the screen or under its cursor, and those of the house."""
        from shopdesk.tui.papers import PapersScreen

        if isinstance(self.screen, PapersScreen | ModalScreen):
            return
        job = getattr(self.screen, "job_number", None)
        purchase = getattr(self.screen, "purchase_number", None)
        self.push_screen(
            PapersScreen(
                job() if callable(job) else None,
                order=purchase() if callable(purchase) else None,
                bins=getattr(self.screen, "count_bins", None),
                due=getattr(self.screen, "count_due", False),
            )
        )

    def action_help(self) -> None:
        from shopdesk.tui.help import HelpScreen, help_of

        if not isinstance(self.screen, HelpScreen):
            self.push_screen(HelpScreen(help_of(self.screen)))

    def action_calculator(self) -> None:
        """Goes to the calculator, closing what stands on top of it."""
        from shopdesk.tui.calculator.listing import CalculatorScreen

        if not any(isinstance(screen, CalculatorScreen) for screen in self.screen_stack):
            self.push_screen(CalculatorScreen())
        while not isinstance(self.screen, CalculatorScreen):
            self.pop_screen()

    def action_who(self) -> None:
        self.ask_who(lambda: None)

    def ask_who(
        self,
        then: Callable[[], None],
        left: Callable[[], None] | None = None,
        badge: str = "",
    ) -> None:
        """Asks who stands here (initials or badge, and PIN), then goes on; ``left`` where nobody
        said. ``badge`` is the initials of a badge scanned already."""
        from shopdesk.tui.who import WhoScreen

        def known(initials: str | None) -> None:
            if initials:
                self.person = initials
                self.refresh_frame()
                then()
            elif left is not None:
                left()

        if not isinstance(self.screen, WhoScreen):
            self.push_screen(WhoScreen(badge), known)

    def with_person(self, then: Callable[[], None], left: Callable[[], None] | None = None) -> None:
        """Runs ``then`` once it is known who stands here, ``left`` where nobody said."""
        if self.person:
            then()
        else:
            self.ask_who(then, left)

    def action_leave(self) -> None:
        if not self.busy or (self.cut_off and self._leaves):
            self.exit(0)
        elif self.cut_off:
            self._leaves = True
            self.say("what was entered is not on record: F10 again leaves without it", loud=True)
        else:
            self.say("a deed is still being recorded; one moment")

    def say(self, text: str, *, loud: bool = False) -> None:
        """Shows a sentence on the notice line of the screen on top."""
        from shopdesk.tui.frame import Notice

        for notice in self.screen.query(Notice):
            notice.say(text, loud=loud)

    def add(self, text: str) -> None:
        """Shows a sentence behind what stands on the notice line: an echo is not hidden by it."""
        from shopdesk.tui.frame import Notice

        for notice in self.screen.query(Notice):
            notice.say(f"{notice.said}\n {text}" if notice.said else text, loud=notice.loud)

    def complain(self, fault: ShopError) -> None:
        move = (
            f" Move: {fault.whose_move}." if isinstance(fault, Refused) and fault.whose_move else ""
        )
        self.say(
            f"{fault}.{move}" if not str(fault).endswith((".", "?")) else f"{fault}{move}",
            loud=True,
        )

    def show_working(self, on: bool) -> None:
        from shopdesk.tui.frame import Notice

        waits = self.cut_off and self.busy
        typed = ", ".join(text for text in self.waiting if text) or "what was entered"
        for notice in self.screen.query(Notice):
            notice.working(on or waits, WAITS.format(typed) if waits else WORKS)

    def show_connection(self) -> None:
        self._leaves = False
        self.refresh_frame()
        self.show_working(False)

    def refresh_frame(self) -> None:
        from shopdesk.tui.frame import Top

        for top in self.screen.query(Top):
            top.repaint()
