"""One part: its lots in the order they go, who holds pieces, what may stand in for it."""

from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, ClassVar

from rich.text import Text
from textual.binding import Binding

from shopdesk.tui.columns import Column, laid
from shopdesk.tui.lines import Row
from shopdesk.tui.places import ListScreen
from shopdesk.tui.stores import deeds
from shopdesk.tui.stores.counting import begin
from shopdesk.tui.stores.deeds import receive

if TYPE_CHECKING:
    from shopdesk.desk.calculator.curves import Drawing
    from shopdesk.desk.shop import Shop
    from shopdesk.rules.interchange import Interchange
    from shopdesk.rules.shop import Harvest
    from shopdesk.tui.forms import FormScreen
    from shopdesk.views.offers import Offers
    from shopdesk.views.stores import Holder, LotRow, PartRow


@dataclass(frozen=True, slots=True)
class PartSeen:
    part: "PartRow | None"
    lots: "Sequence[LotRow]"
    holders: "Sequence[Holder]"
    others: "Sequence[Interchange]"
    today: date


class PartScreen(ListScreen):
    HEADING = "Stores: one part"
    HELP = (
        "The lots of one part, the one to be used first on top, with the cure date, the day by "
        "which rubber may last be fitted and the standard that says so; then the jobs that hold "
        "pieces. Enter on a job opens its sheet. T shows which jobs and serials have pieces of the "
        "lot under the cursor; with no lot there, of the part. W draws what jobs drew each "
        "month and says why the part is or is not on the order list. P: what suppliers ask. "
        "M moves one lot, B them all. I shows what may stand in for the part and for what it may, "
        "proposes it, answers it, holds it for a job that is short. O takes in what the customer "
        "of a job brought for it, U a used part out of a core: neither is ever on the shelf. N "
        "makes the lot and lots of other parts one matched set: they stay together in all things, "
        "until N on one of them takes the set apart."
    )
    LETTERS = "rktwsqgbpuomin"
    FINDS = "job tag, lot or part"
    OWN_KEYS = (
        "R Receive K Count S Scrap Q Aside G Back B Bin T Trace W Why P Prices"
        "\n M Move lot O Own U Used I Interchange N Set F7 Find Esc Back"
    )
    EMPTY = " no lot on the shelf and nobody holds any"
    COLUMNS: ClassVar[tuple[Column, ...]] = (
        Column("lot", 12, share=1),
        Column("pieces", 6, right=True),
        Column("cured", 7),
        Column("use by", 17, share=1),
        Column("certificate", 13, share=1),
        Column("by", 12, share=3),
    )
    BINDINGS = [
        Binding("escape", "close", "Back", id="part.back", tooltip="Back to where you were"),
        Binding(
            "r,R",
            "receive",
            "Receive",
            id="part.receive",
            tooltip="Put a delivery of this part on the shelf",
        ),
        Binding(
            "t,T",
            "trace",
            "Trace",
            id="part.trace",
            tooltip="Which jobs and serials have pieces of this lot",
        ),
        Binding(
            "w,W",
            "why",
            "Why",
            id="part.why",
            tooltip="Why it is or is not to be ordered, with its demand drawn",
        ),
        Binding("s,S", "scrap", "Scrap", id="part.scrap", tooltip="Scrap pieces of the lot"),
        Binding(
            "q,Q",
            "aside",
            "Quarantine",
            id="part.aside",
            tooltip="Put the lot into quarantine, or let it out",
        ),
        Binding(
            "g,G",
            "give_back",
            "Give back",
            id="part.give_back",
            tooltip="Put pieces of the lot back that a job did not use",
        ),
        Binding(
            "p,P", "prices", "Prices", id="part.prices", tooltip="What suppliers ask, by quantity"
        ),
        Binding(
            "b,B",
            "bin",
            "Bin",
            id="part.bin",
            tooltip="The part, all its lots, to another bin",
        ),
        Binding(
            "m,M",
            "transfer",
            "Move lot",
            id="part.transfer",
            tooltip="This lot to another bin",
        ),
        Binding(
            "o,O",
            "bring",
            "Own",
            id="part.bring",
            tooltip="Take in what the customer of a job brought for it",
        ),
        Binding(
            "u,U",
            "harvest",
            "Used",
            id="part.harvest",
            tooltip="Take in a used part out of a scrapped or exchange core",
        ),
        Binding(
            "n,N",
            "match",
            "Set",
            id="part.match",
            tooltip="Make the lot and others one matched set, or take its set apart",
        ),
        Binding(
            "i,I",
            "interchange",
            "Interchange",
            id="part.interchange",
            tooltip="What may stand in for it, and for what it may",
        ),
        Binding("k,K", "count", "Count", id="part.count", tooltip="Count the lot under the cursor"),
    ]

    def __init__(self, number: str, lot: str = "") -> None:
        super().__init__()
        self.number = number
        self.lot = lot

    def ask(self, shop: "Shop", text: str) -> PartSeen:
        from shopdesk.views import interchange, stores

        today = shop.clock().astimezone().date()
        with shop.read() as db:
            part = stores.part(db, today, self.number)
            lots, holders = stores.lots_of(db, self.number), stores.holders(db, self.number)
            others = [one for one in interchange.every(db, self.number) if one.open]
        key = text.strip().casefold()
        return PartSeen(
            part,
            tuple(lot for lot in lots if key in lot.number.casefold()),
            tuple(holder for holder in holders if key in f"j-{holder.job}"),
            tuple(one for one in others if key in f"{one.part} {one.stand_in}".casefold()),
            today,
        )

    def repaint(self) -> None:
        super().repaint()
        if self.lot and self.answer is not None:
            self.lines.go(("lot", self.lot))
            self.lot = ""

    def rows(self) -> Sequence[Row]:
        rows = [self._lot_row(lot) for lot in self.answer.lots]
        for holder in self.answer.holders:
            instead = f", in place of {holder.stands_in_for}" if holder.stands_in_for else ""
            said = Text(f" held for J-{holder.job}: {holder.pieces} pieces{instead}")
            rows.append(Row(said, ("job", holder.job)))
        rows += [self._other_row(one) for one in self.answer.others]
        return rows

    def _other_row(self, one: "Interchange") -> Row:
        if one.part == self.number:
            other, said = one.stand_in, f"{one.stand_in} may stand in for it"
        else:
            other, said = one.part, f"may stand in for {one.part}"
        where = f" in {one.where}" if one.only_in else ""
        waits = "" if one.stands == "approved" else " IS PROPOSED, not approved"
        text = f" {said}{where}: {one.source}{waits}"
        return Row(Text(text, no_wrap=True), ("part", other))

    def _lot_row(self, lot: "LotRow") -> Row:
        over = lot.use_by is not None and lot.use_by < self.answer.today
        use_by = "no limit" if lot.use_by is None else f"{lot.use_by:%d %b %Y}"
        cells = (
            lot.number,
            str(lot.on_hand),
            lot.cured,
            use_by + (" ASIDE" if lot.quarantined else " OVER" if over else ""),
            lot.bin if lot.origin else lot.certificate,
            ", ".join(said for said in (lot.of_set, lot.origin) if said) or lot.use_by_source,
        )
        return Row(
            laid(self.COLUMNS, self.width, cells, [3] if over or lot.quarantined else []),
            ("lot", lot.number),
        )

    def paint_find(self) -> None:
        super().paint_find()
        part = self.answer.part if self.answer is not None else None
        if part is not None and not self.lines.text and not self.lines.typing:
            self.say_found(
                f"{part.number}  {part.description}   bin {part.bin or 'not said'}   "
                f"{part.on_hand} on hand, {part.available} free{self._beside()}"
            )

    def _beside(self) -> str:
        pieces = sum(lot.on_hand for lot in self.answer.lots if lot.origin)
        return f", {pieces} not the shelf's" if pieces else ""

    def about(self, key: Hashable | None) -> Sequence[str]:
        lot = next((lot for lot in self.answer.lots if ("lot", lot.number) == key), None)
        if lot is None:
            return ()
        source = f", by {lot.use_by_source}" if lot.use_by_source else ""
        until = "no storage limit" if lot.use_by is None else f"use by {lot.use_by:%d %b %Y}"
        aside = ", IN QUARANTINE" if lot.quarantined else ""
        lies = f", bin {lot.bin}" if lot.bin else ""
        return (
            f"lot {lot.number}: {lot.on_hand} piece{'' if lot.on_hand == 1 else 's'}{aside}{lies}, "
            f"certificate {lot.certificate or 'none'}" + (f", {lot.origin}" if lot.origin else ""),
            f"{lot.of_set} with {lot.mates or 'nothing yet'}"
            if lot.set_number
            else f"cured {lot.cured or 'not said'}: {until}{source}",
        )

    def chosen(self, key: Hashable) -> None:
        if isinstance(key, tuple) and key[0] == "job":
            self.shop_app.open_sheet(int(key[1]))
        elif isinstance(key, tuple) and key[0] == "part" and self.is_current:
            self.app.push_screen(PartScreen(str(key[1])))

    def action_close(self) -> None:
        self.app.pop_screen()

    def action_receive(self) -> None:
        self.open_form(receive(self.shop_app, self.number))

    def action_count(self) -> None:
        key = self.lines.cursor_key
        if isinstance(key, tuple) and key[0] == "lot":
            begin(self, self.number, str(key[1]))
        else:
            self.shop_app.say("no lot is under the cursor")

    def action_scrap(self) -> None:
        self._of_lot(lambda lot: deeds.scrap(self.shop_app, self.number, lot))

    def action_aside(self) -> None:
        self._of_lot(lambda lot: deeds.put_aside(self.shop_app, self.number, lot))

    def action_give_back(self) -> None:
        self._of_lot(lambda lot: deeds.give_back(self.shop_app, lot))

    def action_bin(self) -> None:
        self.open_form(deeds.move_bin(self.shop_app, self.number))

    def action_transfer(self) -> None:
        self._of_lot(lambda lot: deeds.transfer(self.shop_app, self.number, lot))

    def action_match(self) -> None:
        self._of_lot(lambda lot: deeds.match(self.shop_app, self.number, lot))

    def action_interchange(self) -> None:
        from shopdesk.tui.stores.interchange import InterchangeScreen

        if self.is_current:
            self.app.push_screen(InterchangeScreen(self.number))

    def action_bring(self) -> None:
        self.open_form(deeds.bring(self.shop_app, self.number))

    def action_harvest(self) -> None:
        def rules(shop: "Shop") -> "Harvest":
            from shopdesk.views import documents

            with shop.read() as db:
                return documents.rules(db).harvest

        self.read(rules, lambda of: self.open_form(deeds.harvest(self.shop_app, self.number, of)))

    def _of_lot(self, form: "Callable[[LotRow], FormScreen]") -> None:
        if not self.is_read():
            return
        key = self.lines.cursor_key
        lot = next((x for x in self.answer.lots if ("lot", x.number) == key), None)
        if lot is None:
            self.shop_app.say("no lot is under the cursor")
        else:
            self.open_form(form(lot))

    def action_prices(self) -> None:
        def offers(shop: "Shop") -> "Offers":
            from shopdesk.views import offers

            with shop.read() as db:
                return offers.of_part(db, self.number)

        def known(found: "Offers") -> None:
            self.open_form(deeds.prices(self.shop_app, self.number, found))

        self.read(offers, known)

    def action_why(self) -> None:
        """Asks in a lane; what comes is drawn if this screen still stands."""

        def asked(shop: "Shop") -> "Drawing | None":
            from shopdesk.tui.stores.demand import drawing
            from shopdesk.views import ordering

            today = shop.clock().astimezone().date()
            with shop.read() as db:
                found = ordering.advice_for(db, self.number, today)
                months = ordering.demand_by_month(db, self.number, today)
            return None if found is None else drawing(*found, months)

        self.shop_app.look("advice", asked, self._drawn)

    def _drawn(self, drawing: "Drawing | None") -> None:
        from shopdesk.tui.drawings.screen import DrawingScreen

        if drawing is None:
            self.shop_app.say("no supplier is known for it: nothing can be advised")
        elif self.is_current:
            self.app.push_screen(DrawingScreen(drawing))

    def action_trace(self) -> None:
        from shopdesk.tui.stores.tracing import TraceScreen

        key = self.lines.cursor_key
        code = str(key[1]) if isinstance(key, tuple) and key[0] == "lot" else self.number
        if self.is_current:
            self.app.push_screen(TraceScreen(code))
