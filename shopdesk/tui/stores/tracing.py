"""Where a code leads: a lot to its jobs, a job to its lots, a part to the kits that ask for it."""

from collections.abc import Hashable, Sequence
from typing import TYPE_CHECKING, ClassVar

from rich.text import Text
from textual.binding import Binding

from shopdesk.tui.columns import Column, laid
from shopdesk.tui.lines import Row
from shopdesk.tui.places import ListScreen

if TYPE_CHECKING:
    from shopdesk.desk.shop import Shop
    from shopdesk.views.lists import Scan
    from shopdesk.views.trace import Fitted, Place, Trace, Use


class TraceScreen(ListScreen):
    """No letters act here: what is typed or scanned is traced next."""

    HEADING = "Stores: trace"
    HELP = (
        "A lot leads to the jobs and serials that have pieces of it, a job to its lots, a part to "
        "the kits that ask for it and the jobs that have it. Enter follows the row under the "
        "cursor; typing or scanning another lot, job tag or part traces that."
    )
    FINDS = "lot, job tag or part to trace"
    OWN_KEYS = "Enter follow   F7 Type another   Esc back"
    EMPTY = " no pieces of it are in any job"
    COLUMNS: ClassVar[tuple[Column, ...]] = (
        Column("lot", 9, share=1),
        Column("part", 13, share=1),
        Column("pcs", 3, right=True),
        Column("job", 7),
        Column("serial", 12, share=1),
        Column("customer", 16, share=3),
        Column("left on", 10),
    )
    FITTED: ClassVar[tuple[Column, ...]] = (
        Column("part", 13, share=1),
        Column("description", 19, share=3),
        Column("lot", 9, share=1),
        Column("pcs", 3, right=True),
        Column("cured", 6),
        Column("use by", 10),
        Column("certificate", 11, share=1),
    )
    BINDINGS = [
        Binding("escape", "close", "Back", id="trace.back", tooltip="Back to where you were"),
    ]

    def __init__(self, code: str) -> None:
        super().__init__()
        self.code = code

    def ask(self, shop: "Shop", text: str) -> "Trace":
        from shopdesk.views import trace

        with shop.read() as db:
            return trace.of(db, self.code)

    def repaint(self) -> None:
        super().repaint()
        if self.answer is not None and self.answer.kind == "job":
            self.paint_titles(self.FITTED)

    def rows(self) -> Sequence[Row]:
        places = [self._place(place) for place in self.answer.places]
        fitted = [self._fitted(row) for row in self.answer.fitted]
        moved = [Row(Text(f" moved {said}"), ("moved", said)) for said in self.answer.moved]
        return [*places, *fitted, *(self._use(use) for use in self.answer.uses), *moved]

    def _place(self, place: "Place") -> Row:
        where = f" at {place.position}" if place.position else ""
        said = f" {place.model} rev {place.revision} asks for {place.quantity}{where}"
        return Row(Text(f"{said}: {place.policy}"), ("model", place.model, place.kit_line))

    def _fitted(self, row: "Fitted") -> Row:
        use_by = "no limit" if row.use_by is None else row.use_by.isoformat()
        cells = (
            row.part,
            row.description,
            row.lot,
            str(row.pieces),
            row.cured,
            use_by,
            row.certificate,
        )
        return Row(laid(self.FITTED, self.width, cells), ("lot", row.lot, row.part))

    def _use(self, use: "Use") -> Row:
        left = "in house" if use.left_on is None else use.left_on.isoformat()
        cells = (
            use.lot,
            use.part,
            str(use.pieces),
            use.job,
            use.serial,
            use.customer,
            left,
        )
        return Row(laid(self.COLUMNS, self.width, cells), ("job", use.job, use.lot))

    def paint_find(self) -> None:
        super().paint_find()
        if self.answer is not None and not self.lines.text and not self.lines.typing:
            self.find_bar.update(Text(f" {self.answer.said}", no_wrap=True, overflow="ellipsis"))

    def about(self, key: Hashable | None) -> Sequence[str]:
        row = next((f for f in self.answer.fitted if ("lot", f.lot, f.part) == key), None)
        if row is not None:
            instead = f"in place of {row.stands_in_for}" if row.stands_in_for else ""
            mate = f"matched set {row.matched_set}" if row.matched_set else ""
            said = ", ".join(one for one in (row.origin, instead, mate) if one)
            return (f"{row.pieces} x {row.part} of lot {row.lot}: {said}",) if said else ()
        use = next((u for u in self.answer.uses if ("job", u.job, u.lot) == key), None)
        if use is None:
            return ()
        return (
            f"{use.job}  {use.model} serial {use.serial}, {use.customer}",
            f"{use.pieces} of lot {use.lot} ({use.part}) issued on {use.issued_on.isoformat()}"
            + (f", in place of {use.stands_in_for}" if use.stands_in_for else "")
            + (f", matched set {use.matched_set}" if use.matched_set else ""),
        )

    def chosen(self, key: Hashable) -> None:
        if isinstance(key, tuple) and key[0] in ("job", "lot"):
            self._follow(str(key[1]))

    def scanned(self, scan: "Scan") -> None:
        if scan.kind in ("job", "lot", "part"):
            self._follow(scan.code)
        else:
            super().scanned(scan)

    def _follow(self, code: str) -> None:
        if self.is_current and code != self.code:
            self.app.push_screen(TraceScreen(code))

    def action_close(self) -> None:
        self.app.pop_screen()
