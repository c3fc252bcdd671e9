"""The nitrogen charge: what to set, what a reading means, what filling and reading it take away.

All pressures absolute unless the name says gauge; the gas is nitrogen (``calc.nitrogen``), with the
ideal gas beside it. Every function raises BadInput for what isn't a finite number and OutOfRange
outside 230-600 K, 0-700 bar absolute or below absolute zero. A result is advice: the unit's rated
pressure and precharge limit, local codes and licensed practice stand above it.
"""

import statistics
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from shopdesk.calc import nitrogen
from shopdesk.calc._numeric import above_zero, absolute_pressure, finite, not_below_zero, root
from shopdesk.errors import BadInput, OutOfRange

ATMOSPHERE_PA = 101325.0
PSI_PA = 4.4482216152605 / 0.0254**2
BAR_PA = 1e5
REFERENCE_K = 293.15
GAMMA = 1.4
LEARN_FROM = 5

_LOWEST_SITE_M, _HIGHEST_SITE_M = -2000.0, 11000.0
_LAST_DAY = date(9999, 12, 31)


@dataclass(frozen=True)
class SetPressure:
    """``pressure_pa_abs`` by the real gas; ``ideal_pa_abs`` beside it; the density both hold."""

    pressure_pa_abs: float
    ideal_pa_abs: float
    density_kg_m3: float


@dataclass(frozen=True)
class AtReference:
    """A reading brought to the reference temperature, real gas and ideal."""

    pressure_pa_abs: float
    ideal_pa_abs: float
    density_kg_m3: float


@dataclass(frozen=True)
class Fill:
    """Gas temperature as the valve closes, and the pressure once it has cooled; real and ideal."""

    filled_k: float
    settled_pa_abs: float
    filled_ideal_k: float
    settled_ideal_pa_abs: float


@dataclass(frozen=True)
class RigPressure:
    """The pressure on the other side of one or more gauge checks, real gas and ideal."""

    pressure_pa_abs: float
    ideal_pa_abs: float


@dataclass(frozen=True)
class OverSet:
    """``over_set_pa`` to add on the regulator, and how it is known.

    ``spread_pa`` is the width of the middle half, None for the default; ``count`` past charges
    were looked at; ``learned`` says whether they gave the figure.
    """

    over_set_pa: float
    spread_pa: float | None
    count: int
    learned: bool


def site_atmosphere(altitude_m: float) -> float:
    """Atmospheric pressure [Pa abs] at an altitude above sea level, -2000 to 11000 m.

    p = 101325 (1 - 0.0065 H/288.15)^5.25588, with the altitude taken as geopotential (1.4 m in
    3000 m). Weather moves it by about ±3 %. Source: ISO 2533:1975 standard atmosphere (constants
    from memory, results agree with its printed table).
    """
    finite(altitude_m, "Altitude in metres")
    if not _LOWEST_SITE_M <= altitude_m <= _HIGHEST_SITE_M:
        raise OutOfRange(
            f"Altitude was read as {altitude_m:g} m; "
            f"{_LOWEST_SITE_M:g} to {_HIGHEST_SITE_M:g} m above sea level is accepted."
        )
    exponent = 9.80665 / (0.0065 * 287.05287)
    return float(ATMOSPHERE_PA * (1.0 - 0.0065 * altitude_m / 288.15) ** exponent)


def absolute(pressure_pa_gauge: float, atmosphere_pa_abs: float = ATMOSPHERE_PA) -> float:
    """Gauge to absolute [Pa]: p + atmosphere. OutOfRange below a perfect vacuum."""
    above_zero(atmosphere_pa_abs, "Atmospheric pressure in Pa")
    result = finite(pressure_pa_gauge, "Gauge pressure") + atmosphere_pa_abs
    if result < 0.0:
        raise OutOfRange(
            f"Gauge pressure was read as {pressure_pa_gauge / BAR_PA:.5g} bar; with "
            f"{atmosphere_pa_abs / BAR_PA:.5g} bar of atmosphere that is below a perfect vacuum."
        )
    return result


def gauge(pressure_pa_abs: float, atmosphere_pa_abs: float = ATMOSPHERE_PA) -> float:
    """Absolute to gauge [Pa]: p - atmosphere."""
    above_zero(atmosphere_pa_abs, "Atmospheric pressure in Pa")
    return absolute_pressure(pressure_pa_abs) - atmosphere_pa_abs


def set_pressure(target_pa_abs: float, reference_k: float, gas_k: float) -> SetPressure:
    """Pressure [Pa abs] to set with the gas at ``gas_k``, for a target stated at ``reference_k``.

    Real: p(ρ(target, reference), gas), the density being fixed in a closed volume; ideal: p T/T0.
    Source: constant mass in a rigid volume; ``calc.nitrogen``.
    """
    density_kg_m3 = nitrogen.density(target_pa_abs, reference_k)
    return SetPressure(
        pressure_pa_abs=nitrogen.pressure(density_kg_m3, gas_k),
        ideal_pa_abs=target_pa_abs * gas_k / reference_k,
        density_kg_m3=density_kg_m3,
    )


