"""How fine an instrument's steps have to be, so that what it shows can be judged."""

from shopdesk import quantities
from shopdesk.procedure import types as doc
from shopdesk.rules.sheet import Sheet
from shopdesk.rules.slots import Slot


def open_si(sheet: Sheet, line: doc.Line, slot: Slot) -> float | None:
    """How far apart a good reading's two ends lie, one that cannot fall below zero counted from
    there; None where one end is open or the slot reads something else. An instrument with wider
    steps cannot judge the line: common practice, the least of what JCGM 106:2012 asks of a decision
    by measurement."""
    plan, limit = sheet.procedure.charge, getattr(line, "limit", None)
    match line:
        case doc.Charge() if plan is not None:
            width, unit = 2 * plan.tolerance.value_si, plan.tolerance.unit
        case doc.Leak():
            width, unit = line.loss.value_si, line.loss.unit
        case doc.Restore() | doc.Torque() if line.tolerance is not None:
            width, unit = 2 * line.tolerance.value_si, line.tolerance.unit
        case _ if limit is not None and limit.high is not None:
            low_si = 0.0 if limit.low is None else limit.low.value_si
            width, unit = limit.high.value_si - low_si, limit.high.unit
            if limit.low is None and _reads(unit, quantities.Dimension.TEMPERATURE):
                return None
        case _:
            return None
    return float(width) if _reads(unit, quantities.dimension_of(slot.unit)) else None


def beyond_si(line: doc.Line, slot: Slot, value_si: float) -> float:
    """How far a reading lies outside its line's own limit; 0 within it, or where there is none.
    Steps no wider than that tell that it is outside, whatever the limit leaves."""
    if isinstance(line, doc.Torque) and line.target is not None and line.tolerance is not None:
        return max(0.0, abs(value_si - line.target.value_si) - line.tolerance.value_si)
    limit = getattr(line, "limit", None)
    dimension = quantities.dimension_of(slot.unit)
    ends = () if limit is None else (limit.low, limit.high)
    if not all(end is None or _reads(end.unit, dimension) for end in ends):
        return 0.0
    under = limit.low.value_si - value_si if limit and limit.low else 0.0
    over = value_si - limit.high.value_si if limit and limit.high else 0.0
    return float(max(0.0, under, over))


def _reads(unit: str, dimension: quantities.Dimension) -> bool:
    return quantities.dimension_of(unit) is dimension
