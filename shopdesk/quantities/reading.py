"""A typed entry read into a value: the number, its unit, and whether it fits the line."""

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass

from shopdesk.errors import BadQuantity

from .clean import cleaned, quoted
from .convert import STANDARD_ATMOSPHERE_PA, unit_to_si
from .dimension import Dimension
from .number import take_number
from .table import Unit
from .units import key, lookup, names, refuse_millipascal, resolve, unknown

_FOLLOWS = {"ft": "in", "d": "h", "h": "min", "min": "s"}
_COMPOUND = re.compile(r"""(?P<unit>[A-Za-z'"]+)[\s-]*(?P<next>[0-9.].*)""")


class Ambiguous(BadQuantity):
    """A bare number where several units are plausible; ``choices`` are their canonical names."""

    def __init__(self, message: str, choices: tuple[str, ...]) -> None:
        super().__init__(message)
        self.choices = choices


@dataclass(frozen=True)
class Measured:
    """One entry. ``value_si`` is in the dimension's SI unit (pressures: gauge pascal), ``unit`` the
    canonical unit it was given in, ``typed`` what was typed."""

    value_si: float
    unit: str
    dimension: Dimension
    typed: str


@dataclass(frozen=True)
class _Line:
    unit: Unit
    plausible: tuple[Unit, ...]
    atmosphere_pa: float
    typed: str
    near_si: float | None

    def wanted(self) -> str:
        kind = self.unit.dimension
        return f"this line asks for {kind.words} ({self.unit.name})"

    def refuse(self, fault: str) -> BadQuantity:
        return BadQuantity(f"{quoted(self.typed)} {fault}; {self.wanted()}.")


def parse(
    text: str,
    *,
    unit: str,
    units: Sequence[str] = (),
    atmosphere_pa: float = STANDARD_ATMOSPHERE_PA,
    near_si: float | None = None,
) -> Measured:
    """What was typed on a line whose own unit is ``unit``.

    ``units`` are those plausible on the line in this shop; of them only units of the line's own
    dimension count. A bare number is taken in ``unit`` when no other unit is plausible or when all
    would mean the same (0 bar and 0 psi); otherwise Ambiguous is raised. ``near_si`` is a size the
    answer cannot be far from, such as a bore's nominal diameter: a unit is plausible only where it
    makes the number half to double that size. Commas: ``0,312`` and
    ``1,5`` are decimals, ``1,500`` is asked about; grouping by an ordinary space is refused.

    Raises BadQuantity for anything that cannot be read, has another dimension, or cannot exist.
    """
    own = resolve(unit)
    found = (resolve(each, own.dimension) for each in units)
    others = [each for each in found if each.dimension is own.dimension]
    line = _Line(own, _distinct([own, *others]), atmosphere_pa, text.strip(), near_si)
    plain = _without_lead(cleaned(text), line)
    if not plain:
        raise BadQuantity(f"Nothing was typed; {line.wanted()}.")
    value_si, used = _read(plain, line)
    _check_whole(value_si, used, line)
    return Measured(value_si, used.name, used.dimension, line.typed)


def is_reading(text: str) -> bool:
    """Whether the whole text is a number, alone or with its unit, or two such with "at" between.
    A time is none: that it held 10 min may be said of anything."""
    return all(_is_measured(piece) for piece in re.split(r"\s+at\s+|@", text))


def _is_measured(text: str) -> bool:
    try:
        taken = take_number(cleaned(text))
    except BadQuantity:
        return True  # a number, only not a clear one
    if taken is None or not taken[1]:
        return taken is not None
    unit = lookup(taken[1])
    return unit is not None and unit.dimension is not Dimension.TIME


def _distinct(units: list[Unit]) -> tuple[Unit, ...]:
    kept: list[Unit] = []
    for unit in units:
        if not any(unit.same_as(each) for each in kept):
            kept.append(unit)
    return tuple(kept)


def _without_lead(plain: str, line: _Line) -> str:
    """Drawings write the parameter first: Ra 0.8 µm."""
    if line.unit.dimension is Dimension.ROUGHNESS:
        return re.sub(r"^ra\s*(?=[0-9.])", "", plain, flags=re.IGNORECASE)
    return plain


def _read(plain: str, line: _Line) -> tuple[float, Unit]:
    number, rest = _number(plain, line)
    if _names_no_unit(rest, line):
        return _bare(number, rest, line)
    refuse_millipascal(rest)
    used = lookup(rest, line.unit.dimension)
    if used is None:
        return _compound(number, rest, line)
    return _value(number, used, line), used


