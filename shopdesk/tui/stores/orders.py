"""What has to be ordered, by supplier, and what is on its way."""

import textwrap
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
from shopdesk.tui.stores.deeds import call_off, put_off, receive

if TYPE_CHECKING:
    from shopdesk.desk.shop import Shop
    from shopdesk.views.ordering import MissingRow, OrderRow

Coming = tuple[int, str, date, str, int, int]


@dataclass(frozen=True, slots=True)
class OrdersSeen:
    """``coming`` are open purchase lines: purchase, supplier, due, part, ordered, still to come;
    ``newest`` the last purchase there was."""

    due: "Sequence[OrderRow]"
    coming: Sequence[Coming]
    missing: "Sequence[MissingRow]"
    currency: str
    today: date
    newest: int


class OrdersScreen(ListScreen):
    HEADING = "Stores: what has to be ordered"
    HELP = (
        "Parts below what is to be had for the demand over their lead time, for open jobs, or by "
        "hand; by supplier, in whole packs, filled up with what runs out next where a supplier has "
        "a minimum. Enter on one places the purchase of everything listed for that supplier, after "
        "showing it; on what is on its way, receives it; on what a job will miss, opens its sheet. "
        "F8 notes another day the supplier names for a purchase: the jobs that wait for it are "
        "forecast from it; Del calls off what will not come of one. F9 opens the part, whose W "
        "says why in full."
    )
    FINDS = "part or supplier"
    OWN_KEYS = "Enter order, or receive  F7 Find  F8 New day  Del Call off  F9 Part  Esc back"
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
        Binding(
            "f8",
            "put_off",
            "New day",
            id="orders.put_off",
            tooltip="Another day for a purchase that is on its way",
        ),
        Binding(
            "delete",
            "call_off",
            "Call off",
            id="orders.call_off",
            tooltip="What is still due of the part under the cursor will not come",
        ),
        Binding("f9", "part", "Part", id="orders.part", tooltip="The part under the cursor"),
    ]

    def ask(self, shop: "Shop", text: str) -> OrdersSeen:
        from shopdesk.views import documents, ordering, purchases, stores

        key = text.strip().casefold()
        today = shop.clock().astimezone().date()
        with shop.read() as db:
            due = [
                row
                for row in ordering.to_order(db, today)
                if key in f"{row.part} {row.description} {row.supplier_name}".casefold()
            ]
            coming = [
                row for row in stores.purchases_open(db) if key in f"{row[3]} {row[1]}".casefold()
            ]
            missing = [
                row
                for row in ordering.will_be_missing(db, today)
                if key in f"{row.part} {row.description} j-{row.job}".casefold()
            ]
            currency = documents.rules(db).currency
            newest = purchases.newest(db)
        return OrdersSeen(tuple(due), tuple(coming), tuple(missing), currency, today, newest)

    def rows(self) -> Sequence[Row]:

        seen = self.answer
        rows: list[Row] = []
        for supplier, lines in groupby(seen.due, key=lambda row: row.supplier):
            ordered = list(lines)
            rows.append(_heading(f"{supplier} {ordered[0].supplier_name}: {self._total(ordered)}"))
            rows += [self._due(row) for row in ordered]
        if seen.coming:
            rows.append(_heading("On its way, by purchase"))
            rows += [self._coming(row) for row in seen.coming]
        if seen.missing:
            rows.append(_heading("What jobs will miss on the day they are promised for"))
            rows += [self._missing(row) for row in seen.missing]
        return rows

    def _total(self, ordered: "list[OrderRow]") -> str:
        """What an order comes to and when it comes; that it falls short of the supplier's minimum
        where all that goes with it does not meet it."""
        from shopdesk.rules.shop import money

        cents, least = sum(row.cents for row in ordered), ordered[0].minimum_cents
        below = f", BELOW his minimum of {money(least)}" if cents < least else ""
        total = money(cents, self.answer.currency)
        return f"{total}{below}, comes in {ordered[0].lead_days} days"

    def _due(self, row: "OrderRow") -> Row:
        from shopdesk.rules.shop import money

        cells = (row.part, row.description, str(row.pieces), money(row.cents), row.why)
        return Row(laid(self.COLUMNS, self.width, cells), ("due", row.supplier, row.part))

    def _coming(self, row: Coming) -> Row:
        number, supplier, due, part, ordered, left = row
        late = " LATE" if due < self.answer.today else ""
        came = f", {ordered - left} of {ordered} came" if left < ordered else ""
        said = f"{number}, due {day(due, self.answer.today)}{late}{came}"
        cells = (part, supplier, str(left), "", said)
        return Row(laid(self.COLUMNS, self.width, cells), ("coming", str(number), part))

    def _missing(self, row: "MissingRow") -> Row:
        today = self.answer.today
        comes = f"comes {day(row.comes, today)}" if row.comes else "none is on its way"
        said = f"J-{row.job} promised {day(row.promised, today)}, {comes}"
        said += f"; {row.stands_in}" if row.stands_in else ""
        cells = (row.part, row.description, str(row.pieces), "", said)
        return Row(laid(self.COLUMNS, self.width, cells), ("missing", str(row.job), row.part))

    def about(self, key: Hashable | None) -> Sequence[str]:
        match key:
            case ("coming", str(number), str(part)):
                return self._about_purchase(int(number), part)
            case ("missing", str(number), str(part)):
                return self._about_missing(int(number), part)
        row = next((r for r in self.answer.due if ("due", r.supplier, r.part) == key), None)
        if row is None:
            return ()
        return textwrap.wrap(f"{row.part}: {row.why}", max(20, self.width - 2))[:2]

    def _about_missing(self, job: int, part: str) -> Sequence[str]:
        row = next((r for r in self.answer.missing if (r.job, r.part) == (job, part)), None)
        if row is None:
            return ()
        comes = f"the next is due {row.comes:%d %b %Y}" if row.comes else "none is on its way"
        said = f"J-{job} will lack {row.pieces} of {part} on {row.promised:%d %b %Y}; {comes}"
        return (said, row.stands_in) if row.stands_in else (said,)

    def _about_purchase(self, number: int, part: str) -> Sequence[str]:
        row = next((r for r in self.answer.coming if (r[0], r[3]) == (number, part)), None)
        if row is None:
            return ()
        _, supplier, due, _, ordered, left = row
        late = ", LATE" if due < self.answer.today else ""
        return (
            f"{part}: purchase {number} from {supplier}",
            f"{ordered} ordered, {left} still to come; due {due:%d %b %Y}{late}",
        )

    def chosen(self, key: Hashable) -> None:
        match key:
            case ("due", str(supplier), _):
                lines = [row for row in self.answer.due if row.supplier == supplier]
                self.open_form(self._purchase(lines))
            case ("coming", str(number), str(part)):
                self.open_form(receive(self.shop_app, part, int(number)))
            case ("missing", str(number), _):
                self.shop_app.open_sheet(int(number))

    def purchase_number(self) -> int | None:
        """The purchase under the cursor, whose order F12 prints."""
        match self.lines.cursor_key:
            case ("coming", str(number), _):
                return int(number)
        return None

    def action_put_off(self) -> None:
        match self.lines.cursor_key:
            case ("coming", str(number), _):
                due = next(row[2] for row in self.answer.coming if row[0] == int(number))
                self.open_form(put_off(self.shop_app, int(number), due))
            case _:
                self.shop_app.say("no purchase on its way is under the cursor")

    def action_call_off(self) -> None:
        match self.lines.cursor_key:
            case ("coming", str(number), str(part)):
                left = next(r[5] for r in self.answer.coming if (r[0], r[3]) == (int(number), part))
                self.open_form(call_off(self.shop_app, int(number), part, left))
            case _:
                self.shop_app.say("no purchase on its way is under the cursor")

    def action_part(self) -> None:
        from shopdesk.tui.stores.part import PartScreen

        key = self.lines.cursor_key
        if isinstance(key, tuple) and self.is_current:
            self.app.push_screen(PartScreen(str(key[2])))

    def _purchase(self, lines: "list[OrderRow]") -> FormScreen:
        from shopdesk.rules.shop import money

        app, supplier, name = self.shop_app, lines[0].supplier, lines[0].supplier_name
        wanted = tuple((row.part, row.pieces) for row in lines)
        seen = self.answer.newest

        def deed(shop: "Shop", _: dict[str, str]) -> str:
            from shopdesk.desk import purchases

            number = purchases.order(shop, app.person, supplier, wanted, seen=seen)
            lines_said = "1 line" if len(wanted) == 1 else f"{len(wanted)} lines"
            return f"purchase {number} placed with {name}: {lines_said}"

        context = [
            f"{row.pieces:>5} x {row.part:16} {row.description[:30]:30} {money(row.cents):>10}"
            for row in lines
        ]
        return FormScreen(
            f"Order from {name}",
            (),
            deed,
            context=(*context, f"in all {self._total(lines)}"),
            commit="place the purchase",
        )

    def action_close(self) -> None:
        self.app.pop_screen()


def _heading(said: str) -> Row:
    return Row(Text(f" {said}", style="bold"))
