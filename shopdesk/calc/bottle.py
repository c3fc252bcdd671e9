"""The nitrogen bottle: what a fill takes, how many are left, and what escaped gas does to a room.

Pressures absolute, bottle and unit at one temperature, gas as ``calc.nitrogen``; BadInput and
OutOfRange as in ``calc.charge``.
"""

import math
from dataclasses import dataclass

from shopdesk.calc import nitrogen
from shopdesk.calc._numeric import above_zero, not_below_zero
from shopdesk.calc.charge import ATMOSPHERE_PA
from shopdesk.errors import BadInput, OutOfRange

OXYGEN_IN_AIR_PCT = 20.9
OXYGEN_DEFICIENT_PCT = 19.5
"""29 CFR 1910.134 (from memory)."""


@dataclass(frozen=True)
class Fills:
    """How many fills of one kind a bottle has left.

    ``short_fill`` is the number of the fill that can't reach the target (``fills_left`` + 1), and
    ``short_pa_abs`` what that fill comes to when bottle and unit are left open to each other.
    """

    fills_left: int
    short_fill: int
    short_pa_abs: float
    gas_per_fill_kg: float
    bottle_after_pa_abs: float


@dataclass(frozen=True)
class Release:
    """Gas let into a room: ``mixed`` while it stirs in, ``displaced`` if it pushes the air out."""

    mass_kg: float
    free_gas_m3: float
    oxygen_mixed_pct: float
    oxygen_displaced_pct: float


def mass(volume_m3: float, pressure_pa_abs: float, gas_k: float) -> float:
    """Nitrogen [kg] in a volume: V ρ(p, T)."""
    return above_zero(volume_m3, "Volume in m³") * nitrogen.density(pressure_pa_abs, gas_k)


def gas_per_fill(
    unit_volume_m3: float,
    target_pa_abs: float,
    start_pa_abs: float,
    gas_k: float,
    rig_volume_m3: float = 0.0,
    rig_pa_abs: float = ATMOSPHERE_PA,
) -> float:
    """Nitrogen [kg] one fill takes: V (ρ(target) - ρ(start)) + v (ρ(target) - ρ(rig)).

    Source: mass balance; the rig is vented after each fill.
    """
    above_zero(unit_volume_m3, "Gas volume of the unit in m³")
    not_below_zero(rig_volume_m3, "Volume of the rig in m³")
    full = nitrogen.density(target_pa_abs, gas_k)
    into_unit = unit_volume_m3 * (full - nitrogen.density(start_pa_abs, gas_k))
    into_rig = rig_volume_m3 * (full - nitrogen.density(rig_pa_abs, gas_k))
    if into_unit <= 0.0:
        raise BadInput(
            f"The unit already holds {start_pa_abs / 1e5:.6g} bar absolute, not less than the "
            f"{target_pa_abs / 1e5:.6g} it is to be filled to: a fill takes no gas."
        )
    return into_unit + max(0.0, into_rig)


def bottle_after(
    bottle_volume_m3: float, bottle_pa_abs: float, gas_k: float, taken_kg: float
) -> float:
    """Bottle pressure [Pa abs] after ``taken_kg`` of gas has left it: p(ρ - m/V). Below zero: gas
    that a fill was thought to have taken and did not.

    OutOfRange where more is taken than it holds. Source: mass balance.
    """
    held_kg = mass(bottle_volume_m3, bottle_pa_abs, gas_k)
    if taken_kg > held_kg:
        raise OutOfRange(
            f"{taken_kg:.4g} kg was to be taken from a bottle that holds {held_kg:.4g} kg; "
            "check its pressure and volume."
        )
    return nitrogen.pressure((held_kg - taken_kg) / bottle_volume_m3, gas_k)


def fills_left(
    bottle_volume_m3: float,
    bottle_pa_abs: float,
    gas_k: float,
    unit_volume_m3: float,
    target_pa_abs: float,
    start_pa_abs: float = ATMOSPHERE_PA,
    rig_volume_m3: float = 0.0,
    headroom_pa: float = 0.0,
) -> Fills:
    """Fills to ``target_pa_abs`` a bottle has left: whole part of V(ρ - ρ(target + headroom))/fill.

    A fill counts while the bottle, after giving its gas, still stands at the target plus the
    headroom the regulator needs. Settled, one temperature; a fast fill takes more. Source: mass
    balance of bottle, unit and rig.
    """
    not_below_zero(headroom_pa, "Headroom of the regulator in Pa")
    per_fill_kg = gas_per_fill(unit_volume_m3, target_pa_abs, start_pa_abs, gas_k, rig_volume_m3)
    floor_kg = mass(bottle_volume_m3, target_pa_abs + headroom_pa, gas_k)
    held_kg = mass(bottle_volume_m3, bottle_pa_abs, gas_k)
    count = max(0, math.floor((held_kg - floor_kg) / per_fill_kg + 1e-9))
    left_kg = held_kg - count * per_fill_kg
    rest_kg = mass(unit_volume_m3, start_pa_abs, gas_k)
    rest_kg += rig_volume_m3 * nitrogen.density(ATMOSPHERE_PA, gas_k)
    shared_m3 = bottle_volume_m3 + unit_volume_m3 + rig_volume_m3
    return Fills(
        fills_left=count,
        short_fill=count + 1,
        short_pa_abs=nitrogen.pressure((left_kg + rest_kg) / shared_m3, gas_k),
        gas_per_fill_kg=per_fill_kg,
        bottle_after_pa_abs=nitrogen.pressure(left_kg / bottle_volume_m3, gas_k),
    )


def release(
    volume_m3: float,
    pressure_pa_abs: float,
    gas_k: float,
    room_m3: float,
    room_pa_abs: float = ATMOSPHERE_PA,
) -> Release:
    """All the gas of a vessel let into a closed room without ventilation, at one temperature.

    m = V ρ; free volume F = m/ρ(room); oxygen 20.9 exp(-F/room) mixed, 20.9 (1 - F/room) displaced.
    Below 19.5 % counts as oxygen-deficient in 29 CFR 1910.134 (from memory). BadInput where the
    gas would fill the room. Source: ideal mixing; a caution, never a permit.
    """
    above_zero(room_m3, "Volume of the room in m³")
    mass_kg = mass(volume_m3, pressure_pa_abs, gas_k)
    free_m3 = mass_kg / nitrogen.density(above_zero(room_pa_abs, "Room pressure in Pa"), gas_k)
    if free_m3 > room_m3:
        raise BadInput(
            f"{free_m3:.4g} m³ of gas was to be let into a room of {room_m3:.4g} m³: no air would "
            "be left; check both volumes, and let it out of doors."
        )
    return Release(
        mass_kg=mass_kg,
        free_gas_m3=free_m3,
        oxygen_mixed_pct=OXYGEN_IN_AIR_PCT * math.exp(-free_m3 / room_m3),
        oxygen_displaced_pct=OXYGEN_IN_AIR_PCT * (1.0 - free_m3 / room_m3),
    )
