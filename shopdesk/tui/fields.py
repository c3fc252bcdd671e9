"""Fields to fill in, one a line, typed through in order: Enter goes to the next, the last commits.

One widget takes all keys in the order typed, so that scans and pastes lose none between fields.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from rich.cells import cell_len
from rich.text import Text
from textual import events
from textual.message import Message
from textual.widget import Widget

from shopdesk.errors import BadInput
from shopdesk.tui.columns import fitted, plain

LONGEST = 400


@dataclass(frozen=True, slots=True)
class Choice:
    """One of the answers a field takes: what is recorded, and what it stands for."""

    code: str
    name: str = ""


@dataclass(frozen=True, slots=True)
class Field:
    """``choices`` may be chosen by number, by typing, or with the arrow keys; other text is
    refused unless ``free``. ``secret`` hides what stands behind the first space."""

    name: str
    label: str
    value: str = ""
    hint: str = ""
    secret: bool = False
    choices: Sequence[Choice] = ()
    free: bool = False
    optional: bool = False


@dataclass
class _Filled:
    asked: Field
    value: str
    at: int
    choices: Sequence[Choice]


class Fields(Widget, can_focus=True):
    """The fields and their cursor. While ``hold`` is on, keys wait and are taken afterwards."""

    DEFAULT_CSS = "Fields { height: auto; }"

    @dataclass
    class Changed(Message):
        """What is typed in a field, or the field the cursor is in, is another now."""

        fields: "Fields"
        name: str
        value: str

    @dataclass
    class Complained(Message):
        """A field's text cannot be taken; the cursor stays in it."""

        fields: "Fields"
        sentence: str

    @dataclass
    class Passed(Message):
        """Enter in a field that was taken."""

        fields: "Fields"
        name: str

    @dataclass
    class Committed(Message):
        """Enter in the last field, all of them taken."""

        fields: "Fields"

    def __init__(self, fields: Sequence[Field]) -> None:
        super().__init__()
        self._all = [_Filled(f, f.value, len(f.value), tuple(f.choices)) for f in fields]
        self._here = 0
        self._held: list[tuple[str, str | None]] | None = None
        self.mark = -1

    @property
    def values(self) -> dict[str, str]:
        return {filled.asked.name: filled.value.strip() for filled in self._all}

    @property
    def asked(self) -> Sequence[Field]:
        return tuple(filled.asked for filled in self._all)

    @property
    def secrets(self) -> frozenset[str]:
        return frozenset(f.name for f in self.asked if f.secret)

    @property
    def here(self) -> str:
        """The name of the field the cursor is in."""
        return self._all[self._here].asked.name if self._all else ""

    @property
    def hint(self) -> str:
        return self._all[self._here].asked.hint if self._all else ""

    def matching(self) -> Sequence[Choice]:
        """The choices of the field the cursor is in that fit what is typed."""
        return _matching(self._all[self._here]) if self._all else ()

    def is_choice(self, name: str) -> bool:
        """Whether the field holds just one of its choices."""
        filled = self._named(name)
        return any(choice.code == filled.value.strip() for choice in filled.choices)

    def offer(self, name: str, choices: Sequence[Choice]) -> None:
        """Gives a field its choices."""
        filled = self._named(name)
        if filled.choices != choices:
            filled.choices = choices
            self.mark = -1

    def fill(self, name: str, value: str) -> None:
        filled = self._named(name)
        filled.value, filled.at = value, len(value)
        self._say(filled)

    def forget_secrets(self) -> None:
        """Drops every PIN; the initials before it stay."""
        for filled in self._all:
            if filled.asked.secret:
                head = filled.value.split(" ")[0]
                filled.value = f"{head} " if head else ""
                filled.at = len(filled.value)
        self.refresh()

    def go(self, name: str) -> None:
        """Puts the cursor in the field with this name."""
        self._here = next(i for i, f in enumerate(self._all) if f.asked.name == name)
        self.mark = -1
        self._say(self._all[self._here])

    def hold(self) -> None:
        self._held = []

    def release(self, *, drop: bool = False) -> None:
        """Takes the keys that came meanwhile, or drops them."""
        held, self._held = self._held or [], None
        for index, (key, sign) in enumerate(held):
            if drop:
                return
            self.take(key, sign)
            if self._held is not None:
                self._held.extend(held[index + 1 :])
                return

    def on_key(self, event: events.Key) -> None:
        if self.take(event.key, event.character if event.is_printable else None):
            event.stop()
            event.prevent_default()

    def on_paste(self, event: events.Paste) -> None:
        event.stop()
        for sign in event.text.replace("\r\n", "\n").replace("\r", "\n"):
            self.take("enter" if sign == "\n" else sign, sign if sign.isprintable() else None)

    def take(self, key: str, sign: str | None) -> bool:
        """Does what a key says; False where it is left to the screen."""
        if self._held is not None and (sign is not None or key in _TAKEN):
            self._held.append((key, sign))
            return True
        if key == "enter":
            self._enter()
        elif key in ("up", "down"):
            self._step(-1 if key == "up" else 1)
        elif key in ("tab", "shift+tab"):
            self._to(self._here + (1 if key == "tab" else -1))
        elif not self._all:
            return False
        elif key in _EDITS or sign is not None:
            self._edit(key, sign)
        else:
            return False
        return True

    def _edit(self, key: str, sign: str | None) -> None:
        filled = self._all[self._here]
        text, at = filled.value, filled.at
        if sign is not None:
            if len(text) < LONGEST:
                filled.value, filled.at = text[:at] + sign + text[at:], at + 1
        elif key == "backspace":
            filled.value, filled.at = text[: max(0, at - 1)] + text[at:], max(0, at - 1)
        elif key == "delete":
            filled.value = text[:at] + text[at + 1 :]
        else:
            edge = {"home": 0, "end": len(text), "left": at - 1, "right": at + 1}[key]
            filled.at = min(max(edge, 0), len(text))
        if filled.value != text:
            self.mark = -1
            self._say(filled)
        self.refresh()

    def _step(self, by: int) -> None:
        """Up and down go through a field's choices where it has some, else to the next field."""
        fitting = self.matching()
        if fitting and 0 <= self.mark + by < len(fitting):
            self.mark += by
        elif self.mark == 0 and by < 0:
            self.mark = -1
        elif self.mark < 0 or not fitting:
            self._to(self._here + by)
            return
        self._say(self._all[self._here])

    def _to(self, index: int) -> None:
        if self._all:
            self._here = min(max(index, 0), len(self._all) - 1)
            self.mark = -1
            self._say(self._all[self._here])

    def _enter(self) -> None:
        if not self._all:
            self.post_message(self.Committed(self))
            return
        if not self._settle(self._here):
            return
        name = self.here
        if self._here < len(self._all) - 1:
            self._to(self._here + 1)
            self.post_message(self.Passed(self, name))
        elif all(self._settle(index) for index in range(len(self._all))):
            self.post_message(self.Passed(self, name))
            self.post_message(self.Committed(self))

    def _settle(self, index: int) -> bool:
        """Brings a field to what is recorded of it; says what is wrong with it and goes there."""
        filled = self._all[index]
        try:
            taken = _taken(filled, self.mark if index == self._here else -1)
        except BadInput as fault:
            if index != self._here:
                self._to(index)
            self.post_message(self.Complained(self, str(fault)))
            return False
        if taken != filled.value:
            filled.value, filled.at = taken, len(taken)
            self._say(filled)
        return True

    def _named(self, name: str) -> _Filled:
        return next(filled for filled in self._all if filled.asked.name == name)

    def _say(self, filled: _Filled) -> None:
        self.refresh()
        self.post_message(self.Changed(self, filled.asked.name, filled.value))

    def get_content_height(self, *_: object) -> int:
        return len(self._all)

    def render(self) -> Text:
        label = max((len(filled.asked.label) for filled in self._all), default=0)
        room = max(8, self.size.width - label - 6)
        lines = []
        for index, filled in enumerate(self._all):
            here = index == self._here
            line = Text(f" {'>' if here else ' '} {filled.asked.label.ljust(label)}  ")
            line.append_text(_shown(filled, room, here))
            lines.append(line)
        return Text("\n", no_wrap=True).join(lines)


