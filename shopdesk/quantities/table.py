"""Every unit the shop may write: its name, its spellings, and how many decimals its gauges show."""

from dataclasses import dataclass, replace
from itertools import product

from .dimension import Dimension


@dataclass(frozen=True)
class Unit:
    """``name`` as the trade writes it; ``pint`` its expression in the registry.

    ``least`` and ``usual`` are decimals: trailing zeros are dropped down to ``least``, and figures
    are rounded at ``usual``. ``absolute`` marks a pressure counted from vacuum.
    """

    name: str
    dimension: Dimension
    pint: str
    spellings: tuple[str, ...] = ()
    least: int = 1
    usual: int = 1
    absolute: bool = False

    def same_as(self, other: "Unit") -> bool:
        """Whether both name one unit, as bar and barg do."""
        return (self.pint, self.absolute) == (other.pint, other.absolute)


def _products(first: tuple[str, ...], second: tuple[str, ...]) -> tuple[str, ...]:
    """Two factors in either order: in-lb and lb-in."""
    pairs = product(first, second)
    return tuple(spelling for a, b in pairs for spelling in (f"{a}-{b}", f"{b}-{a}"))


_INCH = ("in", "inch", "inches")
_FOOT = ("ft", "foot", "feet")
_POUND = ("lb", "lbs", "lbf", "lbsf", "pound", "pounds", "pound-force", "pounds-force")
_OUNCE = ("oz", "ozf", "ounce", "ounces")
_KILOGRAM = ("kgf", "kg", "kp")
_METRE = ("m", "metre", "metres", "meter", "meters")
_NEWTON = ("n", "newton", "newtons")


def delta_name(temperature: str) -> str:
    """The registry's unit for a difference of a temperature; kelvin has no offset to lose."""
    return temperature if temperature == "kelvin" else f"delta_{temperature}"


LENGTHS = (
    Unit(
        "mm",
        Dimension.LENGTH,
        "millimeter",
        ("millimetre", "millimetres", "millimeter", "millimeters"),
        3,
        3,
    ),
    Unit("in", Dimension.LENGTH, "inch", (*_INCH, '"'), 3, 4),
    Unit("thou", Dimension.LENGTH, "thou", ("thous", "thousandth", "thousandths", "mil", "mils")),
    Unit(
        "µm",
        Dimension.LENGTH,
        "micrometer",
        ("um", "micron", "microns", "micrometre", "micrometres", "micrometer", "micrometers"),
    ),
    Unit(
        "cm",
        Dimension.LENGTH,
        "centimeter",
        ("centimetre", "centimetres", "centimeter", "centimeters"),
        1,
        3,
    ),
    Unit("m", Dimension.LENGTH, "meter", _METRE, 1, 3),
    Unit("ft", Dimension.LENGTH, "foot", (*_FOOT, "'"), 1, 4),
    Unit("µin", Dimension.LENGTH, "microinch", ("uin", "microinch", "microinches"), 0, 1),
)

ROUGHNESSES = (
    Unit(
        "µm Ra",
        Dimension.ROUGHNESS,
        "micrometer",
        (
            "ra µm",
            "um ra",
            "ra um",
            "µm",
            "um",
            "micron",
            "microns",
            "micrometre",
            "micrometres",
            "micrometer",
            "micrometers",
        ),
        1,
        2,
    ),
    Unit(
        "µin Ra",
        Dimension.ROUGHNESS,
        "microinch",
        ("ra µin", "uin ra", "ra uin", "µin", "uin", "microinch", "microinches"),
        0,
        1,
    ),
)

_PRESSURE_BASES = (
    Unit("bar", Dimension.PRESSURE, "bar", ("bars",)),
    Unit("psi", Dimension.PRESSURE, "psi", ("lb/in2", "lbs/in2", "lbf/in2"), 0, 0),
    Unit("MPa", Dimension.PRESSURE, "megapascal", ("megapascal", "megapascals"), 2, 2),
    Unit("kPa", Dimension.PRESSURE, "kilopascal", ("kilopascal", "kilopascals"), 0, 0),
    Unit("mbar", Dimension.PRESSURE, "millibar", ("millibar", "millibars"), 0, 0),
    Unit("kgf/cm²", Dimension.PRESSURE, "kilogram_force / centimeter ** 2", ("kg/cm2", "kp/cm2")),
    Unit("Pa", Dimension.PRESSURE, "pascal", ("pascal", "pascals"), 0, 0),
)


