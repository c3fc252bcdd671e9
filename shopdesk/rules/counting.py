"""How often what lies on the shelf is counted, how far a count may be out, and what follows."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from typing import TYPE_CHECKING

from shopdesk.calc import stores
from shopdesk.errors import BadInput

if TYPE_CHECKING:
    from shopdesk.rules.shop import _Table

NAMES = ("A", "B", "C")


class Step(StrEnum):
    COUNT = "count"
    RECOUNT = "recount"
    ANSWER = "answer"


class Outcome(StrEnum):
    AGREES = "agrees"
    ADJUSTED = "adjusted"
    RECOUNT = "to be recounted"
    APPROVAL = "to be approved"
    DISMISSED = "to be counted anew"

    @property
    def done(self) -> bool:
        return self in (Outcome.AGREES, Outcome.ADJUSTED)


@dataclass(frozen=True, slots=True)
class CountClass:
    """Counted every so many days; a count may be out by ``pieces``, or by ``percent`` of what the
    ledger says where that is more."""

    name: str
    every_days: int
    percent: float
    pieces: int

    def allows(self, expected: int, counted: int) -> bool:
        return abs(counted - expected) <= max(self.pieces, expected * self.percent / 100)


@dataclass(frozen=True, slots=True)
class Counting:
    """The shop's rule for counts: shares of the yearly value that classes A and B make up, the
    least class of critical parts, and how many lots one day's sheet asks for."""

    classes: tuple[CountClass, ...]
    a_percent: float
    b_percent: float
    critical: str
    lots_a_day: int
    source: str
    revision: str

    @property
    def rule(self) -> str:
        """ "shop rule 15, counts rev A" """
        return f"{self.source} rev {self.revision}"

    def of(self, name: str) -> CountClass:
        return next(one for one in self.classes if one.name == name)


def read(top: "_Table") -> Counting | None:
    """The [counting] table of a shop document; None where it has none: any count is then taken as
    it is. Raises BadInput."""
    if "counting" not in top.raw:
        return None
    table = top.table("counting")
    critical = table.text("critical")
    a, b = table.number("a_percent"), table.number("b_percent")
    if critical not in NAMES:
        raise BadInput(f"{table.path}: critical: read {critical!r}, expected A, B or C")
    if not 0 < a < b <= 100:
        raise BadInput(
            f"{table.path}: read a_percent {a:g} and b_percent {b:g}; expected 0 < a < b <= 100"
        )
    return Counting(
        classes=tuple(_class(table, name) for name in NAMES),
        a_percent=a,
        b_percent=b,
        critical=critical,
        lots_a_day=table.whole("lots_a_day", 1, 10_000),
        source=table.text("source"),
        revision=table.text("revision"),
    )


def _class(table: "_Table", name: str) -> CountClass:
    asked = table.table(name)
    percent = asked.number("tolerance_percent")
    if not 0 <= percent <= 100:
        raise BadInput(f"{asked.path}: tolerance_percent: read {percent:g}, expected 0 to 100")
    return CountClass(
        name,
        asked.whole("every_days", 1, 3660),
        percent,
        asked.whole("tolerance_pieces", 0, 1_000_000),
    )


def classes(
    counting: Counting, yearly_value: Mapping[str, float], critical: frozenset[str]
) -> dict[str, str]:
    """Each part's class: by the share of yearly value, and no lower than what critical parts have.

    Source: Pareto's rule, common practice.
    """
    found = stores.abc_classes(yearly_value, counting.a_percent / 100, counting.b_percent / 100)
    for part in critical & found.keys():
        found[part] = min(found[part], counting.critical)
    return found


def outcome(allowed: CountClass | None, step: Step, expected: int, counted: int) -> Outcome:
    """What a count leads to. Beyond what its class allows it is counted again by somebody else,
    and where it is beyond again a manager has to approve it."""
    if counted == expected:
        return Outcome.AGREES
    if allowed is None or allowed.allows(expected, counted):
        return Outcome.ADJUSTED
    return Outcome.RECOUNT if step is Step.COUNT else Outcome.APPROVAL


def overdue(allowed: CountClass, last: date, today: date) -> float | None:
    """How far over its day a lot is, in periods of its class; None where it is not yet due."""
    late = today - (last + timedelta(days=allowed.every_days))
    return None if late.days < 0 else late.days / allowed.every_days
