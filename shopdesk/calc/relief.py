"""Relief and check valves: cracking pressure from spring and depth, and what a restored depth is
worth in pressure.

Depth is counted so that deeper compresses the spring more. Where a stick-out is measured instead,
the pressure per depth is negative.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import fmean, stdev

from shopdesk.calc._numeric import above_zero, finite, not_below_zero
from shopdesk.calc.stats import share, student_t_quantile
from shopdesk.errors import BadInput

CONFIDENCE = 0.95


@dataclass(frozen=True)
class RepeatDepths:
    """Repeat readings of one depth. ``half_width_m``: the mean lies within ± this of the depth
    with ``confidence``; ``spread_m`` largest less smallest."""

    count: int
    mean_m: float
    spread_m: float
    deviation_m: float
    half_width_m: float
    confidence: float


@dataclass(frozen=True)
class RestoredSetting:
    """``shift_pa`` is known and signed; the pressure may be off by a further ± ``half_width_pa``.

    ``pressure_pa`` is the old setting with the shift, None where the old one wasn't given.
    """

    depth_shift_m: float
    shift_pa: float
    half_width_m: float
    half_width_pa: float
    pressure_pa: float | None


@dataclass(frozen=True)
class PilotOpening:
    """``ratio`` is pilot piston area over seat area."""

    ratio: float
    pilot_pa: float


def repeat_depths(
    readings_m: Sequence[float], resolution_m: float = 0.0, confidence: float = CONFIDENCE
) -> RepeatDepths:
    """Mean, spread and uncertainty [m] of repeat depth readings, 2 or more.

    Half width = t √(s²/n + r²/12): s sample deviation, r the instrument's resolution, t Student's
    for ``confidence`` with the effective degrees of freedom (Welch-Satterthwaite). Without the
    resolution identical readings claim to be exact. BadInput for fewer than 2 readings.
    Source: JCGM 100 (GUM), 4.2 to 4.3 and G.4 (from memory).
    """
    if len(readings_m) < 2:
        raise BadInput(f"A spread of depths needs 2 readings or more; {len(readings_m)} was read.")
    readings = [finite(reading, "Depth reading in m") for reading in readings_m]
    not_below_zero(resolution_m, "Resolution in m")
    share(confidence, "Confidence")
    count, deviation = len(readings), stdev(readings)
    return RepeatDepths(
        count=count,
        mean_m=fmean(readings),
        spread_m=max(readings) - min(readings),
        deviation_m=deviation,
        half_width_m=_half_width(deviation, count, resolution_m, confidence),
        confidence=confidence,
    )


def _half_width(deviation: float, count: int, resolution: float, confidence: float) -> float:
    repeat = deviation / math.sqrt(count)
    combined = math.hypot(repeat, resolution / math.sqrt(12.0))
    if combined == 0.0:
        return 0.0
    weight = (repeat / combined) ** 4
    # beyond a million degrees Student's t is the normal one to six digits
    degrees = (count - 1) / weight if weight * 1e6 > count - 1 else math.inf
    return student_t_quantile(0.5 + 0.5 * confidence, degrees) * combined


def seat_area(seat_m: float) -> float:
    """Area [m²] pressure acts on: π/4 d², d the contact diameter of the seat, not of the ball."""
    return 0.25 * math.pi * above_zero(seat_m, "Seat diameter in m") ** 2


def cracking_pressure(
    rate_n_m: float, preload_m: float, seat_m: float, back_pressure_pa: float = 0.0
) -> float:
    """Pressure [Pa] that lifts the seat: p = k x/A + back pressure on the spring side.

    x how far the spring is compressed on its seat. Gauge or absolute as the back pressure is.
    Source: common practice (force balance on the seat diameter), no source.
    """
    force_n = above_zero(rate_n_m, "Spring rate in N/m") * not_below_zero(preload_m, "Preload in m")
    return force_n / seat_area(seat_m) + finite(back_pressure_pa, "Back pressure in Pa")


def preload_for(
    pressure_pa: float, rate_n_m: float, seat_m: float, back_pressure_pa: float = 0.0
) -> float:
    """Spring compression [m] for a cracking pressure, the inverse of ``cracking_pressure``.

    BadInput for a pressure below the back pressure: no compression gives it.
    """
    net_pa = finite(pressure_pa, "Cracking pressure in Pa") - finite(
        back_pressure_pa, "Back pressure in Pa"
    )
    if net_pa < 0.0:
        raise BadInput(
            f"Cracking pressure was read as {pressure_pa / 1e5:g} bar, below the back pressure of "
            f"{back_pressure_pa / 1e5:g} bar; the spring can only add to that."
        )
    return net_pa * seat_area(seat_m) / above_zero(rate_n_m, "Spring rate in N/m")


def pressure_per_depth(rate_n_m: float, seat_m: float) -> float:
    """Change of cracking pressure per change of depth [Pa/m]: k/A. Source: as the force balance."""
    return above_zero(rate_n_m, "Spring rate in N/m") / seat_area(seat_m)


def pressure_change(rate_n_m: float, seat_m: float, depth_change_m: float) -> float:
    """Change of cracking pressure [Pa] for a change of depth or a shim: k Δx/A."""
    return pressure_per_depth(rate_n_m, seat_m) * finite(depth_change_m, "Change of depth in m")


def depth_change(rate_n_m: float, seat_m: float, pressure_change_pa: float) -> float:
    """Depth or shim [m] for a change of cracking pressure: A Δp/k."""
    wanted_pa = finite(pressure_change_pa, "Change of pressure in Pa")
    return wanted_pa / pressure_per_depth(rate_n_m, seat_m)


def restored_setting(
    before: RepeatDepths,
    depth_m: float,
    tolerance_m: float,
    pressure_per_depth_pa_m: float,
    pressure_before_pa: float | None = None,
) -> RestoredSetting:
    """What a screw put back to ``depth_m`` ± ``tolerance_m`` does to the pressure it had.

    Shift = slope × (depth - mean of the readings at teardown); half width = |slope| × √(half width
    of those readings² + tolerance²). The spring, the seat and the friction are taken as unchanged:
    a new spring needs the bench. ``pressure_per_depth_pa_m`` from ``pressure_per_depth`` or the
    bench, negative for a stick-out. Source: JCGM 100 (GUM) propagation (from memory).
    """
    slope = finite(pressure_per_depth_pa_m, "Pressure per depth in Pa/m")
    if slope == 0.0:
        raise BadInput("Pressure per depth was read as 0; a setting that moves nothing has none.")
    shift_m = finite(depth_m, "Restored depth in m") - before.mean_m
    half_m = math.hypot(before.half_width_m, not_below_zero(tolerance_m, "Depth tolerance in m"))
    shift_pa = slope * shift_m
    new_pa = None
    if pressure_before_pa is not None:
        new_pa = finite(pressure_before_pa, "Old setting in Pa") + shift_pa
    return RestoredSetting(
        depth_shift_m=shift_m,
        shift_pa=shift_pa,
        half_width_m=half_m,
        half_width_pa=abs(slope) * half_m,
        pressure_pa=new_pa,
    )


def pilot_opening(
    load_pa: float, piston_m: float, seat_m: float, spring_n: float = 0.0
) -> PilotOpening:
    """Pilot pressure [Pa] that opens a pilot-operated check: (p_load A_seat + F)/A_piston.

    No pressure behind the pilot piston and none downstream; friction left out, so the bench reads
    a little more. Source: common practice (force balance), no source.
    """
    not_below_zero(load_pa, "Load pressure in Pa")
    not_below_zero(spring_n, "Spring force in N")
    above_zero(piston_m, "Pilot piston diameter in m")
    above_zero(seat_m, "Seat diameter in m")
    pilot_pa = (load_pa * seat_area(seat_m) + spring_n) / seat_area(piston_m)
    return PilotOpening((piston_m / seat_m) ** 2, pilot_pa)
