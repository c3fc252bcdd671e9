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
    COLUMNS = (Column("name", 14), Column("what it gives", 54, share=1))
    BINDINGS = [
        Binding("escape", "back", "Back", id="calculator.back", tooltip="Back to where you were"),
    ]

    def ask(self, shop: "Shop", text: str) -> "Sequence[Calculation]":
        import shopdesk.tui.calculator.form  # noqa: F401 (loaded here, off the keys' thread)
        from shopdesk.desk.calculator import CALCULATIONS

        wanted = text.casefold().split()
        found = [each for each in CALCULATIONS.values() if _fits(each, wanted)]
        return tuple(sorted(found, key=lambda each: not each.name.startswith("-".join(wanted))))

    def rows(self) -> Sequence[Row]:
        return [
            Row(laid(self.COLUMNS, self.width, (each.name, each.title)), each.name)
            for each in self.answer
        ]

    def about(self, key: Hashable | None) -> Sequence[str]:
        from shopdesk.desk.calculator.drawn import DRAWN

        found = next((each for each in self.answer or () if each.name == key), None)
        if found is None:
            return ()
        needed = ", ".join(field.name for field in found.inputs if field.required)
        drawn = "; F8 in its form draws it" if found.name in DRAWN else ""
        return [found.title, f"needs {needed or 'some of its fields, see its help'}{drawn}"]

    def chosen(self, key: Hashable) -> None:
        from shopdesk.tui.calculator.form import CalculationScreen

        if self.is_current:
            self.app.push_screen(CalculationScreen(str(key)))

    def repaint(self) -> None:
        """While one types, the cursor stands on what fits best."""
        super().repaint()
        if self.lines.typing and self.answer:
            self.lines.go(self.answer[0].name)

    def _go_on(self) -> None:
        """Enter behind typed text opens what the cursor is on."""
        key = self.lines.cursor_key
        if key is None:
            super()._go_on()
        else:
            self.lines.clear()
            self.chosen(key)

    def action_back(self) -> None:
        self.dismiss()


def _fits(calculation: "Calculation", words: Sequence[str]) -> bool:
    """Whether all the words stand in its name, its title or its fields' names."""
    fields = " ".join(field.name for field in calculation.inputs)
    about = f"{calculation.name} {calculation.title} {fields}".casefold()
    return all(word in about for word in words)
