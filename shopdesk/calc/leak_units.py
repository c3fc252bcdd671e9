"""Leak rates in the units people write, as gas or as mass of nitrogen, and the molar leak check of
a closed volume.

BadInput for an unknown unit or readings in the wrong order, OutOfRange below absolute zero.
"""

from shopdesk.calc._numeric import above_zero, absolute_pressure, finite, kelvin
from shopdesk.calc.charge import ATMOSPHERE_PA, REFERENCE_K
from shopdesk.calc.leak import Reading
from shopdesk.calc.nitrogen import MOLAR_MASS_KG_MOL
from shopdesk.errors import BadInput

MOLAR_GAS_J_MOL_K = 8.314462618
"""CODATA 2018, exact by definition."""


def molar_rise_ideal(volume_m3: float, before: Reading, after: Reading) -> float:
    """Ideal molar flow [mol/s] into a closed volume: V/R (p2/T2 - p1/T1)/(t2 - t1).

    Source: the vacuum-side leak check of 40 CFR 1065.644.
    """
    above_zero(volume_m3, "Volume in m³")
    seconds = finite(after.at_s, "Time of a reading in s") - finite(before.at_s, "Time in s")
    if seconds <= 0.0:
        raise BadInput("The second reading must be later than the first.")
    held = [
        absolute_pressure(reading.pressure_pa_abs) / kelvin(reading.temperature_k)
        for reading in (before, after)
    ]
    return volume_m3 / MOLAR_GAS_J_MOL_K * (held[1] - held[0]) / seconds


LEAK_UNITS_PA_M3_S = {
    "Pa m3/s": 1.0,
    "mbar l/s": 0.1,
    "torr l/s": 1e-3 * ATMOSPHERE_PA / 760.0,
    "atm cm3/s": 1e-6 * ATMOSPHERE_PA,
    "scc/s": 1e-6 * ATMOSPHERE_PA,
    "sccm": 1e-6 * ATMOSPHERE_PA / 60.0,
    "ml/min": 1e-6 * ATMOSPHERE_PA / 60.0,
    "ml/h": 1e-6 * ATMOSPHERE_PA / 3600.0,
}
"""Throughput pV at the temperature the unit is stated for; volumes are at one atmosphere."""
STANDARD_UNITS = frozenset({"scc/s", "sccm"})
"""Those whose own name says a standard temperature, though not which."""
_YEAR_S = 365.25 * 86400.0
LEAK_MASSES_KG_S = {
    "g/yr": 1e-3 / _YEAR_S,
    "kg/yr": 1.0 / _YEAR_S,
    "oz/yr": 0.028349523125 / _YEAR_S,
    "g/d": 1e-3 / 86400.0,
    "g/h": 1e-3 / 3600.0,
    "mg/h": 1e-6 / 3600.0,
}
"""Mass of nitrogen; the ounce is the avoirdupois one (NIST SP 811)."""


def convert_leak(
    value: float,
    unit: str,
    to_unit: str,
    *,
    unit_reference_k: float = REFERENCE_K,
    to_reference_k: float | None = None,
) -> float:
    """A leak rate in another unit, and for another reference temperature of the gas volume.

    value × factor(unit)/factor(to) × T(to)/T(unit), ideal gas: the same moles a second. A
    "standard" cubic centimetre is at 0 °C for some and 20 °C for others, 7 % apart: state it.
    Source: ISO 20485 and NIST SP 811 (both from memory).
    """
    for name in (unit, to_unit):
        if name not in LEAK_UNITS_PA_M3_S:
            accepted = ", ".join(LEAK_UNITS_PA_M3_S)
            raise BadInput(f"Leak unit was read as {name!r}; accepted are {accepted}.")
    from_k = kelvin(unit_reference_k, "Reference temperature")
    to_k = from_k if to_reference_k is None else kelvin(to_reference_k, "Reference temperature")
    factor = LEAK_UNITS_PA_M3_S[unit] / LEAK_UNITS_PA_M3_S[to_unit]
    return finite(value, "Leak rate") * factor * to_k / from_k


def leak_mass(rate_pa_m3_s: float, at_k: float = REFERENCE_K) -> float:
    """Mass of nitrogen a throughput carries [kg/s], the throughput stated at ``at_k``: Q M/(R T).

    Ideal gas, as a throughput is. Source: definition; molar mass of Span et al. 2000.
    """
    moles = finite(rate_pa_m3_s, "Leak rate") / (MOLAR_GAS_J_MOL_K * kelvin(at_k))
    return moles * MOLAR_MASS_KG_MOL


def leak_of_mass(rate_kg_s: float, at_k: float = REFERENCE_K) -> float:
    """The throughput [Pa m³/s] at ``at_k`` of a mass of nitrogen; the inverse of ``leak_mass``."""
    return finite(rate_kg_s, "Leak rate") / leak_mass(1.0, at_k)
