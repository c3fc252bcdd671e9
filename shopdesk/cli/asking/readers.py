"""What an answer has to be: each reader gives the value, or raises BadInput with a sentence."""

import re
from collections.abc import Callable, Sequence

from shopdesk.errors import BadInput

_YES, _NO = ("yes", "y", "true"), ("no", "n", "false")
_SPAN = re.compile(r" (?:to|–|-|…) ")
_MOST = re.compile(r"^(?:at most|up to|to|max\.?|≤|<) ?", re.IGNORECASE)
_LEAST = re.compile(r"^(?:at least|from|min\.?|≥|>) ?", re.IGNORECASE)
_SHARE = re.compile(r"([0-9]+(?:[.,][0-9]+)?) ?%")


def words(most: int = 120) -> Callable[[str], str]:
    """Some printable words, at most that many signs."""

    def read(text: str) -> str:
        found = " ".join(text.split())
        if not found:
            raise BadInput("nothing was typed; a few words are needed")
        if len(found) > most:
            raise BadInput(f"{len(found)} signs, at most {most}")
        if not found.isprintable():
            raise BadInput("a sign in it cannot be printed; type it again")
        return found

    return read


def maybe(read: Callable[[str], str]) -> Callable[[str], str]:
    """The same, or nothing."""
    return lambda text: read(text) if text.strip() else ""


def yes(text: str) -> bool:
    plain = text.strip().casefold()
    if plain not in (*_YES, *_NO):
        raise BadInput(f"read {text[:20]!r}, expected yes or no")
    return plain in _YES


def one_of(*options: str) -> Callable[[str], str]:
    """One of the words, or as many letters of it as tell it from the others."""

    def read(text: str) -> str:
        plain = text.strip().casefold()
        if plain in [option.casefold() for option in options]:
            return next(option for option in options if option.casefold() == plain)
        fits = [option for option in options if plain and option.casefold().startswith(plain)]
        if len(fits) != 1:
            raise BadInput(
                f"read {text[:30]!r}, expected {', '.join(options[:-1])} or {options[-1]}"
            )
        return fits[0]

    return read


def some_of(options: Sequence[str]) -> Callable[[str], tuple[str, ...]]:
    """Several of the words between commas; "none" for none of them."""

    def read(text: str) -> tuple[str, ...]:
        if text.strip().casefold() in ("none", ""):
            return ()
        one = one_of(*options)
        return tuple(dict.fromkeys(one(piece) for piece in text.split(",")))

    return read


def several(most: int = 40) -> Callable[[str], tuple[str, ...]]:
    """Names between commas."""
    one = words(most)
    return lambda text: tuple(dict.fromkeys(one(piece) for piece in text.split(",")))


def whole(least: int, most: int) -> Callable[[str], int]:
    def read(text: str) -> int:
        plain = text.strip()
        if not (plain.isascii() and plain.isdigit()) or not least <= int(plain) <= most:
            raise BadInput(f"read {text[:20]!r}, expected a whole number from {least} to {most}")
        return int(plain)

    return read


def quantity(unit: str, *units: str, above_zero: bool = True) -> Callable[[str], str]:
    """A figure with its unit, as typed. With several units a bare figure is asked about."""

    def read(text: str) -> str:
        from shopdesk import quantities

        measured = quantities.parse(text, unit=unit, units=units)
        if above_zero and measured.value_si <= 0:
            raise BadInput(f"read {text[:30]!r}, expected more than zero")
        typed = " ".join(measured.typed.split())
        return typed if _has_unit(typed, unit) else f"{typed} {measured.unit}"

    return read


def _has_unit(typed: str, unit: str) -> bool:
    """Whether one more unit after it is one too many."""
    from shopdesk import quantities

    try:
        quantities.parse(f"{typed} {unit}", unit=unit)
    except BadInput:
        return True
    return False


def tolerance(unit: str, *units: str) -> Callable[[str], str]:
    """A difference with its unit, or a share of the target: "5 %"."""
    plain = quantity(unit, *units)

    def read(text: str) -> str:
        share = _SHARE.fullmatch(text.strip())
        if share is None:
            return plain(text)
        if not 0 < float(share[1].replace(",", ".")) < 100:
            raise BadInput(f"read {text[:20]!r}, expected more than 0 % and less than 100 %")
        return f"{share[1].replace(',', '.')} %"

    return read


def si(text: str, unit: str) -> float:
    """The typed quantity in SI, for comparing one with another."""
    from shopdesk import quantities

    return quantities.parse(text, unit=unit).value_si


def no_more_than(
    read: Callable[[str], str], unit: str, bound: str, what: str
) -> Callable[[str], str]:
    """The same, refused above another quantity already typed."""

    def judged(text: str) -> str:
        typed = read(text)
        if si(typed, unit) > si(bound, unit):
            raise BadInput(f"read {typed!r}, expected no more than the {what}, {bound}")
        return typed

    return judged


def limit(text: str) -> tuple[str, str, str]:
    """ "40.00 to 40.06 mm", "at most 10 mL", "at least 3 bar": low, high (either may be "") and
    the unit they are in."""
    from shopdesk.procedure import amounts

    plain = " ".join(text.split())
    low, to, high = _SPAN.sub(" to ", plain).partition(" to ")
    if not to:
        low, high = "", _MOST.sub("", plain)
        if high == plain:
            low, high = _LEAST.sub("", plain), ""
        if low == plain:
            raise BadInput(
                f"read {text[:40]!r}, expected a limit: 40.00 to 40.06 mm, at most 10 mL, or "
                "at least 3 bar"
            )
        found = amounts.read(low or high)
        return (found.typed, "", found.unit) if low else ("", found.typed, found.unit)
    top = amounts.read(high)
    bottom = amounts.read(low if _has_unit(low, top.unit) else f"{low} {top.unit}")
    if amounts.kind_of(bottom.unit) is not amounts.kind_of(top.unit):
        raise BadInput(f"read {text[:40]!r}: {bottom.unit} and {top.unit} measure different things")
    if bottom.value_si > top.value_si:
        raise BadInput(f"read {text[:40]!r}: the low end is above the high one")
    return bottom.typed, top.typed, top.unit


def span(text: str) -> tuple[str, str, str]:
    """A limit with both its ends."""
    low, high, unit = limit(text)
    if not low or not high:
        raise BadInput(f"read {text[:40]!r}, expected both ends, such as 20 to 200 N·m")
    return low, high, unit


def source(text: str) -> tuple[str, str]:
    """ "drawing TP-016-01 rev B": where a figure stands, and in which revision."""
    where, rev, revision = words(100)(text).rpartition(" rev ")
    if not rev:
        raise BadInput(
            f"read {text[:40]!r}, expected where it stands and in which revision, such as "
            "drawing TP-016-01 rev B"
        )
    return words(80)(where), words(20)(revision)
