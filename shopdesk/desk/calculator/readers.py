"""One reader for each kind of field: text in, a value with its unit out, or a sentence."""

import math
import re
from dataclasses import dataclass
from datetime import date, datetime

from shopdesk import quantities
from shopdesk.desk.calculator.forms import Field, Kind
from shopdesk.errors import BadInput, BadQuantity
from shopdesk.quantities import Dimension, Measured
from shopdesk.quantities.clean import cleaned, quoted
from shopdesk.quantities.number import take_number
from shopdesk.quantities.units import lookup, resolve

PRESSURE_UNITS = ("bar", "psi")
_PSI_PA = 6894.757293168361
MODULI_PA = {
    "gpa": 1e9, "kn/mm2": 1e9, "mpa": 1e6, "n/mm2": 1e6, "pa": 1.0,
    "mpsi": 1e6 * _PSI_PA, "msi": 1e6 * _PSI_PA, "ksi": 1e3 * _PSI_PA, "psi": _PSI_PA,
}  # fmt: skip
_POUND_N = 4.4482216152605
SPRING_RATES_N_M = {
    "n/mm": 1e3, "n/m": 1.0, "kn/m": 1e3, "lbf/in": _POUND_N / 0.0254, "lb/in": _POUND_N / 0.0254,
}  # fmt: skip
VISCOSITIES_PA_S = {"pa·s": 1.0, "pas": 1.0, "mpa·s": 1e-3, "mpas": 1e-3, "cp": 1e-3}
LEAK_RATES = {
    "pam3/s": "Pa m3/s",
    "mbarl/s": "mbar l/s",
    "torrl/s": "torr l/s",
    "atmcm3/s": "atm cm3/s", "atmcc/s": "atm cm3/s", "atmml/s": "atm cm3/s",
    "scc/s": "scc/s", "sccs": "scc/s", "stdcc/s": "scc/s", "stdcm3/s": "scc/s",
    "sccm": "sccm", "scc/min": "sccm", "stdcc/min": "sccm", "stdcm3/min": "sccm",
    "ml/min": "ml/min", "cc/min": "ml/min", "cm3/min": "ml/min", "ccm": "ml/min",
    "ml/h": "ml/h", "cc/h": "ml/h", "cm3/h": "ml/h",
    "g/yr": "g/yr", "kg/yr": "kg/yr", "oz/yr": "oz/yr", "g/d": "g/d", "g/h": "g/h",
    "mg/h": "mg/h",
}  # fmt: skip
"""How leak rates are written, without spaces and dots, times and litres by their signs."""
_LEAK_WORDS = (
    (re.compile(r"\s*\bper\b\s*"), "/"),
    (re.compile(r"³|\^3"), "3"),
    (re.compile(r"\blit(?:er|re)s?\b"), "l"),
    (re.compile(r"\bst(?:andar)?d\b\.?"), "std"),
    (re.compile(r"\bsec(?:onds?)?\b"), "s"),
    (re.compile(r"\bminutes?\b"), "min"),
    (re.compile(r"\b(?:hours?|hr)\b"), "h"),
    (re.compile(r"\bdays?\b"), "d"),
    (re.compile(r"\b(?:years?|a|y)\b"), "yr"),
    (re.compile(r"[\s·*.-]"), ""),
)
_PERCENT = re.compile(r"(?:%|per ?cent|pct)\s*$", re.IGNORECASE)
_LOWEST_ATMOSPHERE_PA, _HIGHEST_ATMOSPHERE_PA = 20e3, 120e3
_DATED = re.compile(r"\d{4}-\d{2}-\d{2}")
_PER = re.compile(r"(?:/|per\b)\s*(?P<unit>.+)", re.IGNORECASE)


@dataclass(frozen=True)
class Timed:
    """A rate or a time: ``value`` in ``unit``; ``seconds`` is one of that unit, None without."""

    value: float
    unit: str
    seconds: float | None


@dataclass(frozen=True)
class TimedReading:
    """``at_s`` from any fixed moment; ``bare_time`` where its unit was left out."""

    at_s: float
    pressure: Measured
    temperature: Measured
    dated: bool
    bare_time: bool


@dataclass(frozen=True)
class LeakRate:
    """``unit`` is one of ``calc.leak_units``."""

    value: float
    unit: str


@dataclass(frozen=True)
class Pair:
    """Two plain numbers joined by =."""

    first: float
    second: float


