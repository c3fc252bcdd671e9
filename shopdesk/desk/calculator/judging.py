"""Bench tests judged: pressure decay, a relief valve's three pressures, a pilot ratio, roughness;
and the day a charge reaches its minimum."""

import math
import statistics
from datetime import UTC, datetime

from shopdesk.calc import bench, bore, charge
from shopdesk.calc.bench import Held, Judged
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
from shopdesk.errors import BadInput

_PER_DAY_S = 86400.0


def _time_field(name: str, help_: str) -> Field:
    return Field(name, Kind.QUANTITY, help_, unit="min", units=("s", "h"), metavar="TIME")


def _decay(given: Given) -> Found:
    ends = [
        Held(given.measured(p).value_si, given.si(t))
        for p, t in (("start", "at"), ("end", "end-at"))
    ]
    unit = given.measured("start").unit
    found = bench.liquid_decay(
        ends[0],
        ends[1],
        given.si("in"),
        given.si("volume"),
        given.si("bulk-modulus"),
        given.si("expansion") * 1e-4,
    )
    return Found(
        {
            "drop": values.difference(found.drop_pa, unit),
            "by_cooling": values.difference(found.thermal_pa, unit),
            "by_leak": values.difference(found.leak_pa, unit),
            "leak_rate": values.quantity(found.leak_m3_s, "mL/min"),
        },
        f"cooling = K (β - β vessel) ΔT = {values.bar(found.thermal_pa)}; leak = drop - cooling = "
        f"{values.bar(found.leak_pa)}; V Δp/(K t) = {found.leak_m3_s * 60e6:.4g} mL/min",
        "definitions of bulk modulus and expansion (Merritt, from memory); vessel of steel",
        (
            "1 K of oil is about 10 bar: without the oil's own temperature the test says little.",
            "Behind the guard. Tests above the rating belong to the authorised body.",
        ),
    )


DECAY = Calculation(
    "decay",
    "Pressure decay of shut-in oil, less what its cooling does",
    (
        pressure_field("start", "At the start of the hold."),
        temperature_field("at", "The oil's temperature then."),
        pressure_field("end", "At its end."),
        temperature_field("end-at", "The oil's temperature then."),
        _time_field("in", "How long it was held."),
        volume_field("volume", "Of the oil shut in."),
        Field(
            "bulk-modulus",
            Kind.MODULUS,
            "Of oil, hose and air together; 1.4 GPa is usual (from memory).",
            False,
            "1.4 GPa",
            metavar="MODULUS",
        ),
        Field(
            "expansion",
            Kind.NUMBER,
            "Of the oil, in 0.0001 per kelvin: 7 for mineral oil (from memory).",
            False,
            "7",
            metavar="N",
        ),
    ),
    _decay,
    {
        "start": "250 bar", "at": "31 C", "end": "246 bar", "end-at": "30.7 C", "in": "10 min",
        "volume": "0.5 L",
    },
)  # fmt: skip


def _gas_decay(given: Given) -> Found:
    start, end = given.pressure("start"), given.pressure("end")
    at_k, end_k = given.si("at"), given.si("end-at")
    found = bench.gas_decay(Held(start.pa_abs, at_k), Held(end.pa_abs, end_k))
    by_cooling = found.drop_pa - found.corrected_pa
    return Found(
        {
            "drop": values.difference(found.drop_pa, start.unit),
            "by_cooling": values.difference(by_cooling, start.unit),
            "by_leak": values.difference(found.corrected_pa, start.unit),
            "by_leak_ideal": values.difference(found.corrected_ideal_pa, start.unit),
        },
        f"the end brought to {values.celsius(at_k)} at its density: "
        f"{values.bar(start.pa_abs - found.corrected_pa)} abs; {values.bar(start.pa_abs)} - that = "
        f"{values.bar(found.corrected_pa)}; ideal gas {values.bar(found.corrected_ideal_pa)}",
        f"constant mass in a rigid volume; {SPAN}",
        (
            "Two readings show a drop, not whether the gauge could have seen it: 'leak' says that, "
            "with the volume, as a rate.",
            *basis(start, end),
        ),
    )


