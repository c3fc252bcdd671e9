"""Quantities, spans, limits and units as a document writes them: never without their unit."""

import re

from shopdesk import quantities
from shopdesk.errors import BadQuantity
from shopdesk.procedure.faults import Faults, Place, near
from shopdesk.procedure.types import Limit, Quantity, Span
from shopdesk.procedure.words import words
from shopdesk.quantities import Dimension, Measured

EXAMPLES: dict[Dimension, str] = {
    Dimension.LENGTH: "12.7 mm",
    Dimension.PRESSURE: "70 bar",
    Dimension.TEMPERATURE: "20 C",
    Dimension.TORQUE: "35 in-lb",
    Dimension.FORCE: "400 N",
    Dimension.VOLUME: "160 mL",
    Dimension.TIME: "10 min",
    Dimension.MASS: "2.4 kg",
    Dimension.ANGLE: "90 deg",
    Dimension.FLOW: "5 mL/min",
    Dimension.ROUGHNESS: "0.4 µm Ra",
    Dimension.COUNT: "6 pcs",
    Dimension.PRESSURE_DIFFERENCE: "2 bar",
    Dimension.TEMPERATURE_DIFFERENCE: "3 C",
    Dimension.PRESSURE_RATE: "0.2 bar/h",
}
"""How a quantity of each dimension may be written, as the error sentences show it."""

# With two plausible units beside each other a figure without a unit is refused by the reader.
_UNITS: dict[Dimension, tuple[str, str]] = {
    Dimension.LENGTH: ("mm", "in"),
    Dimension.PRESSURE: ("bar", "psi"),
    Dimension.TEMPERATURE: ("°C", "°F"),
    Dimension.TORQUE: ("N·m", "in-lb"),
    Dimension.FORCE: ("N", "lbf"),
    Dimension.VOLUME: ("mL", "in³"),
    Dimension.TIME: ("min", "h"),
    Dimension.MASS: ("kg", "lb"),
    Dimension.ANGLE: ("°", "rad"),
    Dimension.FLOW: ("mL/min", "L/min"),
    Dimension.ROUGHNESS: ("µm Ra", "µin Ra"),
    Dimension.COUNT: ("pcs", "pcs"),
    Dimension.PRESSURE_DIFFERENCE: ("Δbar", "Δpsi"),
    Dimension.TEMPERATURE_DIFFERENCE: ("Δ°C", "Δ°F"),
    Dimension.PRESSURE_RATE: ("bar/min", "psi/min"),
}
_DIFFERENCE = {
    Dimension.PRESSURE: Dimension.PRESSURE_DIFFERENCE,
    Dimension.TEMPERATURE: Dimension.TEMPERATURE_DIFFERENCE,
}
_PERCENT = re.compile(r"([0-9]+(?:\.[0-9]+)?)\s*%")
_MEANT = re.compile(r"did you mean [^?]+\?")
FAULTY = "faulty"
"""In place of the target of a share: there is one, and its fault is already noted."""

_LIMIT_KEYS = ("low", "high", "target", "within", "source", "revision")


def kind_of(unit: str) -> Dimension:
    """What a unit measures; a difference counts as the quantity itself. Raises BadQuantity."""
    found = quantities.dimension_of(unit)
    return next((plain for plain, spread in _DIFFERENCE.items() if spread is found), found)


def quantity(raw: object, place: Place, dimension: Dimension | None) -> Quantity | None:
    """``"70 bar"``; of any dimension where ``dimension`` is None."""
    measured = _measured(raw, place, dimension)
    if measured is None:
        return None
    return Quantity(measured.value_si, measured.unit, measured.typed)


def read(text: str) -> Quantity:
    """A quantity of any dimension with its unit. Raises BadQuantity with the loader's sentence."""
    faults = Faults("")
    found = quantity(text, Place(faults), None)
    if found is None:
        raise BadQuantity(faults.problems[0].removeprefix(": "))
    return found


def span(
    raw: object, place: Place, dimension: Dimension | None, whole: object = None
) -> Span | None:
    """``"2 bar"`` or ``"3 F"`` as a difference above zero; ``"5 %"`` of the quantity ``whole``."""
    if isinstance(raw, str) and (share := _PERCENT.fullmatch(raw.strip())):
        return _share_of(whole, float(share[1]), raw.strip(), place)
    if dimension is None and isinstance(raw, str):
        dimension = _dimension_written(raw)
    kind = _DIFFERENCE.get(dimension, dimension) if dimension else None
    measured = _measured(raw, place, kind)
    if measured is None:
        return None
    if measured.value_si <= 0:
        place.refuse(raw, "a difference above zero")
        return None
    return Span(measured.value_si, measured.unit.removeprefix("Δ"), measured.typed)


def _share_of(whole: object, percent: float, raw: str, place: Place) -> Span | None:
    if whole == FAULTY:
        return None
    if not isinstance(whole, Quantity) or kind_of(whole.unit) is Dimension.TEMPERATURE:
        place.refuse(raw, "a difference with its unit", "there is no target to take a share of")
        return None
    if not 0 < percent < 100:
        place.refuse(raw, "a share above 0 % and below 100 %")
        return None
    return Span(abs(whole.value_si) * percent / 100, whole.unit, raw)


