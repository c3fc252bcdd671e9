"""The papers that make sense where one stands: read on the screen, kept as PDF, sent to the
printer. A failing printer blocks nothing."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from rich.text import Text
from textual.app import ComposeResult
from textual.binding import Binding
from textual.screen import Screen

from shopdesk.errors import ShopError
from shopdesk.tui.columns import plain
from shopdesk.tui.frame import Keys, Notice, Top, app_of
from shopdesk.tui.lines import Lines, Row

if TYPE_CHECKING:
    from shopdesk.desk.shop import Shop
    from shopdesk.paper.making import Made
    from shopdesk.rules.shop import Printing

OF_JOB = {
    "u": ("tag", "Unit tag"),
    "s": ("pressure-tag", "State tag"),
    "j": ("job-sheet", "Job sheet"),
    "q": ("quote", "Quote"),
    "k": ("pick-list", "picK list"),
    "l": ("packing-slip", "sLip"),
    "c": ("certificate", "Certificate"),
}
OF_SHOP = {"h": ("handover", "Hand-over"), "n": ("count-sheet", "couNt sheet")}
OF_ORDER = {"o": ("order", "Order")}
OF_COUNT = {"d": ("count-due", "Due count")}
_ROW = 76  # signs of keys beside each other on the narrowest terminal


class PapersScreen(Screen[None]):
    """``number`` is the job whose papers they are, ``order`` the purchase, ``bins`` what is to be
    counted, ``due`` where what is due today stands on the screen; ``paper`` the one shown first."""

    HELP = (
        "On a job: U its unit tag, S the tag that says what pressure the unit holds, J the open "
        "lines for work on paper, Q the quote, K what to fetch from the shelf, L the packing slip, "
        "C the certificate (after release). Anywhere: H the shift hand-over; in the stores N the "
        "count sheet, on what is to be counted D the sheet of it, on a purchase O the order. Up "
        "and Down read on. Enter keeps the one shown as a PDF, P sends it to the shop's printer; "
        "where that fails, the file is kept all the same."
    )
    BINDINGS = [
        *(
            Binding(
                f"{letter},{letter.upper()}",
                f"paper('{name}')",
                title,
                id=f"papers.{name}",
                tooltip=title,
            )
            for letter, (name, title) in {**OF_JOB, **OF_SHOP, **OF_ORDER, **OF_COUNT}.items()
        ),
        Binding("p,P", "send", "Print", id="papers.print", tooltip="Send it to the printer"),
        Binding(
            "enter", "keep", "Keep", id="papers.keep", tooltip="Keep it as a PDF", priority=True
        ),
        Binding("escape", "close", "Back", id="papers.back", tooltip="Back to where one was"),
    ]

    def __init__(
        self,
        number: int | None = None,
        *,
        order: int | None = None,
        bins: str | None = None,
        due: bool = False,
    ) -> None:
        super().__init__()
        self.number, self.order, self.bins, self.due = number, order, bins, due
        self.here = self._here()
        self.paper = next(iter(self.here.values()))[0]
        self.working = False

    def _here(self) -> dict[str, tuple[str, str]]:
        """The papers offered, by letter, the likeliest first."""
        found = dict(OF_JOB) if self.number is not None else {}
        if self.order is not None:
            found |= OF_ORDER
        if self.due:
            found |= OF_COUNT
        if self.bins is not None:
            found |= {"n": OF_SHOP["n"]}
        return found | {"h": OF_SHOP["h"]}

    def compose(self) -> ComposeResult:
        yield Top(f"J-{self.number}: papers" if self.number is not None else "Papers")
        yield Lines(id="lines", empty=" no such paper yet")
        yield Notice()
        rows = [""]
        for letter, (_, title) in self.here.items():
            key = f"{letter.upper()} {title}"
            if len(rows[-1]) + len(key) > _ROW:
                rows.append("")
            rows[-1] += f"  {key}" if rows[-1] else key
        titles = "\n ".join(rows)
        yield Keys(f"{titles}\n Enter keep as PDF  P Print  Esc Back")

    def on_mount(self) -> None:
        self.query_one(Lines).focus()
        self.action_paper(self.paper)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Only what is offered here has a key."""
        return action != "paper" or parameters[0] in {name for name, _ in self.here.values()}

    def action_paper(self, paper: str) -> None:
        """Shows another paper as text."""
        self.paper = paper

        def show(made: "Made") -> None:
            if not self.is_attached:
                return
            rows = [Row(Text(plain(line)), key=n) for n, line in enumerate(made.text.splitlines())]
            self.query_one(Lines).show(rows)
            app_of(self).say(f"{self._title()}: Up and Down read on")

        def failed(fault: ShopError) -> None:
            if self.is_attached:
                self.query_one(Lines).show([])
                app_of(self).complain(fault)

        app_of(self).look("paper", self._making(), show, failed)

    def _title(self) -> str:
        from shopdesk.paper.making import NAMES

        return f"{NAMES[self.paper]} of J-{self.number}" if self._of_job() else NAMES[self.paper]

    def _of_job(self) -> bool:
        return self.paper in {name for name, _ in OF_JOB.values()}

    def _making(self) -> "Callable[[Shop], Made]":
        """What makes the paper shown, in a lane."""
        paper, number, of_job = self.paper, self.number, self._of_job()
        about = str(self.order or "") if paper == "order" else self.bins or ""

        def make(shop: "Shop") -> "Made":
            from shopdesk.paper import making

            if of_job and number is not None:
                return making.of_job(shop, paper, number)
            return making.of_shop(shop, paper, about)

        return make

    def action_keep(self) -> None:
        self._write("keeping", lambda path, _: f"kept as {path}")

    def action_send(self) -> None:
        self._write("printing", printed)

    def _write(self, doing: str, then: "Callable[[Path, Printing], str]") -> None:
        """One at a time: a second press while the printer is being waited for prints no second."""
        if self.working:
            return
        make, app = self._making(), app_of(self)
        self.working = True
        app.say(f"… {doing} the {self._title()}")

        def work(shop: "Shop") -> str:
            from shopdesk.paper import printer
            from shopdesk.views import documents

            made = make(shop)
            with shop.read() as db:
                printing = documents.rules(db).printing
            return then(printer.keep(made.pdf(printing.letter), f"{made.name}.pdf"), printing)

        def done(said: str) -> None:
            self.working = False
            app.say(said)

        def failed(fault: ShopError) -> None:
            self.working = False
            app.complain(fault)

        app.look("printing", work, done, failed)

    def action_close(self) -> None:
        self.dismiss()


def printed(path: Path, printing: "Printing") -> str:
    """Sends the kept file to the printer. Raises BadInput with where the file is."""
    from shopdesk.paper import printer

    return printer.send(path, printing.command)
