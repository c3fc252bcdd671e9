"""The baseline for what people feel: a Textual app with header, footer and a table, no more."""

from textual.app import App, ComposeResult
from textual.widgets import DataTable, Footer, Header

ROWS = 150


class EmptyApp(App[None]):
    TITLE = "empty"
    BINDINGS = [("f10", "quit", "Leave"), ("f2", "bell", "Nothing")]

    def compose(self) -> ComposeResult:
        yield Header()
        yield DataTable(cursor_type="row")
        yield Footer()

    def on_mount(self) -> None:
        table = self.query_one(DataTable)
        table.add_columns("job", "model", "serial", "customer", "gas", "stage", "promised", "who")
        for at in range(ROWS):
            table.add_row(f"J-{at}", "PA-016", f"K0-{at}", "Quarry 0001", "", "vent", "4 Mar", "")
        table.focus()


if __name__ == "__main__":
    EmptyApp().run()
