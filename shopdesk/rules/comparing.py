"""What a reading came to beside the same one on the earlier certificate."""

import math
from dataclasses import dataclass
from enum import StrEnum

from shopdesk import quantities
from shopdesk.rules.answers import Verdict


class Judged(StrEnum):
    SAME = "same"  # no further apart than the two gauges can tell
    DRIFTED = "drifted"  # apart, and inside its limit
    OUT = "OUT OF LIMIT"
    APART = "apart"  # without a limit, or a gauge without a resolution on record
    NOT_MEASURED = "not measured"
    TO_MEASURE = "to measure"


@dataclass(frozen=True, slots=True)
class Difference:
    """``by_si`` now less before; ``share`` of what it was; ``doubt_si`` the half width at about
    95 % of what the gauges' resolution leaves open, None where it is not on record."""

    by_si: float
    share: float | None
    doubt_si: float | None


def difference(
    before_si: float, now_si: float, before_step_si: float | None, now_step_si: float | None
) -> Difference:
    """Two readings by gauges of these smallest steps. Each step is a rectangular spread, step/√12
    (GUM JCGM 100:2008 F.2.2.1); the doubt is twice the root of their sum of squares."""
    share = (now_si - before_si) / abs(before_si) if before_si else None
    doubt = None
    if before_step_si is not None and now_step_si is not None:
        doubt = 2.0 * math.hypot(before_step_si, now_step_si) / math.sqrt(12.0)
    return Difference(now_si - before_si, share, doubt)


def judged(found: Difference, verdict: Verdict) -> Judged:
    """What stands outside its limit is out, however near it lies to what it was."""
    if verdict is Verdict.OUTSIDE:
        return Judged.OUT
    slack = 1e-9 * max(1.0, abs(found.by_si))
    if abs(found.by_si) <= (found.doubt_si or 0.0) + slack:
        return Judged.SAME
    return Judged.DRIFTED if verdict is Verdict.WITHIN else Judged.APART


def with_doubt(by_si: float, doubt_si: float | None, unit: str, *, sign: bool = False) -> str:
    """A difference with its doubt: "16.88 ± 0.13 bar", the doubt to two figures and the value to
    the same place (GUM JCGM 100:2008, 7.2.6)."""
    if not doubt_si:
        text = quantities.span_text(by_si, unit)
        return f"+{text}" if sign and by_si > 0 else text
    one_si = quantities.span_to_si(1.0, unit)
    by, doubt = by_si / one_si, doubt_si / one_si
    places = max(0, 1 - math.floor(math.log10(abs(doubt))))
    return f"{by:{'+' if sign else ''}.{places}f} ± {doubt:.{places}f} {unit}"
