"""What one job cost, line by line against its quote; hours and bills recorded."""

from collections.abc import Hashable, Sequence
from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding

from shopdesk.errors import BadInput
from shopdesk.tui.columns import Column, laid
from shopdesk.tui.filling import Choice, Field
from shopdesk.tui.forms import FormScreen
from shopdesk.tui.lines import Row
from shopdesk.tui.places import ListScreen

if TYPE_CHECKING:
    from shopdesk.desk.shop import Shop
    from shopdesk.views.costs import JobMoney

_REWORK = Field(
    "rework",
    "Rework",
    "no",
    hint="yes where it was work done again",
    choices=(Choice("no"), Choice("yes")),
)


class JobMoneyScreen(ListScreen):
    HEADING = "Office: a job's money"
    HELP = (
        "Parts at what their lots cost, labour by section, outside work, freight, and rework "
        "apart, each against the quote. Where nobody recorded hours they are taken from the "
        "times of the answers. H records hours, B a bill for outside work or freight."
    )
    LETTERS = "hb"
    FINDS = "part or section"
    OWN_KEYS = "H Hours   B Bill for outside work or freight   Esc back"
    EMPTY = " nothing has been spent on it"
    COLUMNS: ClassVar[tuple[Column, ...]] = (
        Column("cause", 10),
        Column("what", 18, share=1),
        Column("quoted", 10, right=True),
        Column("cost", 10, right=True),
        Column("more", 10, right=True),
        Column("why", 14, share=2),
    )
    BINDINGS = [
        Binding("escape", "close", "Back", id="money.back", tooltip="Back to the office"),
        Binding("h,H", "hours", "Hours", id="money.hours", tooltip="Record hours worked"),
        Binding("b,B", "bill", "Bill", id="money.bill", tooltip="Record outside work or freight"),
    ]

    def __init__(self, number: int) -> None:
        super().__init__()
        self.number = number

    def ask(self, shop: "Shop", text: str) -> "JobMoney":
        from shopdesk.views import costs

        with shop.read() as db:
            return costs.job(db, self.number)

    def rows(self) -> Sequence[Row]:
        from shopdesk.rules.shop import money

        key = self.answered.strip().casefold()
        rows = []
        for line in self.answer.lines:
            cells = (
                line.cause,
                line.name,
                money(line.quoted_cents),
                money(line.actual_cents),
                money(line.more_cents) if line.more_cents else "",
                line.why,
            )
            if key in line.name.casefold():
                rows.append(Row(laid(self.COLUMNS, self.width, cells), (line.cause, line.name)))
        return rows

    def paint_find(self) -> None:
        super().paint_find()
        if self.answer is not None and not self.lines.text and not self.lines.typing:
            self.find_bar.update(" " + self._said())

    def _said(self) -> str:
        from shopdesk.rules.shop import money

        seen = self.answer
        cost = f"{seen.job} {seen.model}: cost {money(seen.cost_cents, seen.currency)}"
        if not seen.quoted_cents:
            return f"{cost}, not quoted"
        left = money(abs(seen.left_cents))
        over = f"{left} {'left' if seen.left_cents >= 0 else 'LOST'}"
        return f"{cost}, quoted {money(seen.quoted_cents)} {seen.answer or 'unanswered'}: {over}"

    def about(self, key: Hashable | None) -> Sequence[str]:
        from shopdesk.rules.shop import money

        causes = ", ".join(
            f"{cause} {money(abs(cents))} {'more' if cents > 0 else 'less'}"
            for cause, cents in self.answer.causes
        )
        line = next((x for x in self.answer.lines if (x.cause, x.name) == key), None)
        why = f"{line.name}: {line.why or 'as quoted'}" if line else ""
        return why, f"against the quote: {causes}" if causes and self.answer.quoted_cents else ""

    def action_hours(self) -> None:
        from shopdesk.procedure import SECTIONS

        app, number = self.shop_app, self.number

        def deed(shop: "Shop", given: dict[str, str]) -> str:
            from shopdesk.desk import costs

            again = given["rework"] == "yes"
            return costs.record_hours(
                shop, app.person, number, given["section"], given["hours"], rework=again
            )

        fields = (
            Field("section", "Section", choices=tuple(Choice(name) for name in SECTIONS)),
            Field("hours", "Hours", hint="1.5, 1:30 or 90 min; -1.5 takes a wrong one back"),
            _REWORK,
        )
        self.open_form(FormScreen(f"J-{number}: hours worked", fields, deed))

    def action_bill(self) -> None:
        app, number = self.shop_app, self.number

        def deed(shop: "Shop", given: dict[str, str]) -> str:
            from shopdesk.desk import costs

            again = given["rework"] == "yes"
            return costs.record_bill(
                shop,
                app.person,
                number,
                given["kind"],
                signed_cents(given["amount"]),
                given["note"],
                rework=again,
            )

        fields = (
            Field("kind", "For", choices=(Choice("outside"), Choice("freight"))),
            Field("amount", "Amount", hint="such as 120.00; -120.00 takes a wrong one back"),
            Field("note", "Whose bill", hint="who did what, and the bill's number"),
            _REWORK,
        )
        self.open_form(FormScreen(f"J-{number}: a bill", fields, deed))

    def action_close(self) -> None:
        self.app.pop_screen()


def signed_cents(text: str) -> int:
    """Money as typed, which may be taken back. Raises BadInput."""
    from shopdesk.rules.shop import cents

    typed = text.strip()
    if typed.startswith("--"):
        raise BadInput(f"read {typed[:20]!r}, expected an amount such as 120.00")
    return -cents(typed[1:]) if typed.startswith("-") else cents(typed)
