"""Scans on the sheet: what a code means on the line under the cursor."""

import re
from enum import Enum, auto
from typing import TYPE_CHECKING

from shopdesk.rules.slots import Ask

if TYPE_CHECKING:
    from shopdesk.rules.slots import Slot
    from shopdesk.views.lists import Scan

_CODE = re.compile(r"(?=.*\d)[A-Za-z][A-Za-z0-9._/-]{2,59}")
_TAG = re.compile(r"J-\d+", re.IGNORECASE)


class Means(Enum):
    """What comes of a scan."""

    ANSWER = auto()
    SHEET = auto()
    IN_HAND = auto()
    SIGNER = auto()
    PERSON = auto()
    WRONG = auto()


_ANSWERS = {
    "instrument": (Ask.INSTRUMENT,),
    "bottle": (Ask.INSTRUMENT,),
    "lot": (Ask.LOT,),
    "part": (Ask.LOT,),  # the desk says that a bag's lot is wanted, and of which part
}


def is_code(text: str) -> bool:
    """Whether the text may be a label's: one word that begins with a letter and has a figure."""
    return _CODE.fullmatch(text.strip()) is not None


def meaning(scan: "Scan | None", text: str, slot: "Slot | None") -> Means:
    """What a scan means where the slot is asked. A code nobody knows may be the line's answer (a
    certificate's number, say), but another shop's tag never is."""
    ask = slot.ask if slot is not None else None
    if scan is None:
        return Means.WRONG if _TAG.fullmatch(text.strip()) else Means.ANSWER
    if scan.kind == "job":
        return Means.SHEET
    if scan.kind == "person":
        return Means.SIGNER if ask is Ask.SIGN else Means.PERSON
    if ask in _ANSWERS.get(scan.kind, ()):
        return Means.ANSWER
    return Means.IN_HAND if scan.kind == "instrument" else Means.WRONG


def wrong(scan: "Scan | None", text: str, slot: "Slot | None") -> str:
    """What was scanned and what the line expects."""
    what = (
        f"{scan.code} is a {scan.kind} ({scan.name})"
        if scan is not None
        else f"{text.strip()[:40]}: no job of this shop has this tag"
    )
    asked = f"expected: {slot.prompt}" if slot is not None else "this line asks for nothing now"
    return f"{what}; {asked}. Nothing was recorded"