def entry(field: Field, text: str, atmosphere_pa: float) -> object:
    """What one text says for this field. Raises BadInput or BadQuantity."""
    match field.kind:
        case Kind.QUANTITY:
            return _quantity(field, text)
        case Kind.PRESSURE:
            return _pressure(text, atmosphere_pa)
        case Kind.ATMOSPHERE:
            return atmosphere(text)
        case Kind.NUMBER:
            return number(text)
        case Kind.COUNT:
            return _count(text)
        case Kind.PERCENT:
            return _percent(text)
        case Kind.MODULUS:
            return _scaled(text, MODULI_PA, "GPa, MPa, Mpsi, ksi or psi")
        case Kind.SPRING_RATE:
            return _scaled(text, SPRING_RATES_N_M, "N/mm, N/m or lbf/in")
        case Kind.VISCOSITY:
            return _scaled(text, VISCOSITIES_PA_S, "mPa·s, Pa·s or cP (cSt times density)")
        case Kind.LEAK_RATE:
            return leak_rate(text)
        case Kind.DAY:
            return _day(text)
        case Kind.RATE:
            return _rate(text)
        case Kind.SPAN:
            return _span(text)
        case Kind.READING:
            return _reading(text, atmosphere_pa)
        case Kind.PAIR:
            return _pair(field, text)
        case Kind.NUMBERS:
            return _numbers(text)
        case Kind.WORDS | Kind.TABLE:
            return _word(field, text)


def _quantity(field: Field, text: str) -> Measured:
    found = quantities.parse(text, unit=field.unit, units=field.units)
    if found.dimension is Dimension.VOLUME and found.value_si < 0.0:
        raise BadQuantity(f"{quoted(text.strip())} is below zero; no volume is.")
    return found


def figure(found: Measured) -> float:
    """The number as it stood before its unit, to its last digit."""
    taken = take_number(cleaned(found.typed))
    if taken is not None and (not taken[1] or lookup(taken[1], found.dimension)):
        return taken[0]
    return quantities.from_si(found.value_si, found.unit)  # 1 ft 2 in


def number(text: str) -> float:
    """A plain number without a unit."""
    value, rest = _head(text)
    if rest:
        raise BadQuantity(
            f"{quoted(text.strip())} has {quoted(rest)} after its number; give the number alone."
        )
    return value


def atmosphere(text: str) -> Measured:
    """Air pressure in pascal absolute, ``value_si``, from plain or absolute units."""
    found = quantities.parse(text, unit="mbar", units=("kPa", *PRESSURE_UNITS))
    unit = resolve(found.unit)
    if not unit.absolute and unit.name.endswith(("g", "(g)")):
        raise BadQuantity(f"{quoted(text)} is a gauge pressure; the air's own is absolute.")
    absolute = quantities.STANDARD_ATMOSPHERE_PA if unit.absolute else 0.0
    pa_abs = found.value_si + absolute
    if not _LOWEST_ATMOSPHERE_PA <= pa_abs <= _HIGHEST_ATMOSPHERE_PA:
        raise BadInput(
            f"{quoted(text)} is no air pressure a shop stands in; {_LOWEST_ATMOSPHERE_PA / 100:g} "
            f"to {_HIGHEST_ATMOSPHERE_PA / 100:g} mbar absolute is accepted."
        )
    return Measured(pa_abs, found.unit, found.dimension, found.typed)


def _pressure(text: str, atmosphere_pa: float) -> Measured:
    return quantities.parse(text, unit="bar", units=PRESSURE_UNITS, atmosphere_pa=atmosphere_pa)


def _head(text: str) -> tuple[float, str]:
    plain = cleaned(text)
    taken = take_number(plain)
    if taken is None:
        raise BadQuantity(f"{quoted(text.strip())} begins with no number; a number is asked for.")
    if not math.isfinite(taken[0]):
        raise BadQuantity(f"{quoted(text.strip())} is not a finite number.")
    return taken


def _count(text: str) -> int:
    value = number(text)
    if value != int(value):
        raise BadQuantity(f"{quoted(text.strip())} is not a whole number.")
    return int(value)


def _percent(text: str) -> float:
    """A share, from percent: "75", "75 %" and "75 percent" are 0.75."""
    said = _PERCENT.search(text)
    value, rest = _head(text[: said.start()] if said else text)
    if rest:
        raise BadQuantity(f"{quoted(text.strip())} is no percentage; write it as 75 %.")
    if 0.0 < value <= 1.0 and said is None:
        raise BadQuantity(
            f"{quoted(text.strip())} may be a share or a percentage; write {value:g} % or "
            f"{100 * value:g} %."
        )
    return value / 100.0


