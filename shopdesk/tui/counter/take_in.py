"""Taking in a core: the serial first, which brings back what the shop knows of the unit."""

from collections.abc import Sequence
from dataclasses import dataclass
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
from shopdesk.tui.counter import visits
from shopdesk.tui.fields import Choice, Field, Fields
from shopdesk.tui.frame import Keys, Notice, Top, app_of
from shopdesk.tui.lines import Row

if TYPE_CHECKING:
    from shopdesk.desk.shop import Shop
    from shopdesk.views.lists import KnownUnit
    from shopdesk.views.sheets import SheetView

KINDS = (
    Choice("customer", "the customer pays: quoted after the teardown"),
    Choice("warranty", "the shop's own earlier work"),
    Choice("exchange", "for the shop's exchange shelf"),
)
PLACE = "take in"
KEEP_S = 0.25  # from a key to its draft on disk


@dataclass(frozen=True, slots=True)
class Known:
    """What the shop knows of a serial as typed; ``units`` at most eight."""

    serial: str
    units: "Sequence[KnownUnit]" = ()
    past: Sequence[str] = ()


class TakeInScreen(Screen[None]):
    HELP = (
        "Type the serial from the plate: units that begin so are shown with their earlier visits; "
        "choose one with Down and Enter, or type on. Model and customer are chosen by number, by "
        "typing, or with the arrow keys. Enter in the last field takes the core in and opens its "
        "sheet. Leaving loses nothing: what is typed is offered back."
    )
    BINDINGS = [
        Binding("escape", "close", "Leave", id="take_in.leave",
                tooltip="Back to the counter; what is typed is kept"),
        Binding("f9", "empty", "Empty", id="take_in.empty", tooltip="Empty every field"),
    ]
    DEFAULT_CSS = """
    TakeInScreen Fields { margin: 1 0 0 0; }
    TakeInScreen .hint { height: 2; padding: 1 0 0 0; }
    """

    def __init__(self) -> None:
        super().__init__()
        self.fields = Fields((
            Field("serial", "Serial", hint="as on the plate; two signs bring up known units",
                  free=True),
            Field("model", "Model", hint="number, code or name; Down to choose"),
            Field("customer", "Customer", hint="code or name; Down to choose"),
            Field("complaint", "Complaint", hint="what the customer says of it, in their words"),
            Field("kind", "Kind of job", "customer", choices=KINDS, hint="who pays"),
            Field("reference", "Their order", optional=True,
                  hint="where several units belong together; may stay empty"),
        ))
        self.known = Known("")
        self.commit_key = uuid4().hex
        self.unkept: set[str] = set()
        self.timer: Timer | None = None
        self.busy = False

    def compose(self) -> ComposeResult:
        yield Top("Counter: take in a core")
        yield self.fields
        self.hint = Static(markup=False, classes="hint")
        yield self.hint
        self.candidates = Candidates()
        yield self.candidates
        yield Notice()
        yield Keys("Enter next field, in the last: take in   Down choose   F9 Empty   Esc leave")

    def on_mount(self) -> None:
        self.fields.focus()
        self.fields.hold()
        app_of(self).look("take in", _offered, self._offer, self._not_offered)

    def on_key(self, event: events.Key) -> None:
        if self.focused is None and self.fields.take(
            event.key, event.character if event.is_printable else None
        ):
            event.stop()

    def on_unmount(self) -> None:
        self._keep()

    def help_text(self) -> str:
        return self.fields.hint

    def _offer(self, offered: "Offered") -> None:
        self.fields.offer("model", offered.models)
        self.fields.offer("customer", offered.customers)
        for name, text in offered.drafts.items():
            self.fields.fill(name, text)
        self.unkept.clear()
        if offered.drafts:
            self.query_one(Notice).say("offered back: typed here and not taken in; F9 empties")
        self.fields.release()
        self._paint()

    def _not_offered(self, fault: ShopError) -> None:
        self.fields.release()
        app_of(self).complain(fault)

    def _paint(self) -> None:
        self.hint.update(Text(f"   {self.fields.hint}"))
        below = [Row(Text(f"   {plain(line)}")) for line in self.known.past]
        self.candidates.offer(self.fields, below if self.fields.here != "model" else ())

    def on_fields_changed(self, event: Fields.Changed) -> None:
        if not self.busy:
            self._draft(event.name)
        if event.name == "serial":
            self._look_up(event.value)
        self._paint()

    def _look_up(self, serial: str) -> None:
        if serial != self.known.serial:
            app_of(self).look("known", lambda shop: _known(shop, serial), self._knows)

    def _knows(self, known: Known) -> None:
        self.known = known
        self.fields.offer("serial", tuple(
            Choice(unit.serial, f"{unit.model}  {unit.customer}") for unit in known.units
        ))
        self._paint()

    def on_fields_passed(self, event: Fields.Passed) -> None:
        if self.busy:
            return
        self.query_one(Notice).say("")
        if event.name == "serial":
            serial = self.fields.values["serial"]
            self.fields.hold()
            app_of(self).look(
                "known", lambda shop: _known(shop, serial), self._same_unit, self._not_offered
            )

    def _same_unit(self, known: Known) -> None:
        """Fills in model and customer of the very unit, and goes to what is still missing."""
        self._knows(known)
        unit = next((u for u in known.units if _key(u.serial) == _key(known.serial)), None)
        values = self.fields.values
        if unit is not None:
            for name, value in (("model", unit.model), ("customer", unit.customer_code)):
                if not values[name]:
                    self.fields.fill(name, value)
                    self._draft(name)
        missing = [name for name in ("model", "customer", "complaint")
                   if not self.fields.values[name]]
        self.fields.go(missing[0] if missing else "kind")
        self.fields.release()

    def on_fields_complained(self, event: Fields.Complained) -> None:
        self.query_one(Notice).say(event.sentence, loud=True)

    def on_fields_committed(self, _: Fields.Committed) -> None:
        app_of(self).with_person(self._take_in)

    def _take_in(self) -> None:
        if self.busy:
            return
        self.busy = True
        self.fields.hold()
        values, app, commit_key = self.fields.values, app_of(self), self.commit_key

        def deed(shop: "Shop") -> "SheetView":
            from shopdesk.desk import counter, drafts

            core = counter.Core(
                serial=values["serial"], model=values["model"], customer=values["customer"],
                complaint=values["complaint"], reference=values["reference"], kind=values["kind"],
            )
            view = counter.receive_core(shop, app.person, core, commit_key=commit_key)
            for name, text in values.items():
                if text:
                    drafts.keep(shop, f"{PLACE}/{name}", "")
            return view

        app.do(deed, self._taken_in, self._refused)

    def _taken_in(self, view: "SheetView") -> None:
        app, heading = app_of(self), view.heading
        self.unkept.clear()
        promised = day(heading.promised_on, heading.opened_at.astimezone().date())
        said = f"J-{heading.number} taken in: tag it. Promised for {promised}."
        if self.is_current:
            self.app.pop_screen()
            app.open_sheet(heading.number)
        app.call_later(app.say, said)

    def _refused(self, fault: ShopError) -> None:
        self.busy = False
        self.fields.release(drop=True)
        app_of(self).complain(fault)

    def action_close(self) -> None:
        if not self.busy:
            self.app.pop_screen()

    def action_empty(self) -> None:
        if self.busy:
            return
        for name in self.fields.values:
            self.fields.fill(name, "customer" if name == "kind" else "")
            self._draft(name)
        self.fields.go("serial")

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


