"""Plausible readings: inside the line's limits, to the figures that its gauge would show."""

import math
from random import Random

from shopdesk import quantities
from shopdesk.calc import charge
from shopdesk.procedure import (
    Charge,
    Leak,
    Limit,
    Procedure,
    Reading,
    Regulator,
    Repeat,
    Restore,
    Survey,
    Torque,
)
from shopdesk.quantities import Dimension
from shopdesk.rules import pressures
from shopdesk.rules.sheet import LineState, Sheet
from shopdesk.rules.slots import Slot

FIGURES = 20  # steps of the reading inside its limit


def written(value: float, unit: str, step: float) -> str:
    """ "69.4 bar", with the decimals that ``step`` needs."""
    places = 0 if step >= 1 or step <= 0 else min(6, math.ceil(-math.log10(step)))
    text = f"{value:.{places}f}"
    return f"{text.removeprefix('-') if float(text) == 0 else text} {unit}"


def quantity(
    sheet: Sheet,
    state: LineState,
    slot: Slot,
    chance: Random,
    outside: str,
    shop_k: float,
    size: float,
) -> str:
    """What is typed at a quantity's slot. ``outside`` is the disposition the reading has to
    deserve, "" for a good one; ``shop_k`` the temperature of gas and unit; ``size``, 0 to 1, is
    where in its limit the surveyed bore lies."""
    line = state.line
    if slot.name in ("temperature", "gas_temperature"):
        return written(quantities.from_si(shop_k, slot.unit), slot.unit, 0.1)
    match line:
        case Survey():
            return _survey(line, slot, chance, outside, size)
        case Repeat():
            return _repeat(line, state, slot, chance)
        case Restore():
            return _restore(sheet, line, chance)
        case Torque():
            return _torque(line, slot, chance, outside)
        case Charge() | Leak():
            return gas(_settled_pa(sheet, line, chance), sheet, shop_k, slot.unit)
        case Reading():
            return _reading(sheet, line, slot, chance, outside, shop_k)
    return f"1 {slot.unit}"


def bounds(limit: Limit, unit: str) -> tuple[float | None, float | None]:
    low = None if limit.low is None else quantities.from_si(limit.low.value_si, unit)
    high = None if limit.high is None else quantities.from_si(limit.high.value_si, unit)
    return low, high


def _reading(
    sheet: Sheet, line: Reading, slot: Slot, chance: Random, outside: str, shop_k: float
) -> str:
    limit = line.limit
    if limit is None or (limit.low is None and limit.high is None):
        return _unlimited(sheet, line, slot, chance, shop_k)
    if line.section == "vent" and limit.low is None:
        return f"0 {line.unit}"
    low, high = bounds(limit, line.unit)
    if outside:
        return bad(low, high, line.unit, chance)
    value, step = _good(low, high, chance)
    if _temperature(line.unit):
        return written(value, line.unit, 0.5)
    return _perhaps_in_other_unit(written(value, line.unit, step), slot, step, chance)


def _good(low: float | None, high: float | None, chance: Random) -> tuple[float, float]:
    """A value inside, and the step it is read to."""
    if low is not None and high is not None:
        width = high - low
        return low + width * chance.triangular(0.15, 0.85), width / FIGURES
    if high is not None:
        return high * chance.triangular(0.08, 0.8, 0.3), abs(high) / FIGURES
    assert low is not None
    return low + abs(low) * chance.uniform(0.02, 0.07), abs(low) / 100


def bad(low: float | None, high: float | None, unit: str, chance: Random) -> str:
    far = chance.uniform(0.3, 0.8)
    if low is not None and high is not None:
        return written(high + (high - low) * far, unit, (high - low) / FIGURES)
    if high is not None:
        return written(high * (1 + far), unit, abs(high) / FIGURES)
    assert low is not None
    return written(low * (1 - far / 8), unit, abs(low) / 100)


def _perhaps_in_other_unit(text: str, slot: Slot, step: float, chance: Random) -> str:
    """Now and then somebody reads the other scale of the gauge."""
    others = [unit for unit in slot.units if unit != slot.unit]
    if not others or chance.random() > 0.08:
        return text
    unit = others[0]
    measured = quantities.parse(text, unit=slot.unit)
    small = quantities.from_si(quantities.to_si(step, slot.unit), unit)
    return written(quantities.from_si(measured.value_si, unit), unit, abs(small) / 4)


def _temperature(unit: str) -> bool:
    return quantities.dimension_of(unit) is Dimension.TEMPERATURE


def _unlimited(sheet: Sheet, line: Reading, slot: Slot, chance: Random, shop_k: float) -> str:
    if quantities.dimension_of(line.unit) is Dimension.PRESSURE:
        if line.section == "vent" and sheet.procedure.charge is not None:
            return gas(_arrives_with_pa(sheet, chance), sheet, shop_k, line.unit)
        if line.section == "charge":
            return _supply(sheet, line.unit)
    like = _like(sheet.procedure, line)
    if like is not None:
        low, high = bounds(like, line.unit)
        value, step = _good(low, high, chance)
        return written(value * chance.uniform(0.85, 1.0), line.unit, step)
    return written(chance.uniform(5, 20), line.unit, 0.1)


def _like(procedure: Procedure, line: Reading) -> Limit | None:
    """The limit of another reading in the same unit: what this one is likely to be near."""
    return next(
        (
            other.limit
            for other in procedure.lines
            if isinstance(other, Reading)
            and other.unit == line.unit
            and other.limit
            and other.section == "proof"
        ),
        None,
    )