def _scaled(text: str, scales: dict[str, float], known: str) -> float:
    stripped = text.strip().removesuffix("²") + ("2" if text.strip().endswith("²") else "")
    value, rest = _head(stripped)
    scale = scales.get(rest.replace(" ", "").lower())
    if scale is None:
        said = f"the unit {quoted(rest)}" if rest else "no unit"
        raise BadQuantity(f"{quoted(text.strip())} has {said}; write it in {known}.")
    return value * scale


def leak_rate(text: str) -> LeakRate:
    value, rest = _head(text)
    written = rest.lower()
    for pattern, sign in _LEAK_WORDS:
        written = pattern.sub(sign, written)
    unit = LEAK_RATES.get(written)
    if unit is None:
        said = f"the unit {quoted(rest)}" if rest else "no unit"
        raise BadQuantity(
            f"{quoted(text.strip())} has {said}; write a leak rate in mbar l/s, Pa m3/s, atm cc/s, "
            "sccm, mL/min or, of nitrogen, g/yr or oz/yr."
        )
    if value < 0.0:
        raise BadQuantity(f"{quoted(text.strip())} is below zero; a leak is counted outwards.")
    return LeakRate(value, unit)


def _seconds(unit: str) -> tuple[str, float]:
    known = resolve(unit)
    if known.dimension is not Dimension.TIME:
        raise BadQuantity(f"{quoted(unit)} is no unit of time; write s, min, h, d, wk or yr.")
    return known.name, quantities.span_to_si(1.0, known.name)


def _rate(text: str) -> Timed:
    value, rest = _head(text)
    if not rest:
        return Timed(value, "", None)
    match = _PER.fullmatch(rest)
    if match is None:
        raise BadQuantity(f"{quoted(text.strip())} is no rate; write it as 3/h or 2 per week.")
    name, seconds = _seconds(match["unit"])
    return Timed(value, name, seconds)


def _span(text: str) -> Timed:
    value, rest = _head(text)
    if not rest:
        return Timed(value, "", None)
    found = quantities.parse(text, unit="h")
    name, seconds = _seconds(found.unit)
    return Timed(found.value_si / seconds, name, seconds)


def _reading(text: str, atmosphere_pa: float) -> TimedReading:
    when, equals, rest = text.strip().partition("=")
    pressure, at, temperature = rest.rpartition("@")
    if not (equals and at and when.strip()):
        raise BadInput(
            f"{quoted(text)} is no reading; write TIME=PRESSURE@TEMPERATURE, such as "
            "24 h=99.2 bar@20 C or 2026-03-14T08:00=99.2 bar@20 C."
        )
    at_s, dated, bare = _moment(when.strip())
    return TimedReading(
        at_s,
        _pressure(pressure, atmosphere_pa),
        quantities.parse(temperature, unit="°C", units=("°F",)),
        dated,
        bare,
    )


def _moment(when: str) -> tuple[float, bool, bool]:
    if not _DATED.match(when):
        found = quantities.parse(when, unit="h")
        bare = _head(when)[1] == "" and found.value_si != 0.0
        return found.value_si, False, bare
    try:
        return datetime.fromisoformat(when).timestamp(), True, False
    except (ValueError, OverflowError):
        raise BadInput(
            f"{quoted(when)} is no moment; write it as 2026-03-14T08:00, or as a time such as 24 h."
        ) from None


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text.strip())
    except ValueError:
        raise BadInput(f"{quoted(text.strip())} is no date; write it as 2026-03-14.") from None


def _pair(field: Field, text: str) -> Pair:
    first, equals, second = text.partition("=")
    if not equals:
        raise BadInput(
            f"{quoted(text)} is not written as {field.metavar}; give two numbers and = between."
        )
    return Pair(number(first), number(second))


def _numbers(text: str) -> tuple[float, ...]:
    """Numbers separated by spaces, commas or slashes."""
    return tuple(number(each) for each in re.split(r"[\s,/]+", text.strip()) if each)


def _word(field: Field, text: str) -> str:
    if field.kind is Kind.TABLE:
        return text
    word = " ".join(text.split())
    if field.options and word.lower() not in field.options:
        raise BadInput(f"{quoted(word)} was read; one of {', '.join(field.options)} is accepted.")
    return word.lower() if field.options else word
