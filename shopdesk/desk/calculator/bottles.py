"""The nitrogen bottle: how many fills it has left, and what escaped gas does to a room."""

from shopdesk.calc import bottle
from shopdesk.desk.calculator import values
from shopdesk.desk.calculator.forms import Calculation, Field, Found, Kind
from shopdesk.desk.calculator.gas import (
    ADVICE,
    SPAN,
    basis,
    pressure_field,
    temperature_field,
    volume_field,
)
from shopdesk.desk.calculator.given import SITE, Given


def _bottle(given: Given) -> Found:
    supply, target, start = (given.pressure(name) for name in ("supply", "target", "start"))
    found = bottle.fills_left(
        given.si("bottle"),
        supply.pa_abs,
        given.si("at"),
        given.si("volume"),
        target.pa_abs,
        start.pa_abs,
        given.si_or("rig", 0.0),
        given.si("headroom"),
    )
    return Found(
        {
            "fills_left": values.whole(found.fills_left),
            "short_fill_pressure": target.like(found.short_pa_abs),
            "gas_per_fill": values.plain(found.gas_per_fill_kg, "kg", 4),
            "bottle_after": supply.like(found.bottle_after_pa_abs),
        },
        f"fills = whole part of (m(bottle) - m(bottle at target + headroom))/m(fill), m(fill) = "
        f"{found.gas_per_fill_kg * 1e3:.4g} g; fill {found.short_fill} comes to "
        f"{values.bar(found.short_pa_abs)} abs only",
        f"mass balance of bottle, unit and rig; {SPAN}",
        ("Settled, at one temperature: a fast fill takes more.", ADVICE, *basis(supply, target)),
    )


BOTTLE = Calculation(
    "bottle",
    "How many fills a bottle has left",
    (
        volume_field("bottle", "The bottle's water volume."),
        pressure_field("supply", "The bottle's pressure."),
        temperature_field("at", "Temperature of bottle and unit."),
        volume_field("volume", "Gas volume of the unit."),
        pressure_field("target", "What it is to be filled to."),
        pressure_field("start", "What it holds before.", required=False, default="0 bar"),
        volume_field("rig", "Volume of the rig, vented after each fill.", required=False),
        Field(
            "headroom",
            Kind.QUANTITY,
            "What the regulator needs above the target.",
            False,
            "0 bar",
            "Δbar",
            ("Δpsi",),
            metavar="PRESSURE",
        ),
        *SITE,
    ),
    _bottle,
    {
        "bottle": "50 L",
        "supply": "200 bar",
        "at": "20 C",
        "volume": "2.5 L",
        "target": "90 bar",
        "rig": "30 mL",
        "headroom": "5 bar",
    },
)


def _room(given: Given) -> Found:
    pressure, room_m3 = given.pressure("pressure"), given.si("room")
    found = bottle.release(
        given.si("volume"), pressure.pa_abs, given.si("at"), room_m3, given.atmosphere_pa
    )
    low = found.oxygen_displaced_pct < bottle.OXYGEN_DEFICIENT_PCT
    return Found(
        {
            "mass": values.plain(found.mass_kg, "kg"),
            "free_gas": values.plain(found.free_gas_m3, "m³"),
            "oxygen_mixed": values.plain(found.oxygen_mixed_pct, "%", 4),
            "oxygen_displaced": values.plain(found.oxygen_displaced_pct, "%", 4),
        },
        f"m = V ρ = {found.mass_kg:.5g} kg, free {found.free_gas_m3:.5g} m³ in {room_m3:.5g} m³; "
        "oxygen 20.9 exp(-F/room) mixed, 20.9 (1 - F/room) displaced",
        f"ideal mixing without ventilation; {SPAN}; limit of 29 CFR 1910.134 (from memory)",
        (
            *(("Below 19.5 % oxygen: the air cannot be breathed safely.",) if low else ()),
            "A caution, never a permit: vent out of doors. Near the leak it is worse than this.",
            *basis(pressure),
        ),
    )


ROOM = Calculation(
    "room",
    "What a vessel's nitrogen does to the air of a closed room",
    (
        volume_field("volume", "The vessel's volume."),
        pressure_field("pressure", "Its pressure."),
        temperature_field("at", "Its temperature."),
        Field(
            "room", Kind.QUANTITY, "The room's volume.", unit="m³", units=("L",), metavar="VOLUME"
        ),
        *SITE,
    ),
    _room,
    {"volume": "10 L", "pressure": "200 bara", "at": "20 C", "room": "30 m³"},
)

CALCULATIONS = (BOTTLE, ROOM)
