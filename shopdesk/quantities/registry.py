"""The shop's own small pint registry.

The definitions are the exact ones behind NIST SP 811, appendix B: the international inch and pound,
standard gravity, the US gallon of 231 cubic inches. Lengths are multiples of the metre, so that a
foot is 0.3048 m to the last bit. Reading these few takes some milliseconds where pint's own file
takes a third of a second, so nothing is cached on disk.
"""

from functools import lru_cache
from threading import Lock
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from pint import UnitRegistry

DEFINITIONS = (
    "meter = [length]",
    "kilogram = [mass]",
    "second = [time]",
    "kelvin = [temperature]; offset: 0",
    "radian = []",
    "piece = [piece]",
    "degree_celsius = kelvin; offset: 273.15",
    "degree_fahrenheit = 5 / 9 * kelvin; offset: 233.15 + 200 / 9",
    "centimeter = 0.01 * meter",
    "millimeter = 0.001 * meter",
    "micrometer = 1e-6 * meter",
    "inch = 0.0254 * meter",
    "foot = 0.3048 * meter",
    "thou = 2.54e-5 * meter",
    "microinch = 2.54e-8 * meter",
    "gram = 0.001 * kilogram",
    "milligram = 1e-6 * kilogram",
    "pound = 0.45359237 * kilogram",
    "ounce = pound / 16",
    "minute = 60 * second",
    "hour = 60 * minute",
    "day = 24 * hour",
    "week = 7 * day",
    "year = 365.25 * day",
    "month = year / 12",
    "newton = kilogram * meter / second ** 2",
    "kilonewton = 1000 * newton",
    "standard_gravity = 9.80665 * meter / second ** 2",
    "pound_force = pound * standard_gravity",
    "ounce_force = ounce * standard_gravity",
    "kilogram_force = kilogram * standard_gravity",
    "pascal = newton / meter ** 2",
    "kilopascal = 1000 * pascal",
    "megapascal = 1e6 * pascal",
    "bar = 1e5 * pascal",
    "millibar = 100 * pascal",
    "psi = pound_force / inch ** 2",
    "liter = 0.001 * meter ** 3",
    "milliliter = 1e-6 * meter ** 3",
    "us_gallon = 0.003785411784 * meter ** 3",
    "us_fluid_ounce = us_gallon / 128",
    "degree = 3.141592653589793 / 180 * radian",
    "turn = 2 * 3.141592653589793 * radian",
)

_building = Lock()


@lru_cache(maxsize=1)
def _built() -> "UnitRegistry[Any]":
    import pint

    registry: UnitRegistry[Any] = pint.UnitRegistry(None)
    registry.load_definitions(list(DEFINITIONS))
    return registry


def _registry() -> "UnitRegistry[Any]":
    with _building:
        return _built()


def warm() -> None:
    """Load pint and build the registry now: for a worker, while the first screen stands."""
    _registry()


@lru_cache(maxsize=4096)
def convert(value: float, source: str, target: str) -> float:
    """``value`` from one unit of the registry to another; both are names from this package."""
    return float(_registry().convert(value, source, target))
