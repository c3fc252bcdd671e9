"""The stores: parts found as you type, what is on hand, promised and on its way."""

from collections.abc import Hashable, Sequence
from typing import TYPE_CHECKING, Any, ClassVar

from textual.binding import Binding

from shopdesk.tui.columns import Column, laid
from shopdesk.tui.lines import Row
from shopdesk.tui.places import ListScreen
from shopdesk.tui.stores.deeds import receive

if TYPE_CHECKING:
    from shopdesk.desk.shop import Shop
    from shopdesk.views.stores import PartRow


class StoresScreen(ListScreen):
    """No letters act here: part and lot numbers begin with any letter, so all of them search."""

    HEADING = "Stores: the shelf"
    HELP = (
        "Type or scan a part, its description, size or bin. Free is what could be issued today and "
        "is promised to no job: nothing over its day, nothing in quarantine. Enter opens the part: "
        "its lots, the one that goes first on top, and who holds pieces. Tab goes to what is to be "
        "counted today, once more to what nears its use-by day; Shift+Tab the other way round."
    )
    FINDS = "part, description, size, bin or lot"
    OWN_KEYS = "Enter lots   F7 Find   F8 Orders   F9 Receive   Tab To count   Shift+Tab Use by"
    EMPTY = " no such part"
    COLUMNS: ClassVar[tuple[Column, ...]] = (
        Column("part", 14, share=1),
        Column("description", 24, share=3),
        Column("bin", 6, share=1),
        Column("hand", 4, right=True),
        Column("held", 4, right=True),
        Column("free", 4, right=True),
        Column("due", 4, right=True),
        Column("least", 5, right=True),
    )
    BINDINGS = [
        Binding(
            "f8",
            "orders",
            "Order list",
            id="stores.orders",
            tooltip="What has to be ordered, by supplier",
        ),
        Binding("tab", "to_count", "To count", id="stores.count", tooltip="To be counted today"),
        Binding(
            "shift+tab", "use_by", "Use by", id="stores.use_by", tooltip="Use-by days that come"
        ),
        Binding(
            "f9", "receive", "Receive", id="stores.receive", tooltip="Put a delivery on the shelf"
        ),
    ]

    def ask(self, shop: "Shop", text: str) -> Any:
        from shopdesk.views import stores

        with shop.read() as db:
            return tuple(stores.parts(db, shop.clock().astimezone().date(), text))

    def rows(self) -> Sequence[Row]:
        return [Row(self._line(part), part.number) for part in self.answer]

    def _line(self, part: "PartRow") -> Any:
        cells = (
            part.number,
            part.description,
            part.bin,
            str(part.on_hand),
            str(part.reserved),
            str(part.available),
            str(part.on_order),
            str(part.minimum),
        )
        return laid(self.COLUMNS, self.width, cells, [5] if part.available <= 0 else [])

    def about(self, key: Hashable | None) -> Sequence[str]:
        part = next((part for part in self.answer if part.number == key), None)
        if part is None:
            return ()
        size = f"   size {part.dash} {part.compound}".rstrip() if part.dash else ""
        short = part.available + part.on_order < part.minimum
        return (
            f"{part.number}  {part.description}{size}",
            f"{part.on_hand} on hand, {part.reserved} held for jobs, {_spoiled(part)}"
            f"{part.available} free, {part.on_order} due, {part.minimum} to be held"
            + (": TO ORDER" if short else ""),
        )

    def chosen(self, key: Hashable) -> None:
        from shopdesk.tui.stores.part import PartScreen

        self.app.push_screen(PartScreen(str(key)))

    @property
    def count_bins(self) -> str:
        """The shelf under the cursor, whose count sheet F12 prints: A1- of bin A1-04."""
        here = self.lines.cursor_key
        part = next((part for part in self.answer or () if part.number == here), None)
        shelf, dash, _ = part.bin.partition("-") if part else ("", "", "")
        return shelf + dash

    def action_orders(self) -> None:
        from shopdesk.tui.stores.orders import OrdersScreen

        if self.is_current:
            self.app.push_screen(OrdersScreen())

    def action_to_count(self) -> None:
        from shopdesk.tui.stores.counting import CountingScreen

        if self.is_current:
            self.app.push_screen(CountingScreen())

    def action_use_by(self) -> None:
        from shopdesk.tui.stores.expiring import ExpiringScreen

        if self.is_current:
            self.app.push_screen(ExpiringScreen())

    def action_receive(self) -> None:
        key = self.lines.cursor_key
        self.open_form(receive(self.shop_app, str(key) if key else ""))


def _spoiled(part: "PartRow") -> str:
    return f"{part.spoiled} not to be issued, " if part.spoiled else ""
