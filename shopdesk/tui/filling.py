"""What one field holds: its text, its choices, what is recorded of it, how it is shown."""

from collections.abc import Sequence
from dataclasses import dataclass

from rich.cells import cell_len
from rich.text import Text

from shopdesk.errors import BadInput
from shopdesk.tui.columns import fitted, plain


@dataclass(frozen=True, slots=True)
class Choice:
    """One of the answers a field takes: what is recorded, what it stands for, and what else says
    so."""

    code: str
    name: str = ""
    also: tuple[str, ...] = ()


YES, NO = ("y", "yes"), ("n", "no")


@dataclass(frozen=True, slots=True)
class Field:
    """``choices`` may be chosen by number, by typing, or with the arrow keys; other text is
    refused unless ``free``. Where not ``complete``, a beginning stays what it is. ``secret`` hides
    what stands behind the first space."""

    name: str
    label: str
    value: str = ""
    hint: str = ""
    secret: bool = False
    choices: Sequence[Choice] = ()
    free: bool = False
    complete: bool = True
    optional: bool = False


@dataclass
class Filled:
    asked: Field
    value: str
    at: int
    choices: Sequence[Choice]
    offered: bool = False  # put there from a draft: the first sign typed takes its place


def edited(text: str, at: int, key: str) -> tuple[str, int] | None:
    """The text and where one stands in it after a key that takes signs away or moves; None for any
    other key."""
    before, behind = text[:at], text[at:]
    match key:
        case "backspace":
            return before[:-1] + behind, max(0, at - 1)
        case "delete":
            return before + behind[1:], at
        case "ctrl+u":
            return behind, 0
        case "ctrl+k":
            return before, at
        case "ctrl+w":
            kept = "".join(before.rstrip().rpartition(" ")[:2])
            return kept + behind, len(kept)
        case "left" | "right":
            return text, min(max(0, at + (1 if key == "right" else -1)), len(text))
        case "home" | "ctrl+a":
            return text, 0
        case "end" | "ctrl+e":
            return text, len(text)
    return None


def shown(filled: Filled, room: int, here: bool) -> Text:
    value = plain(filled.value)
    if filled.asked.secret:
        head, space, pin = value.partition(" ")
        value = head + space + "•" * len(pin)
    if not here:
        name = _name_of(filled)
        return Text(fitted(f"{value}   {name}" if name else value, room))
    if filled.offered and value:
        return Text(fitted(value, min(room, cell_len(value))), style="reverse")
    before, behind = value[: filled.at], value[filled.at :]
    while before and cell_len(before) > room - 2:
        before = before[1:]
    line = Text(before)
    line.append(behind[:1] or " ", style="reverse")
    line.append(fitted(behind[1:], max(0, room - cell_len(before) - 1)))
    return line


def _name_of(filled: Filled) -> str:
    return next((c.name for c in filled.choices if c.code == filled.value), "")


def matching(filled: Filled) -> Sequence[Choice]:
    text = filled.value.strip().casefold()
    said = tuple(choice for choice in filled.choices if text in choice.also)
    if said:
        return said
    exact = any(choice.code.casefold() == text for choice in filled.choices)
    if not text or exact or not filled.asked.complete:
        return filled.choices
    numbered = _by_number(filled, text)
    if numbered is not None:
        return (numbered,)
    return tuple(
        choice
        for choice in filled.choices
        if text in choice.code.casefold() or text in choice.name.casefold()
    )


def _by_number(filled: Filled, text: str) -> Choice | None:
    if text.isascii() and text.isdigit() and len(text) < 4 and filled.asked.complete:
        number = int(text)
        if 1 <= number <= len(filled.choices):
            return filled.choices[number - 1]
    return None


def taken(filled: Filled, mark: int) -> str:
    """What is recorded for the text typed. Raises BadInput."""
    asked, text = filled.asked, filled.value.strip()
    fitting = matching(filled)
    if 0 <= mark < len(fitting):
        return fitting[mark].code
    if not text:
        if asked.optional:
            return ""
        hint = f"; {asked.hint}" if asked.hint else ""
        raise BadInput(f"{asked.label}: nothing is typed{hint}")
    if not filled.choices or asked.secret:
        return filled.value if asked.secret else text
    found = _meant(filled, text, fitting)
    if found is not None:
        return found.code
    if asked.free:
        return text
    said = "nothing fits" if not fitting else f"{len(fitting)} fit; type more or use the arrow keys"
    raise BadInput(f"{asked.label}: read {text[:40]!r}: {said}")


def _meant(filled: Filled, text: str, fitting: Sequence[Choice]) -> Choice | None:
    """The one choice the text stands for: its code, its number, the beginning or part of it."""
    folded = text.casefold()
    exact = [choice for choice in filled.choices if choice.code.casefold() == folded]
    if exact or not filled.asked.complete:
        return exact[0] if len(exact) == 1 else None
    numbered = _by_number(filled, folded)
    begun = [choice for choice in fitting if choice.code.casefold().startswith(folded)]
    tries = [[numbered] if numbered else [], begun]
    if not filled.asked.free:
        tries.append(list(fitting))
    return next((found[0] for found in tries if len(found) == 1), None)
