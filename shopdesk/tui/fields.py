"""Fields to fill in, one a line, typed through in order: Enter goes to the next, the last commits.

One widget takes all keys in the order typed, so that scans and pastes lose none between fields.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import dropwhile

from rich.text import Text
from textual import events
from textual.message import Message
from textual.widget import Widget

from shopdesk.errors import BadInput
from shopdesk.tui.filling import Choice, Field, Filled, edited, matching, shown, taken
from shopdesk.tui.lines import LONGEST_PASTE

LONGEST = 400
_EDITS = frozenset({"backspace", "ctrl+u", "delete", "home", "end", "left", "right"})
_TAKEN = _EDITS | {"enter", "up", "down", "tab", "shift+tab"}
_PLACES = frozenset(f"f{n}" for n in range(1, 13)) - {"f10"}


class Fields(Widget, can_focus=True):
    """The fields and their cursor.

    While they are held, keys wait and are taken afterwards: from the last Enter, and from Enter in
    a field named in ``pauses``, until the screen calls ``release``. Where ``places`` wait, so do
    function keys from the last Enter on: nothing else would take them before the form is gone.
    """

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
    class Replaced(Message):
        """The first sign typed took the place of what was offered in a field."""

        fields: "Fields"
        name: str

    @dataclass
    class Committed(Message):
        """Enter in the last field, all of them taken; keys are held."""

        fields: "Fields"

    def __init__(
        self,
        fields: Sequence[Field],
        *,
        pauses: frozenset[str] = frozenset(),
        places: bool = False,
    ) -> None:
        super().__init__()
        self.pauses = pauses
        self.places = places
        self._all = [
            Filled(f, f.value, len(f.value), tuple(f.choices), bool(f.value) and not f.secret)
            for f in fields
        ]
        self._here = 0
        self._held: list[tuple[str, str | None]] | None = None
        self._committed = False
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
        return matching(self._all[self._here]) if self._all else ()

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

    def fill(self, name: str, value: str, *, offered: bool = False) -> None:
        """Puts a value in a field; one that is ``offered`` gives way to the first sign typed."""
        filled = self._named(name)
        filled.value, filled.at, filled.offered = value, len(value), offered
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
        if self._held is None:
            self._held = []

    def release(self, *, drop: bool = False) -> None:
        """Takes the keys that came meanwhile, or drops them."""
        held, self._held, self._committed = self._held or [], None, False
        for index, (key, sign) in enumerate(held):
            if drop:
                return
            if not self.take(key, sign):  # the screen's, as if it were pressed now
                for later in held[index:]:
                    self.app.post_message(events.Key(*later))
                return
            if self._held is not None:
                self._held.extend(held[index + 1 :])
                return

    def ahead(self) -> list[events.Key]:
        """The keys that came meanwhile, given up to whoever takes them next."""
        held, self._held, self._committed = self._held or [], None, False
        return [events.Key(key, sign) for key, sign in held]

    def ahead_from_place(self) -> list[events.Key]:
        """The same from the first function key on: what came before it was meant for this form."""
        return list(dropwhile(lambda event: event.key not in _PLACES, self.ahead()))

    def on_key(self, event: events.Key) -> None:
        if self.take(event.key, event.character if event.is_printable else None):
            event.stop()
            event.prevent_default()

    def on_paste(self, event: events.Paste) -> None:
        event.stop()
        text = event.text[:LONGEST_PASTE]  # no form takes more, and each sign takes its time
        for sign in text.replace("\r\n", "\n").replace("\r", "\n"):
            self.take("enter" if sign == "\n" else sign, sign if sign.isprintable() else None)

    def take(self, key: str, sign: str | None) -> bool:
        """Does what a key says; False where it is left to the screen."""
        if self._held is not None and (
            sign is not None or key in _TAKEN or (self._committed and key in _PLACES)
        ):
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
        if filled.offered and sign is not None:
            filled.value, filled.at = "", 0
            self.post_message(self.Replaced(self, filled.asked.name))
        filled.offered = False
        text, at = filled.value, filled.at
        if sign is not None:
            if len(text) < LONGEST:
                filled.value, filled.at = text[:at] + sign + text[at:], at + 1
        elif (found := edited(text, at, key)) is not None:
            filled.value, filled.at = found
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
            self._commit()
            return
        if not self._settle(self._here):
            return
        self._all[self._here].offered = False
        name = self.here
        if name in self.pauses:
            self.hold()
        if self._here < len(self._all) - 1:
            self._to(self._here + 1)
            self.post_message(self.Passed(self, name))
        elif all(self._settle(index) for index in range(len(self._all))):
            self.post_message(self.Passed(self, name))
            self._commit()

    def _commit(self) -> None:
        self.hold()
        self._committed = self.places
        self.post_message(self.Committed(self))

    def _settle(self, index: int) -> bool:
        """Brings a field to what is recorded of it; says what is wrong with it and goes there."""
        filled = self._all[index]
        try:
            text = taken(filled, self.mark if index == self._here else -1)
        except BadInput as fault:
            if index != self._here:
                self._to(index)
            # what fits nothing fits no better with more signs behind it: the first one replaces it
            filled.offered = bool(filled.choices and filled.value and not matching(filled))
            self.refresh()
            self.post_message(self.Complained(self, str(fault)))
            return False
        if text != filled.value:
            filled.value, filled.at = text, len(text)
            self._say(filled)
        return True

    def _named(self, name: str) -> Filled:
        return next(filled for filled in self._all if filled.asked.name == name)

    def _say(self, filled: Filled) -> None:
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
            line.append_text(shown(filled, room, here))
            lines.append(line)
        return Text("\n", no_wrap=True).join(lines)
