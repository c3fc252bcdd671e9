"""What is to be counted today, how every count stands, and its forms: blind entry, approval."""

import textwrap
from collections.abc import Hashable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING, ClassVar

from rich.text import Text
from textual.binding import Binding

from shopdesk.tui.columns import Column, day, laid
from shopdesk.tui.filling import NO, YES, Choice, Field
from shopdesk.tui.forms import FormScreen
from shopdesk.tui.lines import Row
from shopdesk.tui.office.people import MANAGER
from shopdesk.tui.places import ListScreen
from shopdesk.tui.stores.deeds import pieces_of

if TYPE_CHECKING:
    from shopdesk.desk.shop import Shop
    from shopdesk.tui.app import ShopApp
    from shopdesk.views.counting import CountRow, Due, ToCount
    from shopdesk.views.lists import Scan

_RECENT = 30


@dataclass(frozen=True, slots=True)
class CountingSeen:
    due: "Due"
    recent: "Sequence[CountRow]"
    today: date


class CountingScreen(ListScreen):
    HEADING = "Stores: to be counted"
    HELP = (
        "What waits for a second count or for a manager, then the lots that are over their day by "
        "the class of their part, by bin; beneath them the newest counts and what came of them. "
        "Enter on a lot, or a scan of any lot, opens its count: what lies there, without what the "
        "ledger says. Beyond what the class allows somebody else counts again; beyond it again a "
        "manager approves it in place. F12 prints the sheet."
    )
    FINDS = "bin, part or lot"
    OWN_KEYS = "Enter count, or approve   F7 Find   F12 Count sheet   Tab Use by   Esc back"
    EMPTY = " nothing is to be counted today"
    COLUMNS: ClassVar[tuple[Column, ...]] = (
        Column("bin", 7),
        Column("part", 13, share=1),
        Column("description", 13, share=2),
        Column("lot", 9, share=1),
        Column("cl", 2),
        Column("last", 9),
        Column("stands", 18, share=1),
    )
    BINDINGS = [
        Binding("escape", "close", "Back", id="counting.back", tooltip="Back to the shelf"),
        Binding("tab", "use_by", "Use by", id="counting.use_by", tooltip="Use-by days that come"),
        Binding(
            "shift+tab",
            "close",
            "Shelf",
            id="counting.shelf",
            tooltip="Back to the shelf",
            show=False,
        ),
    ]
    count_bins = ""
    count_due = True

    def ask(self, shop: "Shop", text: str) -> CountingSeen:
        from shopdesk.views import counting

        key, now = text.strip().casefold(), shop.clock()
        with shop.read() as db:
            due = counting.due(db, now)
            recent = counting.counts(db, most=_RECENT)
        lots = tuple(lot for lot in due.lots if key in f"{lot.bin} {lot.part} {lot.lot}".casefold())
        return CountingSeen(
            replace(due, lots=lots),
            [row for row in recent if key in f"{row.part} {row.lot}".casefold()],
            now.astimezone().date(),
        )

    def rows(self) -> Sequence[Row]:
        seen, rows = self.answer, []
        waits = [lot for lot in seen.due.lots if lot.state.startswith("to be ") and lot.by]
        late = [lot for lot in seen.due.lots if lot not in waits]
        if waits:
            rows.append(_heading("Begun: waits for somebody else, or for a manager"))
            rows += [self._lot(lot) for lot in waits]
        if late:
            by = f" ({seen.due.counting.rule})" if seen.due.counting else ""
            more = f"; {seen.due.more} more wait" if seen.due.more else ""
            rows.append(_heading(f"Due today{by}{more}"))
            rows += [self._lot(lot) for lot in late]
        if seen.due.counting is None:
            rows.append(
                _heading("The shop's rules say nothing of counting: [counting] in shop.toml")
            )
        elif not seen.due.lots:
            rows.append(_heading("Nothing is to be counted today"))
        if seen.recent:
            rows.append(_heading("The newest counts"))
            rows += [self._counted(row, n) for n, row in enumerate(seen.recent)]
        return rows

    def _lot(self, lot: "ToCount") -> Row:
        last = day(lot.last, self.answer.today) if lot.last else "-"
        state = f"to recount, not {lot.by}" if lot.state == "to be recounted" else lot.state
        cells = (lot.bin, lot.part, lot.description, lot.lot, lot.count_class, last, state)
        return Row(
            laid(self.COLUMNS, self.width, cells, [6] if lot.state else []),
            ("lot", lot.part, lot.lot, lot.state),
        )

    def _counted(self, row: "CountRow", n: int) -> Row:
        local = row.at.astimezone()
        when = f"{local:%H:%M}" if local.date() == self.answer.today else day(local.date(), local)
        cells = ("", row.part, f"{row.counted} by {row.by}", row.lot, row.count_class, when)
        said = f"{row.outcome} {row.counted - row.expected:+d}"
        stands = said if row.outcome == "adjusted" else row.outcome
        return Row(laid(self.COLUMNS, self.width, (*cells, stands)), ("counted", n))

    def about(self, key: Hashable | None) -> Sequence[str]:
        match key:
            case ("counted", int(n)) if self.answer is not None and n < len(self.answer.recent):
                row = self.answer.recent[n]
                said = f"{row.step} of lot {row.lot} by {row.by}, {row.at.astimezone():%d %b %H:%M}"
                return (said, f"{row.outcome}{': ' if row.reason else ''}{row.reason}")
            case ("lot", str(part), str(lot), str()):
                found = next(
                    (x for x in self.answer.due.lots if (x.part, x.lot) == (part, lot)), None
                )
                if found is None:
                    return ()
                aside = ", IN QUARANTINE" if found.quarantined else ""
                aside += f", matched set {found.matched_set}" if found.matched_set else ""
                return (f"{part}  {found.description}, lot {lot}{aside}", self._counts_as(found))
        return ()

    def _counts_as(self, lot: "ToCount") -> str:
        counting = self.answer.due.counting
        ruled = counting is not None and lot.count_class
        every = f" every {counting.of(lot.count_class).every_days} days" if ruled else ""
        counted = f"last counted by {lot.by}" if lot.by else "not counted since it came"
        return f"class {lot.count_class or '-'}{every}, {counted}"

    def chosen(self, key: Hashable) -> None:
        match key:
            case ("lot", str(part), str(lot), "to be approved"):
                begin_approval(self, part, lot)
            case ("lot", str(part), str(lot), str()):
                begin(self, part, lot)

    def scanned(self, scan: "Scan") -> None:
        if scan.kind == "lot":
            begin(self, scan.name, scan.code)
        else:
            super().scanned(scan)

    def action_close(self) -> None:
        self.app.pop_screen()

    def action_use_by(self) -> None:
        from shopdesk.tui.stores.expiring import ExpiringScreen

        if self.is_current:
            self.app.switch_screen(ExpiringScreen())


