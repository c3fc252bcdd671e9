"""Use-by days that come: lots on the shelf, and kits at the bench by their earliest lot."""

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding

from shopdesk.tui.columns import Column, laid
from shopdesk.tui.lines import Row
from shopdesk.tui.places import ListScreen

if TYPE_CHECKING:
    from shopdesk.desk.shop import Shop
    from shopdesk.views.expiring import Expiring


@dataclass(frozen=True, slots=True)
class ExpiringSeen:
    rows: "Sequence[Expiring]"
    days: int


class ExpiringScreen(ListScreen):
    HEADING = "Stores: use-by days that come"
    HELP = (
        "Lots whose use-by day is over or comes within the days the shop looks ahead, the soonest "
        "first, with the open jobs that hold pieces of the part; and the kits at the bench that "
        "are not fitted yet, each by its earliest lot. Enter opens the part at the lot, or the "
        "sheet of the kit's job."
    )
    FINDS = "part, lot, bin or job tag"
    OWN_KEYS = "Enter part, or sheet of the kit   F7 Find   Tab Shelf   Esc back"
    EMPTY = " no use-by day comes in that time"
    COLUMNS: ClassVar[tuple[Column, ...]] = (
        Column("use by", 11),
        Column("days", 5, right=True),
        Column("part", 13, share=1),
        Column("lot", 9, share=1),
        Column("pcs", 4, right=True),
        Column("where", 13, share=1),
        Column("held for", 15, share=2),
    )
    BINDINGS = [
        Binding("escape", "close", "Back", id="expiring.back", tooltip="Back to the shelf"),
        Binding("tab", "close", "Shelf", id="expiring.shelf", tooltip="Back to the shelf"),
        Binding(
            "shift+tab",
            "to_count",
            "To count",
            id="expiring.count",
            tooltip="What is to be counted today",
            show=False,
        ),
    ]

    def ask(self, shop: "Shop", text: str) -> ExpiringSeen:
        from shopdesk.views import documents, expiring

        key, today = text.strip().casefold(), shop.clock().astimezone().date()
        with shop.read() as db:
            days = documents.rules(db).use_by_warning_days
            found = expiring.expiring(db, today, days)
        return ExpiringSeen(
            tuple(
                row
                for row in found
                if key in f"{row.part} {row.lot} {row.where} {' '.join(row.jobs)}".casefold()
            ),
            days,
        )

    def rows(self) -> Sequence[Row]:
        return [self._row(row) for row in self.answer.rows]

    def _row(self, row: "Expiring") -> Row:
        cells = (
            f"{row.use_by:%d %b %Y}",
            "OVER" if row.days < 0 else str(row.days),
            row.part,
            row.lot,
            str(row.pieces),
            "ASIDE" if row.quarantined else row.where,
            ", ".join(row.jobs),
        )
        loud = [1] if row.days < 0 else []
        return Row(laid(self.COLUMNS, self.width, cells, loud), (row.part, row.lot, row.where))

    def paint_find(self) -> None:
        super().paint_find()
        if self.answer is not None and not self.lines.text and not self.lines.typing:
            over = sum(1 for row in self.answer.rows if row.days < 0)
            comes = len(self.answer.rows) - over
            self.say_found(f"{over} over, {comes} within {self.answer.days} days")

    def about(self, key: Hashable | None) -> Sequence[str]:
        row = self._at(key)
        if row is None:
            return ()
        when = f"{-row.days} days over" if row.days < 0 else f"{row.days} days left"
        source = f", by {row.use_by_source}" if row.use_by_source else ""
        return (
            f"{row.part}  {row.description}, lot {row.lot}: {row.pieces} pieces, {row.where}",
            f"use by {row.use_by:%d %b %Y}, {when}{source}",
        )

    def chosen(self, key: Hashable) -> None:
        from shopdesk.tui.stores.part import PartScreen

        row = self._at(key)
        if row is not None and row.where.startswith("kit of "):
            self.shop_app.open_sheet(int(row.where.removeprefix("kit of J-")))
        elif row is not None:
            self.app.push_screen(PartScreen(row.part, row.lot))

    def _at(self, key: Hashable | None) -> "Expiring | None":
        return next((r for r in self.answer.rows if (r.part, r.lot, r.where) == key), None)

    def action_close(self) -> None:
        self.app.pop_screen()

    def action_to_count(self) -> None:
        from shopdesk.tui.stores.counting import CountingScreen

        if self.is_current:
            self.app.switch_screen(CountingScreen())