def _referred(base: Unit, suffix: str, *words: str) -> Unit:
    """The same unit with its reference said: barg, MPa(a)."""
    joined = base.name in ("bar", "psi", "mbar")
    name = f"{base.name}{suffix}" if joined else f"{base.name}({suffix})"
    written = tuple(
        f"{spelling}-{word}"
        for spelling in (base.name, *base.spellings)
        for word in (suffix, *words)
    )
    absolute = suffix == "a"
    usual = base.usual + absolute  # so that an atmosphere reads 14.7 psia
    return replace(base, name=name, spellings=written, usual=usual, absolute=absolute)


def _difference(base: Unit, dimension: Dimension, pint: str, *words: str) -> Unit:
    plain = (base.name, *base.spellings)
    led = tuple(f"{word}-{spelling}" for word in ("Δ", "delta") for spelling in plain)
    trailed = tuple(f"{spelling}-{word}" for word in words for spelling in plain)
    return replace(
        base,
        name=f"Δ{base.name}",
        dimension=dimension,
        pint=pint,
        spellings=(*plain, *led, *trailed),
    )


PRESSURES = (
    *_PRESSURE_BASES,
    *(_referred(base, "g", "gauge", "gage") for base in _PRESSURE_BASES),
    *(_referred(base, "a", "abs", "absolute") for base in _PRESSURE_BASES),
)
PRESSURE_DIFFERENCES = tuple(
    _difference(base, Dimension.PRESSURE_DIFFERENCE, base.pint, "d", "diff", "difference")
    for base in _PRESSURE_BASES
)

TEMPERATURES = (
    Unit(
        "°C",
        Dimension.TEMPERATURE,
        "degree_celsius",
        (
            "C",
            "deg C",
            "degs C",
            "degree C",
            "degrees C",
            "celsius",
            "deg celsius",
            "degree celsius",
            "degrees celsius",
            "° C",
            "centigrade",
            "degrees centigrade",
        ),
    ),
    Unit(
        "°F",
        Dimension.TEMPERATURE,
        "degree_fahrenheit",
        (
            "F",
            "deg F",
            "degs F",
            "degree F",
            "degrees F",
            "fahrenheit",
            "deg fahrenheit",
            "degree fahrenheit",
            "degrees fahrenheit",
            "° F",
        ),
    ),
    Unit("K", Dimension.TEMPERATURE, "kelvin", ("kelvin", "kelvins", "deg K", "°K")),
)
TEMPERATURE_DIFFERENCES = tuple(
    _difference(base, Dimension.TEMPERATURE_DIFFERENCE, delta_name(base.pint), "diff", "difference")
    for base in TEMPERATURES
)

TORQUES = (
    Unit(
        "N·m",
        Dimension.TORQUE,
        "newton * meter",
        tuple(f"{force}-{arm}" for force, arm in product(_NEWTON, _METRE)),
    ),
    Unit("in-lb", Dimension.TORQUE, "inch * pound_force", _products(_INCH, _POUND)),
    Unit("ft-lb", Dimension.TORQUE, "foot * pound_force", _products(_FOOT, _POUND)),
    Unit("kgf·cm", Dimension.TORQUE, "kilogram_force * centimeter", _products(_KILOGRAM, ("cm",))),
    Unit("kgf·m", Dimension.TORQUE, "kilogram_force * meter", _products(_KILOGRAM, ("m",)), 1, 2),
    Unit("cN·m", Dimension.TORQUE, "newton * centimeter", ("cN-m", "N-cm")),
    Unit("in-oz", Dimension.TORQUE, "inch * ounce_force", _products(_INCH, _OUNCE)),
)

FORCES = (
    Unit("N", Dimension.FORCE, "newton", _NEWTON),
    Unit("kN", Dimension.FORCE, "kilonewton", ("kilonewton", "kilonewtons"), 1, 2),
    Unit("lbf", Dimension.FORCE, "pound_force", _POUND),
    Unit("kgf", Dimension.FORCE, "kilogram_force", ("kp", "kilogram-force"), 1, 2),
)

