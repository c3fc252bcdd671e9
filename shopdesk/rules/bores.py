"""Surveys and repeated readings judged as a whole: out-of-round, taper, spread."""

import math
from collections.abc import Mapping
from dataclasses import dataclass

from shopdesk.calc import bore
from shopdesk.procedure import types as doc
from shopdesk.rules.answers import Answer, Verdict

# A hair under what doubles can carry through a conversion of a value typed at the limit.
ROUNDING = 1e-9


@dataclass(frozen=True, slots=True)
class BoreResult:
    """Diameters in metres: the survey's figures, None while cells are missing."""

    mean_m: float
    out_of_round_m: float
    taper_m: float
    largest_m: float


def survey_result(line: doc.Survey, given: Mapping[str, Answer]) -> BoreResult | None:
    """The survey's figures once every cell is answered."""
    rows = []
    for row in range(1, len(line.depths) + 1):
        cells = [given.get(f"d{row}a{column}") for column in range(1, len(line.axes) + 1)]
        values = [cell.value_si for cell in cells if cell is not None and cell.value_si is not None]
        if len(values) < len(line.axes):
            return None
        rows.append(values)
    found = bore.survey(rows)
    return BoreResult(found.mean_m, found.out_of_round_m, found.taper_m, found.largest_m)


def spread_m(line: doc.Repeat, given: Mapping[str, Answer]) -> float | None:
    """Largest minus smallest of the repeats in SI, once all are there."""
    values = [given[f"r{n}"].value_si for n in range(1, line.count + 1) if f"r{n}" in given]
    known = [value for value in values if value is not None]
    return max(known) - min(known) if len(known) == line.count else None


def outside(line: doc.Line, given: Mapping[str, Answer]) -> bool:
    """Whether the line stands outside its limit as its answers are now. A correction may put
    right, or wrong, what an earlier answer was judged by."""
    answers = list(given.values())
    if isinstance(line, doc.Survey | doc.Repeat):
        values = [a.value_si for a in answers if a.value_si is not None]
        unmeasured = isinstance(line, doc.Survey) and any(
            a.value_si is None and a.verdict is Verdict.OUTSIDE for a in answers
        )
        if unmeasured:
            return True
        alone = line.limit is not None and any(beyond(line.limit, value) for value in values)
        return alone or bool(whole_faults(line, given))
    if isinstance(line, doc.Charge | doc.Leak):
        measured = [a for a in answers if a.slot in ("value", "temperature")]
        newest = max(measured, key=lambda answer: answer.id or math.inf, default=None)
        return newest is not None and newest.verdict is Verdict.OUTSIDE
    return any(answer.verdict is Verdict.OUTSIDE for answer in answers)


def beyond(limit: doc.Limit, value_si: float) -> bool:
    low = None if limit.low is None else limit.low.value_si
    high = None if limit.high is None else limit.high.value_si
    return (low is not None and _below(value_si, low)) or (
        high is not None and _below(high, value_si)
    )


def _below(value: float, bound: float) -> bool:
    return value < bound - ROUNDING * max(abs(bound), abs(value))


def whole_faults(line: doc.Line, given: Mapping[str, Answer]) -> tuple[str, ...]:
    """What is wrong with the readings taken together, by the name of its limit."""
    if isinstance(line, doc.Survey):
        return _survey_faults(line, given)
    if isinstance(line, doc.Repeat):
        spread = spread_m(line, given)
        if spread is not None and _above(spread, line.spread):
            return ("spread",)
    return ()


def _survey_faults(line: doc.Survey, given: Mapping[str, Answer]) -> tuple[str, ...]:
    result = survey_result(line, given)
    if result is None:
        return ()
    faults = []
    if line.out_of_round is not None and _above(result.out_of_round_m, line.out_of_round):
        faults.append("out-of-round")
    if line.taper is not None and _above(result.taper_m, line.taper):
        faults.append("taper")
    return tuple(faults)


def _above(value_si: float, limit: doc.Span) -> bool:
    return value_si > limit.value_si * (1 + ROUNDING) + 1e-12
