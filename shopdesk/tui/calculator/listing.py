"""Every calculation, found by typing."""

from collections.abc import Hashable, Sequence
from typing import TYPE_CHECKING

from textual.binding import Binding

from shopdesk.tui.columns import Column, laid
from shopdesk.tui.lines import Row
from shopdesk.tui.places import ListScreen

if TYPE_CHECKING:
    from shopdesk.desk.calculator import Calculation
    from shopdesk.desk.shop import Shop


class CalculatorScreen(ListScreen):
    HEADING = "Calculator"
    HELP = (
        "The bench's sums. Type a word of what you want and Enter opens its form; what you typed "
        "there last time stands in it again. A scanned tag opens its sheet."
    )
    OWN_KEYS = "Enter open   any letter finds   Esc Back"
    FINDS = "calculation, or a word of it"
    EMPTY = " no calculation is known"
    COLUMNS = (Column("name", 14), Column("what it gives", 48, share=1), Column("", 5))
    BINDINGS = [
        Binding("escape", "back", "Back", id="calculator.back", tooltip="Back to where you were"),
    ]

    def ask(self, shop: "Shop", text: str) -> "Sequence[Calculation]":
        from shopdesk.desk.calculator import CALCULATIONS

        words = text.casefold().split()
        return tuple(
            each for each in CALCULATIONS.values() if all(word in _about(each) for word in words)
        )

    def rows(self) -> Sequence[Row]:
        from shopdesk.desk.calculator.drawn import DRAWN

        return [
            Row(
                laid(
                    self.COLUMNS,
                    self.width,
                    (each.name, each.title, "drawn" if each.name in DRAWN else ""),
                ),
                each.name,
            )
            for each in self.answer
        ]

    def about(self, key: Hashable | None) -> Sequence[str]:
        found = next((each for each in self.answer or () if each.name == key), None)
        if found is None:
            return ()
        needed = ", ".join(field.name for field in found.inputs if field.required)
        other = ", ".join(field.name for field in found.inputs if not field.required)
        return [f"needs {needed}" if needed else "needs some of these", f"takes {other}"][
            : 2 if other else 1
        ]

    def chosen(self, key: Hashable) -> None:
        from shopdesk.tui.calculator.form import CalculationScreen

        if self.is_current:
            self.app.push_screen(CalculationScreen(str(key)))

    def action_back(self) -> None:
        self.dismiss()


def _about(calculation: "Calculation") -> str:
    """What a calculation is found by."""
    fields = " ".join(field.name for field in calculation.inputs)
    return f"{calculation.name} {calculation.title} {fields}".casefold()
