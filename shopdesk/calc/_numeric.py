"""What every calculation asks of its inputs, and a root finder that can't run away."""

import itertools
import math
from collections.abc import Callable

from shopdesk.errors import BadInput, OutOfRange

MAX_STEPS = 200
SMALLEST, LARGEST = 1e-30, 1e30
"""Far outside any use, and close enough together that no formula here overflows."""


def finite(value: float, what: str) -> float:
    """The value itself; BadInput where it is NaN or infinite (1e999 reads as infinite),
    OutOfRange beyond ±1e30."""
    if not math.isfinite(value):
        raise BadInput(f"{what} was read as {value}; give a finite number.")
    if abs(value) > LARGEST:
        raise OutOfRange(f"{what} was read as {value:g}; nothing is that large: check the unit.")
    return value


def above_zero(value: float, what: str) -> float:
    """The value itself; BadInput unless above zero, OutOfRange outside 1e-30 to 1e30."""
    if finite(value, what) <= 0.0:
        raise BadInput(f"{what} was read as {value:g}; it must be greater than zero.")
    if value < SMALLEST:
        raise OutOfRange(f"{what} was read as {value:g}; nothing is that small: check the unit.")
    return value


def not_below_zero(value: float, what: str) -> float:
    """The value itself; BadInput below zero, OutOfRange above 1e30."""
    if finite(value, what) < 0.0:
        raise BadInput(f"{what} was read as {value:g}; it can't be below zero.")
    return value


def kelvin(temperature_k: float, what: str = "Temperature") -> float:
    """The temperature itself; OutOfRange at or below absolute zero."""
    if finite(temperature_k, what) <= 0.0:
        raise OutOfRange(
            f"{what} was read as {temperature_k - 273.15:g} °C; "
            "it must be above absolute zero (-273.15 °C, 0 K): check the sign and the unit."
        )
    return temperature_k


def absolute_pressure(pressure_pa_abs: float, what: str = "Pressure") -> float:
    """The pressure itself; OutOfRange below a perfect vacuum."""
    if finite(pressure_pa_abs, what) < 0.0:
        raise OutOfRange(
            f"{what} was read as {pressure_pa_abs / 1e5:g} bar absolute; "
            "absolute pressure can't be below zero: check whether it is gauge."
        )
    return pressure_pa_abs


def root(f: Callable[[float], float], low: float, high: float, tolerance: float) -> float:
    """Where ``f`` crosses zero between ``low`` and ``high``, by Ridders' method.

    ``tolerance`` is absolute in x. ArithmeticError where both ends have one sign.
    Source: C. Ridders, IEEE Trans. Circuits and Systems 26 (1979), from memory.
    """
    f_low, f_high = f(low), f(high)
    if f_low == 0.0 or f_high == 0.0:
        return low if f_low == 0.0 else high
    if (f_low > 0.0) == (f_high > 0.0):
        raise ArithmeticError("no sign change between the ends")
    last = math.inf
    for _ in range(MAX_STEPS):
        middle = 0.5 * (low + high)
        f_middle = f(middle)
        swing = math.copysign(math.sqrt(f_middle * f_middle - f_low * f_high), f_low - f_high)
        x = middle + (middle - low) * f_middle / swing
        value = f(x)
        if value == 0.0 or abs(x - last) <= tolerance:
            return x
        last = x
        ends = sorted([(low, f_low), (middle, f_middle), (x, value), (high, f_high)])
        pairs = itertools.pairwise(ends)
        (low, f_low), (high, f_high) = next(
            (a, b) for a, b in pairs if (a[1] > 0.0) != (b[1] > 0.0) or b[1] == 0.0
        )
    return last
