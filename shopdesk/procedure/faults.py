"""Every fault of a document with its place, kept until all of them are found."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, time
from difflib import get_close_matches

_SHOWN = 60
_HUGE = 10**15


class Faults:
    """What is wrong (``problems``) and what is doubtful (``warnings``), each said once."""

    def __init__(self, name: str) -> None:
        self.name = name
        self._problems: dict[str, None] = {}
        self._warnings: dict[str, None] = {}

    @property
    def problems(self) -> tuple[str, ...]:
        return tuple(self._problems)

    @property
    def warnings(self) -> tuple[str, ...]:
        return tuple(self._warnings)

    def add(self, path: str, sentence: str) -> None:
        self._problems[self._said(path, sentence)] = None

    def warn(self, path: str, sentence: str) -> None:
        self._warnings[self._said(path, sentence)] = None

    def _said(self, path: str, sentence: str) -> str:
        return f"{self.name}: {path}: {sentence}" if path else f"{self.name}: {sentence}"


@dataclass(frozen=True, slots=True)
class Place:
    """One place of the document: ``build[7].torque``."""

    faults: Faults
    path: str = ""

    def at(self, key: str | int) -> "Place":
        if isinstance(key, int):
            return Place(self.faults, f"{self.path}[{key}]")
        name = key[:_SHOWN] if key.isprintable() else ascii(key[:_SHOWN])
        return Place(self.faults, f"{self.path}.{name}" if self.path else name)

    def add(self, sentence: str) -> None:
        self.faults.add(self.path, sentence)

    def warn(self, sentence: str) -> None:
        self.faults.warn(self.path, sentence)

    def refuse(self, raw: object, expected: str, hint: str = "") -> None:
        """The common sentence: what was read, what was expected, a hint."""
        self.add(f"read {shown(raw)}, expected {expected}" + (f" ({hint})" if hint else ""))


def shown(raw: object) -> str:
    """A value of the document as a sentence shows it: short and printable."""
    if isinstance(raw, str):
        return repr(raw if len(raw) <= _SHOWN else raw[: _SHOWN - 3] + "...")
    if isinstance(raw, bool):
        return "true" if raw else "false"
    if isinstance(raw, dict):
        return "a table"
    if isinstance(raw, list):
        return "a list" if raw else "an empty list"
    if isinstance(raw, datetime | date | time):
        return raw.isoformat()
    if isinstance(raw, int) and abs(raw) >= _HUGE:
        return "a number of more than 15 digits"
    return str(raw)


def near(word: str, known: Iterable[str]) -> str:
    """ "did you mean seal?" where one of ``known`` is close to ``word``, or nothing."""
    by_lower = {each.lower(): each for each in known}
    found = get_close_matches(word[:_SHOWN].lower(), by_lower, n=1, cutoff=0.6)
    return f"did you mean {by_lower[found[0]]}?" if found else ""


def one_of(word: str, known: Iterable[str]) -> tuple[str, str]:
    """What was expected and the hint, for a word out of a fixed list."""
    listed = tuple(known)
    return "one of " + ", ".join(listed), near(word, listed)
