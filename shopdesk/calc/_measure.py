"""Input checks for measures: those of ``_numeric``, and sizes nothing on a bench has.

The bounds are far outside any use and close enough together that no formula here overflows.
"""

from shopdesk.calc import _numeric
from shopdesk.errors import OutOfRange

SMALLEST, LARGEST = 1e-30, 1e30


def finite(value: float, what: str) -> float:
    """The value itself; BadInput where it is NaN or infinite, OutOfRange beyond ±1e30."""
    if abs(_numeric.finite(value, what)) > LARGEST:
        raise OutOfRange(f"{what} was read as {value:g}; nothing is that large: check the unit.")
    return value


def above_zero(value: float, what: str) -> float:
    """The value itself; BadInput unless above zero, OutOfRange outside 1e-30 to 1e30."""
    if _numeric.above_zero(finite(value, what), what) < SMALLEST:
        raise OutOfRange(f"{what} was read as {value:g}; nothing is that small: check the unit.")
    return value


def not_below_zero(value: float, what: str) -> float:
    """The value itself; BadInput below zero, OutOfRange above 1e30."""
    return _numeric.not_below_zero(finite(value, what), what)
