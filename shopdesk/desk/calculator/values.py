"""Results written for people and for scripts."""

import math
from collections.abc import Iterable

from shopdesk import quantities
from shopdesk.desk.calculator.forms import Value
from shopdesk.errors import OutOfRange
from shopdesk.quantities.table import PRESSURES
from shopdesk.quantities.units import resolve

_DIGITS = 12
"""Of a result's value: what is beyond is the rounding of binary numbers, 5 that reads 4.999..."""

_LONGEST = 1e9


def plain(value: float, unit: str = "", figures: int = 5, text: str = "") -> Value:
    """A number as it is, ``figures`` significant ones shown. Raises OutOfRange where it is none."""
    if not math.isfinite(value):
        raise OutOfRange(f"The result is {value}: no gauge shows it; check the inputs' units.")
    kept = float(f"{value:.{_DIGITS}g}")
    return Value(kept, unit, text or f"{_figures(value, figures)} {unit}".strip())


def _figures(value: float, figures: int) -> str:
    """Significant figures, without a power of ten where the whole number is short enough."""
    if 10.0**figures <= abs(value) < _LONGEST:
        return f"{value:.0f}"
    return f"{value:.{figures}g}"


def percent(share: float, places: int = 2) -> Value:
    """A share as percent."""
    return plain(100.0 * share, "%", text=f"{100.0 * share:.{places}f} %")


def whole(value: float, unit: str = "") -> Value:
    return plain(value, unit, text=f"{value:.0f} {unit}".strip())


def words(text: str) -> Value:
    return Value(text, "", text)


def quantity(value_si: float, unit: str, *others: str) -> Value:
    """A value in SI as ``unit``, with ``others`` beside it in the text."""
    shown = _beside(quantities.text(value_si, each) for each in _distinct(unit, others))
    return plain(quantities.from_si(value_si, unit), unit, text=shown)


def pressure(pa_abs: float, unit: str, atmosphere_pa: float) -> Value:
    """An absolute pressure as ``unit``, whose text says which of the two it is."""
    gauge = pa_abs - atmosphere_pa
    text = quantities.text(gauge, unit, atmosphere_pa=atmosphere_pa)
    value = quantities.from_si(gauge, unit, atmosphere_pa=atmosphere_pa)
    return plain(value, unit, text=f"{text}{reference(unit)}")


def difference(pa: float, unit: str) -> Value:
    """A pressure difference in the unit of a pressure, whose reference drops out: barg -> bar."""
    plainly = without_reference(unit)
    value = pa / quantities.span_to_si(1.0, plainly)
    return plain(value, plainly, text=quantities.span_text(pa, plainly))


def without_reference(unit: str) -> str:
    """The unit of a pressure in which differences are counted: barg -> bar."""
    known = resolve(unit)
    return next(each for each in PRESSURES if each.pint == known.pint).name


def reference(unit: str) -> str:
    """ " gauge" for a unit that leaves it open, as bar does and barg does not."""
    known = resolve(unit)
    named = known.absolute or known.name.endswith(("g", "(g)"))
    return "" if named else " gauge"


def bar(pa: float) -> str:
    """A pressure for a sum, in bar as it is counted there."""
    return f"{pa / 1e5:.6g} bar"


def celsius(kelvin: float) -> str:
    return f"{kelvin - 273.15:.4g} °C"


def millimetres(metres: float) -> str:
    return f"{metres * 1e3:.6g} mm"


def _distinct(unit: str, others: Iterable[str]) -> list[str]:
    return list(dict.fromkeys([unit, *others]))


def _beside(shown: Iterable[str]) -> str:
    first, *rest = shown
    return f"{first} ({', '.join(rest)})" if rest else first