VOLUMES = (
    Unit(
        "mL",
        Dimension.VOLUME,
        "milliliter",
        ("millilitre", "millilitres", "milliliter", "milliliters"),
    ),
    Unit("L", Dimension.VOLUME, "liter", ("litre", "litres", "liter", "liters", "dm3"), 2, 3),
    Unit("cc", Dimension.VOLUME, "milliliter", ("ccm", "cm3", "ccs")),
    Unit("in³", Dimension.VOLUME, "inch ** 3", ("cu in", "cubic inch", "cubic inches"), 1, 2),
    Unit("US fl oz", Dimension.VOLUME, "us_fluid_ounce", ("fl oz", "fluid ounce", "fluid ounces")),
    Unit("US gal", Dimension.VOLUME, "us_gallon", ("gal", "gals", "gallon", "gallons"), 1, 2),
    Unit(
        "m³",
        Dimension.VOLUME,
        "meter ** 3",
        ("cubic metre", "cubic metres", "cubic meter", "cubic meters"),
        1,
        4,
    ),
)

TIMES = (
    Unit("min", Dimension.TIME, "minute", ("mins", "minute", "minutes"), 0, 1),
    Unit("h", Dimension.TIME, "hour", ("hr", "hrs", "hour", "hours"), 0, 1),
    Unit("s", Dimension.TIME, "second", ("sec", "secs", "second", "seconds"), 0, 1),
    Unit("d", Dimension.TIME, "day", ("day", "days"), 0, 1),
    Unit("wk", Dimension.TIME, "week", ("wks", "week", "weeks"), 0, 1),
    Unit("month", Dimension.TIME, "month", ("months", "mo", "mos"), 0, 1),
    Unit("yr", Dimension.TIME, "year", ("yrs", "year", "years"), 0, 1),
)

MASSES = (
    Unit("kg", Dimension.MASS, "kilogram", ("kgs", "kilogram", "kilograms", "kilo", "kilos"), 1, 3),
    Unit("g", Dimension.MASS, "gram", ("gram", "grams", "gm", "gms")),
    Unit("mg", Dimension.MASS, "milligram", ("milligram", "milligrams"), 0, 1),
    Unit("lb", Dimension.MASS, "pound", ("lbs", "pound", "pounds", "lbm"), 1, 2),
    Unit("oz", Dimension.MASS, "ounce", ("ounce", "ounces")),
)

ANGLES = (
    Unit("°", Dimension.ANGLE, "degree", ("deg", "degs", "degree", "degrees"), 0, 1),
    Unit("turn", Dimension.ANGLE, "turn", ("turns", "rev", "revs"), 1, 3),
    Unit("rad", Dimension.ANGLE, "radian", ("radian", "radians"), 1, 4),
)

FLOWS = (
    Unit("mL/min", Dimension.FLOW, "milliliter / minute", ("ml/minute",)),
    Unit("L/min", Dimension.FLOW, "liter / minute", ("lpm", "l/minute"), 1, 2),
    Unit("cc/min", Dimension.FLOW, "milliliter / minute", ("cc/minute", "cm3/min", "ccm/min")),
    Unit("mL/h", Dimension.FLOW, "milliliter / hour", ("ml/hr", "ml/hour")),
    Unit("US gal/min", Dimension.FLOW, "us_gallon / minute", ("gpm", "us gpm", "gal/min"), 1, 2),
    Unit("in³/min", Dimension.FLOW, "inch ** 3 / minute", ("cu in/min", "cubic inches/min"), 1, 2),
)


def _rates() -> tuple[Unit, ...]:
    found = []
    for base, time in product(_PRESSURE_BASES, TIMES):
        if base.name in ("bar", "psi", "MPa", "kPa", "mbar", "Pa"):
            written = product((base.name, *base.spellings), (time.name, *time.spellings))
            found.append(
                Unit(
                    f"{base.name}/{time.name}",
                    Dimension.PRESSURE_RATE,
                    f"{base.pint} / {time.pint}",
                    tuple(f"{pressure}/{each}" for pressure, each in written),
                    base.least,
                    base.usual + 1,
                )
            )
    return tuple(found)


COUNTS = (
    Unit("pcs", Dimension.COUNT, "piece", ("pc", "piece", "pieces", "count", "ea", "each"), 0, 0),
)

UNITS: tuple[Unit, ...] = (
    *LENGTHS,
    *ROUGHNESSES,
    *PRESSURES,
    *PRESSURE_DIFFERENCES,
    *TEMPERATURES,
    *TEMPERATURE_DIFFERENCES,
    *TORQUES,
    *MASSES,
    *FORCES,
    *VOLUMES,
    *TIMES,
    *ANGLES,
    *FLOWS,
    *_rates(),
    *COUNTS,
)
"""All of them; within a dimension the most used first, and of two dimensions that share a spelling
the one meant where nothing else is said. A year is 365.25 days, a month a twelfth of it."""