def at_reference(reading_pa_abs: float, gas_k: float, reference_k: float) -> AtReference:
    """What a reading [Pa abs] taken at ``gas_k`` would be at ``reference_k``.

    The inverse of ``set_pressure``, same formula and source.
    """
    there = set_pressure(reading_pa_abs, gas_k, reference_k)
    return AtReference(there.pressure_pa_abs, there.ideal_pa_abs, there.density_kg_m3)


def fill(
    start_pa_abs: float,
    start_k: float,
    target_pa_abs: float,
    supply_pa_abs: float,
    supply_k: float,
    settle_k: float | None = None,
) -> Fill:
    """Fill fast from a supply until the gauge shows the target, then let it cool to ``settle_k``.

    Real: m2 u2 - m1 u1 = (m2 - m1) h(supply) at p2 = target; ideal: T2 = p2/(p1/T1 + (p2 -
    p1)/(γ T supply)), γ = 1.4; settled at constant density. No heat to the walls, so the hottest
    case: a slow fill stays cooler. ``settle_k`` defaults to ``start_k``. BadInput where the target
    is below the start or above the supply. Source: energy balance of uniform-flow
    filling, any engineering thermodynamics text.
    """
    _fill_makes_sense(start_pa_abs, target_pa_abs, supply_pa_abs)
    end_k = start_k if settle_k is None else settle_k
    hot_k = _filled_temperature(start_pa_abs, start_k, target_pa_abs, supply_pa_abs, supply_k)
    ideal_k = target_pa_abs / (
        start_pa_abs / start_k + (target_pa_abs - start_pa_abs) / (GAMMA * supply_k)
    )
    settled = set_pressure(target_pa_abs, hot_k, end_k)
    return Fill(
        filled_k=hot_k,
        settled_pa_abs=settled.pressure_pa_abs,
        filled_ideal_k=ideal_k,
        settled_ideal_pa_abs=target_pa_abs * end_k / ideal_k,
    )


def _fill_makes_sense(start_pa_abs: float, target_pa_abs: float, supply_pa_abs: float) -> None:
    absolute_pressure(start_pa_abs, "Pressure before filling")
    above_zero(target_pa_abs, "Pressure to fill to, in Pa absolute,")
    absolute_pressure(supply_pa_abs, "Supply pressure")
    if target_pa_abs < start_pa_abs:
        raise BadInput(
            f"The unit already holds {start_pa_abs / BAR_PA:.6g} bar absolute, more than the "
            f"{target_pa_abs / BAR_PA:.6g} it is to be filled to; filling can only raise it."
        )
    if target_pa_abs > supply_pa_abs:
        raise BadInput(
            f"The supply was read as {supply_pa_abs / BAR_PA:.6g} bar absolute; it can't fill a "
            f"unit to {target_pa_abs / BAR_PA:.6g}: take a fuller bottle or a booster."
        )


def _filled_temperature(
    start_pa_abs: float,
    start_k: float,
    target_pa_abs: float,
    supply_pa_abs: float,
    supply_k: float,
) -> float:
    before_kg_m3 = nitrogen.density(start_pa_abs, start_k)
    before_j_m3 = before_kg_m3 * nitrogen.internal_energy(before_kg_m3, start_k)
    supply_j_kg = nitrogen.enthalpy(nitrogen.density(supply_pa_abs, supply_k), supply_k)

    def surplus(temperature_k: float) -> float:
        after_kg_m3 = nitrogen.density(target_pa_abs, temperature_k)
        after_j_m3 = after_kg_m3 * nitrogen.internal_energy(after_kg_m3, temperature_k)
        return after_j_m3 - before_j_m3 - (after_kg_m3 - before_kg_m3) * supply_j_kg

    try:
        return root(surplus, nitrogen.LOWEST_K, nitrogen.HIGHEST_K, 1e-7)
    except ArithmeticError:
        raise OutOfRange(
            "Filling this fast would leave the gas outside -43.15 to 326.85 °C, where the nitrogen "
            "equation is used here; fill more slowly or in steps."
        ) from None