def _heading(said: str) -> Row:
    return Row(Text(f" {said}", style="bold"))


def begin(screen: ListScreen, part: str, lot: str) -> None:
    """Opens a lot's count; what moves from now on is told to whoever enters it."""

    def newest(shop: "Shop") -> int:
        from shopdesk.views import counting

        with shop.read() as db:
            return counting.newest_move(db, part, lot)

    screen.read(newest, lambda seen: screen.open_form(_count(screen.shop_app, part, lot, seen)))


def _count(app: "ShopApp", part: str, lot: str, seen: int) -> FormScreen:
    told: list[int] = []

    def deed(shop: "Shop", given: dict[str, str]) -> str:
        from shopdesk.desk import counting

        typed, _, time = given["pieces"].partition(" at ")
        pieces = pieces_of(typed.strip())
        at = None if told else counting.moment_of(time, shop.clock())
        known = told[-1] if told else seen
        try:
            done = counting.count(
                shop, app.person, part, lot, pieces, given["reason"], seen=known, at=at
            )
        except counting.Meanwhile as fault:
            told.append(fault.newest)
            raise
        return f"lot {lot}: {counting.told(done, pieces)}"

    return FormScreen(
        f"Count lot {lot} of {part}",
        (
            Field(
                "pieces",
                "Pieces counted",
                hint="what lies in the bin, 0 for none; from a sheet with its time: 12 at 10:05",
            ),
            Field(
                "reason",
                "Reason",
                hint="where it differs from the ledger: what happened",
                optional=True,
            ),
        ),
        deed,
        context=("Count first. What the ledger says is not told before a count stands.",),
    )


def begin_approval(screen: ListScreen, part: str, lot: str) -> None:
    """Opens what a manager has to decide: the count, the recount, the difference."""

    def steps(shop: "Shop") -> "tuple[list[CountRow], str]":
        from shopdesk.views import counting, documents

        with shop.read() as db:
            found = [row for row in counting.counts(db, part=part, most=_RECENT) if row.lot == lot]
            currency = documents.rules(db).currency
        first = next((n for n, row in enumerate(found) if row.step == "count"), len(found))
        return found[: first + 1][::-1], currency

    screen.read(steps, lambda told: screen.open_form(_approve(part, lot, *told)))


def _approve(part: str, lot: str, steps: "Sequence[CountRow]", currency: str) -> FormScreen:
    from shopdesk.rules.shop import money

    def deed(shop: "Shop", given: dict[str, str]) -> str:
        from shopdesk.desk import counting

        yes = given["answer"] == "approve"
        difference = counting.approve(shop, given["signs"], part, lot, given["reason"], yes=yes)
        return (
            f"lot {lot}: {difference:+d}, approved" if yes else f"lot {lot} is to be counted anew"
        )

    context = [
        f"{row.by} counted {row.counted} where the ledger said {row.expected}, "
        f"{row.at.astimezone():%d %b %H:%M}"
        for row in steps
    ]
    if steps:
        difference = steps[-1].counted - steps[-1].expected
        worth = money(difference * steps[-1].unit_cost_cents, currency)
        context.append(
            f"To be taken over: {difference:+d} pieces, {worth}. What moved since stays."
        )
    return FormScreen(
        f"Approve the count of lot {lot} of {part}",
        (
            Field(
                "answer",
                "Answer",
                choices=(
                    Choice("approve", "the ledger is put right by the recount", YES),
                    Choice("anew", "nothing is changed; the lot is counted once more", NO),
                ),
            ),
            Field("reason", "Reason", hint="why the ledger is wrong, or what is doubtful"),
            MANAGER,
        ),
        deed,
        context=[line for said in context for line in textwrap.wrap(said, 76)],
    )
