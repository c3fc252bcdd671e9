"""What has to be ordered, by supplier, and what is on its way."""

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby
from typing import TYPE_CHECKING, ClassVar

from rich.text import Text
from textual.binding import Binding

from shopdesk.tui.columns import Column, day, laid
from shopdesk.tui.forms import FormScreen
from shopdesk.tui.lines import Row
from shopdesk.tui.places import ListScreen

if TYPE_CHECKING:
    from shopdesk.desk.shop import Shop
    from shopdesk.views.stores import OrderRow

Coming = tuple[int, str, date, str, int, int]


@dataclass(frozen=True, slots=True)
class OrdersSeen:
    """``coming`` are open purchase lines: purchase, supplier, due, part, ordered, received."""

    due: "Sequence[OrderRow]"
    coming: Sequence[Coming]
    currency: str
    today: date


class OrdersScreen(ListScreen):
    HEADING = "Stores: what has to be ordered"
    HELP = (
        "Parts whose free stock and open purchases are below what is to be held, or that a job is "
        "short of, by supplier, in whole packs. Enter places the purchase of everything listed for "
        "that supplier, after showing it. Below: what is ordered and has not come."
    )
    FINDS = "part or supplier"
    OWN_KEYS = "Enter order everything of this supplier   F7 Find   Esc back"
    EMPTY = " nothing has to be ordered and nothing is on its way"
    COLUMNS: ClassVar[tuple[Column, ...]] = (
        Column("part", 14, share=1),
        Column("description", 20, share=1),
        Column("pieces", 6, right=True),
        Column("cost", 10, right=True),
        Column("why", 23, share=4),
    )
    BINDINGS = [
        Binding("escape", "close", "Back", id="orders.back", tooltip="Back to the shelf"),
    ]

    def ask(self, shop: "Shop", text: str) -> OrdersSeen:
        from shopdesk.views import documents, stores

        key = text.strip().casefold()
        with shop.read() as db:
            due = [
                row
                for row in stores.to_order(db)
                if key in f"{row.part} {row.description} {row.supplier_name}".casefold()
            ]
            coming = [
                row for row in stores.purchases_open(db) if key in f"{row[3]} {row[1]}".casefold()
            ]
            currency = documents.rules(db).currency
        return OrdersSeen(tuple(due), tuple(coming), currency, shop.clock().astimezone().date())

    def rows(self) -> Sequence[Row]:
        from shopdesk.rules.shop import money

        seen = self.answer
        rows: list[Row] = []
        for supplier, lines in groupby(seen.due, key=lambda row: row.supplier):
            ordered = list(lines)
            total = money(sum(row.cents for row in ordered), seen.currency)
            name, lead = ordered[0].supplier_name, ordered[0].lead_days
            rows.append(_heading(f"{supplier} {name}: {total}, comes in {lead} days"))
            rows += [self._due(row) for row in ordered]
        if seen.coming:
            rows.append(_heading("On its way"))
            rows += [self._coming(row) for row in seen.coming]
        return rows

    def _due(self, row: "OrderRow") -> Row:
        from shopdesk.rules.shop import money

        cells = (row.part, row.description, str(row.pieces), money(row.cents), row.why)
        return Row(laid(self.COLUMNS, self.width, cells), ("due", row.supplier, row.part))

    def _coming(self, row: Coming) -> Row:
        number, supplier, due, part, ordered, received = row
        late = " LATE" if due < self.answer.today else ""
        came = f", {received} came" if received else ""
        cells = (
            part,
            supplier,
            str(ordered),
            "",
            f"purchase {number}, due {day(due, self.answer.today)}{late}{came}",
        )
        return Row(laid(self.COLUMNS, self.width, cells), ("coming", str(number), part))

    def about(self, key: Hashable | None) -> Sequence[str]:
        row = next((r for r in self.answer.due if ("due", r.supplier, r.part) == key), None)
        return () if row is None else (f"{row.part}  {row.description}", row.why)

    def chosen(self, key: Hashable) -> None:
        if isinstance(key, tuple) and key[0] == "due":
            lines = [row for row in self.answer.due if row.supplier == key[1]]
            self.open_form(self._purchase(lines))

    def _purchase(self, lines: "list[OrderRow]") -> FormScreen:
        from shopdesk.rules.shop import money

        app, supplier, name = self.shop_app, lines[0].supplier, lines[0].supplier_name
        wanted = tuple((row.part, row.pieces) for row in lines)

        def deed(shop: "Shop", _: dict[str, str]) -> str:
            from shopdesk.desk import stores

            number = stores.order(shop, app.person, supplier, wanted)
            return f"purchase {number} placed with {name}: {len(wanted)} lines"

        total = money(sum(row.cents for row in lines), self.answer.currency)
        context = [
            f"{row.pieces:>5} x {row.part:16} {row.description[:30]:30} {money(row.cents):>10}"
            for row in lines
        ]
        return FormScreen(
            f"Order from {name}",
            (),
            deed,
            context=(*context, f"{total} in all, comes in {lines[0].lead_days} days"),
            commit="place the purchase",
        )

    def action_close(self) -> None:
        self.app.pop_screen()


def _heading(said: str) -> Row:
    return Row(Text(f" {said}", style="bold"))