@dataclass(frozen=True, slots=True)
class Offered:
    models: Sequence[Choice]
    customers: Sequence[Choice]
    drafts: dict[str, str]


def _offered(shop: "Shop") -> Offered:
    from shopdesk.desk import drafts
    from shopdesk.views import lists

    with shop.read() as db:
        models = tuple(Choice(m.code, m.name) for m in lists.models(db))
        customers = tuple(Choice(c.code, c.name) for c in lists.customers(db, limit=5000))
    kept = {
        place.removeprefix(f"{PLACE}/"): text
        for place, text in drafts.kept_places(shop)
        if place.startswith(f"{PLACE}/")
    }
    return Offered(models, customers, kept)


def _known(shop: "Shop", serial: str) -> Known:
    from shopdesk.views import board, lists, sheets

    now = shop.clock()
    today = now.astimezone().date()
    with shop.read() as db:
        units = lists.known_units(db, serial)
        jobs = board.history(db, serial)
        past = [visits.visit_line(job, today) for job in jobs]
        left = [job for job in jobs if job.closed_at is not None]
        if len({_key(unit.serial) for unit in units}) == 1 and left:
            past += visits.as_it_left(sheets.load(db, left[0].number, now))
    return Known(serial, units, tuple(past))


def _key(serial: str) -> str:
    return "".join(sign for sign in serial.upper() if sign.isalnum())
