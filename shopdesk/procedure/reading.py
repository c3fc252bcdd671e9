"""Tables of the document read into the dataclasses of ``types``, driven by their annotations.

A new kind of line needs its dataclass and its entry in ``Kind``, nothing here: fields are read by
what they are annotated with, units by their name, quantities in the dimension of the line's own
``unit`` or the one ``DIMENSIONS`` gives.
"""

import re
from dataclasses import MISSING, Field, dataclass, fields, is_dataclass, replace
from enum import StrEnum
from functools import lru_cache
from types import UnionType
from typing import Any, TypeVar, Union, get_args, get_origin, get_type_hints

from shopdesk import quantities
from shopdesk.errors import BadQuantity
from shopdesk.procedure import amounts, types
from shopdesk.procedure.amounts import FAULTY
from shopdesk.procedure.faults import Place, near, one_of
from shopdesk.procedure.shapes import faults_of
from shopdesk.procedure.types import Kind, Limit, Line, Quantity, Span, Torque
from shopdesk.procedure.words import flag, number, whole, words
from shopdesk.quantities import Dimension

KINDS: dict[Kind, type[Line]] = {kind: getattr(types, kind.value.capitalize()) for kind in Kind}

DIMENSIONS: dict[tuple[str, str], Dimension] = {
    ("Survey", "depths"): Dimension.LENGTH,
    ("Survey", "unit"): Dimension.LENGTH,
    ("Reading", "at_temperature"): Dimension.TEMPERATURE,
    ("Test", "at_temperature"): Dimension.TEMPERATURE,
    ("Adapter", "length"): Dimension.LENGTH,
    ("Adapter", "wrench_length"): Dimension.LENGTH,
    ("Adapter", "angle"): Dimension.ANGLE,
    ("Torque", "unit"): Dimension.TORQUE,
    ("Torque", "target"): Dimension.TORQUE,
    ("Torque", "tolerance"): Dimension.TORQUE,
    ("Wait", "duration"): Dimension.TIME,
    ("Regulator", "unit"): Dimension.PRESSURE,
    ("Regulator", "units"): Dimension.PRESSURE,
    ("Regulator", "at_temperature"): Dimension.TEMPERATURE,
    ("Charge", "unit"): Dimension.PRESSURE,
    ("Charge", "units"): Dimension.PRESSURE,
    ("Charge", "at_temperature"): Dimension.TEMPERATURE,
    ("Leak", "unit"): Dimension.PRESSURE,
    ("Leak", "units"): Dimension.PRESSURE,
    ("Leak", "at_temperature"): Dimension.TEMPERATURE,
    ("Leak", "loss"): Dimension.PRESSURE,
    ("Rating", "value"): Dimension.PRESSURE,
    ("GasCharge", "target"): Dimension.PRESSURE,
    ("GasCharge", "tolerance"): Dimension.PRESSURE,
    ("GasCharge", "reference"): Dimension.TEMPERATURE,
    ("GasCharge", "volume"): Dimension.VOLUME,
}
"""The dimension of a field where it is not that of the line's own ``unit``."""

_UNIT_FIELDS = frozenset({"unit", "units", "at_temperature"})
_BESIDE = ("key", "kind")
_KEY = re.compile(r"[a-z0-9_]+")

Record = TypeVar("Record")


@dataclass(frozen=True, slots=True)
class _Asked:
    """What is known of a field before it is read."""

    name: str
    dimension: Dimension | None
    target: object


def toml_name(field: Field[Any]) -> str:
    """The field's key in a document: ``is`` for ``is_``."""
    return field.name.rstrip("_")


@lru_cache(maxsize=64)
def _hints(cls: type) -> dict[str, Any]:
    return get_type_hints(cls)


def kind_of_line(raw: dict[str, Any], place: Place) -> type[Line] | None:
    written = raw.get("kind")
    known = [kind.value for kind in Kind]
    if written is None:
        place.at("kind").add("missing; every line says its kind, one of " + ", ".join(known))
        return None
    if not isinstance(written, str) or written not in known:
        word = written if isinstance(written, str) else ""
        place.at("kind").refuse(written, *one_of(word, (*known, "group")))
        return None
    return KINDS[Kind(written)]


def key_of(raw: dict[str, Any], place: Place, name: str = "key") -> str | None:
    """The short key: lower-case letters, digits and underscores."""
    if name not in raw:
        place.at(name).add("missing; give the line a short name such as 'bore'")
        return None
    written = words(raw[name], place.at(name))
    if written is None:
        return None
    if not _KEY.fullmatch(written):
        place.at(name).refuse(written, "lower-case letters, digits and _ such as 'piston_seal'")
        return None
    return written


def line(raw: dict[str, Any], key: str, place: Place, position: str | None = None) -> Line | None:
    """One line of the document under its full ``key``; in a group the position is given."""
    cls = kind_of_line(raw, place)
    if cls is None:
        return None
    given = {"key": key} if position is None else {"key": key, "position": position}
    body = {name: value for name, value in raw.items() if name not in _BESIDE}
    found = record(cls, body, place, given)
    if isinstance(found, Torque) and found.target is not None and not found.unit:
        return replace(found, unit=found.target.unit)
    return found


