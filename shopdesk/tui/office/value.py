"""What the shop's money lies in today; Enter goes to the open jobs or to the cores."""

from collections.abc import Hashable, Sequence
from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding

from shopdesk.tui.columns import Column, laid
from shopdesk.tui.lines import Row
from shopdesk.tui.places import ListScreen

if TYPE_CHECKING:
    from shopdesk.desk.shop import Shop
    from shopdesk.views.costs import InWork, Position


class ValueScreen(ListScreen):
    HEADING = "Office: what the shop's money lies in"
    HELP = (
        "Stock at what each lot cost, purchases not yet received, open jobs at what they have cost "
        "so far, and the deposits and credits for cores; what the shop owes is negative. Enter on "
        "work in progress lists the jobs, on a line about cores the cores."
    )
    FINDS = "word"
    OWN_KEYS = "Enter the jobs or cores behind the line   Esc back"
    COLUMNS: ClassVar[tuple[Column, ...]] = (
        Column("what", 22),
        Column("count", 6, right=True),
        Column("amount", 13, right=True),
        Column("", 30, share=1),
    )
    BINDINGS = [Binding("escape", "close", "Back", id="value.back", tooltip="Back to the office")]

    def ask(self, shop: "Shop", text: str) -> "Sequence[Position]":
        from shopdesk.views import costs

        with shop.read() as db:
            found = costs.position(db, shop.clock().astimezone().date())
        return tuple(one for one in found if text.strip().casefold() in one.what)

    def rows(self) -> Sequence[Row]:
        from shopdesk.rules.shop import money

        return [
            Row(
                laid(
                    self.COLUMNS,
                    self.width,
                    (one.what, str(one.count), money(one.cents), one.note),
                ),
                one.what,
            )
            for one in self.answer
        ]

    def chosen(self, key: Hashable) -> None:
        from shopdesk.tui.office.cores import CoresScreen

        if not self.is_current:
            return
        if key == "work in progress":
            self.app.push_screen(InWorkScreen())
        elif "core" in str(key):
            self.app.push_screen(CoresScreen())

    def action_close(self) -> None:
        self.app.pop_screen()


class InWorkScreen(ListScreen):
    HEADING = "Office: work in progress"
    HELP = (
        "Open jobs with what they have cost so far, the dearest first. Enter opens a job's money."
    )
    FINDS = "tag, model or customer"
    OWN_KEYS = "Enter the job's money   F7 Find   Esc back"
    EMPTY = " no job is open"
    COLUMNS: ClassVar[tuple[Column, ...]] = (
        Column("tag", 7),
        Column("model", 7, share=1),
        Column("customer", 11, share=3),
        Column("stage", 9),
        Column("parts", 9, right=True),
        Column("labour", 9, right=True),
        Column("other", 8, right=True),
        Column("quoted", 9, right=True),
    )
    BINDINGS = [Binding("escape", "close", "Back", id="work.back", tooltip="Back to the values")]

    def ask(self, shop: "Shop", text: str) -> "Sequence[InWork]":
        from shopdesk.views import costs

        key = text.strip().casefold()
        with shop.read() as db:
            found = costs.in_work(db)
        return tuple(
            one for one in found if key in f"{one.job} {one.model} {one.customer}".casefold()
        )

    def rows(self) -> Sequence[Row]:
        from shopdesk.rules.shop import money

        rows = []
        for one in self.answer:
            figures = (one.parts_cents, one.labour_cents, one.other_cents, one.quoted_cents)
            cells = (one.job, one.model, one.customer, one.stage, *map(money, figures))
            over = [5] if one.quoted_cents and one.cost_cents > one.quoted_cents else []
            rows.append(Row(laid(self.COLUMNS, self.width, cells, over), one.job))
        return rows

    def about(self, key: Hashable | None) -> Sequence[str]:
        from shopdesk.rules.shop import money

        one = next((x for x in self.answer if x.job == key), None)
        if one is None:
            return ()
        over = one.quoted_cents and one.cost_cents > one.quoted_cents
        said = ": MORE than quoted" if over else ""
        return (f"{one.job} has cost {money(one.cost_cents)} so far{said}",)

    def chosen(self, key: Hashable) -> None:
        from shopdesk.tui.office.money import JobMoneyScreen

        if self.is_current:
            self.app.push_screen(JobMoneyScreen(int(str(key).removeprefix("J-"))))

    def action_close(self) -> None:
        self.app.pop_screen()
