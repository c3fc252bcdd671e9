"""Leak rates in the units people write, and the molar leak check of a closed volume.

BadInput for an unknown unit or readings in the wrong order, OutOfRange below absolute zero.
"""

from shopdesk.calc._numeric import above_zero, absolute_pressure, finite, kelvin
from shopdesk.calc.charge import REFERENCE_K
from shopdesk.calc.leak import Reading
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
    "atm cm3/s": 0.101325,
    "sccm": 0.101325 / 60.0,
    "ml/min": 0.101325 / 60.0,
}
"""Throughput pV at the temperature the unit is stated for; sccm and ml/min at one atmosphere."""


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
