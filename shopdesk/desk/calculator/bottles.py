"""The nitrogen bottle: fills it has left, what to add on its regulator, what escaped gas does."""

from shopdesk.calc import bottle, charge
from shopdesk.desk.calculator import values
from shopdesk.desk.calculator.forms import Calculation, Field, Found, Kind, one_of
from shopdesk.desk.calculator.gas import (
    ADVICE,
    SPAN,
    basis,
    pressure_field,
    temperature_field,
    volume_field,
)
from shopdesk.desk.calculator.given import SITE, Given
from shopdesk.errors import BadInput


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


def _over_set(given: Given) -> Found:
    losses = given.many_si("loss") if given.has("loss") else ()
    if not (losses or given.has("default")):
        raise one_of("over-set", "loss", "default")
    enough = given.count("enough")
    if not given.has("default") and len(losses) < enough:
        raise BadInput(
            f"{len(losses)} of {enough} past losses were given; with fewer than {enough} the "
            "shop's default counts: give it as well."
        )
    found = charge.over_set(losses, given.si_or("default", 0.0), enough)
    unit = given.first_unit("loss") if losses else given.measured("default").unit
    unit = unit.removeprefix("Δ")
    results = {"over_set": values.difference(found.over_set_pa, unit)}
    if found.spread_pa is not None:
        results["spread"] = values.difference(found.spread_pa, unit)
    results["count"] = values.whole(found.count)
    results["known_from"] = values.words("past charges" if found.learned else "the shop's default")
    if given.has("target"):
        target = given.pressure("target")
        results["regulator"] = target.like(target.pa_abs + found.over_set_pa)
    return Found(
        results,
        f"median of {found.count} losses, spread between the quartiles"
        if found.learned
        else f"{found.count} losses, {enough} are needed: the default",
        "common practice, no source",
        (
            "Losses of one model with one rig, set less settled, both at one temperature. The "
            "target is the pressure at the gas's own temperature: see 'charge'.",
            ADVICE,
        ),
    )


OVER_SET = Calculation(
    "over-set",
    "What to add on the regulator for the gas lost when the rig comes off",
    (
        Field(
            "loss", Kind.QUANTITY, "What each past charge lost, set less settled.", False,
            unit="Δbar", units=("Δpsi",), repeated=True, metavar="PRESSURE",
        ),
        Field(
            "default", Kind.QUANTITY, "The shop's own, before there are enough.", False,
            unit="Δbar", units=("Δpsi",), metavar="PRESSURE",
        ),
        Field("enough", Kind.COUNT, "How many are.", False, str(charge.LEARN_FROM), metavar="N"),
        pressure_field("target", "What it is to settle at, for the regulator.", required=False),
        *SITE,
    ),
    _over_set,
    {
        "loss": "2.1 bar\n1.8 bar\n2.4 bar\n2.0 bar\n2.2 bar",
        "target": "83.1 bar",
    },
)  # fmt: skip


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

CALCULATIONS = (BOTTLE, OVER_SET, ROOM)
