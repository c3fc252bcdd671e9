"""Cores owed for exchange units, those back and to be judged, credits due, the exchange shelf."""

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, ClassVar

from rich.text import Text
from textual.binding import Binding

from shopdesk.tui.columns import Column, day, laid
from shopdesk.tui.filling import Choice, Field
from shopdesk.tui.forms import FormScreen
from shopdesk.tui.lines import Row
from shopdesk.tui.places import ListScreen

if TYPE_CHECKING:
    from shopdesk.desk.shop import Shop
    from shopdesk.views.cores import Deposit, Pooled, Yield


@dataclass(frozen=True, slots=True)
class CoresSeen:
    deposits: "Sequence[Deposit]"
    pool: "Sequence[Pooled]"
    yields: "Sequence[Yield]"
    grades: Sequence[tuple[str, float]]
    currency: str
    today: date


class CoresScreen(ListScreen):
    HEADING = "Office: cores and deposits"
    HELP = (
        "Cores customers owe for exchange units, by their day; then those that came back, to be "
        "judged, and credits to be paid. J grades the core under the cursor and says what was "
        "missing, P says that its credit went back. Below: the exchange shelf, and how many cores "
        "of each model became units again."
    )
    LETTERS = "jp"
    FINDS = "model or customer"
    OWN_KEYS = "J Judge the core   P Credit paid   F7 Find   Esc back"
    EMPTY = " no core is owed, either way"
    COLUMNS: ClassVar[tuple[Column, ...]] = (
        Column("state", 10),
        Column("model", 8, share=1),
        Column("customer", 18, share=3),
        Column("deposit", 10, right=True),
        Column("due", 9),
        Column("job", 7),
        Column("credit", 9, right=True),
    )
    BINDINGS = [
        Binding("escape", "close", "Back", id="cores.back", tooltip="Back to where you were"),
        Binding("j,J", "judge", "Judge", id="cores.judge", tooltip="Grade a core that came back"),
        Binding("p,P", "paid", "Paid", id="cores.paid", tooltip="The credit went back"),
    ]

    def ask(self, shop: "Shop", text: str) -> CoresSeen:
        from shopdesk.views import cores, documents

        key, today = text.strip().casefold(), shop.clock().astimezone().date()
        with shop.read() as db:
            rules = documents.rules(db)
            return CoresSeen(
                tuple(
                    one
                    for one in cores.deposits(db, today)
                    if key in f"{one.model} {one.customer}".casefold()
                ),
                tuple(one for one in cores.pool(db) if key in one.model.casefold()),
                tuple(one for one in cores.yields(db) if key in one.model.casefold()),
                rules.cores.grades,
                rules.currency,
                today,
            )

    def rows(self) -> Sequence[Row]:
        seen = self.answer
        rows = [self._deposit(one) for one in seen.deposits]
        if seen.pool:
            rows.append(_heading("On the exchange shelf"))
        for one in seen.pool:
            grade = f", its core was grade {one.grade}" if one.grade else ""
            rows.append(_said(f"{one.model} serial {one.serial}{grade}"))
        if seen.yields:
            rows.append(_heading("Rebuilt of those rebuilt or scrapped"))
        for one in seen.yields:
            share = "none yet" if one.percent is None else f"{one.percent:g} %"
            rows.append(
                _said(
                    f"{one.model:10} {share:>8}: {one.rebuilt} rebuilt, {one.scrapped} scrapped, "
                    f"{one.declined} declined, {one.in_pool} on the shelf"
                )
            )
        return rows

    def _deposit(self, one: "Deposit") -> Row:
        from shopdesk.rules.shop import money

        cells = (
            one.state,
            one.model,
            one.customer,
            money(one.deposit_cents),
            day(one.due_on, self.answer.today),
            one.job,
            "" if one.credit_cents is None else money(one.credit_cents),
        )
        loud = [0] if one.state == "LATE" else []
        return Row(laid(self.COLUMNS, self.width, cells, loud), one.id)

    def about(self, key: Hashable | None) -> Sequence[str]:
        one = next((x for x in self.answer.deposits if x.id == key), None)
        if one is None:
            return ()
        missing = f"; missing {', '.join(one.missing)}" if one.missing else ""
        grade = f"grade {one.grade}{missing}" if one.grade else "not judged"
        came = f"came back as {one.job}, {grade}" if one.job else "its core has not come back"
        return (f"deposit {one.id}, {one.customer}", came)

    def _under(self) -> "Deposit | None":
        if not self.is_read():
            return None
        found = next((x for x in self.answer.deposits if x.id == self.lines.cursor_key), None)
        if found is None:
            self.shop_app.say("no deposit is under the cursor")
        return found

    def action_judge(self) -> None:
        one = self._under()
        if one is None:
            return
        app = self.shop_app

        def deed(shop: "Shop", given: dict[str, str]) -> str:
            from shopdesk.desk import cores

            missing = tuple(given["missing"].replace(",", " ").split())
            return cores.judge(shop, app.person, one.id, given["grade"], missing, given["note"])

        grades = tuple(
            Choice(name, f"{share:g} % of the deposit") for name, share in self.answer.grades
        )
        fields = (
            Field("grade", "Grade", choices=grades),
            Field("missing", "Missing", hint="part numbers, a space between", optional=True),
            Field("note", "Note", optional=True),
        )
        self.open_form(FormScreen(f"Judge the core of deposit {one.id}", fields, deed))

    def action_paid(self) -> None:
        one = self._under()
        if one is None:
            return
        app = self.shop_app

        def deed(shop: "Shop", _: dict[str, str]) -> str:
            from shopdesk.desk import cores

            return cores.pay(shop, app.person, one.id)

        from shopdesk.rules.shop import money

        credit = money(one.credit_cents or 0, self.answer.currency)
        context = (f"{credit} to {one.customer}",)
        self.open_form(
            FormScreen("The credit went back", (), deed, context=context, commit="it was paid")
        )

    def action_close(self) -> None:
        self.app.pop_screen()


def _heading(said: str) -> Row:
    return Row(Text(f" {said}", style="bold"))


def _said(said: str) -> Row:
    return Row(Text(f"   {said}"))
