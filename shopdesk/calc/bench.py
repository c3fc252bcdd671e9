"""Bench tests: decay corrected for temperature, drops to flow, relief and pilot judgements.

Fluid cleanliness is in ``cleanliness``; the leak of a gas charge over days in ``leak``.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import fmean

from shopdesk.calc import nitrogen
from shopdesk.calc._numeric import above_zero, absolute_pressure, finite, kelvin, not_below_zero
from shopdesk.calc.stats import share, student_t_quantile
from shopdesk.errors import BadInput

STEEL_EXPANSION_1_K = 3.6e-5
"""Volume expansion of a steel vessel, three times 12e-6 per kelvin (from memory)."""


@dataclass(frozen=True)
class Held:
    """One end of a hold: pressure and temperature of what is shut in."""

    pressure_pa: float
    temperature_k: float


@dataclass(frozen=True)
class LiquidDecay:
    """``drop_pa`` as read, ``thermal_pa`` the part of it that is cooling, ``leak_pa`` the rest.

    Below zero is a rise. ``leak_m3_s`` is the flow at test pressure that makes the rest.
    """

    drop_pa: float
    thermal_pa: float
    leak_pa: float
    leak_m3_s: float


@dataclass(frozen=True)
class GasDecay:
    """Drops in Pa, the second reading brought to the temperature of the first."""

    drop_pa: float
    corrected_pa: float
    corrected_ideal_pa: float


@dataclass(frozen=True)
class Judged:
    """One figure against its limits, both ends allowed; a limit of None isn't set."""

    name: str
    value: float
    low: float | None
    high: float | None

    @property
    def within(self) -> bool:
        return (self.low is None or self.value >= self.low) and (
            self.high is None or self.value <= self.high
        )


@dataclass(frozen=True)
class ReliefTest:
    """``reseat_share`` and ``full_flow_share`` are of the cracking pressure."""

    reseat_share: float
    full_flow_share: float
    judged: tuple[Judged, ...]

    @property
    def within(self) -> bool:
        return all(one.within for one in self.judged)


@dataclass(frozen=True)
class PilotRatio:
    """The ratio the line through the readings gives, its bounds, and the pilot pressure at no load.

    ``ratio_high`` is infinite where the readings don't bound it. ``worst_off_pa`` is the reading
    furthest from the line.
    """

    ratio: float
    ratio_low: float
    ratio_high: float
    no_load_pa: float
    worst_off_pa: float
    count: int


def liquid_decay(
    first: Held,
    second: Held,
    seconds: float,
    volume_m3: float,
    bulk_modulus_pa: float,
    expansion_1_k: float,
    vessel_expansion_1_k: float = STEEL_EXPANSION_1_K,
) -> LiquidDecay:
    """Pressure decay of a shut-in liquid, less what its cooling does: K (β - β_vessel) ΔT.

    K effective bulk modulus of oil, hose and air together (stated, or measured by a known volume),
    β volume expansion of the oil, about 7e-4 per kelvin for mineral oil (from memory): then 1 K is
    about 10 bar, so the temperature decides the test. Leak = V Δp/(K t). Gauge or absolute, both
    the same. Source: definitions of bulk modulus and expansion (Merritt, from memory).
    """
    for held in (first, second):
        finite(held.pressure_pa, "Pressure in Pa")
        kelvin(held.temperature_k, "Oil temperature")
    above_zero(seconds, "Time in s")
    above_zero(volume_m3, "Volume in m³")
    above_zero(bulk_modulus_pa, "Bulk modulus in Pa")
    beta = above_zero(expansion_1_k, "Expansion per kelvin")
    net = beta - not_below_zero(vessel_expansion_1_k, "Expansion of the vessel per kelvin")
    drop = first.pressure_pa - second.pressure_pa
    thermal = bulk_modulus_pa * net * (first.temperature_k - second.temperature_k)
    leak = drop - thermal
    return LiquidDecay(drop, thermal, leak, volume_m3 * leak / (bulk_modulus_pa * seconds))


def gas_decay(first: Held, second: Held) -> GasDecay:
    """Pressure decay of shut-in nitrogen at the first temperature: p1 - p(T1, ρ(p2, T2)).

    Absolute pressures. Ideal beside real: p1 - p2 T1/T2. OutOfRange as ``nitrogen.density``.
    Source: constant density, Span et al. 2000.
    """
    for held in (first, second):
        absolute_pressure(held.pressure_pa, "Pressure")
        kelvin(held.temperature_k, "Gas temperature")
    density = nitrogen.density(second.pressure_pa, second.temperature_k)
    brought = nitrogen.pressure(density, first.temperature_k)
    ideal = second.pressure_pa * first.temperature_k / second.temperature_k
    return GasDecay(
        drop_pa=first.pressure_pa - second.pressure_pa,
        corrected_pa=first.pressure_pa - brought,
        corrected_ideal_pa=first.pressure_pa - ideal,
    )


def drops_to_flow(drops: float, seconds: float, drop_m3: float | None) -> float:
    """Flow [m³/s] of counted drops of a stated size: n v/t.

    BadInput without a size: a drop depends on the fluid and the edge it falls from, 0.03 to 0.1 ml
    for oil (common practice, no source), so weigh or measure some of them. Source: definition.
    """
    if drop_m3 is None:
        raise BadInput(
            "No drop size was given; drops say nothing about flow without one: catch 20 drops or "
            "more, measure their volume and state it per drop."
        )
    counted = not_below_zero(drops, "Drops counted")
    return counted * above_zero(drop_m3, "Drop size in m³") / above_zero(seconds, "Time in s")


