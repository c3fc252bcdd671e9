"""Leak rates in every unit people write, and the rise of pressure in what was pumped empty."""

from shopdesk.calc import leak_units, nitrogen
from shopdesk.calc.leak import Reading
from shopdesk.desk.calculator import values
from shopdesk.desk.calculator.forms import Calculation, Field, Found, Kind, Value, incomplete
from shopdesk.desk.calculator.gas import (
    SPAN,
    basis,
    pressure_field,
    temperature_field,
    volume_field,
)
from shopdesk.desk.calculator.given import SITE, Given
from shopdesk.desk.calculator.readers import LeakRate

_MONTH_S = 365.25 * 86400.0 / 12.0
_DAY_S = 86400.0
_SHOWN = {
    "pascal_cubic_metre": ("Pa m3/s", "Pa·m³/s"),
    "millibar_litre": ("mbar l/s", "mbar·L/s"),
    "atmosphere_cc": ("atm cm3/s", "atm·cm³/s"),
    "standard_cc": ("sccm", "sccm"),
    "millilitre": ("ml/min", "mL/min"),
}
"""By result: the unit in ``calc.leak_units``, and as it is written."""
_SOURCE = "unit factors: ISO 20485 and NIST SP 811 (both from memory); mass by the ideal gas"


def _convert(given: Given) -> Found:
    rate, at_k, standard_k = given.leak_rate("rate"), given.si("at"), given.si("standard")
    flow = _throughput(rate, at_k, standard_k)
    mass = leak_units.leak_mass(flow, at_k)
    results = _every_unit(flow, mass, at_k, standard_k)
    sums = [
        f"{rate.value:g} {rate.unit} = {flow:.6g} Pa·m³/s at {values.celsius(at_k)}; "
        f"m = Q M/(R T) = {mass * 3.6e6:.5g} g/h of nitrogen"
    ]
    cautions = [
        f"A standard cubic centimetre is counted at {values.celsius(standard_k)} here; others "
        "count it at another temperature, 7 % between 0 and 20 °C.",
        "Volumes are at one atmosphere and the gas's temperature.",
    ]
    source = _SOURCE
    if given.has("volume") or given.has("pressure"):
        sums.append(_in_a_unit(given, mass, results))
        cautions += basis(given.pressure("pressure"))
        source = f"{_SOURCE}; {SPAN}"
    return Found(results, "; ".join(sums), source, tuple(cautions))


def _throughput(rate: LeakRate, at_k: float, standard_k: float) -> float:
    """Pa m³/s at ``at_k``."""
    if rate.unit in leak_units.LEAK_MASSES_KG_S:
        mass = rate.value * leak_units.LEAK_MASSES_KG_S[rate.unit]
        return leak_units.leak_of_mass(mass, at_k)
    from_k = standard_k if rate.unit in leak_units.STANDARD_UNITS else at_k
    return leak_units.convert_leak(
        rate.value, rate.unit, "Pa m3/s", unit_reference_k=from_k, to_reference_k=at_k
    )


def _every_unit(flow: float, mass: float, at_k: float, standard_k: float) -> dict[str, Value]:
    results = {}
    for name, (unit, written) in _SHOWN.items():
        to_k = standard_k if unit in leak_units.STANDARD_UNITS else at_k
        found = leak_units.convert_leak(
            flow, "Pa m3/s", unit, unit_reference_k=at_k, to_reference_k=to_k
        )
        results[name] = values.plain(found, written)
    results["nitrogen_mass"] = values.plain(mass / leak_units.LEAK_MASSES_KG_S["g/yr"], "g/yr")
    return results