def limit(raw: object, place: Place, dimension: Dimension | None) -> Limit | None:
    """``low`` and ``high`` (one may be left out), or ``target`` and ``within``; with source and
    revision always."""
    if not isinstance(raw, dict):
        place.refuse(raw, 'a limit such as { high = "2 bar", source = "...", revision = "..." }')
        return None
    for key in raw:
        if key not in _LIMIT_KEYS:
            place.at(key).add(_unknown_key(key))
    stands = [_required_words(raw, name, place) for name in ("source", "revision")]
    bounds = _around(raw, place, dimension) if _has_target(raw) else _bounds(raw, place, dimension)
    if bounds is None or None in stands:
        return None
    return Limit(str(stands[0]), str(stands[1]), *bounds)


def _unknown_key(key: str) -> str:
    hint = near(key, _LIMIT_KEYS) or "known are " + ", ".join(_LIMIT_KEYS)
    return f"read the key {key!r}, which a limit does not have ({hint})"


def _required_words(raw: dict[str, object], name: str, place: Place) -> str | None:
    if name not in raw:
        place.at(name).add("missing; a limit says where it stands (source) and in which revision")
        return None
    return words(raw[name], place.at(name))


def _has_target(raw: dict[str, object]) -> bool:
    return "target" in raw or "within" in raw


Bounds = tuple[Quantity | None, Quantity | None]


def _bounds(raw: dict[str, object], place: Place, dimension: Dimension | None) -> Bounds | None:
    written = [name for name in ("low", "high") if name in raw]
    if not written:
        place.add("a limit has a low or a high bound, or a target with within; none is given")
        return None
    found = {name: quantity(raw[name], place.at(name), dimension) for name in written}
    if None in found.values():
        return None
    low, high = found.get("low"), found.get("high")
    if low is not None and high is not None and low.value_si > high.value_si:
        place.add(f"low {low.typed!r} is above high {high.typed!r}; exchange or correct them")
        return None
    return low, high


def _around(raw: dict[str, object], place: Place, dimension: Dimension | None) -> Bounds | None:
    if "low" in raw or "high" in raw or not ("target" in raw and "within" in raw):
        place.add("a limit has either low and high, or target and within, not a mixture")
        return None
    target = quantity(raw["target"], place.at("target"), dimension)
    if target is None:
        return None
    within = span(raw["within"], place.at("within"), kind_of(target.unit), target)
    if within is None:
        return None
    try:
        return _moved(target, -within.value_si), _moved(target, within.value_si)
    except BadQuantity as fault:
        place.add(f"target and within reach a bound that cannot be: {fault}")
        return None


def _moved(target: Quantity, by_si: float) -> Quantity:
    value_si = target.value_si + by_si
    return Quantity(
        value_si,
        target.unit,
        f"{quantities.from_si(value_si, target.unit):.10g} {target.unit}",
    )


def unit_name(raw: object, place: Place, dimension: Dimension | None) -> str | None:
    """A unit in its canonical spelling (``in lbs`` -> ``in-lb``), of ``dimension`` if given."""
    written = words(raw, place)
    if written is None:
        return None
    try:
        plain = quantities.canonical(written)
        if dimension is None:
            return plain
        return quantities.parse(f"1 {written}", unit=_UNITS[dimension][0]).unit
    except BadQuantity as fault:
        kind = f"a unit of {dimension.words}" if dimension else "a unit"
        example = _UNITS[dimension][0] if dimension else "bar"
        meant = _MEANT.search(str(fault))
        place.refuse(written, f"{kind} such as {example!r}", meant[0] if meant else "")
        return None


def _measured(raw: object, place: Place, dimension: Dimension | None) -> Measured | None:
    kind = dimension.words if dimension else "a quantity"
    expected = f"{kind} such as {EXAMPLES[dimension or Dimension.LENGTH]!r}"
    if not isinstance(raw, str):
        number = isinstance(raw, int | float) and not isinstance(raw, bool)
        place.refuse(raw, expected, "write the figure and its unit in quotes" if number else "")
        return None
    wanted = dimension or _dimension_written(raw)
    try:
        if _bare(raw):
            raise BadQuantity("the unit is missing")
        return _read(raw, wanted or Dimension.LENGTH)
    except BadQuantity as fault:
        place.refuse(raw, expected, _hint(raw, dimension, fault))
        return None


def _read(text: str, dimension: Dimension) -> Measured:
    own, other = _UNITS[dimension]
    return quantities.parse(text, unit=own, units=(own, other))


def _reads(text: str, dimension: Dimension) -> bool:
    try:
        quantities.parse(text, unit=_UNITS[dimension][0])
    except BadQuantity:
        return False
    return True


def _bare(text: str) -> bool:
    """No unit is both a length and a time, so what reads as both has none."""
    return _reads(text, Dimension.LENGTH) and _reads(text, Dimension.TIME)


def _dimension_written(text: str) -> Dimension | None:
    return next((kind for kind in Dimension if _reads(text, kind)), None)


def _hint(raw: str, dimension: Dimension | None, fault: BadQuantity) -> str:
    if _bare(raw):
        return "the unit is missing"
    meant = _MEANT.search(str(fault)) or _meant_anywhere(raw, dimension)
    if meant is not None:
        return meant[0]
    other = _dimension_written(raw)
    if other is not None and other is not dimension:
        return f"that is {other.words}"
    return str(fault).rstrip(".")


def _meant_anywhere(raw: str, dimension: Dimension | None) -> re.Match[str] | None:
    if dimension is not None:
        return None
    for kind in Dimension:
        try:
            _read(raw, kind)
        except BadQuantity as fault:
            found = _MEANT.search(str(fault))
            if found is not None:
                return found
    return None
