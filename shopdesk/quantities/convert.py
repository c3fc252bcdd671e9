"""Values between a written unit and SI, with the physics that bounds them."""

import math

from shopdesk.errors import BadQuantity

from .dimension import SI_UNIT, Dimension
from .registry import convert
from .table import Unit, delta_name
from .units import resolve

STANDARD_ATMOSPHERE_PA = 101325.0
"""Exact by definition (NIST SP 811, appendix B: standard atmosphere)."""

_ROUNDING = 1e-9


def to_si(value: float, unit: str, *, atmosphere_pa: float = STANDARD_ATMOSPHERE_PA) -> float:
    """``value`` of ``unit`` in the SI unit of its dimension; pressures as gauge pascal.

    Raises BadQuantity for an unknown unit, a value that is no finite number, a temperature below
    absolute zero, or a pressure below vacuum at ``atmosphere_pa``.
    """
    return unit_to_si(value, resolve(unit), atmosphere_pa)


def from_si(value_si: float, unit: str, *, atmosphere_pa: float = STANDARD_ATMOSPHERE_PA) -> float:
    """The inverse of ``to_si``; same errors."""
    return unit_from_si(value_si, resolve(unit), atmosphere_pa)


def span_to_si(value: float, unit: str) -> float:
    """A difference of ``unit`` in SI: 3 °F are 1.667 K, 2 bara are 200000 Pa; no offsets.

    Raises BadQuantity for an unknown unit or a value that is no finite number.
    """
    return unit_span_to_si(value, resolve(unit))


def unit_to_si(value: float, unit: Unit, atmosphere_pa: float) -> float:
    _check_finite(value, unit)
    value_si = convert(value, unit.pint, SI_UNIT[unit.dimension])
    if unit.dimension is Dimension.PRESSURE:
        _check_atmosphere(atmosphere_pa)
        value_si -= atmosphere_pa if unit.absolute else 0.0
    _check_finite(value_si, unit)
    return _bounded(value_si, f"{value:g} {unit.name}", unit.dimension, atmosphere_pa)


def unit_from_si(value_si: float, unit: Unit, atmosphere_pa: float) -> float:
    _check_finite(value_si, unit)
    if unit.dimension is Dimension.PRESSURE:
        _check_atmosphere(atmosphere_pa)
    said = f"{value_si:g} in SI"
    bounded = _bounded(value_si, said, unit.dimension, atmosphere_pa)
    value = convert(
        bounded + (atmosphere_pa if unit.absolute else 0.0), SI_UNIT[unit.dimension], unit.pint
    )
    _check_finite(value, unit)
    return value


def unit_span_to_si(value: float, unit: Unit) -> float:
    return _span(value, unit, _delta(unit.pint, unit), _delta(SI_UNIT[unit.dimension], unit))


def unit_span_from_si(value_si: float, unit: Unit) -> float:
    return _span(value_si, unit, _delta(SI_UNIT[unit.dimension], unit), _delta(unit.pint, unit))


def _span(value: float, unit: Unit, source: str, target: str) -> float:
    _check_finite(value, unit)
    result = convert(value, source, target)
    _check_finite(result, unit)
    return result


def _delta(pint_name: str, unit: Unit) -> str:
    return delta_name(pint_name) if unit.dimension is Dimension.TEMPERATURE else pint_name


def _check_finite(value: float, unit: Unit) -> None:
    if not math.isfinite(value):
        raise BadQuantity(
            f"{value} {unit.name} is not a finite number; type a figure a gauge can show."
        )


def _check_atmosphere(atmosphere_pa: float) -> None:
    if not (math.isfinite(atmosphere_pa) and atmosphere_pa > 0):
        raise BadQuantity(
            f"An atmosphere of {atmosphere_pa} Pa is not possible; near sea level it is 101325 Pa."
        )


def _bounded(value_si: float, said: str, dimension: Dimension, atmosphere_pa: float) -> float:
    """``value_si`` if it can exist; rounding at the very bound is put right."""
    if dimension is Dimension.TEMPERATURE:
        lowest, name = 0.0, "absolute zero (-273.15 °C, -459.67 °F)"
    elif dimension is Dimension.PRESSURE:
        lowest, name = -atmosphere_pa, f"vacuum ({-atmosphere_pa / 1e5:.3f} bar here)"
    else:
        return value_si
    if value_si >= lowest:
        return value_si
    if lowest - value_si <= _ROUNDING * max(abs(lowest), 1.0):
        return lowest
    raise BadQuantity(f"{said} is below {name}; read the gauge again.")