GAS_DECAY = Calculation(
    "gas-decay",
    "Pressure decay of shut-in nitrogen, less what its cooling does",
    (
        pressure_field("start", "At the start of the hold."),
        temperature_field("at", "The gas's temperature then."),
        pressure_field("end", "At its end."),
        temperature_field("end-at", "The gas's temperature then."),
        *SITE,
    ),
    _gas_decay,
    {"start": "100 bar", "at": "21 C", "end": "99.2 bar", "end-at": "20 C"},
)


def _relief_test(given: Given) -> Found:
    def limit(name: str) -> float | None:
        return given.si(name) if given.has(name) else None

    crack, full, reseat = (given.si(name) for name in ("crack", "full-flow", "reseat"))
    found = bench.relief_test(
        crack,
        full,
        reseat,
        limit("crack-low"),
        limit("crack-high"),
        limit("full-flow-high"),
        limit("reseat-low"),
    )
    unit = given.measured("crack").unit
    return Found(
        {
            "reseat_share": values.percent(found.reseat_share),
            "full_flow_share": values.percent(found.full_flow_share),
            "verdict": values.words("within" if found.within else "outside"),
        },
        f"reseat/crack = {values.bar(reseat)}/{values.bar(crack)}; full flow/crack = "
        f"{values.bar(full)}/{values.bar(crack)}",
        "common practice, no source; the limits are the procedure's",
        tuple(_outside(one, unit) for one in found.judged if not one.within),
    )


def _outside(one: Judged, unit: str) -> str:
    def said(pa: float | None) -> str:
        return "" if pa is None else values.pressure(pa, unit, 0.0).as_text

    bounds = " to ".join(text for text in (said(one.low), said(one.high)) if text)
    return f"{one.name} {said(one.value)} is outside its limit, {bounds}."


RELIEF_TEST = Calculation(
    "relief-test",
    "Crack, full flow and reseat of a relief valve against their limits",
    (
        pressure_field("crack", "First steady flow, rising."),
        pressure_field("full-flow", "At the flow the procedure names."),
        pressure_field("reseat", "Flow gone, falling."),
        pressure_field("crack-low", "The least it may crack at.", required=False),
        pressure_field("crack-high", "The most.", required=False),
        pressure_field("full-flow-high", "The most at full flow.", required=False),
        pressure_field("reseat-low", "The least it may reseat at.", required=False),
    ),
    _relief_test,
    {
        "crack": "266 bar", "full-flow": "282 bar", "reseat": "241 bar", "crack-low": "260 bar",
        "crack-high": "272 bar", "reseat-low": "240 bar",
    },
)  # fmt: skip


def _pilot_ratio(given: Given) -> Found:
    loads, pilots = given.many_si("load"), given.many_si("pilot")
    found = bench.pilot_ratio(loads, pilots)
    unit = given.first_unit("pilot")
    high = f"{found.ratio_high:.3g}" if math.isfinite(found.ratio_high) else "no bound"
    return Found(
        {
            "ratio": values.plain(found.ratio, figures=4),
            "between": values.words(f"{found.ratio_low:.3g} to {high}"),
            "no_load": values.difference(found.no_load_pa, unit),
            "worst_off": values.difference(found.worst_off_pa, unit),
        },
        f"pilot = no load + load/ratio by least squares of {found.count} pairs; slope "
        f"{1.0 / found.ratio:.4g}; bounds at 95 % by Student's t",
        "force balance (common practice); regression, any statistics text",
        ("The slope leaves out spring and friction, which one pair of readings does not.",),
    )


def _pressures(name: str, help_: str) -> Field:
    return Field(
        name,
        Kind.QUANTITY,
        help_,
        unit="bar",
        units=("psi",),
        repeated=True,
        metavar="PRESSURE",
    )


PILOT_RATIO = Calculation(
    "pilot-ratio",
    "Pilot ratio of a check valve from openings at several loads",
    (
        _pressures("load", "Load pressures, three or more."),
        _pressures("pilot", "Pilot pressure that just opened it at each of them, in that order."),
    ),
    _pilot_ratio,
    {
        "load": "50 bar; 100 bar; 150 bar; 200 bar",
        "pilot": "18.1 bar; 30.4 bar; 42.9 bar; 55.6 bar",
    },
)