def record(
    cls: type[Record], raw: object, place: Place, given: dict[str, Any] | None = None
) -> Record | None:
    """A table read into ``cls``; None where anything in it is at fault."""
    if not isinstance(raw, dict):
        place.refuse(raw, "a table of " + ", ".join(_names(cls)))
        return None
    values: dict[str, Any] = dict(given or {})
    asked = [field for field in fields(cls) if field.name not in values]  # type: ignore[arg-type]
    sound = _only_known(raw, asked, place)
    for field in asked:
        sound = _field(cls, field, raw, values, place) and sound
    if not sound:
        return None
    found = cls(**values)
    for name, sentence in faults_of(found):
        (place.at(name) if name else place).add(sentence)
    return found


def _names(cls: type) -> list[str]:
    return [toml_name(field) for field in fields(cls)]


def _only_known(raw: dict[str, Any], asked: list[Field[Any]], place: Place) -> bool:
    known = [toml_name(field) for field in asked]
    strange = [key for key in raw if key not in known]
    for key in strange:
        hint = near(key, known) or "known are " + ", ".join(known)
        place.at(key).add(f"read the key {key[:60]!r}, which is not known here ({hint})")
    return not strange


def _field(
    cls: type, field: Field[Any], raw: dict[str, Any], values: dict[str, Any], place: Place
) -> bool:
    """Reads one field into ``values``; False where it is at fault."""
    name = toml_name(field)
    required = field.default is MISSING and field.default_factory is MISSING
    if name not in raw:
        if required:
            place.at(name).add(f"missing; {_expected(_hints(cls)[field.name])} is needed here")
        return not required
    target = values.get("target", FAULTY if "target" in raw else None)
    asked = _Asked(field.name, _dimension(cls, field.name, raw), target)
    found = _value(_hints(cls)[field.name], raw[name], place.at(name), asked)
    if required and found == ():
        place.at(name).add("read an empty list, expected at least one entry")
        return False
    if found is None:
        return False
    values[field.name] = found
    return True


def _dimension(cls: type, name: str, raw: dict[str, Any]) -> Dimension | None:
    fixed = DIMENSIONS.get((cls.__name__, name))
    if fixed is not None or name == "unit":
        return fixed
    own = raw.get("unit")
    try:
        return quantities.dimension_of(own) if isinstance(own, str) else None
    except BadQuantity:
        return None


def _expected(hint: Any) -> str:
    plain = _without_none(hint)
    if get_origin(plain) is tuple:
        return "a list"
    named = {str: "text", int: "a whole number", float: "a number", bool: "true or false"}
    named |= {Quantity: "a quantity with its unit", Span: "a difference with its unit"}
    return named.get(plain, "a table")


def _without_none(hint: Any) -> Any:
    if get_origin(hint) in (UnionType, Union):
        return next(each for each in get_args(hint) if each is not type(None))
    return hint


def _value(hint: Any, raw: object, place: Place, asked: _Asked) -> object:
    """``raw`` as ``hint`` says, or None once the fault is noted."""
    plain = _without_none(hint)
    if get_origin(plain) is tuple:
        return _many(get_args(plain)[0], raw, place, asked)
    if plain is Quantity:
        return amounts.quantity(raw, place, asked.dimension)
    if plain is Span:
        return amounts.span(raw, place, asked.dimension, asked.target)
    if plain is Limit:
        return amounts.limit(raw, place, asked.dimension)
    if isinstance(plain, type) and is_dataclass(plain):
        return record(plain, raw, place)
    return _single(plain, raw, place, asked)


def _single(plain: type, raw: object, place: Place, asked: _Asked) -> object:
    if issubclass(plain, StrEnum):
        return _member(plain, raw, place)
    if plain is bool:
        return flag(raw, place)
    if plain is int:
        return whole(raw, place)
    if plain is float:
        return number(raw, place)
    if asked.name in _UNIT_FIELDS:
        return amounts.unit_name(raw, place, asked.dimension)
    return words(raw, place)


def _member(plain: type[StrEnum], raw: object, place: Place) -> StrEnum | None:
    known = [member.value for member in plain]
    if not isinstance(raw, str) or raw not in known:
        place.refuse(raw, *one_of(raw if isinstance(raw, str) else "", known))
        return None
    return plain(raw)


def _many(hint: Any, raw: object, place: Place, asked: _Asked) -> tuple[Any, ...] | None:
    if is_dataclass(hint) and hint not in (Quantity, Span) and isinstance(raw, dict):
        alone = _value(hint, raw, place, asked)
        return None if alone is None else (alone,)
    if not isinstance(raw, list):
        place.refuse(raw, "a list in square brackets")
        return None
    found = [_value(hint, each, place.at(n), asked) for n, each in enumerate(raw)]
    if any(each is None for each in found):
        return None
    return tuple(found) if _all_different(found, place) else None


def _all_different(found: list[object], place: Place) -> bool:
    seen: set[str] = set()
    for n, each in enumerate(found):
        if isinstance(each, str) and each.casefold() in seen:
            place.at(n).add(f"read {each!r} a second time, expected each entry once")
            return False
        if isinstance(each, str):
            seen.add(each.casefold())
    return True