def _number(plain: str, line: _Line) -> tuple[float, str]:
    taken = take_number(plain)
    if taken is None:
        has_unit = lookup(plain, line.unit.dimension) is not None
        raise line.refuse("is a unit without a number" if has_unit else "begins with no number")
    if not math.isfinite(taken[0]):
        raise line.refuse("is not a number any gauge can show")
    return taken


def _names_no_unit(rest: str, line: _Line) -> bool:
    """Nothing after the number, or a sign that leaves the unit open: 68° or 32 Ra."""
    if not rest:
        return True
    kind = line.unit.dimension
    if kind in (Dimension.TEMPERATURE, Dimension.TEMPERATURE_DIFFERENCE):
        return key(rest) in ("°", "deg", "degs", "degree", "degrees")
    return kind is Dimension.ROUGHNESS and key(rest) == "ra"


def _bare(number: float, rest: str, line: _Line) -> tuple[float, Unit]:
    candidates = list(line.plausible)
    if rest and line.unit.dimension is Dimension.ROUGHNESS:
        candidates.append(resolve("µin Ra"))  # a bare "32 Ra" is how microinches are spoken
    choices = _distinct(candidates)
    if line.near_si is not None:
        likely = [each for each in choices if _near(_possible(number, each, line), line.near_si)]
        if len(likely) == 1:
            return _value(number, likely[0], line), likely[0]
    value = _value(number, line.unit, line)
    if all(_possible(number, each, line) in (None, value) for each in choices):
        return value, line.unit
    named = tuple(each.name for each in choices)
    figure = line.typed.removesuffix(rest).strip()
    spelled = " or ".join(f'"{figure} {name}"' for name in named)
    raise Ambiguous(
        f"{quoted(line.typed)} has no unit, and more than one is used on this line: "
        f"type {spelled}.",
        named,
    )


def _near(value_si: float | None, size_si: float) -> bool:
    return value_si is not None and 0.5 <= value_si / size_si <= 2.0


def _possible(number: float, unit: Unit, line: _Line) -> float | None:
    try:
        return _value(number, unit, line)
    except BadQuantity:
        return None


def _compound(number: float, rest: str, line: _Line) -> tuple[float, Unit]:
    """``1 ft 2 in``, ``1 h 30 min``: whole larger units, then less than one of them."""
    match = _COMPOUND.fullmatch(rest)
    larger = lookup(match["unit"], line.unit.dimension) if match else None
    if match is None or larger is None or larger.name not in _FOLLOWS:
        raise _unreadable(rest, line, more=larger is not None)
    smaller = _FOLLOWS[larger.name]
    if larger.dimension is not line.unit.dimension:
        raise _mismatch(larger, line)
    part, following = _number(match["next"], line)
    inner = lookup(following, larger.dimension)
    if inner is None and following:
        value, used = _compound(part, following, line)
    elif inner is None or inner.name != smaller:
        raise line.refuse(f"needs {smaller} after its {larger.name}")
    else:
        value, used = _value(part, inner, line), inner
    one = _value(1.0, larger, line)
    if number != int(number) or not 0 <= value < one:
        raise line.refuse(f"does not add up: whole {larger.name}, then less than one more")
    whole = _value(abs(number), larger, line)
    return (-(whole + value) if str(number).startswith("-") else whole + value), used


def _value(number: float, used: Unit, line: _Line) -> float:
    if used.dimension is not line.unit.dimension:
        raise _mismatch(used, line)
    return unit_to_si(number, used, line.atmosphere_pa)


def _mismatch(used: Unit, line: _Line) -> BadQuantity:
    accepted = ", ".join(names(line.unit.dimension)[:7])
    return BadQuantity(
        f"{quoted(line.typed)} is {used.dimension.words}, and {line.wanted()}: write it in one "
        f"of {accepted}."
    )


def _unreadable(rest: str, line: _Line, *, more: bool) -> BadQuantity:
    if re.match(r"[0-9]{3}(?![0-9])", rest):
        return line.refuse("has a space inside the number; write the digits together")
    if more or re.search(r"[0-9]", rest):
        return line.refuse("holds more than one number")
    return BadQuantity(f"{quoted(line.typed)}: {unknown(rest, line.unit.dimension)}")


def _check_whole(value_si: float, used: Unit, line: _Line) -> None:
    if used.dimension is Dimension.COUNT and value_si != int(value_si):
        raise line.refuse("is not a whole number of pieces")