def after_checks(
    unit_volume_m3: float,
    rig_volume_m3: float,
    pressure_pa_abs: float,
    gas_k: float,
    checks: int = 1,
    rig_pa_abs: float = ATMOSPHERE_PA,
) -> RigPressure:
    """Pressure [Pa abs] left after an empty rig has been attached and vented ``checks`` times.

    Each time ρ' = (ρ V + ρ(rig) v)/(V + v), ideal p' = (p V + p(rig) v)/(V + v), at one
    temperature; the rig holds nitrogen at ``rig_pa_abs`` before each check. What the gauge shows at
    the last check is this figure. Source: mass balance (common practice, no source).
    """
    kept = _kept_share(unit_volume_m3, rig_volume_m3, checks)
    rig_kg_m3 = nitrogen.density(rig_pa_abs, gas_k)
    start_kg_m3 = nitrogen.density(pressure_pa_abs, gas_k)
    return RigPressure(
        nitrogen.pressure(rig_kg_m3 + (start_kg_m3 - rig_kg_m3) * kept, gas_k),
        rig_pa_abs + (pressure_pa_abs - rig_pa_abs) * kept,
    )


def before_checks(
    unit_volume_m3: float,
    rig_volume_m3: float,
    reads_pa_abs: float,
    gas_k: float,
    checks: int = 1,
    rig_pa_abs: float = ATMOSPHERE_PA,
) -> RigPressure:
    """Pressure [Pa abs] before an empty rig was attached ``checks`` times, from the last reading.

    The inverse of ``after_checks``, same formula and source.
    """
    kept = _kept_share(unit_volume_m3, rig_volume_m3, checks)
    rig_kg_m3 = nitrogen.density(rig_pa_abs, gas_k)
    read_kg_m3 = nitrogen.density(reads_pa_abs, gas_k)
    before_ideal = rig_pa_abs + (reads_pa_abs - rig_pa_abs) / kept
    before_kg_m3 = rig_kg_m3 + (read_kg_m3 - rig_kg_m3) / kept
    if before_kg_m3 < 0.0 or before_ideal < 0.0:
        raise BadInput(
            f"A reading of {reads_pa_abs / BAR_PA:.5g} bar absolute is lower than a rig at "
            f"{rig_pa_abs / BAR_PA:.5g} bar could leave; check the reading and the two volumes."
        )
    return RigPressure(nitrogen.pressure(before_kg_m3, gas_k), before_ideal)


def _kept_share(unit_volume_m3: float, rig_volume_m3: float, checks: int) -> float:
    above_zero(unit_volume_m3, "Gas volume of the unit in m³")
    not_below_zero(rig_volume_m3, "Volume of the rig in m³")
    if checks < 1:
        raise BadInput(f"Number of checks was read as {checks}; it must be 1 or more.")
    share = (unit_volume_m3 / (unit_volume_m3 + rig_volume_m3)) ** checks
    if share < 1e-9:
        raise BadInput(
            f"{checks} checks with this rig leave nothing of the charge to compute; "
            "check the number of checks and the two volumes."
        )
    return float(share)


def over_set(
    past_losses_pa: Sequence[float], default_pa: float, at_least: int = LEARN_FROM
) -> OverSet:
    """What to add on the regulator [Pa] for the gas lost when the rig comes off.

    With ``at_least`` past losses (set minus settled, one model and rig, one temperature): their
    median, and the distance between the quartiles as spread; before that the shop's default. A
    negative median gives zero. Source: common practice, no source.
    """
    not_below_zero(default_pa, "The shop's over-set in Pa")
    if at_least < 2:
        raise BadInput(f"Learning was asked from {at_least} charges; it needs 2 or more.")
    losses = [finite(loss, "A past loss in Pa") for loss in past_losses_pa]
    if len(losses) < at_least:
        return OverSet(default_pa, None, len(losses), learned=False)
    low, median, high = statistics.quantiles(losses, n=4, method="inclusive")
    return OverSet(max(0.0, median), high - low, len(losses), learned=True)


def minimum_reached(
    measured_on: date,
    pressure_ref_pa_abs: float,
    minimum_ref_pa_abs: float,
    loss_pa_per_day: float,
) -> date | None:
    """The date on which the charge reaches its minimum; None where the loss is nil or too slow.

    (p - minimum)/loss days after the measurement, all at the reference temperature, whole days
    rounded down. A leak slows as the pressure falls, so the date is on the early side; already
    below gives the day of measurement. Source: linear extrapolation (common practice, no source).
    """
    absolute_pressure(pressure_ref_pa_abs, "Pressure at reference")
    absolute_pressure(minimum_ref_pa_abs, "Minimum pressure at reference")
    finite(loss_pa_per_day, "Loss in Pa per day")
    if pressure_ref_pa_abs <= minimum_ref_pa_abs:
        return measured_on
    if loss_pa_per_day <= 0.0:
        return None
    days = (pressure_ref_pa_abs - minimum_ref_pa_abs) / loss_pa_per_day
    if days >= (_LAST_DAY - measured_on).days:
        return None
    return measured_on + timedelta(days=int(days))
