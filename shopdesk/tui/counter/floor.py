"""The counter: what is on the floor, cores in, units out."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from textual.binding import Binding

from shopdesk.tui.filling import Choice, Field
from shopdesk.tui.forms import FormScreen
from shopdesk.tui.jobs import GAS, JobsScreen, seen

if TYPE_CHECKING:
    from shopdesk.desk.shop import Shop
    from shopdesk.views.board import JobRow


class CounterScreen(JobsScreen):
    HEADING = "Counter: what is on the floor"
    HELP = (
        "Everything in the shop, one line a unit. Charged and unknown units stand first: a unit of "
        "unknown gas state counts as charged until its vent record is signed. LATE is past the day "
        "promised. Type or scan to find a job, also one that left long ago."
    )
    LETTERS = "nhx"
    OWN_KEYS = "Enter sheet   N New core   H Hand over   X eXchange unit out   F7 Find"
    EMPTY = " nothing is on the floor; N takes in a core"
    BINDINGS = [
        Binding("n,N", "take_in", "New core", id="counter.take_in", tooltip="Take in a core"),
        Binding(
            "h,H",
            "hand_over",
            "Hand over",
            id="counter.hand_over",
            tooltip="The unit under the cursor leaves the shop",
        ),
        Binding(
            "x,X",
            "exchange",
            "Exchange",
            id="counter.exchange",
            tooltip="Send an exchange unit now, the core is owed",
        ),
    ]

    def listed(self, shop: "Shop") -> "Sequence[JobRow]":
        from shopdesk.views import board

        with shop.read() as db:
            return board.floor(db)

    def action_take_in(self) -> None:
        from shopdesk.tui.counter.take_in import TakeInScreen

        def open_it() -> None:
            self.app.push_screen(TakeInScreen())

        if self.is_current:
            self.shop_app.with_person(open_it)

    def action_hand_over(self) -> None:
        self.with_job(self._hand_over)

    def _hand_over(self, job: "JobRow") -> None:
        def ask(rest: tuple[str, ...]) -> None:
            self._ask_who_takes_it(job, rest)

        self.read(lambda shop: _rest_of_order(shop, job.number), ask)

    def _ask_who_takes_it(self, job: "JobRow", rest: tuple[str, ...]) -> None:
        app, number, as_seen = self.shop_app, job.number, seen(job)

        def deed(shop: "Shop", given: dict[str, str]) -> str:
            from shopdesk.desk import counter

            view = counter.hand_over(
                shop, app.person, number, given["carrier"], given["note"], seen=as_seen
            )
            if view.sheet.facts.road.value == "scrapped":
                return f"J-{number} is closed: scrapped"
            return f"J-{number} has left the shop; find it again for its certificate: F12, C"

        self.open_form(
            FormScreen(
                f"Hand over J-{number}",
                (
                    Field(
                        "carrier",
                        "Who takes it",
                        hint="the carrier, or the name of who collects it",
                        optional=True,
                    ),
                    Field("note", "Note", hint="what goes with it", optional=True),
                ),
                deed,
                context=(
                    f"{job.model} {job.serial}, {job.customer}",
                    f"Gas state: {GAS.get(job.gas_state, job.gas_state)}   stage: {job.stage}",
                    f"Waits for: {job.waiting_for}",
                    *rest,
                    "This closes its job; every line has to be done first.",
                ),
                commit="hand over",
            )
        )

    def action_exchange(self) -> None:
        if self.is_current:
            self.read(_shelf_and_customers, self._exchange)

    def _exchange(self, known: tuple[Sequence[Choice], Sequence[Choice]]) -> None:
        app, (units, customers) = self.shop_app, known

        def deed(shop: "Shop", given: dict[str, str]) -> str:
            from shopdesk.desk import office
            from shopdesk.rules.shop import cents

            deposit = cents(given["deposit"], where="deposit")
            office.exchange(
                shop,
                app.person,
                given["serial"],
                given["customer"],
                deposit_cents=deposit,
                carrier=given["carrier"],
            )
            return f"{given['serial']} went to {given['customer']}; the core is owed within 30 days"

        self.open_form(
            FormScreen(
                "Exchange unit out: the core is owed",
                (
                    Field(
                        "serial",
                        "Serial",
                        choices=units,
                        free=True,
                        hint="of a unit on the exchange shelf, or a number below",
                    ),
                    Field(
                        "customer",
                        "Customer",
                        choices=customers,
                        hint="code, name, or a number below",
                    ),
                    Field("deposit", "Deposit", hint="held until the core is here, such as 450.00"),
                    Field(
                        "carrier",
                        "Who takes it",
                        hint="the carrier, or the name of who collects it",
                    ),
                ),
                deed,
                context=() if units else ("No unit stands on the exchange shelf now.",),
                commit="send it",
            )
        )


def _rest_of_order(shop: "Shop", number: int) -> tuple[str, ...]:
    from shopdesk.views import orders

    with shop.read() as db:
        order = orders.of_number(db, number, shop.clock())
    return order.told() if order else ()


def _shelf_and_customers(shop: "Shop") -> tuple[Sequence[Choice], Sequence[Choice]]:
    from shopdesk.views import cores, lists

    with shop.read() as db:
        units = tuple(
            Choice(
                one.serial, f"{one.model}, core of grade {one.grade}" if one.grade else one.model
            )
            for one in cores.pool(db)
        )
        return units, tuple(Choice(c.code, c.name) for c in lists.customers(db, limit=5000))
