"""Leak from readings over time."""

import math

from shopdesk import quantities
from shopdesk.calc import leak
from shopdesk.calc.leak import Leak
from shopdesk.desk.calculator import values
from shopdesk.desk.calculator.forms import Calculation, Field, Found, Kind, Value
from shopdesk.desk.calculator.gas import (
    SPAN,
    basis,
    pressure_field,
    temperature_field,
    volume_field,
)
from shopdesk.desk.calculator.given import SITE, Given
from shopdesk.desk.calculator.readers import TimedReading
from shopdesk.errors import BadInput

_FLOW = "mL/min"
_DOUBT_FIGURES = 2
"""Of an uncertainty: JCGM 100 (GUM), 7.2.6."""
_BY_DEFAULT = {"gauge-resolution": "0.1 bar", "thermometer-resolution": "0.1 K"}


def _leak(given: Given) -> Found:
    read = given.readings("reading")
    _one_clock(read)
    found = leak.leak(
        given.si("volume"),
        [
            leak.Reading(
                each.pressure.value_si + given.atmosphere_pa, each.temperature.value_si, each.at_s
            )
            for each in read
        ],
        gauge_resolution_pa=given.si("gauge-resolution"),
        thermometer_resolution_k=given.si("thermometer-resolution"),
        rig_volume_m3=given.si_or("rig", 0.0),
        rig_pa_abs=given.atmosphere_pa,
    )
    return Found(
        {
            "leak_rate": flow(found.rate_m3_s, found.uncertainty_m3_s),
            "leak_rate_ideal": flow(found.rate_ideal_m3_s, found.uncertainty_m3_s),
            "uncertainty": flow(found.uncertainty_m3_s, found.uncertainty_m3_s),
            "verdict": values.words(found.verdict),
        },
        _sum(found, given.si("volume")),
        f"mass balance in a closed volume, least squares; resolution as rectangular spreads, JCGM "
        f"100:2008 (GUM); {SPAN}",
        _cautions(given, found, read),
    )


def flow(rate_m3_s: float, doubt_m3_s: float) -> Value:
    """A rate, shown to the second figure of its uncertainty."""
    value, doubt = (quantities.from_si(each, _FLOW) for each in (rate_m3_s, doubt_m3_s))
    if doubt <= 0.0:
        return values.plain(value, _FLOW, figures=4)
    places = max(0, _DOUBT_FIGURES - 1 - math.floor(math.log10(doubt)))
    return values.plain(value, _FLOW, text=f"{round(value, places) + 0.0:.{places}f} {_FLOW}")


def _sum(found: Leak, volume_m3: float) -> str:
    hours = found.times_s[-1] / 3600.0
    return (
        f"gas held = V ρ(p, T), V = {volume_m3 * 1e6:.6g} mL; lost in {hours:.6g} h: "
        f"{found.lost_kg[-1] * 1e3:.4g} g; slope of {len(found.times_s)} readings "
        f"{found.rate_kg_s * 3.6e6:.4g} g/h, as gas at 1 atm and 20 °C "
        f"{quantities.from_si(found.rate_m3_s, _FLOW):.4g} mL/min"
    )


def _one_clock(read: tuple[TimedReading, ...]) -> None:
    if len({each.dated for each in read}) > 1:
        raise BadInput(
            "Some readings have a date and others a time from the start; write all of them one way."
        )


def _cautions(given: Given, found: Leak, read: tuple[TimedReading, ...]) -> tuple[str, ...]:
    said = []
    if found.verdict == "no leak shown":
        said.append(
            "The rate lies within its uncertainty: these readings show no leak, nor do they show "
            "that there is none below the uncertainty. Longer, or a finer gauge, shows more."
        )
    if found.verdict == "rise":
        said.append("The gas held seems to rise: check gauge, temperatures and their order.")
    if any(each.bare_time for each in read):
        said.append("Times without a unit were taken as hours.")
    if any(values.reference(each.pressure.unit) for each in read):
        said.append("Pressures whose unit does not say absolute are gauge.")
    assumed = [
        f"{name.replace('-', ' ')} of {default}"
        for name, default in _BY_DEFAULT.items()
        if name not in given.typed
    ]
    if assumed:
        said.append(f"Reckoned with a {' and a '.join(assumed)}.")
    return tuple(said)