def _roughness(given: Given) -> Found:
    ra = given.si("ra")
    found = bore.rq_from_ra(ra)
    return Found(
        {
            "ra": values.quantity(ra, "µm Ra", "µin Ra"),
            "rq_sine": _rq(found.sine_m),
            "rq_low": _rq(found.low_m),
            "rq_high": _rq(found.high_m),
        },
        f"1 µin = 0.0254 µm; Rq = 1.11 Ra for a sine, 1.2 to 1.3 Ra ground or honed: Ra "
        f"{ra * 1e6:.4g} µm",
        "ASME B46.1 (from memory); the ratios of real bores are common practice",
        (bore.ROUGHNESS_CAUTION,),
    )


def _rq(metres: float) -> Value:
    return values.plain(
        metres * 1e6,
        "µm",
        text=f"{metres * 1e6:.3g} µm ({bore.to_microinches(metres):.3g} µin)",
    )


ROUGHNESS = Calculation(
    "roughness",
    "Roughness in µm and µin, and what Rq an Ra may stand for",
    (
        Field(
            "ra",
            Kind.QUANTITY,
            "As measured or on the drawing: 0.4 µm or 16 µin.",
            unit="µm Ra",
            units=("µin Ra",),
            metavar="ROUGHNESS",
        ),
    ),
    _roughness,
    {"ra": "16 µin"},
)


def _given(count: int) -> str:
    return f"{count} reading{'s were' if count != 1 else ' was'} given"


def _minimum_date(given: Given) -> Found:
    read = sorted(given.readings("reading"), key=lambda each: each.at_s)
    if len(read) < 2 or not all(each.dated for each in read):
        raise BadInput(
            f"{_given(len(read))}; two or more with their dates are needed: "
            "2026-03-14T08:00=99.2 bar@20 C."
        )
    at_k, air = given.si("at"), given.atmosphere_pa
    brought = [
        charge.at_reference(
            each.pressure.value_si + air, each.temperature.value_si, at_k
        ).pressure_pa_abs
        for each in read
    ]
    days = [each.at_s / _PER_DAY_S for each in read]
    if days[-1] == days[0]:
        raise BadInput("All readings were given for one moment; a loss needs time.")
    slope, _ = statistics.linear_regression([day - days[0] for day in days], brought)
    last = datetime.fromtimestamp(read[-1].at_s, UTC).date()
    minimum = given.pressure("minimum")
    reached = charge.minimum_reached(last, brought[-1], minimum.pa_abs, -slope)
    unit = read[-1].pressure.unit
    return Found(
        {
            "minimum_on": values.words(reached.isoformat() if reached else "no loss shown"),
            "now_at_reference": values.pressure(brought[-1], unit, air),
            "loss_per_day": values.difference(-slope, unit),
        },
        f"each reading at {values.celsius(at_k)} by constant density; slope "
        f"{-slope / 1e5:.4g} bar a day; ({values.bar(brought[-1])} - {values.bar(minimum.pa_abs)})/"
        "slope",
        f"linear extrapolation (common practice, no source); {SPAN}",
        (
            "A leak slows as the pressure falls: the date is on the early side.",
            "Whether these readings show a leak at all, 'leak' says with its uncertainty.",
        ),
    )


MINIMUM_DATE = Calculation(
    "minimum-date",
    "The day a leaking charge reaches its minimum",
    (
        Field(
            "reading",
            Kind.READING,
            "Two or more, each with its moment: 2026-03-14T08:00.",
            repeated=True,
            metavar="TIME=PRESSURE@TEMPERATURE",
        ),
        pressure_field("minimum", "The least the charge may be, at the temperature below."),
        temperature_field("at", "The temperature the minimum is stated at."),
        *SITE,
    ),
    _minimum_date,
    {
        "reading": "2026-01-10T08:00=100 bar@20 C\n2026-04-10T08:00=97.5 bar@22 C",
        "minimum": "90 bar",
        "at": "20 C",
    },
)


CALCULATIONS = (DECAY, GAS_DECAY, RELIEF_TEST, PILOT_RATIO, ROUGHNESS, MINIMUM_DATE)
