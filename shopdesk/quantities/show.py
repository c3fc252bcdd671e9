"""Quantities written for people: as many figures as a gauge of that unit shows."""

from decimal import ROUND_HALF_UP, Decimal

from .convert import STANDARD_ATMOSPHERE_PA, unit_from_si, unit_span_from_si
from .table import Unit
from .units import resolve

_SIGNIFICANT = 2
_EXTRA_PLACES = 4
_FLOAT_DIGITS = 12
_MOST_DIGITS = 12
_PLAIN_BELOW = 1e15


def text(
    value_si: float,
    unit: str,
    *,
    digits: int | None = None,
    atmosphere_pa: float = STANDARD_ATMOSPHERE_PA,
) -> str:
    """``value_si`` in ``unit``: "62.0 bar", "0.312 in".

    ``digits`` sets the decimals; without it they are those of a gauge of the unit, more for a
    small value so that two figures stay (0.005 bar is never shown as 0.0 bar). Halves round away
    from zero. Raises BadQuantity as ``from_si`` does.
    """
    known = resolve(unit)
    return _written(unit_from_si(value_si, known, atmosphere_pa), known, digits)


def span_text(value_si: float, unit: str) -> str:
    """A difference in ``unit``: "3.0 °F" of 1.667 K, "2.0 bar" of a loss; no offsets."""
    known = resolve(unit)
    return _written(unit_span_from_si(value_si, known), known, None)


def _written(value: float, unit: Unit, digits: int | None) -> str:
    gap = "" if unit.name == "°" else " "
    return f"{_figures(value, unit, digits)}{gap}{unit.name}"


def _figures(value: float, unit: Unit, digits: int | None) -> str:
    if abs(value) >= _PLAIN_BELOW:
        return f"{value:.{_FLOAT_DIGITS}g}"
    exact = Decimal(f"{value:.{_FLOAT_DIGITS}g}")
    places = _places(exact, unit) if digits is None else min(max(digits, 0), _MOST_DIGITS)
    rounded = exact.quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP)
    shown = f"{abs(rounded) if rounded == 0 else rounded:f}"
    return shown if digits is not None else _trimmed(shown, unit.least)


def _places(exact: Decimal, unit: Unit) -> int:
    """The unit's usual decimals, or enough for two figures of a small value."""
    if exact == 0:
        return unit.usual
    needed = _SIGNIFICANT - 1 - exact.adjusted()
    return max(unit.usual, min(needed, unit.usual + _EXTRA_PLACES))


def _trimmed(shown: str, least: int) -> str:
    if "." not in shown:
        return shown
    whole, decimals = shown.split(".")
    kept = decimals[:least] + decimals[least:].rstrip("0")
    return f"{whole}.{kept}" if kept else whole
