"""Fields with what they offer beneath them, and the sentence on the field the cursor is in."""

from collections.abc import Sequence

from rich.text import Text

from shopdesk.tui.columns import fitted
from shopdesk.tui.fields import Fields
from shopdesk.tui.filling import Choice
from shopdesk.tui.lines import Lines, Row


class Candidates(Lines):
    """The choices of one field. Keys stay with the fields; only the mark moves here."""

    def __init__(self) -> None:
        super().__init__()
        self.can_focus = False

    def offer(self, fields: Fields, below: Sequence[Row] = ()) -> None:
        """Shows what fits the field, numbered, with the marked one marked."""
        choices = fields.matching()
        width = min(24, max((len(choice.code) for choice in choices), default=0))
        rows = [Row(Text(f"  {_line(n, choice, width)}"), n) for n, choice in enumerate(choices)]
        self.show([*rows, *below], at=fields.mark if fields.mark >= 0 else None)
        if fields.mark < 0:
            self.unmark()


def _line(index: int, choice: Choice, width: int) -> str:
    return f"{index + 1:>3}  {fitted(choice.code, width)}  {fitted(choice.name, 60).rstrip()}"
