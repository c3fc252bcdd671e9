"""The fields of a calculation, each with its help or with what is wrong with it beside it."""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from rich.text import Text

from shopdesk.errors import BadInput
from shopdesk.tui.columns import fitted
from shopdesk.tui.fields import Fields
from shopdesk.tui.filling import Choice, Field, Filled, shown, taken

if TYPE_CHECKING:
    from shopdesk.desk.calculator import Calculation
    from shopdesk.desk.calculator import Field as Input

Place = tuple[str, int]  # a field's name, and which of its lines
_LINE = "#"
_WIDEST = 44


class Boxes(Fields):
    """A field that takes several entries has a line for each, and an empty one to go on with.

    ``typed`` is what a calculation takes; ``refused`` are sentences by place, set by the screen.
    """

    def __init__(self, calculation: "Calculation") -> None:
        self.inputs = {each.name: each for each in calculation.inputs}
        super().__init__([_asked(each, 1) for each in calculation.inputs])
        self.refused: Mapping[Place, str] = {}
        self.most = len(self._all)

    @property
    def place(self) -> Place:
        """Where the cursor is."""
        return _place(self.here)

    @property
    def said(self) -> str:
        """What is wrong with the field the cursor is in, else its help."""
        refused = self.refused.get(self.place)
        return f"! {refused}" if refused else _help(self.inputs[self.place[0]])

    def typed(self) -> dict[str, str]:
        """The text of every field that has some, entries on lines of their own."""
        found: dict[str, list[str]] = {}
        for filled in self._all:
            text = _meant(filled)
            if text:
                found.setdefault(_place(filled.asked.name)[0], []).append(text)
        return {name: "\n".join(texts) for name, texts in found.items()}

    def lines(self) -> dict[Place, str]:
        """The text of every line that has some."""
        return {_place(f.asked.name): text for f in self._all if (text := _meant(f))}

    def put(self, typed: Mapping[str, str]) -> None:
        """Fills the fields with these texts and empties all others; in each the first sign typed
        takes the place of what is offered."""
        self._all = [
            _filled(each, number, text)
            for name, each in self.inputs.items()
            for number, text in enumerate(_entries(each, typed.get(name, "")), 1)
        ]
        self._grow()
        self._to(0)

    def refuse(self, refused: Mapping[Place, str]) -> None:
        self.refused = refused
        self.refresh()

    def _say(self, filled: Filled) -> None:
        self._grow()
        super()._say(filled)

    def _grow(self) -> None:
        """Keeps one empty line, and not two, at the end of each field that takes several."""
        kept: list[Filled] = []
        for filled in self._all:
            name, number = _place(filled.asked.name)
            kept.append(filled)
            last = not any(_place(f.asked.name) == (name, number + 1) for f in self._all)
            if _several(self.inputs[name]) and last and filled.value.strip():
                kept.append(_filled(self.inputs[name], number + 1, ""))
        here = self._all[self._here] if self._all else None
        while (spare := _spare(kept)) is not None and kept[spare] is not here:
            del kept[spare]
        if len(kept) != len(self._all):
            self._all = kept
            self._here = next((n for n, filled in enumerate(kept) if filled is here), 0)
            self.refresh(layout=True)

    def _step(self, by: int) -> None:
        self._to(self._here + by)

    def _enter(self) -> None:
        """To the next field; from the last to the first."""
        filled = self._all[self._here]
        text = _meant(filled)
        if text != filled.value:
            filled.value, filled.at = text, len(text)
        filled.offered = False
        self._to((self._here + 1) % len(self._all))

    def get_content_height(self, *_: object) -> int:
        return min(len(self._all), self.most)

    def render(self) -> Text:
        height = max(1, self.size.height)
        first = min(max(0, self._here - height + 1), max(0, len(self._all) - height))
        label = max(len(filled.asked.label) for filled in self._all)
        room = max(16, min(_WIDEST, (self.size.width - label - 8) // 2))
        lines = []
        for index, filled in enumerate(self._all[first : first + height], first):
            here = index == self._here
            line = Text(f" {'>' if here else ' '} {filled.asked.label.ljust(label)}  ")
            value = shown(filled, room, here)
            value.truncate(room, pad=True)
            line.append_text(value)
            line.append_text(self._beside(filled, self.size.width - label - room - 8))
            lines.append(line)
        self._mark_more(lines, first)
        return Text("\n", no_wrap=True).join(lines)

    def _beside(self, filled: Filled, room: int) -> Text:
        place = _place(filled.asked.name)
        refused = self.refused.get(place)
        if refused:
            return Text(f" ! {fitted(refused, max(0, room))}", style="bold")
        asked = _help(self.inputs[place[0]]) if place[1] == 1 else ""
        return Text(f"   {fitted(asked, max(0, room))}")

    def _mark_more(self, lines: list[Text], first: int) -> None:
        """Shows at the left edge that there are fields above or below."""
        if first > 0:
            lines[0] = Text("↑").append_text(lines[0][1:])
        if first + len(lines) < len(self._all):
            lines[-1] = Text("↓").append_text(lines[-1][1:])


def _asked(each: "Input", number: int) -> Field:
    label = each.name.replace("-", " ") + (f" {number}" if number > 1 else "")
    return Field(
        f"{each.name}{_LINE}{number}",
        label,
        choices=tuple(Choice(option) for option in each.options),
        optional=True,
    )


def _filled(each: "Input", number: int, text: str) -> Filled:
    asked = _asked(each, number)
    return Filled(asked, text, len(text), asked.choices, offered=bool(text))


def _place(name: str) -> Place:
    base, _, number = name.rpartition(_LINE)
    return base, int(number)


def _several(each: "Input") -> bool:
    return each.repeated or each.kind == "table"


def _entries(each: "Input", text: str) -> Sequence[str]:
    if not _several(each):
        return [" ".join(text.split())]
    return [line for line in text.splitlines() if line.strip()] or [""]


def _spare(kept: Sequence[Filled]) -> int | None:
    """The second of two empty lines at the end of a field, if there are two."""
    for index in range(1, len(kept)):
        before, after = _place(kept[index - 1].asked.name), _place(kept[index].asked.name)
        ends = index + 1 == len(kept) or _place(kept[index + 1].asked.name)[0] != after[0]
        empty = not kept[index - 1].value.strip() and not kept[index].value.strip()
        if before[0] == after[0] and ends and empty:
            return index
    return None


def _meant(filled: Filled) -> str:
    """The text, an option of a few written out."""
    if not filled.choices:
        return filled.value.strip()
    try:
        return taken(filled, -1)
    except BadInput:
        return filled.value.strip()


def _help(each: "Input") -> str:
    if each.options:
        words = "  ".join(f"{number} {word}" for number, word in enumerate(each.options, 1))
        said = f"{words}. {each.help}"
    elif each.kind == "table":
        said = f"Its rows, typed or pasted, or the name of a .csv file. {each.help}"
    else:
        said = each.help
    return f"{said} {each.default} if left empty." if each.default else said