_RESOLUTIONS = (
    Field(
        "gauge-resolution",
        Kind.QUANTITY,
        "The gauge's smallest step.",
        False,
        _BY_DEFAULT["gauge-resolution"],
        "Δbar",
        ("Δpsi",),
        metavar="PRESSURE",
    ),
    Field(
        "thermometer-resolution",
        Kind.QUANTITY,
        "The thermometer's smallest step.",
        False,
        _BY_DEFAULT["thermometer-resolution"],
        "ΔK",
        ("Δ°F",),
        metavar="TEMPERATURE",
    ),
)

LEAK = Calculation(
    "leak",
    "Leak rate from pressures read over time, each at its own temperature",
    (
        volume_field("volume", "Gas volume of the unit."),
        Field(
            "reading",
            Kind.READING,
            "Two or more; TIME a moment (2026-03-14T08:00) or since the start (24 h).",
            repeated=True,
            metavar="TIME=PRESSURE@TEMPERATURE",
        ),
        *_RESOLUTIONS,
        volume_field(
            "rig", "Volume of a rig attached empty for each reading and vented.", required=False
        ),
        *SITE,
    ),
    _leak,
    {"volume": "120 mL", "reading": "0 h=100.0 bara@21.0 C\n24 h=99.2 bara@20.0 C"},
)


def _service(given: Given) -> Found:
    shipped, arrived, at_k = given.pressure("shipped"), given.pressure("arrived"), given.si("at")
    minimum = given.pressure("minimum").pa_abs if given.has("minimum") else None
    found = leak.in_service(
        leak.Reading(shipped.pa_abs, given.si("shipped-gas")),
        given.day("shipped-on"),
        leak.Reading(arrived.pa_abs, given.si("arrived-gas")),
        given.day("arrived-on"),
        reference_k=at_k,
        minimum_ref_pa_abs=minimum,
        share=given.si("share"),
        gauge_resolutions_pa=(given.si("gauge-resolution"),) * 2,
        thermometer_resolution_k=given.si("thermometer-resolution"),
    )
    results = {
        "shipped_at": shipped.like(found.shipped_pa_abs),
        "arrived_at": shipped.like(found.arrived_pa_abs),
        "loss": values.difference(found.loss_pa, shipped.unit),
        "loss_within": values.difference(found.doubt_pa, shipped.unit),
        "loss_per_month": values.difference(found.loss_pa_per_month, shipped.unit),
    }
    if found.interval is not None:
        ends = found.interval
        results["interval"] = _whole(ends.days, "no loss shown")
        if ends.soonest_days is not None:
            results["interval_at_soonest"] = values.whole(ends.soonest_days, "d")
            results["interval_at_latest"] = _whole(ends.latest_days, "perhaps never")
    return Found(
        results,
        f"both at {values.celsius(at_k)}: {values.bar(found.shipped_pa_abs)} - "
        f"{values.bar(found.arrived_pa_abs)} abs in {found.days} d = "
        f"{found.loss_pa_per_day / 1e5:.4g} bar a day",
        f"linear loss (common practice, no source); {SPAN}",
        (
            "What the gauge at the first reading and the one at the second differ by is in it.",
            *basis(shipped, arrived),
        ),
    )


def _whole(days: int | None, otherwise: str) -> Value:
    return values.words(otherwise) if days is None else values.whole(days, "d")


SERVICE_LEAK = Calculation(
    "service-leak",
    "Charge lost between shipment and the next arrival, and the interval it suggests",
    (
        pressure_field("shipped", "The charge when it was shipped."),
        temperature_field("shipped-gas", "The gas's temperature then."),
        Field("shipped-on", Kind.DAY, "The day.", metavar="DATE"),
        pressure_field("arrived", "The charge when it arrived."),
        temperature_field("arrived-gas", "The gas's temperature then."),
        Field("arrived-on", Kind.DAY, "The day.", metavar="DATE"),
        temperature_field("at", "The temperature both are brought to."),
        pressure_field("minimum", "The least it may have, for the interval.", required=False),
        Field("share", Kind.PERCENT, "Of the time until then.", False, "100 %", metavar="PERCENT"),
        *_RESOLUTIONS,
        *SITE,
    ),
    _service,
    {
        "shipped": "90 bar",
        "shipped-gas": "21 C",
        "shipped-on": "2024-01-15",
        "arrived": "82 bar",
        "arrived-gas": "17 C",
        "arrived-on": "2026-03-14",
        "at": "20 C",
        "minimum": "70 bar",
        "share": "80 %",
    },
)

CALCULATIONS = (LEAK, SERVICE_LEAK)
