"""Plain values of the document: words, whole numbers, shares, yes or no."""

import math
import unicodedata

from shopdesk.procedure.faults import Place

_LONGEST = 4000
_LARGEST = 10**9


def words(raw: object, place: Place) -> str | None:
    """Text that is not blank and holds no control signs but line ends."""
    if not isinstance(raw, str):
        hint = "put it in quotes" if isinstance(raw, int | float) else ""
        place.refuse(raw, "text", hint)
        return None
    if not raw.strip():
        place.add("read an empty text, expected some words; leave the key out to say nothing")
        return None
    if len(raw) > _LONGEST:
        place.add(f"read {len(raw)} characters, expected at most {_LONGEST}")
        return None
    if any(unicodedata.category(sign) in ("Cc", "Cf") and sign != "\n" for sign in raw):
        place.refuse(raw, "text without control characters")
        return None
    return raw


def whole(raw: object, place: Place) -> int | None:
    if isinstance(raw, bool) or not isinstance(raw, int):
        place.refuse(raw, "a whole number such as 3")
        return None
    if abs(raw) > _LARGEST:
        place.refuse(raw, f"a whole number no larger than {_LARGEST}")
        return None
    return raw


def number(raw: object, place: Place) -> float | None:
    if isinstance(raw, bool) or not isinstance(raw, int | float):
        place.refuse(raw, "a number such as 0.5")
        return None
    if not abs(raw) <= _LARGEST or not math.isfinite(raw):
        place.refuse(raw, f"a number no larger than {_LARGEST}")
        return None
    return float(raw)


def flag(raw: object, place: Place) -> bool | None:
    if not isinstance(raw, bool):
        place.refuse(raw, "true or false, without quotes")
        return None
    return raw