_EDITS = frozenset({"backspace", "delete", "home", "end", "left", "right"})
_TAKEN = _EDITS | {"enter", "up", "down", "tab", "shift+tab"}


def _shown(filled: _Filled, room: int, here: bool) -> Text:
    value = plain(filled.value)
    if filled.asked.secret:
        head, space, pin = value.partition(" ")
        value = head + space + "•" * len(pin)
    if not here:
        name = _name_of(filled)
        return Text(fitted(f"{value}   {name}" if name else value, room))
    before, behind = value[: filled.at], value[filled.at :]
    while before and cell_len(before) > room - 2:
        before = before[1:]
    shown = Text(before)
    shown.append(behind[:1] or " ", style="reverse")
    shown.append(fitted(behind[1:], max(0, room - cell_len(before) - 1)))
    return shown


def _name_of(filled: _Filled) -> str:
    return next((c.name for c in filled.choices if c.code == filled.value), "")


def _matching(filled: _Filled) -> Sequence[Choice]:
    text = filled.value.strip().casefold()
    if not text or filled.asked.free or any(choice.code.casefold() == text for choice in filled.choices):
        return filled.choices
    numbered = _by_number(filled, text)
    if numbered is not None:
        return (numbered,)
    return tuple(
        choice
        for choice in filled.choices
        if text in choice.code.casefold() or text in choice.name.casefold()
    )


def _by_number(filled: _Filled, text: str) -> Choice | None:
    if text.isascii() and text.isdigit() and len(text) < 4 and not filled.asked.free:
        number = int(text)
        if 1 <= number <= len(filled.choices):
            return filled.choices[number - 1]
    return None


def _taken(filled: _Filled, mark: int) -> str:
    """What is recorded for the text typed. Raises BadInput."""
    asked, text = filled.asked, filled.value.strip()
    fitting = _matching(filled)
    if 0 <= mark < len(fitting):
        return fitting[mark].code
    if not text:
        if asked.optional:
            return ""
        hint = f"; {asked.hint}" if asked.hint else ""
        raise BadInput(f"{asked.label}: nothing is typed{hint}")
    if not filled.choices or asked.secret:
        return filled.value if asked.secret else text
    exact = [choice for choice in filled.choices if choice.code.casefold() == text.casefold()]
    numbered = _by_number(filled, text)
    begun = [c for c in fitting if c.code.casefold().startswith(text.casefold())]
    for found in (exact, [numbered] if numbered else [], fitting, begun):
        if len(found) == 1 and not (asked.free and found is not exact):
            return found[0].code
    if asked.free:
        return text
    said = "nothing fits" if not fitting else f"{len(fitting)} fit; type more or use the arrow keys"
    raise BadInput(f"{asked.label}: read {text[:40]!r}: {said}")
