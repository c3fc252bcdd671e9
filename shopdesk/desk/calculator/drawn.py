"""The calculator's drawings: from what is typed into the fields of a calculation to its curves."""

import csv
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType

from shopdesk import quantities
from shopdesk.calc import charge, leak, relief
from shopdesk.calc.leak import Leak
from shopdesk.desk.calculator import bores, curves, gas, leaks, springs, stress, values
from shopdesk.desk.calculator.curves import Drawing, Seat, Stated, Today, Wall
from shopdesk.desk.calculator.forms import Outcome
from shopdesk.desk.calculator.given import Given, read

_INCHES = frozenset({"in", "thou", "mil", "ft"})


def _charge(typed: Mapping[str, str]) -> Drawing:
    given = read(gas.CHARGE, typed)
    target, at_k, gas_k = given.pressure("target"), given.si("at"), given.si("gas")
    found = charge.set_pressure(target.pa_abs, at_k, gas_k)
    stated = Stated(
        target.pa_abs,
        at_k,
        given.atmosphere_pa,
        target.unit,
        given.measured("gas").unit,
        given.si_or("tolerance", 0.0) or None,
    )
    return curves.charge_drawing(stated, [Today(gas_k, found.pressure_pa_abs, "to be set now")])


def _reference(typed: Mapping[str, str]) -> Drawing:
    given = read(gas.REFERENCE, typed)
    reading, gas_k, at_k = given.pressure("pressure"), given.si("gas"), given.si("at")
    found = charge.at_reference(reading.pa_abs, gas_k, at_k)
    stated = Stated(
        found.pressure_pa_abs, at_k, given.atmosphere_pa, reading.unit, given.measured("gas").unit
    )
    return curves.charge_drawing(stated, [Today(gas_k, reading.pa_abs, "reading")])


def _leak(typed: Mapping[str, str]) -> Drawing:
    outcome = leaks.LEAK.run(typed)
    shown = outcome.results
    said = (
        f"{shown['leak_rate'].as_text} ± {shown['uncertainty'].as_text} (ideal gas "
        f"{shown['leak_rate_ideal'].as_text}): {shown['verdict'].as_text}"
    )
    return curves.leak_drawing(_fitted(read(leaks.LEAK, typed)), [said])


def _fitted(given: Given) -> Leak:
    air = given.atmosphere_pa
    return leak.leak(
        given.si("volume"),
        [
            leak.Reading(each.pressure.value_si + air, each.temperature.value_si, each.at_s)
            for each in given.readings("reading")
        ],
        gauge_resolution_pa=given.si("gauge-resolution"),
        thermometer_resolution_k=given.si("thermometer-resolution"),
        rig_volume_m3=given.si_or("rig", 0.0),
        rig_pa_abs=air,
    )


def _bore(typed: Mapping[str, str]) -> Drawing:
    outcome = bores.BORE.run(typed)
    given = read(bores.BORE, typed)
    nominal = given.measured("nominal")
    header, *body = _cells(given.words("file"))
    rows = [[quantities.to_si(float(cell), nominal.unit) for cell in row[1:]] for row in body]
    walls = [Wall("nominal", nominal.value_si)]
    if given.has("piston"):
        walls.append(Wall("piston", given.si("piston"), ":"))
    said = ", ".join(
        f"{name.replace('_', ' ')} {outcome.results[name].as_text}"
        for name in ("out_of_round", "taper", "wear")
    )
    depths = [row[0] for row in body]
    return curves.bore_drawing(
        header[1:], depths, rows, nominal.unit, walls, [said], at=_numbers(depths)
    )


def _numbers(texts: Sequence[str]) -> list[float]:
    """The texts as numbers; none where one of them is no number."""
    try:
        return [float(text) for text in texts]
    except ValueError:
        return []


