"""What a unit's charge lost in service, and when it wants making up again."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

from shopdesk import quantities
from shopdesk.calc import leak
from shopdesk.calc.leak import DAYS_PER_MONTH, InService, Interval
from shopdesk.errors import BadInput, OutOfRange
from shopdesk.procedure import types as doc
from shopdesk.rules import claims
from shopdesk.rules.answers import Answer
from shopdesk.rules.comparing import with_doubt
from shopdesk.rules.sheet import Sheet

# The shell beside the thermometer is taken for the gas: within a degree or so (common practice).
THERMOMETER_K = 1.0
_ARRIVALS = ("receipt", claims.CLAIM, "vent")
LONGEST_DAYS = 36525  # a hundred years: nobody waits for what lies beyond
GONE = 0.05  # of the charge it left with: what is lower was empty, who knows since when


@dataclass(frozen=True, slots=True)
class Served:
    """From one shipment to the arrival after it. ``due_pa``: gauge at reference at which the shop
    has it charged again, None without a rule; ``gone``: it arrived empty."""

    lost: InService
    shipped_on: date
    arrived_on: date
    arrived: str
    unit: str
    at: str
    due_pa: float | None
    source: str
    gone: bool
    entries: tuple[int, ...]


def arrival(sheet: Sheet) -> tuple[Answer, Answer] | None:
    """Pressure and temperature of the gas as it came: the first that was read, before anything was
    let down."""
    for section in _ARRIVALS:
        for state in sheet.section(section):
            if not is_arrival(state.line):
                continue
            answers = [a for a in (*state.past, *state.given.values()) if not a.superseded]
            pressure, gas = (_first(answers, slot) for slot in ("value", "temperature"))
            if pressure is not None and gas is not None:
                return pressure, gas
    return None


def is_arrival(line: doc.Line) -> bool:
    """Whether the line reads the gas as the unit came."""
    if isinstance(line, claims.Again):
        return isinstance(line.earlier.line, doc.Charge)
    return (
        isinstance(line, doc.Reading)
        and line.section in _ARRIVALS
        and bool(line.at_temperature)
        and quantities.dimension_of(line.unit) is quantities.Dimension.PRESSURE
    )


def _first(answers: list[Answer], slot: str) -> Answer | None:
    found = [a for a in answers if a.slot == slot and a.value_si is not None]
    return min(found, key=lambda answer: answer.id, default=None)


def served(sheet: Sheet, gauges: Mapping[str, float], shipped_gauge: str) -> Served | None:
    """What was lost since the unit left charged. ``gauges``: resolutions in pascal by code. None
    where it did not leave charged, was not measured on arrival, or came back the day it left."""
    left, plan, came = sheet.facts.left_with, sheet.procedure.charge, arrival(sheet)
    if left is None or plan is None or came is None:
        return None
    pressure, gas = came
    assert pressure.value_si is not None
    assert gas.value_si is not None
    air, rule = sheet.shop.atmosphere_pa, sheet.shop.recharge
    due = None if rule is None else rule.share * plan.target.value_si
    shipped_on, arrived_on = (each.astimezone(UTC).date() for each in (left.at, pressure.at))
    try:
        lost = leak.in_service(
            leak.Reading(left.pressure_pa + air, plan.reference.value_si),
            shipped_on,
            leak.Reading(pressure.value_si + air, gas.value_si),
            arrived_on,
            reference_k=plan.reference.value_si,
            minimum_ref_pa_abs=None if due is None else due + air,
            gauge_resolutions_pa=(
                gauges.get(shipped_gauge, 0.0),
                gauges.get(pressure.instrument, 0.0),
            ),
            thermometer_resolution_k=THERMOMETER_K,
        )
    except (BadInput, OutOfRange):
        return None
    return Served(
        lost,
        shipped_on,
        arrived_on,
        f"{pressure.answer} at {gas.answer}",
        plan.target.unit,
        plan.reference.typed,
        due,
        "" if rule is None else f"{rule.source} rev {rule.revision}",
        lost.arrived_pa_abs - air <= GONE * left.pressure_pa,
        (pressure.id, gas.id),
    )


def told(of: Served, atmosphere_pa: float) -> str:
    """What was lost, with its uncertainty and both temperatures brought to the reference."""
    left = quantities.text(of.lost.shipped_pa_abs - atmosphere_pa, of.unit)
    now = quantities.text(of.lost.arrived_pa_abs - atmosphere_pa, of.unit)
    months = of.lost.days / DAYS_PER_MONTH
    begun = (
        f"{left} at {of.at} when shipped {of.shipped_on}, {now} when it came {of.arrived_on} "
        f"(read {of.arrived})"
    )
    if of.gone:
        return f"{begun}: it came empty, no rate can be told from that"
    loss = with_doubt(abs(of.lost.loss_pa), of.lost.doubt_pa, of.unit)
    if abs(of.lost.loss_pa) <= of.lost.doubt_pa:
        return f"{begun}: no loss shown, {loss} in {months:.1f} months"
    word = "lost" if of.lost.loss_pa > 0 else "gained"
    rate = with_doubt(abs(of.lost.loss_pa) / months, of.lost.doubt_pa / months, of.unit)
    return f"{begun}: {word} {loss} in {months:.1f} months, {rate} a month"


def recharge(of: Served, charged_pa: float) -> Interval | None:
    """How long a charge lasts that loses as it did in its last service. None where that cannot be
    told, or not within a hundred years."""
    if of.due_pa is None or of.gone or charged_pa <= of.due_pa:
        return None
    lost = of.lost  # of gauge pressures both, what is between them is the same
    found = leak.interval(lost.loss_pa_per_day, lost.doubt_pa / lost.days, charged_pa, of.due_pa)
    soonest = found.soonest_days
    return None if soonest is None or soonest > LONGEST_DAYS else found


def advised(of: Served, charged_pa: float, on: date) -> str:
    """The customer's sentence: when to have a charge of that day made up, by which rule, how sure;
    "" where nothing can be said. The day is the soonest the gauges leave open."""
    found = recharge(of, charged_pa)
    if found is None or of.due_pa is None or found.soonest_days is None:
        return ""
    due = quantities.text(of.due_pa, of.unit)
    first = _months(found.soonest_days)
    if found.days is None or found.latest_days is None:
        when = f"at the soonest in {first} months, and perhaps never"
    else:
        latest = _months(found.latest_days)
        when = f"in {_months(found.days)} months ({first} to {latest})"
    return (
        f"Recharge by {on + timedelta(days=found.soonest_days)}: losing as in its last service it "
        f"falls to {due} at {of.at} {when}, by the gauges' resolution ({of.source})"
    )


def said(of: Served, sheet: Sheet, charged_pa: float, now: datetime) -> tuple[str, ...]:
    """What was lost, and for a charge of then when it wants making up."""
    advice = advised(of, charged_pa, now.astimezone(UTC).date())
    lost = told(of, sheet.shop.atmosphere_pa)
    return (lost, advice) if advice else (lost,)


def _months(days: int) -> str:
    return f"{min(days, LONGEST_DAYS) / DAYS_PER_MONTH:.1f}"