def _supply(sheet: Sheet, unit: str) -> str:
    """The rig's gauge with the supply on: what the regulator was set to."""
    for state in sheet.section("charge"):
        if isinstance(state.line, Regulator) and "setting" in state.given:
            setting = state.given["setting"].value_si or 0.0
            return written(quantities.from_si(setting, unit), unit, 0.1)
    return f"0 {unit}"


def _arrives_with_pa(sheet: Sheet, chance: Random) -> float:
    """Gauge pascal at reference: what the shop's charge still is, or what service left of it."""
    from shopdesk.desk.sample import claiming

    charged = pressures.last_charge_pa(sheet) or claiming.arrived_with_pa(sheet)
    if charged is not None:
        return charged
    plan = sheet.procedure.charge
    assert plan is not None
    left = sheet.facts.left_with
    if left is None or chance.random() < 0.15:
        gone = chance.random() < 0.08
        return 0.0 if gone else plan.target.value_si * chance.triangular(0.25, 0.97, 0.8)
    months = (sheet.facts.now - left.at).days / 30.44
    return left.pressure_pa * max(0.2, 1 - months * chance.uniform(0.003, 0.015))


def gas(at_reference_pa: float, sheet: Sheet, gas_k: float, unit: str) -> str:
    """What a gauge shows of gas at ``gas_k`` that would show ``at_reference_pa`` at reference."""
    plan = sheet.procedure.charge
    reference_k = plan.reference.value_si if plan else sheet.shop.reference_k
    air = sheet.shop.atmosphere_pa
    shown = charge.set_pressure(at_reference_pa + air, reference_k, gas_k).pressure_pa_abs - air
    return written(quantities.from_si(max(0.0, shown), unit), unit, 0.1)


def _settled_pa(sheet: Sheet, line: Charge | Leak, chance: Random) -> float:
    """A charge settles near the setting less what rig and valve take; a hold loses a little."""
    plan = sheet.procedure.charge
    assert plan is not None
    if isinstance(line, Leak):
        start = sheet.get(line.start)
        before = _read_back_pa(sheet, start) if start else None
        allowed = line.loss.value_si
        return (before or plan.target.value_si) - allowed * chance.triangular(0.05, 0.7, 0.3)
    tolerance = plan.tolerance.value_si
    taken = sheet.shop.overset.default_pa - 0.2 * tolerance * chance.triangular(-0.5, 2.5)
    put = pressures.set_at_reference_pa(sheet, plan)
    settled = (put or plan.target.value_si + taken) - taken
    target = plan.target.value_si
    return min(max(settled, target - 0.8 * tolerance), target + 0.8 * tolerance)


def _read_back_pa(sheet: Sheet, state: LineState) -> float | None:
    value, gas = state.given.get("value"), state.given.get("temperature")
    plan = sheet.procedure.charge
    if plan is None or value is None or gas is None or value.value_si is None or not gas.value_si:
        return None
    return pressures.at_reference_pa(
        value.value_si, gas.value_si, plan.reference.value_si, sheet.shop
    )


def _survey(line: Survey, slot: Slot, chance: Random, outside: str, where: float) -> str:
    """Cells that belong together: each is drawn from the same bore."""
    row, _, column = slot.name.removeprefix("d").partition("a")
    low, high = bounds(line.limit, line.unit)
    nominal = quantities.from_si(line.nominal.value_si, line.unit)
    low = nominal if low is None else low
    width = (high - low) if high is not None else nominal / 1000
    oval = _span(line.out_of_round, line.unit, width)
    size = low + width * (0.2 if outside else 0.15 + 0.35 * where)
    value = size + oval * 0.25 * chance.random()
    if outside == "hone or lap" and oval < width * 0.75:
        value += oval * 1.2 * (int(column) % 2 == 0)
    elif outside:
        value = low + width * (1.15 + 0.2 * chance.random())
    taper = _span(line.taper, line.unit, width)
    value += taper * 0.1 * (int(row) - 1)
    return written(value, line.unit, width / FIGURES)


def _span(span: object, unit: str, otherwise: float) -> float:
    value_si = getattr(span, "value_si", None)
    if value_si is None:
        return otherwise / 2
    return float(value_si / quantities.to_si(1.0, unit))


def _repeat(line: Repeat, state: LineState, slot: Slot, chance: Random) -> str:
    spread = line.spread.value_si / quantities.to_si(1.0, line.unit)
    before = [answer.value_si for answer in state.given.values() if answer.value_si is not None]
    if before:
        middle = quantities.from_si(before[0], line.unit)
        value = middle + spread * chance.uniform(-0.35, 0.35)
    elif line.limit is not None:
        value, _ = _good(*bounds(line.limit, line.unit), chance)
    else:
        value = chance.uniform(4, 12)
    return written(value, line.unit, spread / 10)


def _restore(sheet: Sheet, line: Restore, chance: Random) -> str:
    target = sheet.reference_value(line.reference)
    if target is None:
        return ""
    unit = line.unit
    off = line.tolerance.value_si * chance.uniform(-0.6, 0.6)
    step = line.tolerance.value_si / quantities.to_si(1.0, unit) / 5
    return written(quantities.from_si(target + off, unit), unit, step)


def _torque(line: Torque, slot: Slot, chance: Random, outside: str) -> str:
    assert line.target is not None
    share = line.passes[int(slot.name.removeprefix("p")) - 1]
    target = quantities.from_si(line.target.value_si, line.unit) * share
    tolerance = line.tolerance.value_si if line.tolerance else line.target.value_si * 0.05
    allowed = tolerance / quantities.to_si(1.0, line.unit)
    if outside and share == line.passes[-1]:
        target += allowed * chance.uniform(1.5, 2.5)
    elif chance.random() < 0.15:
        target += allowed * chance.uniform(-0.5, 0.5)
    return written(target, line.unit, 1.0 if allowed >= 2 else 0.1)