def _cells(text: str) -> list[list[str]]:
    """The survey's cells, known to be sound, with a decimal point."""
    lines = [line for line in text.removeprefix("\ufeff").splitlines() if line.strip()]
    mark = ";" if ";" in lines[0] else ","
    return [
        [cell.strip().replace(",", ".") for cell in row]
        for row in csv.reader(lines, delimiter=mark)
    ]


def _spring(typed: Mapping[str, str]) -> Drawing:
    outcome = springs.SPRING.run(typed)
    given = read(springs.SPRING, typed)
    rate_n_m = _number(outcome, "rate") * 1e3
    preload = given.si("preload-length") if given.has("preload-length") else None
    return curves.spring_drawing(
        rate_n_m,
        _length_unit(given),
        seat=_seat(given),
        preload_m=preload,
        changed_m=_changed(given, rate_n_m, preload),
        solid_m=_solid(given, outcome),
    )


def _stress(typed: Mapping[str, str]) -> Drawing:
    outcome = stress.SPRING_STRESS.run(typed)
    given = read(stress.SPRING_STRESS, typed)
    rate_n_m = _number(outcome, "rate") * 1e3
    worked = None
    if "compressed" in outcome.results:
        worked = _metres(outcome, "compressed")
    made = curves.spring_drawing(
        rate_n_m,
        _length_unit(given),
        preload_m=worked,
        set_as="at work",
        solid_m=_solid(given, outcome),
    )
    shares = [
        f"{said} {outcome.results[name].as_text}"
        for name, said in (("stress_share", "at work"), ("solid_stress_share", "pressed solid"))
        if name in outcome.results
    ]
    return replace(made, said=(*made.said, f"of the allowed stress: {', '.join(shares)}"))


def _changed(given: Given, rate_n_m: float, preload_m: float | None) -> float | None:
    """How far it is compressed after the change that is asked for."""
    if not given.has("seat"):
        return None
    seat_m = given.si("seat")
    if given.has("cracking"):
        back_pa = given.si_or("back-pressure", 0.0)
        return relief.preload_for(given.si("cracking"), rate_n_m, seat_m, back_pa)
    if preload_m is None or not (given.has("change") or given.has("shim")):
        return None
    if given.has("change"):
        by = relief.depth_change(rate_n_m, seat_m, given.si("change"))
    else:
        by = given.si("shim")
    return max(0.0, preload_m + by)


def _seat(given: Given) -> Seat | None:
    if not given.has("seat"):
        return None
    unit = values.without_reference(springs.pressure_unit(given))
    return Seat(given.si("seat"), given.si_or("back-pressure", 0.0), unit)


def _length_unit(given: Given) -> str:
    names = ("preload-length", "worked-to", "wire", "seat")
    unit = next((given.measured(name).unit for name in names if given.has(name)), "mm")
    return "in" if unit in _INCHES else "mm"


def _solid(given: Given, outcome: Outcome) -> float | None:
    """How far the spring goes down until its coils touch, where that is known."""
    if not given.has("free-length") or "solid_length" not in outcome.results:
        return None
    return max(0.0, given.si("free-length") - _metres(outcome, "solid_length")) or None


def _metres(outcome: Outcome, name: str) -> float:
    return quantities.to_si(_number(outcome, name), outcome.results[name].unit)


def _number(outcome: Outcome, name: str) -> float:
    return float(outcome.results[name].value)


DRAWN: Mapping[str, Callable[[Mapping[str, str]], Drawing]] = MappingProxyType(
    {
        "charge": _charge,
        "reference": _reference,
        "leak": _leak,
        "spring": _spring,
        "spring-stress": _stress,
        "bore": _bore,
    }
)
"""By the name of the calculation."""


def drawing(name: str, typed: Mapping[str, str]) -> Drawing | None:
    """The drawing of a calculation for what is typed into its fields; None where it has none.

    Raises as ``Calculation.run``.
    """
    made = DRAWN.get(name)
    return None if made is None else made(typed)