def _in_a_unit(given: Given, mass_kg_s: float, results: dict[str, Value]) -> str:
    """What the rate takes from a charge in a month, or when that is gone; and the sum."""
    empty = [LEAK_UNITS.field(n) for n in ("volume", "pressure") if not given.has(n)]
    if empty:
        raise incomplete("leak-units with a charge", empty)
    volume, held, at_k = given.si("volume"), given.pressure("pressure"), given.si("at")
    full = nitrogen.density(held.pa_abs, at_k)
    vented = nitrogen.density(held.atmosphere_pa, at_k)
    left = full - mass_kg_s * _MONTH_S / volume
    if left < vented:
        days = (full - vented) * volume / mass_kg_s / _DAY_S
        results["empty_in"] = values.plain(days, "d", 4)
        return f"(ρ - ρ(atmosphere)) V/m = {days:.4g} d, the rate held"
    lost = held.pa_abs - nitrogen.pressure(left, at_k)
    ideal = leak_units.leak_of_mass(mass_kg_s, at_k) * _MONTH_S / volume
    results["loss_per_month"] = values.difference(lost, held.unit)
    results["loss_per_month_ideal"] = values.difference(ideal, held.unit)
    return (
        f"ρ = {full:.5g} kg/m³ less m t/V = {full - left:.4g} kg/m³ in a month: "
        f"{values.bar(lost)}, ideal gas {values.bar(ideal)}"
    )


LEAK_UNITS = Calculation(
    "leak-units",
    "A leak rate in mbar l/s, Pa m3/s, atm cc/s, sccm, mL/min and g of N2 a year",
    (
        Field("rate", Kind.LEAK_RATE, "With its unit: 1e-4 mbar l/s, 3 g/yr.", metavar="RATE"),
        Field(
            "at", Kind.QUANTITY, "The gas's temperature.", False, "20 °C", "°C", ("°F",),
            metavar="TEMPERATURE",
        ),
        Field(
            "standard", Kind.QUANTITY, "Temperature of a standard cm³ (sccm).", False, "0 °C",
            "°C", ("°F",), metavar="TEMPERATURE",
        ),
        volume_field("volume", "Gas volume of a unit that leaks so,", required=False),
        pressure_field("pressure", "and its charge: what it loses in a month.", required=False),
        *SITE,
    ),
    _convert,
    {"rate": "1e-4 mbar l/s", "volume": "0.5 L", "pressure": "90 bar"},
)  # fmt: skip


def _rise(given: Given) -> Found:
    before = given.pressure("start")
    after, at_k, end_k = given.pressure("end"), given.si("at"), given.si("end-at")
    seconds = given.si("in")
    moles = leak_units.molar_rise_ideal(
        given.si("volume"),
        Reading(before.pa_abs, at_k, 0.0),
        Reading(after.pa_abs, end_k, seconds),
    )
    flow = moles * leak_units.MOLAR_GAS_J_MOL_K * at_k
    return Found(
        {
            "leak_rate": values.plain(flow * 10.0, "mbar·L/s"),
            "molar_rate": values.plain(moles, "mol/s"),
        },
        f"n = V/R (p2/T2 - p1/T1)/t = {moles:.5g} mol/s; Q = n R T = {flow:.5g} Pa·m³/s at "
        f"{values.celsius(at_k)}",
        "vacuum-side leak check of 40 CFR 1065.644; ideal gas, exact enough below an atmosphere",
        (
            "What dries or comes out of rubber raises the pressure as a leak does, and slows: read "
            "a third time. Below zero the pressure fell.",
            *basis(before, after),
        ),
    )


PRESSURE_RISE = Calculation(
    "pressure-rise",
    "Leak into a volume that was pumped empty, from the rise of its pressure",
    (
        volume_field("volume", "Of all that was pumped empty, hoses included."),
        pressure_field("start", "The pressure at the start: 5 mbara."),
        temperature_field("at", "The temperature then."),
        pressure_field("end", "The pressure at the end."),
        temperature_field("end-at", "The temperature then."),
        Field("in", Kind.QUANTITY, "In what time.", unit="min", units=("s", "h"), metavar="TIME"),
        *SITE,
    ),
    _rise,
    {
        "volume": "0.5 L", "start": "5 mbara", "at": "20 C", "end": "6.2 mbara", "end-at": "20 C",
        "in": "10 min",
    },
)  # fmt: skip

CALCULATIONS = (LEAK_UNITS, PRESSURE_RISE)
