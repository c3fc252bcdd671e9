"""What an instrument that failed its check puts in doubt: the true value, and which way it lies."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from shopdesk import quantities
from shopdesk.procedure import types as doc


@dataclass(frozen=True, slots=True)
class Doubt:
    """One reading taken with an instrument between its last good check and the failed one.
    ``corrected_si`` None: the error has no figure, or a share says nothing of such a quantity."""

    entry_id: int
    job: int
    closed: bool
    unit_id: int
    serial: str
    model: str
    customer: str
    phone: str
    taken_on: date
    shipped_on: date | None
    joint: str
    unit: str
    recorded_si: float
    corrected_si: float | None
    holds_pressure: bool | None  # None: no joint
    direction: str
    judged: str


def read_wrong(error_share: float | None) -> str:
    """ "read 9 % high" """
    if not error_share:
        return "failed"
    return f"read {abs(error_share) * 100:g} % {'high' if error_share > 0 else 'low'}"


def corrected(recorded_si: float, unit: str, error_share: float | None) -> float | None:
    """The true value of a reading: recorded/(1 + error). A torque wrench that reads 9 % high gave
    recorded/1.09. None for temperatures, whose zero is not theirs. Source: definition of the
    relative error of indication, JCGM 200:2012 (VIM) 2.16 and 4.1, solved for the true value."""
    if error_share is None or quantities.dimension_of(unit) is quantities.Dimension.TEMPERATURE:
        return None
    return recorded_si / (1.0 + error_share)


def last_pull(line: doc.Line | None, slot: str) -> bool:
    """False for the passes before the last: the last one decides how tight the joint is."""
    return not isinstance(line, doc.Torque) or slot == f"p{len(line.passes)}"


def holds_pressure(line: doc.Line | None) -> bool | None:
    return line.holds_pressure if isinstance(line, doc.Torque) else None


def direction(line: doc.Line | None, error_share: float | None) -> str:
    if not error_share:
        return "not known"
    if isinstance(line, doc.Torque):
        return "looser" if error_share > 0 else "tighter"
    return "lower" if error_share > 0 else "higher"


def judged(line: doc.Line | None, corrected_si: float | None) -> str:
    """Whether the true torque still lies within the joint's tolerance."""
    if (
        not isinstance(line, doc.Torque)
        or line.target is None
        or line.tolerance is None
        or corrected_si is None
    ):
        return ""
    off = abs(corrected_si - line.target.value_si)
    return "within" if off <= line.tolerance.value_si * (1 + 1e-9) else "outside"


def worst_first(doubts: Sequence[Doubt]) -> tuple[Doubt, ...]:
    """Pressure-holding joints, then other joints, then other readings; outside before within;
    units that left longest ago first, those in house last."""
    rank = {True: 0, False: 1, None: 2}
    return tuple(
        sorted(
            doubts,
            key=lambda d: (
                rank[d.holds_pressure],
                d.judged != "outside",
                d.shipped_on or date.max,
                d.entry_id,
            ),
        )
    )
