"""A sheet's own readings as drawings."""

import re
from collections.abc import Mapping

from shopdesk import quantities
from shopdesk.calc import charge as charges
from shopdesk.calc import leak, nitrogen
from shopdesk.calc.leak import Reading
from shopdesk.desk.calculator import curves, leaks
from shopdesk.desk.calculator.curves import Drawing, Stated, Today, Wall
from shopdesk.errors import BadInput
from shopdesk.procedure import GasCharge, Leak, Regulator, Survey
from shopdesk.rules.answers import Answer
from shopdesk.rules.bores import survey_result
from shopdesk.rules.pressures import at_reference
from shopdesk.rules.sheet import LineState, Sheet

_TYPED = re.compile(r"\s*[-+]?\d*(?:[.,](?P<decimals>\d+))?")


def charge(sheet: Sheet, state: LineState) -> Drawing | None:
    """The charge's target by temperature with its band; today's point by what is known: the
    reading with the rig off, else what is to be set for the gas's temperature."""
    plan = sheet.procedure.charge
    if plan is None:
        return None
    air = sheet.shop.atmosphere_pa
    stated = Stated(
        plan.target.value_si + air,
        plan.reference.value_si,
        air,
        plan.target.unit,
        plan.reference.unit,
        plan.tolerance.value_si,
    )
    return curves.charge_drawing(stated, _today(sheet, state, stated))


def _today(sheet: Sheet, state: LineState, stated: Stated) -> list[Today]:
    gas = _si(state.given, "temperature") or _si(state.given, "gas_temperature")
    read, put = _si(state.given, "value"), _si(state.given, "setting")
    if gas is None:
        gas = _regulated_at(sheet)
    if gas is None:
        return []
    if read is not None:
        return [Today(gas, read + stated.atmosphere_pa, "read today")]
    found = charges.set_pressure(stated.target_pa_abs, stated.at_k, gas)
    points = [Today(gas, found.pressure_pa_abs, "target today")]
    if put is not None:
        points.append(Today(gas, put + stated.atmosphere_pa, "regulator set", "o"))
    return points


def _regulated_at(sheet: Sheet) -> float | None:
    for other in sheet.section("charge"):
        if isinstance(other.line, Regulator):
            return _si(other.given, "gas_temperature")
    return None


def _si(given: Mapping[str, Answer], slot: str) -> float | None:
    return given[slot].value_si if slot in given else None


def leak_down(sheet: Sheet, line: Leak) -> Drawing | None:
    """Every reading from the charge that this line starts from, with their fit and the allowed
    loss; None until there are two."""
    plan, start = sheet.procedure.charge, sheet.get(line.start)
    if plan is None or start is None:
        return None
    given = [start.given] + [
        state.given
        for state in sheet.lines
        if isinstance(state.line, Leak) and state.line.start == line.start
    ]
    taken = [each for each in given if _complete(each)]
    first = at_reference(sheet, start.given)
    if len(taken) < 2 or first is None:
        return None
    air = sheet.shop.atmosphere_pa
    gauge, thermometer = _step(taken, "value", line.loss.unit), _step(taken, "temperature", "°C")
    found = leak.leak(
        plan.volume.value_si,
        [_reading(each, air) for each in taken],
        gauge_resolution_pa=gauge,
        thermometer_resolution_k=thermometer,
    )
    rate, doubt = (
        leaks.flow(each, found.uncertainty_m3_s).as_text
        for each in (found.rate_m3_s, found.uncertainty_m3_s)
    )
    said = (
        f"{rate} ± {doubt}: {found.verdict}; readings as fine as typed, "
        f"{quantities.span_text(gauge, line.loss.unit)} and "
        f"{quantities.span_text(thermometer, '°C')}"
    )
    return curves.leak_drawing(found, [said], _allowed_kg(plan, line, first + air))


def _complete(given: Mapping[str, Answer]) -> bool:
    return _si(given, "value") is not None and _si(given, "temperature") is not None


def _reading(given: Mapping[str, Answer], air_pa: float) -> Reading:
    pressure, gas_k = _si(given, "value"), _si(given, "temperature")
    if pressure is None or gas_k is None:
        raise BadInput("A leak reading has no pressure or no temperature; give both.")
    return Reading(pressure + air_pa, gas_k, given["value"].at.timestamp())


def _step(taken: list[Mapping[str, Answer]], slot: str, unit: str) -> float:
    """The coarsest last digit the readings were typed with, in SI."""
    steps = []
    for given in taken:
        typed = _TYPED.match(given[slot].typed)
        decimals = len(typed["decimals"] or "") if typed else 0
        steps.append(quantities.span_to_si(10.0**-decimals, given[slot].unit or unit))
    return max(steps)


def _allowed_kg(plan: GasCharge, line: Leak, start_pa_abs: float) -> float:
    """The gas that goes with the loss of pressure the line allows, at reference."""
    at_k = plan.reference.value_si
    least = max(0.0, start_pa_abs - line.loss.value_si)
    lost = nitrogen.density(start_pa_abs, at_k) - nitrogen.density(least, at_k)
    return plan.volume.value_si * lost


def bore(line: Survey, given: Mapping[str, Answer]) -> Drawing | None:
    """The survey as far as it is measured, between the limits of its line."""
    rows = [
        [_si(given, f"d{row}a{column}") for column in range(1, len(line.axes) + 1)]
        for row in range(1, len(line.depths) + 1)
    ]
    if all(cell is None for row in rows for cell in row):
        return None
    limits = (("smallest", line.limit.low), ("largest", line.limit.high))
    walls = [Wall(name, limit.value_si) for name, limit in limits if limit is not None]
    if not any(wall.diameter_m == line.nominal.value_si for wall in walls):
        walls.append(Wall("nominal", line.nominal.value_si, ":"))
    return curves.bore_drawing(
        line.axes,
        [depth.typed for depth in line.depths],
        rows,
        line.unit,
        walls,
        _said(line, given),
        at=[depth.value_si for depth in line.depths],
    )


def _said(line: Survey, given: Mapping[str, Answer]) -> list[str]:
    found = survey_result(line, given)
    if found is None:
        return []
    unit = line.unit
    return [
        f"mean {quantities.text(found.mean_m, unit)}, out-of-round "
        f"{quantities.span_text(found.out_of_round_m, unit)}, taper "
        f"{quantities.span_text(found.taper_m, unit)}"
    ]
