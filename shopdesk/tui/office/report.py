"""A report of the office on the screen: Enter opens what a line is made of, F8 draws."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from rich.text import Text
from textual.app import ComposeResult
from textual.binding import Binding
from textual.screen import Screen

from shopdesk.errors import ShopError
from shopdesk.tui.columns import Column, laid, plain, titles
from shopdesk.tui.frame import Keys, Notice, Said, Top, app_of
from shopdesk.tui.lines import Lines, Row

if TYPE_CHECKING:
    from shopdesk.desk.reports.made import Line, Part, Report
    from shopdesk.desk.shop import Shop

LETTERS = {
    "m": ("morning", "Morning"),
    "d": ("promises", "Dates"),
    "b": ("backlog", "Backlog"),
    "l": ("load", "Load"),
    "q": ("quality", "Quality"),
    "r": ("returns", "Returns"),
    "t": ("drift", "drifT"),
    "n": ("money", "moNey"),
    "s": ("calibration", "Scores"),
}
STEP = 0.05  # of the work, between two words of it


class ReportScreen(Screen[None]):
    """Esc goes back to what it was opened from."""

    HELP = (
        "One of the office's reports. Enter opens what the line under the cursor is made of: a "
        "job's sheet, another report, or a drawing. F8 draws the report, P prints it. The letters "
        "go to the other reports. Leaving stops a forecast that is still being reckoned."
    )
    BINDINGS = [
        Binding("escape", "back", "Back", id="report.back", tooltip="Back to where one was"),
        Binding("f8", "draw", "Draw", id="report.draw", tooltip="The report as a drawing"),
        Binding("p,P", "print", "Print", id="report.print", tooltip="Keep it as PDF and print it"),
        Binding("x,X", "export", "Export", id="report.export", tooltip="Keep it as CSV files"),
        *(
            Binding(
                f"{letter},{letter.upper()}",
                f"go('{name}')",
                label,
                id=f"report.{name}",
                tooltip=f"The report: {name}",
            )
            for letter, (name, label) in LETTERS.items()
        ),
    ]

    def __init__(self, name: str) -> None:
        super().__init__()
        self.report_name = name
        self.report: Report | None = None
        self.behind: dict[int, Line] = {}
        self.gone = False

    def compose(self) -> ComposeResult:
        self.top = Top("Office")
        yield self.top
        self.said = Said(most=4)
        yield self.said
        self.lines = Lines(empty=" … reckoning")
        yield self.lines
        yield Notice()
        yield Keys(self.own_keys())

    def own_keys(self) -> str:
        others = " ".join(f"{key.upper()} {label}" for key, (_, label) in LETTERS.items())
        return f"Enter opens it  F8 Draw  P Print  X Export  Esc Back\n {others}"

    def on_mount(self) -> None:
        self.lines.focus()
        self.reload()

    def on_unmount(self) -> None:
        self.gone = True

    def on_resize(self) -> None:
        self.repaint()

    def job_number(self) -> int | None:
        """The job under the cursor, whose papers F12 shows."""
        line = self.line()
        return line.opens if line is not None and isinstance(line.opens, int) else None

    def line(self) -> "Line | None":
        key = self.lines.cursor_key
        return self.behind.get(key) if isinstance(key, int) else None

    def reload(self) -> None:
        name, app, told = self.report_name, app_of(self), [0.0]

        def tell(share: float) -> bool:
            if share >= told[0] + STEP:
                told[0] = share
                app.call_from_thread(self.tell, share)
            return not self.gone

        def ask(shop: "Shop") -> "Report":
            from shopdesk.desk import reports

            return reports.make(shop, name, tell)

        def made(report: "Report") -> None:
            self.report = report
            if self.is_attached:
                self.query_one(Notice).say("")
                self.repaint()

        app.look(f"report:{id(self)}", ask, made, self.failed)

    def tell(self, share: float) -> None:
        if self.is_attached:
            self.query_one(Notice).say(f"… forecasting, {share:.0%}; Esc stops it")

    def failed(self, fault: ShopError) -> None:
        if self.is_attached and not self.gone:
            self.lines.empty = " nothing to show"
            self.lines.show(())
            app_of(self).complain(fault)

    def repaint(self) -> None:
        report = self.report
        if report is None:
            return
        self.top.heading = f"Office: {report.title}"
        self.top.repaint()
        self.said.paint(Text("\n".join(f" {plain(line)}" for line in report.said)))
        self.behind.clear()
        rows: list[Row] = []
        for part in report.parts:
            rows += self.part_rows(part)
        self.lines.empty = " nothing to show"
        self.lines.show(rows)

    def part_rows(self, part: "Part") -> list[Row]:
        """A heading, the columns' titles, the lines."""
        from shopdesk.desk.reports.made import shown

        assert self.report is not None
        columns = tuple(Column(c.title, c.width, c.share, c.right) for c in part.columns)
        width, today = max(20, self.size.width - 2), self.report.today
        rows: list[Row] = []
        if part.title:
            rows.append(Row(Text(f" {plain(part.title)}", style="bold")))
        if not part.lines:
            return [*rows, Row(Text(f"   {part.empty}"))]
        if any(column.title for column in columns):
            heads = titles(columns, width)
            heads.stylize("underline")
            rows.append(Row(heads))
        for line in part.lines:
            cells: Sequence[str] = [
                shown(cell, column.kind, today)
                for cell, column in zip(line.cells, part.columns, strict=True)
            ]
            key = len(self.behind)
            self.behind[key] = line
            rows.append(Row(laid(columns, width, cells), key))
        return rows

    def on_lines_chosen(self, _: Lines.Chosen) -> None:
        line = self.line()
        if line is None or line.opens is None:
            app_of(self).say("nothing more stands behind this line")
        elif isinstance(line.opens, int):
            app_of(self).open_sheet(line.opens)
        elif isinstance(line.opens, str):
            self.go(line.opens)
        else:
            from shopdesk.tui.drawings.screen import DrawingScreen

            self.app.push_screen(DrawingScreen(line.opens))

    def go(self, name: str) -> None:
        if self.is_current:
            self.app.push_screen(ReportScreen(name))

    def action_go(self, name: str) -> None:
        """Another report takes this one's place."""
        if name != self.report_name and self.is_current:
            self.app.switch_screen(ReportScreen(name))

    def action_draw(self) -> None:
        from shopdesk.tui.drawings.screen import DrawingScreen

        if self.report is None:
            return
        if self.report.drawing is None:
            app_of(self).say("there is nothing to draw in this report")
        elif self.is_current:
            self.app.push_screen(DrawingScreen(self.report.drawing))

    def action_print(self) -> None:
        report, app = self.report, app_of(self)
        if report is not None:
            app.look("paper", lambda shop: printed(shop, report), app.say)

    def action_export(self) -> None:
        report, app = self.report, app_of(self)
        if report is not None:
            app.look("paper", lambda _: exported(report), app.say)

    def action_back(self) -> None:
        self.dismiss()


def printed(shop: "Shop", report: "Report") -> str:
    """Keeps the report as PDF in the papers folder and sends it to the printer."""
    from shopdesk.paper import printer
    from shopdesk.paper import report as papers
    from shopdesk.views import documents

    with shop.read() as db:
        printing = documents.rules(db).printing
    document = papers.pdf(report, letter=printing.letter)
    return printer.send(printer.keep(document, _name(report) + ".pdf"), printing.command)


def exported(report: "Report") -> str:
    """Keeps each part that has lines as CSV in the papers folder."""
    from shopdesk.desk.reports.made import as_csv
    from shopdesk.paper.printer import keep

    parts = [part for part in report.parts if part.lines] or report.parts[:1]
    paths = [keep(as_csv(part).encode(), f"{_name(report)}-{part.name}.csv") for part in parts]
    return f"exported: {', '.join(path.name for path in paths)} in {paths[0].parent}"


def _name(report: "Report") -> str:
    plain = "".join(sign if sign.isalnum() or sign in "-_" else "-" for sign in report.name)
    return f"{plain}-{report.today.isoformat()}"
