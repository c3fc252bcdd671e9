"""Taking in a core: the serial first, which brings back what the shop knows of the unit."""

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING
from uuid import uuid4

from rich.text import Text
from textual import events
from textual.app import ComposeResult
from textual.binding import Binding
from textual.screen import Screen
from textual.timer import Timer
from textual.widgets import Static

from shopdesk.errors import ShopError
from shopdesk.tui.candidates import Candidates
from shopdesk.tui.columns import day, plain
from shopdesk.tui.counter.core import FIELDS, received
from shopdesk.tui.counter.customers import new_customer
from shopdesk.tui.counter.known import (
    PLACE,
    DateOffered,
    Known,
    Offered,
    date_offered,
    known_of,
    offered,
    order_so_far,
)
from shopdesk.tui.dates import read_date
from shopdesk.tui.fields import Fields
from shopdesk.tui.filling import Choice
from shopdesk.tui.frame import Keys, Notice, Top, app_of
from shopdesk.tui.lines import Row

if TYPE_CHECKING:
    from shopdesk.desk.shop import Shop
    from shopdesk.views.sheets import SheetView

KEEP_S = 0.25  # from a key to its draft on disk


class TakeInScreen(Screen[None]):
    HELP = (
        "Type the serial from the plate: units that begin so are shown with their earlier visits; "
        "choose one with Down and Enter, or type on. Model and customer are chosen by number, by "
        "typing, or with the arrow keys; F8 puts a new customer on the list. Enter in the last "
        "field takes the core in and opens its sheet. Leaving loses nothing: what is typed is "
        "offered back."
    )
    BINDINGS = [
        Binding(
            "escape",
            "close",
            "Leave",
            id="take_in.leave",
            tooltip="Back to the counter; what is typed is kept",
        ),
        Binding(
            "f8",
            "new_customer",
            "New customer",
            id="take_in.customer",
            tooltip="Who is not on the list yet",
        ),
        Binding("f9", "empty", "Empty", id="take_in.empty", tooltip="Empty every field"),
    ]
    DEFAULT_CSS = """
    TakeInScreen Fields { margin: 1 0 0 0; }
    TakeInScreen .hint { height: 4; padding: 1 0 0 0; }
    """

    def __init__(self) -> None:
        super().__init__()
        self.fields = Fields(FIELDS, pauses=frozenset({"serial"}))
        self.known = Known("")
        self.offer = DateOffered()
        self.order: Sequence[str] = ()
        self.commit_key = uuid4().hex
        self.unkept: set[str] = set()
        self.timer: Timer | None = None
        self.busy = False
        self.opened = False

    def compose(self) -> ComposeResult:
        yield Top("Counter: take in a core")
        yield self.fields
        self.hint = Static(markup=False, classes="hint")
        yield self.hint
        self.candidates = Candidates()
        yield self.candidates
        yield Notice()
        yield Keys(
            "Enter next field, in the last: take in   Down choose   F8 New customer"
            "\n F9 Empty   Esc leave"
        )

    def on_mount(self) -> None:
        self.fields.focus()
        self.fields.hold()
        app_of(self).look("take in", offered, self._offered, self._unread)

    def on_screen_resume(self) -> None:
        """Nobody said who they are: what is typed waits for another Enter."""
        if not self.busy and self.opened:
            self.fields.release(drop=True)

    def on_key(self, event: events.Key) -> None:
        """Keys that came before the fields had the focus still reach them."""
        if self.focused is None and self.fields.take(
            event.key, event.character if event.is_printable else None
        ):
            event.stop()

    def on_unmount(self) -> None:
        self._keep()

    def help_text(self) -> str:
        return self.fields.hint

    # what is shown

    def _offered(self, found: Offered) -> None:
        self.opened = True
        self.fields.offer("model", found.models)
        self.fields.offer("customer", found.customers)
        for name, text in found.drafts.items():
            if name in self.fields.values:
                self.fields.fill(name, text, offered=True)
        if found.drafts:
            self.query_one(Notice).say(
                "offered back: typed here and not taken in. Enter goes on with it; another serial "
                "begins anew; F9 empties."
            )
        self.fields.release()
        self._paint()

    def _unread(self, fault: ShopError) -> None:
        self.opened = True
        self.fields.release()
        app_of(self).complain(fault)

    def _paint(self) -> None:
        offer = f"   {self.offer.text}" if self.offer.text else ""
        self.hint.update(Text(f"   {self.fields.hint}\n{offer}"))
        below = self.order if self.fields.here == "reference" else self.known.past
        rows = [Row(Text(f"   {plain(line)}")) for line in below]
        self.candidates.offer(self.fields, rows if self.fields.here != "model" else ())

    def on_fields_changed(self, event: Fields.Changed) -> None:
        if self.busy:
            return
        self._draft(event.name)
        if event.name == "serial" and event.value != self.known.serial:
            app_of(self).look("known", lambda shop: known_of(shop, event.value), self._knows)
        if event.name in ("model", "promised"):
            self._ask_date()
        if event.name in ("reference", "customer"):
            self._ask_order()
        self._paint()

    def _ask_order(self) -> None:
        """Asks what else came with the order typed."""
        customer, reference = self.fields.values["customer"], self.fields.values["reference"]

        def answered(order: Sequence[str]) -> None:
            self.order = order
            self._paint()

        if reference:
            app_of(self).look(
                "order", lambda shop: order_so_far(shop, customer, reference), answered
            )
        else:
            answered(())

    def _ask_date(self) -> None:
        """Asks what may be promised, or whom the date asked for delays."""
        values = self.fields.values
        model, typed = values["model"], values["promised"]
        if not self.fields.is_choice("model"):
            return
        if model == self.offer.model and not typed and self.offer.asked is None:
            return

        def ask(shop: "Shop") -> DateOffered:
            today = shop.clock().astimezone().date()
            return date_offered(shop, model, read_date(typed, today) if typed else None)

        def answered(offer: DateOffered) -> None:
            self.offer = offer
            self._paint()

        app_of(self).look("offer", ask, answered, app_of(self).quiet)

    def _knows(self, known: Known) -> None:
        self.known = known
        self.fields.offer(
            "serial",
            tuple(Choice(unit.serial, f"{unit.model}  {unit.customer}") for unit in known.units),
        )
        self._paint()

    def on_fields_passed(self, event: Fields.Passed) -> None:
        if event.name == "serial":
            serial = self.fields.values["serial"]
            app_of(self).look(
                "unit", lambda shop: known_of(shop, serial), self._same_unit, self._unread
            )
        elif not self.busy:
            self.query_one(Notice).say("")

    def _same_unit(self, known: Known) -> None:
        """Fills in model and customer of the very unit, and goes to what is still missing."""
        self._knows(known)
        unit, values = known.same, self.fields.values
        if unit is not None:
            for name, value in (("model", unit.model), ("customer", unit.customer_code)):
                if not values[name]:
                    self.fields.fill(name, value)
        missing = [
            name for name in ("model", "customer", "complaint") if not self.fields.values[name]
        ]
        self.fields.go(missing[0] if missing else "kind")
        self.query_one(Notice).say("")
        self.fields.release()

    def on_fields_replaced(self, event: Fields.Replaced) -> None:
        """Another unit: what was offered with the first serial is not of this one."""
        if event.name == "serial":
            self._clear(self.fields.values.keys() - {"serial"})
            self.query_one(Notice).say("")

    def on_fields_complained(self, event: Fields.Complained) -> None:
        more = "; F8 puts a new customer on the list" if self.fields.here == "customer" else ""
        self.query_one(Notice).say(f"{event.sentence}{more}", loud=True)

    # taking in

    def on_fields_committed(self, _: Fields.Committed) -> None:
        app_of(self).with_person(self._take_in)

    def _take_in(self) -> None:
        if self.busy:
            return
        self.busy = True
        values, app, commit_key = self.fields.values, app_of(self), self.commit_key
        same = self.offer.model == values["model"] and self.offer.asked is None
        offered = self.offer.on if same else None
        app.do(
            lambda shop: received(shop, app.person, values, offered, commit_key),
            self._taken_in,
            self._refused,
        )

    def _taken_in(self, view: "SheetView") -> None:
        app, heading = app_of(self), view.heading
        self.unkept.clear()
        promised = day(heading.promised_on, heading.opened_at.astimezone().date())
        said = f"J-{heading.number} taken in: tag it. Promised for {promised}."
        if self.is_current:
            self.app.pop_screen()
            app.open_sheet(heading.number)
            self.app.screen.call_after_refresh(app.say, said)

    def _refused(self, fault: ShopError) -> None:
        self.busy = False
        self.fields.release(drop=True)
        app_of(self).complain(fault)

    def action_new_customer(self) -> None:
        if not self.busy:
            app_of(self).with_person(self._ask_customer)

    def _ask_customer(self) -> None:
        typed = "" if self.fields.is_choice("customer") else self.fields.values["customer"]
        form = new_customer(app_of(self), typed)
        self.app.push_screen(form, self._customer_made)

    def _customer_made(self, given: dict[str, str] | None) -> None:
        """The list read again, with the new one chosen."""
        if given is None:
            return

        def read(found: Offered) -> None:
            self.fields.offer("customer", found.customers)
            made = next((one for one in found.customers if one.name == given["name"]), None)
            if made is not None:
                self.fields.fill("customer", made.code)
                self.fields.go("complaint")
            self._paint()

        app_of(self).look("customers", offered, read)

    def action_close(self) -> None:
        if not self.busy:
            self.app.pop_screen()

    def action_empty(self) -> None:
        if not self.busy:
            self._clear(self.fields.values.keys())
            self.fields.go("serial")

    def _clear(self, names: Iterable[str]) -> None:
        for name in names:
            self.fields.fill(name, "customer" if name == "kind" else "")

    # drafts

    def _draft(self, name: str) -> None:
        """What is typed goes to disk a moment later, not at every key."""
        self.unkept.add(name)
        if self.timer is None:
            self.timer = self.set_timer(KEEP_S, self._keep)

    def _keep(self) -> None:
        self.timer = None
        if not self.unkept or self.busy:
            return
        values = self.fields.values
        kept = {name: values[name] for name in self.unkept if name != "kind"}
        self.unkept.clear()

        def deed(shop: "Shop") -> None:
            from shopdesk.desk import drafts

            for name, text in kept.items():
                drafts.keep(shop, f"{PLACE}/{name}", text)

        app = app_of(self)
        app.do(deed, app.quiet)
