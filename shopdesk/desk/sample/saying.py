"""Words of the sample's people: conditions found, places, notes, choices."""

import re
from itertools import pairwise
from random import Random

from shopdesk.procedure import Choice, Finding, Line, Note, Photo, Port
from shopdesk.rules import gates
from shopdesk.rules.dispositions import AGAIN
from shopdesk.rules.generated import SHIPS_AS
from shopdesk.rules.sheet import LineState, Sheet
from shopdesk.rules.slots import Slot

HOW = ("telephone", "e-mail", "in person", "telephone, then e-mail")
CARRIERS = (
    "own van",
    "collected by the skipper",
    "Sound Freight, morning boat",
    "collected by the engineer",
    "Skerry Parcel",
)
COMPLAINTS = (
    "loses pressure within weeks",
    "oil weeps at the cap",
    "creeps under load",
    "jerks when the winch starts",
    "soft, does not hold",
    "routine overhaul",
    "leaks at the rod",
    "slow, and hot to the hand",
    "gauge falls overnight",
    "noise when the pump cuts in",
)
NO_BETTER = ("weeps again", "holds worse than before the last visit", "same noise again")
PLACES = (
    "at 3 o'clock, 20 mm from the end",
    "at 6 o'clock",
    "all round",
    "lower half",
    "at the port side",
    "at 10 o'clock, mid travel",
)
EXTENTS = ("2 mm", "10 mm long", "a quarter of the way round", "two spots", "all of it", "5 mm")
FLUIDS = (
    "mineral oil 46, as on the plate",
    "mineral oil 32, changed last spring",
    "biodegradable oil, as they were told by the last owner",
    "mineral oil 46, dark",
)
NOTES = (
    "nothing unusual",
    "as before, nothing to add",
    "listed on the tag",
    "seen together with the skipper",
    "told by telephone, noted on the tag",
)


def words(line: Line, slot: Slot, chance: Random, number: int) -> str:
    """What is typed where words are asked."""
    if slot.name == "place":
        return chance.choice(PLACES)
    if slot.name == "extent":
        return chance.choice(EXTENTS)
    if isinstance(line, Photo):
        return f"J-{number}-{line.key.rpartition('.')[2]}.jpg"
    if isinstance(line, Note) and re.search(r"\b(fluid|oil)\b", line.text, re.IGNORECASE):
        return chance.choice(FLUIDS)
    return chance.choice(NOTES)


def choice(
    sheet: Sheet, state: LineState, slot: Slot, chance: Random, outside: str, defects: float
) -> str:
    """The option that is typed; ``outside`` the disposition a bad answer is to get, ``defects``
    the share of findings that show something."""
    line = state.line
    if slot.name == "disposition":
        return outside if outside in slot.options else _disposition(slot, chance)
    if slot.name == "severity":
        return chance.choices(slot.options, weights=(6, 3, 1)[: len(slot.options)])[0]
    if isinstance(line, Finding):
        bad = outside or chance.random() < defects
        return chance.choice(line.defects) if bad and _bearable(line) else slot.options[0]
    if isinstance(line, Port):
        return line.leave
    if line.key == SHIPS_AS:
        may = gates.may_ship_as(sheet, "charged") is None
        return "charged" if may and chance.random() < 0.9 else "vented"
    return _choice(sheet, line, slot, chance, outside)


def _choice(sheet: Sheet, line: Line, slot: Slot, chance: Random, outside: str) -> str:
    bad = line.outside if isinstance(line, Choice) else ()
    if outside and bad:
        return bad[0]
    good = [option for option in slot.options if option not in bad]
    if not sheet.procedure.gas_charged:
        good.sort(key=lambda option: "no gas" not in option)
    return good[0] if chance.random() < 0.8 else chance.choice(good)


def _bearable(line: Finding) -> bool:
    """Whether something can be done about a defect without asking anybody."""
    return bool(set(line.dispositions) & (AGAIN | {"replace", "reuse"}))


def _disposition(slot: Slot, chance: Random) -> str:
    bearable = [word for word in slot.options if word in AGAIN or word in ("replace", "reuse")]
    return chance.choice(bearable or list(slot.options))


def misread(typed: str) -> str:
    """The same reading with its last two different neighbouring figures swapped."""
    figures = [index for index, char in enumerate(typed) if char.isdigit()]
    for left, right in reversed(list(pairwise(figures))):
        if typed[left] != typed[right]:
            chars = list(typed)
            chars[left], chars[right] = chars[right], chars[left]
            return "".join(chars)
    return typed


def cap(total_cents: int) -> int:
    """What a customer agrees to at most: some above the quote, a round sum."""
    return -(-total_cents * 115 // 100_000) * 1000