def flow_to_drops(flow_m3_s: float, seconds: float, drop_m3: float | None) -> float:
    """Drops in a time for a flow, the inverse of ``drops_to_flow``; same source and errors."""
    one_drop_m3_s = drops_to_flow(1.0, seconds, drop_m3)
    return not_below_zero(flow_m3_s, "Flow in m³/s") / one_drop_m3_s


def relief_test(
    crack_pa: float,
    full_flow_pa: float,
    reseat_pa: float,
    crack_low_pa: float | None = None,
    crack_high_pa: float | None = None,
    full_flow_high_pa: float | None = None,
    reseat_low_pa: float | None = None,
) -> ReliefTest:
    """A relief valve's three pressures [Pa gauge] against the limits that are set.

    Crack: first steady flow rising; full flow: at the flow the procedure names; reseat: flow gone,
    falling. BadInput where they aren't in the order reseat, crack, full flow. Source: common
    practice, no source; limits are the procedure's.
    """
    above_zero(reseat_pa, "Reseat pressure in Pa")
    above_zero(crack_pa, "Cracking pressure in Pa")
    above_zero(full_flow_pa, "Full-flow pressure in Pa")
    if not reseat_pa <= crack_pa <= full_flow_pa:
        raise BadInput(
            f"Reseat {reseat_pa / 1e5:g}, crack {crack_pa / 1e5:g} and full flow "
            f"{full_flow_pa / 1e5:g} bar were read; a relief valve's rise in that order: check "
            "which is which."
        )
    judged = (
        _judged("crack", crack_pa, crack_low_pa, crack_high_pa),
        _judged("full flow", full_flow_pa, None, full_flow_high_pa),
        _judged("reseat", reseat_pa, reseat_low_pa, None),
    )
    return ReliefTest(reseat_pa / crack_pa, full_flow_pa / crack_pa, judged)


def _judged(name: str, value: float, low: float | None, high: float | None) -> Judged:
    for limit in (low, high):
        if limit is not None:
            above_zero(limit, f"Limit of {name} in Pa")
    if low is not None and high is not None and low > high:
        raise BadInput(
            f"Limits of {name} were read as {low / 1e5:g} to {high / 1e5:g} bar; give the lower "
            "one first."
        )
    return Judged(name, value, low, high)


def pilot_ratio(
    load_pa: Sequence[float], pilot_pa: Sequence[float], confidence: float = 0.95
) -> PilotRatio:
    """Pilot ratio from pilot pressures that just opened at 3 or more load pressures [Pa gauge].

    Least squares of pilot = no load + load/ratio: the slope leaves out spring and friction, which a
    single pair doesn't. Bounds from Student's t for the slope. BadInput for fewer readings, loads
    all alike or pilot pressure that doesn't rise with load.
    Source: force balance (common practice); regression, any statistics text.
    """
    loads, pilots = _pairs(load_pa, pilot_pa)
    share(confidence, "Confidence")
    slope, no_load, slope_error = _line(loads, pilots)
    if slope <= 0.0:
        raise BadInput(
            "Pilot pressure was read as not rising with load; the ratio has no value: check the "
            "readings and which is which."
        )
    half = student_t_quantile(0.5 + 0.5 * confidence, len(loads) - 2) * slope_error
    off = [y - no_load - slope * x for x, y in zip(loads, pilots, strict=True)]
    return PilotRatio(
        ratio=1.0 / slope,
        ratio_low=1.0 / (slope + half),
        ratio_high=1.0 / (slope - half) if slope > half else math.inf,
        no_load_pa=no_load,
        worst_off_pa=max(off, key=abs),
        count=len(loads),
    )


def _pairs(load_pa: Sequence[float], pilot_pa: Sequence[float]) -> tuple[list[float], list[float]]:
    if len(load_pa) != len(pilot_pa) or len(load_pa) < 3:
        raise BadInput(
            f"{len(load_pa)} load and {len(pilot_pa)} pilot pressures were read; the ratio needs 3 "
            "or more pairs."
        )
    loads = [not_below_zero(p, "Load pressure in Pa") for p in load_pa]
    pilots = [not_below_zero(p, "Pilot pressure in Pa") for p in pilot_pa]
    if max(loads) == min(loads):
        raise BadInput("Load pressures were read as all alike; vary the load between readings.")
    return loads, pilots


def _line(x: Sequence[float], y: Sequence[float]) -> tuple[float, float, float]:
    """Slope, intercept and standard error of the slope, 3 or more points."""
    mean_x, mean_y = fmean(x), fmean(y)
    square = math.fsum((a - mean_x) ** 2 for a in x)
    slope = math.fsum((a - mean_x) * (b - mean_y) for a, b in zip(x, y, strict=True)) / square
    intercept = mean_y - slope * mean_x
    rest = math.fsum((b - intercept - slope * a) ** 2 for a, b in zip(x, y, strict=True))
    return slope, intercept, math.sqrt(rest / (len(x) - 2) / square)
