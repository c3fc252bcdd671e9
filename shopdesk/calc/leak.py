"""Leak from pressures read over time, each at its own temperature, and how sure one can be of it.

Pressures absolute, gas nitrogen (``calc.nitrogen``), ideal gas beside it. BadInput for readings
that can't give an answer, OutOfRange outside 230-600 K and 0-700 bar absolute.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal

from shopdesk.calc import nitrogen
from shopdesk.calc._numeric import above_zero, absolute_pressure, finite, not_below_zero
from shopdesk.calc.charge import ATMOSPHERE_PA, REFERENCE_K, at_reference, before_checks
from shopdesk.calc.stats import student_t_quantile
from shopdesk.errors import BadInput

Verdict = Literal["no leak shown", "leak", "rise"]

DAYS_PER_MONTH = 365.25 / 12.0

_COVERAGE = 2.0


@dataclass(frozen=True)
class Reading:
    """One reading: pressure and gas temperature at a time in seconds from any fixed moment."""

    pressure_pa_abs: float
    temperature_k: float
    at_s: float = 0.0


@dataclass(frozen=True)
class Leak:
    """A leak is positive; ``rate_m3_s`` is gas at one atmosphere and the reference temperature.

    ``uncertainty_*`` is the half width at about 95 %; ``times_s`` and ``lost_kg`` are the points of
    the fit, ``fit_kg`` the line's value at each, for drawing.
    """

    rate_kg_s: float
    rate_m3_s: float
    rate_ideal_m3_s: float
    uncertainty_kg_s: float
    uncertainty_m3_s: float
    verdict: Verdict
    times_s: tuple[float, ...]
    lost_kg: tuple[float, ...]
    fit_kg: tuple[float, ...]


@dataclass(frozen=True)
class Loss:
    """Two readings at the reference temperature, and what was lost between them (positive)."""

    before_pa_abs: float
    after_pa_abs: float
    loss_pa: float
    loss_ideal_pa: float


@dataclass(frozen=True)
class Interval:
    """Whole days until a charge has fallen so far: likely, and at the soonest and the latest by
    the doubt of its loss. None: no end."""

    days: int | None
    soonest_days: int | None
    latest_days: int | None


@dataclass(frozen=True)
class InService:
    """Loss between a shipment and the next arrival, at reference, and the interval it suggests
    (None without a minimum). ``doubt_pa`` is the half width of the loss at about 95 %."""

    shipped_pa_abs: float
    arrived_pa_abs: float
    loss_pa: float
    days: int
    loss_pa_per_day: float
    loss_pa_per_month: float
    doubt_pa: float
    interval: Interval | None


def leak(
    volume_m3: float,
    readings: Sequence[Reading],
    *,
    gauge_resolution_pa: float,
    thermometer_resolution_k: float,
    reference_k: float = REFERENCE_K,
    rig_volume_m3: float = 0.0,
    rig_pa_abs: float = ATMOSPHERE_PA,
) -> Leak:
    """Leak rate from two or more readings: the slope of the gas lost against time, least squares.

    The gas in the closed volume at each reading is V ρ(p, T), so temperature drops out. With a rig
    that is attached empty (at ``rig_pa_abs``) for each reading and vented after it, each reading
    shows V + v and takes v (ρ - ρ(rig)) away; that gas is counted as taken, not leaked. Readings
    may come in any order. Uncertainty: gauge and thermometer resolution as rectangular spreads
    (resolution/√12 each, GUM JCGM 100:2008 F.2.2.1) carried through the slope, twice that; from
    three readings on the scatter about the line with Student's t if it is larger. A gauge that
    reads wrong by a fixed amount cancels. Verdict "no leak shown" where zero lies within it.
    Source: mass balance; regression, any statistics text.
    """
    above_zero(volume_m3, "Gas volume in m³")
    not_below_zero(rig_volume_m3, "Volume of the rig in m³")
    not_below_zero(gauge_resolution_pa, "Gauge resolution in Pa")
    not_below_zero(thermometer_resolution_k, "Thermometer resolution in K")
    ordered = _in_order(readings)
    times = [reading.at_s - ordered[0].at_s for reading in ordered]
    weights = _slope_weights(times)
    shares = _shares(weights, volume_m3, rig_volume_m3)

    real = _lost(ordered, nitrogen.density, volume_m3, rig_volume_m3, rig_pa_abs)
    ideal = _lost(ordered, nitrogen.ideal_density, volume_m3, rig_volume_m3, rig_pa_abs)
    slope = sum(w * lost for w, lost in zip(weights, real, strict=True))
    middle_s, middle_kg = sum(times) / len(times), sum(real) / len(real)
    fit = tuple(middle_kg + slope * (t - middle_s) for t in times)

    from_resolution = math.sqrt(
        sum(
            (share * _density_doubt(reading, gauge_resolution_pa, thermometer_resolution_k)) ** 2
            for share, reading in zip(shares, ordered, strict=True)
        )
    )
    doubt = max(_COVERAGE * from_resolution, _scatter(times, real, fit))
    per_m3 = nitrogen.density(ATMOSPHERE_PA, reference_k)
    ideal_slope = sum(w * lost for w, lost in zip(weights, ideal, strict=True))
    return Leak(
        rate_kg_s=slope,
        rate_m3_s=slope / per_m3,
        rate_ideal_m3_s=ideal_slope / nitrogen.ideal_density(ATMOSPHERE_PA, reference_k),
        uncertainty_kg_s=doubt,
        uncertainty_m3_s=doubt / per_m3,
        verdict=_verdict(slope, doubt),
        times_s=tuple(times),
        lost_kg=real,
        fit_kg=fit,
    )


def _in_order(readings: Sequence[Reading]) -> list[Reading]:
    if len(readings) < 2:
        raise BadInput(f"{len(readings)} reading was given; a leak rate needs two or more.")
    for reading in readings:
        finite(reading.at_s, "Time of a reading in s")
    ordered = sorted(readings, key=lambda reading: reading.at_s)
    if ordered[0].at_s == ordered[-1].at_s:
        raise BadInput("All readings have the same time; a leak rate needs two different times.")
    return ordered


def _slope_weights(times: Sequence[float]) -> list[float]:
    middle = sum(times) / len(times)
    square = sum((t - middle) ** 2 for t in times)
    return [(t - middle) / square for t in times]


def _lost(
    ordered: Sequence[Reading],
    density: Callable[[float, float], float],
    volume_m3: float,
    rig_volume_m3: float,
    rig_pa_abs: float,
) -> tuple[float, ...]:
    """Gas lost [kg] up to each reading, from zero at the first, what the rig took left out."""
    taken = 0.0
    held = []
    for reading in ordered:
        in_gas = density(reading.pressure_pa_abs, reading.temperature_k)
        in_rig = density(rig_pa_abs, reading.temperature_k) if rig_volume_m3 else 0.0
        into_rig = rig_volume_m3 * (in_gas - in_rig)
        held.append(volume_m3 * in_gas + into_rig + taken)
        taken += into_rig
    return tuple(held[0] - mass for mass in held)


def _shares(weights: Sequence[float], volume_m3: float, rig_volume_m3: float) -> list[float]:
    """How far each reading's density moves the slope [m³/s]; the rig's gas chains them."""
    return [
        weight * (volume_m3 + rig_volume_m3) + rig_volume_m3 * sum(weights[i + 1 :])
        for i, weight in enumerate(weights)
    ]


def _density_doubt(reading: Reading, gauge_pa: float, thermometer_k: float) -> float:
    """Standard uncertainty [kg/m³] of one density: ∂ρ/∂p and ∂ρ/∂T by ideal-gas steps of 0.01 %."""
    p, t = reading.pressure_pa_abs, reading.temperature_k
    at = nitrogen.density(p, t)
    step_p = p * 1e-4 if p < nitrogen.HIGHEST_PA_ABS / 2.0 else -p * 1e-4
    step_t = t * 1e-4 if t < 400.0 else -t * 1e-4
    by_p = (nitrogen.density(p + step_p, t) - at) / step_p if p else 1.0 / (297.0 * t)
    by_t = (nitrogen.density(p, t + step_t) - at) / step_t
    return math.hypot(by_p * gauge_pa, by_t * thermometer_k) / math.sqrt(12.0)


def _scatter(times: Sequence[float], lost: Sequence[float], fit: Sequence[float]) -> float:
    freedom = len(times) - 2
    if freedom < 1:
        return 0.0
    residual = sum((a - b) ** 2 for a, b in zip(lost, fit, strict=True))
    middle = sum(times) / len(times)
    square = sum((t - middle) ** 2 for t in times)
    return student_t_quantile(0.975, freedom) * math.sqrt(residual / freedom / square)


def _verdict(rate: float, doubt: float) -> Verdict:
    if rate > doubt:
        return "leak"
    return "rise" if rate < -doubt else "no leak shown"


def loss_at_reference(
    before: Reading,
    after: Reading,
    reference_k: float = REFERENCE_K,
    *,
    volume_m3: float | None = None,
    rig_volume_m3: float = 0.0,
    rig_pa_abs: float = ATMOSPHERE_PA,
) -> Loss:
    """Pressure lost [Pa] between two readings, both brought to the reference temperature.

    Constant-volume nitrogen as ``charge.at_reference``. With a rig attached empty for the second
    reading, give its volume and the unit's: the drop it makes is taken out first. Source: as
    ``charge.at_reference`` and ``charge.before_checks``.
    """
    second_pa, second_ideal_pa = after.pressure_pa_abs, after.pressure_pa_abs
    if rig_volume_m3:
        if volume_m3 is None:
            raise BadInput(
                "A rig was given without the unit's gas volume; give both to correct for it."
            )
        found = before_checks(
            volume_m3, rig_volume_m3, second_pa, after.temperature_k, 1, rig_pa_abs
        )
        second_pa, second_ideal_pa = found.pressure_pa_abs, found.ideal_pa_abs
    first = at_reference(before.pressure_pa_abs, before.temperature_k, reference_k)
    second = at_reference(second_pa, after.temperature_k, reference_k)
    ideal_after = second_ideal_pa * reference_k / after.temperature_k
    return Loss(
        before_pa_abs=first.pressure_pa_abs,
        after_pa_abs=second.pressure_pa_abs,
        loss_pa=first.pressure_pa_abs - second.pressure_pa_abs,
        loss_ideal_pa=first.ideal_pa_abs - ideal_after,
    )


def in_service(
    shipped: Reading,
    shipped_on: date,
    arrived: Reading,
    arrived_on: date,
    *,
    reference_k: float = REFERENCE_K,
    minimum_ref_pa_abs: float | None = None,
    share: float = 1.0,
    gauge_resolutions_pa: tuple[float, float] = (0.0, 0.0),
    thermometer_resolution_k: float = 0.0,
) -> InService:
    """What was lost between a shipment and the next arrival, and the interval it suggests.

    Loss at reference over the days between, ``interval`` from as full as it was shipped; a month
    is 365.25/12 days. Source: linear loss (common practice, no source). Its doubt: the resolutions
    of the gauge at shipment and of that at arrival, and of the thermometer at both, as rectangular
    spreads (resolution/√12 each, GUM JCGM 100:2008 F.2.2.1) carried to the reference by the ideal
    gas (p/T constant), twice their root sum of squares (k = 2).
    """
    days = (arrived_on - shipped_on).days
    if days < 1:
        raise BadInput(
            f"Shipped on {shipped_on}, arrived on {arrived_on}; the arrival must be a later day."
        )
    loss = loss_at_reference(shipped, arrived, reference_k)
    per_day = loss.loss_pa / days
    for resolution in (*gauge_resolutions_pa, thermometer_resolution_k):
        not_below_zero(resolution, "Resolution of a gauge or thermometer")
    doubt = _COVERAGE * math.hypot(
        *(
            _reference_doubt(reading, settled, gauge, thermometer_resolution_k)
            for reading, settled, gauge in (
                (shipped, loss.before_pa_abs, gauge_resolutions_pa[0]),
                (arrived, loss.after_pa_abs, gauge_resolutions_pa[1]),
            )
        )
    )
    return InService(
        shipped_pa_abs=loss.before_pa_abs,
        arrived_pa_abs=loss.after_pa_abs,
        loss_pa=loss.loss_pa,
        days=days,
        loss_pa_per_day=per_day,
        loss_pa_per_month=per_day * DAYS_PER_MONTH,
        doubt_pa=doubt,
        interval=None
        if minimum_ref_pa_abs is None
        else interval(per_day, doubt / days, loss.before_pa_abs, minimum_ref_pa_abs, share),
    )


def interval(
    loss_pa_per_day: float,
    doubt_pa_per_day: float,
    full_pa_abs: float,
    minimum_pa_abs: float,
    share: float = 1.0,
) -> Interval:
    """How long a charge lasts that loses so much a day: share × (full - minimum)/loss per day,
    whole days rounded down, both pressures at reference.

    ``share`` (0 to 1) is the shop's margin. Source: linear loss (common practice, no source).
    """
    absolute_pressure(minimum_pa_abs, "Minimum pressure at reference")
    if not 0.0 < share <= 1.0:
        raise BadInput(f"Share of the interval was read as {share:g}; give 0 to 1.")
    room_pa = share * max(0.0, full_pa_abs - minimum_pa_abs)
    return Interval(
        _days(room_pa, loss_pa_per_day),
        _days(room_pa, loss_pa_per_day + doubt_pa_per_day),
        _days(room_pa, loss_pa_per_day - doubt_pa_per_day),
    )


def _reference_doubt(
    reading: Reading, settled_pa_abs: float, gauge_pa: float, thermometer_k: float
) -> float:
    relative = math.hypot(gauge_pa / reading.pressure_pa_abs, thermometer_k / reading.temperature_k)
    return settled_pa_abs * relative / math.sqrt(12.0)


def _days(room_pa: float, loss_pa_per_day: float) -> int | None:
    if loss_pa_per_day <= 0.0:
        return None
    days = room_pa / loss_pa_per_day
    return int(days) if days < timedelta.max.days else None
