"""Conversion factors against printed and independent values, and how figures are shown."""

import math
import subprocess
import sys

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import constants

from shopdesk.errors import BadQuantity
from shopdesk.quantities import (
    Dimension,
    canonical,
    dimension_of,
    from_si,
    parse,
    span_text,
    span_to_si,
    text,
    to_si,
    warm,
)
from shopdesk.quantities.table import UNITS, Unit

NAMES = [unit.name for unit in UNITS]

# Seven-digit factors as NIST Special Publication 811 (2008), appendix B.8 prints them; quoted from
# memory, which is why every one that scipy has is also held against CODATA in the next test.
NIST_SP_811 = [
    ("in", 2.54e-2),
    ("ft", 3.048e-1),
    ("thou", 2.54e-5),  # "mil (0.001 in)"
    ("µin", 2.54e-8),
    ("µm", 1e-6),
    ("bar", 1e5),
    ("mbar", 1e2),
    ("psi", 6.894757e3),
    ("kgf/cm²", 9.80665e4),
    ("in-lb", 1.129848e-1),
    ("ft-lb", 1.355818e0),
    ("in-oz", 7.061552e-3),
    ("kgf·m", 9.80665e0),
    ("lbf", 4.448222e0),
    ("kgf", 9.80665e0),
    ("lb", 4.535924e-1),
    ("oz", 2.834952e-2),
    ("L", 1e-3),
    ("in³", 1.638706e-5),
    ("US fl oz", 2.957353e-5),
    ("US gal", 3.785412e-3),
    ("US gal/min", 6.309020e-5),
    ("°", 1.745329e-2),
    ("turn", 6.283185e0),
    ("d", 8.64e4),
    ("h", 3.6e3),
    ("min", 6e1),
]


@pytest.mark.parametrize(("unit", "factor"), NIST_SP_811)
def test_factor_of_nist_sp_811(unit: str, factor: float) -> None:
    assert to_si(1.0, unit) == pytest.approx(factor, rel=5e-7)


SCIPY = [
    ("in", constants.inch),
    ("ft", constants.foot),
    ("thou", constants.mil),
    ("µm", constants.micron),
    ("bar", constants.bar),
    ("psi", constants.psi),
    ("kgf/cm²", constants.kgf / constants.centi**2),
    ("in-lb", constants.lbf * constants.inch),
    ("ft-lb", constants.lbf * constants.foot),
    ("kgf·cm", constants.kgf * constants.centi),
    ("in-oz", constants.oz * constants.g * constants.inch),
    ("lbf", constants.lbf),
    ("kgf", constants.kgf),
    ("lb", constants.lb),
    ("oz", constants.oz),
    ("L", constants.liter),
    ("US gal", constants.gallon),
    ("US fl oz", constants.fluid_ounce),
    ("in³", constants.inch**3),
    ("L/min", constants.liter / constants.minute),
    ("wk", constants.week),
    ("yr", constants.Julian_year),
    ("month", constants.Julian_year / 12),
    ("°", constants.degree),
    ("bar/month", constants.bar / (constants.Julian_year / 12)),
    ("psi/min", constants.psi / constants.minute),
]


@pytest.mark.parametrize(("unit", "factor"), SCIPY)
def test_factor_of_scipy_constants(unit: str, factor: float) -> None:
    assert to_si(1.0, unit) == pytest.approx(factor, rel=1e-13)


@pytest.mark.parametrize("value", [-459.67, -40.0, 0.0, 32.0, 68.0, 212.0])
def test_temperatures_of_scipy(value: float) -> None:
    kelvin = constants.convert_temperature(value, "Fahrenheit", "Kelvin")
    assert to_si(value, "°F") == pytest.approx(float(kelvin), abs=1e-10)
    celsius = float(constants.convert_temperature(value, "Fahrenheit", "Celsius"))
    assert from_si(to_si(value, "°F"), "°C") == pytest.approx(celsius, abs=1e-10)


def test_scales_cross_where_everyone_knows() -> None:
    # ice point, and -40, where the scales meet: definitions of the Celsius and Fahrenheit scales
    assert to_si(0.0, "°C") == 273.15
    assert text(to_si(32.0, "°F"), "°C") == "0.0 °C"
    assert from_si(to_si(-40.0, "°C"), "°F") == pytest.approx(-40.0, abs=1e-10)


def test_a_pressure_is_gauge_pascal_whatever_its_reference() -> None:
    # standard atmosphere 101325 Pa = 14.69595 psi (NIST SP 811, B.8)
    assert to_si(14.69595, "psia") == pytest.approx(0.0, abs=0.05)
    assert to_si(1.01325, "bara") == pytest.approx(0.0, abs=1e-9)
    assert to_si(100.0, "bar") == to_si(100.0, "barg") == 1e7
    assert to_si(0.101325, "MPa(a)") == pytest.approx(0.0, abs=1e-9)
    assert text(0.0, "psia") == "14.7 psia"


def test_the_atmosphere_of_a_high_site_counts() -> None:
    # 1500 m: 84556 Pa (ISO 2533 standard atmosphere table, from memory)
    assert to_si(70.0, "bara", atmosphere_pa=84556.0) == 7e6 - 84556.0
    assert from_si(7e6 - 84556.0, "bara", atmosphere_pa=84556.0) == pytest.approx(70.0)
    assert to_si(70.0, "bar", atmosphere_pa=84556.0) == 7e6
    assert parse("0 bara", unit="bar", atmosphere_pa=84556.0).value_si == -84556.0
    assert text(0.0, "bara", digits=3, atmosphere_pa=84556.0) == "0.846 bara"


def test_a_difference_has_no_offset() -> None:
    assert span_to_si(2.0, "°C") == 2.0
    assert span_to_si(3.0, "°F") == pytest.approx(5 / 3, rel=1e-13)
    assert span_to_si(2.0, "bara") == span_to_si(2.0, "bar") == 2e5
    assert span_to_si(-500.0, "°C") == -500.0
    assert span_text(5 / 3, "°F") == "3.0 °F"
    assert span_text(2e5, "bara") == "2.0 bara"
    assert to_si(3.0, "Δ°F") == pytest.approx(5 / 3, rel=1e-13)
    assert to_si(-2.0, "Δbar") == -2e5


def assert_back(value: float, unit: str) -> None:
    # where a scale has an offset, rounding is measured against the offset
    offset = abs(from_si(0.0, unit)) if "TEMP" in dimension_of(unit).name or absolute(unit) else 0.0
    back = from_si(to_si(value, unit), unit)
    assert back == pytest.approx(value, rel=1e-12, abs=1e-12 * offset + 1e-300)


def absolute(unit: str) -> bool:
    return next(each for each in UNITS if each.name == unit).absolute


@pytest.mark.parametrize("value", [0.0, 1e-9, 0.1, 1.0, 62.0, 1234.5, 1e9])
def test_there_and_back_in_every_unit(value: float) -> None:
    for unit in NAMES:
        assert_back(value, unit)


@settings(deadline=None, max_examples=400)
@given(st.sampled_from(NAMES), st.floats(0.0, 1e6))
def test_there_and_back(unit: str, value: float) -> None:
    assert_back(value, unit)


@settings(deadline=None, max_examples=400)
@given(st.sampled_from(NAMES), st.floats(0.0, 1e6), st.floats(0.0, 1e6))
def test_more_stays_more(unit: str, one: float, other: float) -> None:
    low, high = sorted((one, other))
    assert to_si(low, unit) <= to_si(high, unit)


@settings(deadline=None, max_examples=800)
@given(st.sampled_from(NAMES), st.floats(0.0, 1e5))
def test_what_is_shown_is_read_again(unit: str, value: float) -> None:
    assert_shown(float(round(value)) if unit == "pcs" else value, unit)


def assert_shown(value: float, unit: str) -> None:
    shown = text(to_si(value, unit), unit)
    read = parse(shown, unit=unit)
    figure = shown.replace("°", " ").split()[0]
    places = len(figure.partition(".")[2])
    assert read.unit == unit
    assert from_si(read.value_si, unit) == pytest.approx(value, abs=0.5000001 * 10**-places)


@pytest.mark.parametrize("known", UNITS, ids=lambda unit: unit.name)
def test_every_spelling_finds_its_unit(known: Unit) -> None:
    assert canonical(known.name) == known.name
    assert_shown(3.0, known.name)
    for spelling in known.spellings:
        written = {spelling}
        if spelling.isascii():
            written |= {spelling.upper(), spelling if "MPa" in spelling else spelling.lower()}
        for each in written:
            read = parse(f"1 {each}", unit=known.name)
            assert (read.unit, read.dimension) == (known.name, known.dimension)


def test_units_where_nothing_else_is_said() -> None:
    assert dimension_of("µm") is Dimension.LENGTH
    assert dimension_of("bar") is Dimension.PRESSURE
    assert dimension_of("psid") is Dimension.PRESSURE_DIFFERENCE
    assert dimension_of("lb") is Dimension.MASS
    assert dimension_of("°C") is Dimension.TEMPERATURE
    assert dimension_of("µin Ra") is Dimension.ROUGHNESS
    assert dimension_of("pcs") is Dimension.COUNT
    assert canonical("IN  LBS") == "in-lb"
    assert canonical("lbf·in") == "in-lb"
    assert canonical("psig") == "psig"


@pytest.mark.parametrize(
    ("unit", "near"),
    [("brr", "bar"), ("tohu", "thou"), ("in-lbb", "in-lb"), ("celcius", "°C"), ("pis", "psi")],
)
def test_an_unknown_unit_suggests_a_near_one(unit: str, near: str) -> None:
    with pytest.raises(BadQuantity, match=f'"{unit}" is not a unit known here') as caught:
        dimension_of(unit)
    said = str(caught.value)
    assert near in said
    assert "Known" in said


@pytest.mark.parametrize("unit", ["", "  ", "qqqq", "[bar]", "bar\x00", "x" * 10**6, "mPa", "7"])
def test_what_is_no_unit_is_refused_in_a_sentence(unit: str) -> None:
    with pytest.raises(BadQuantity) as caught:
        dimension_of(unit)
    said = str(caught.value)
    assert said.endswith(".")
    assert said.isprintable()
    assert len(said) < 300


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_no_value_that_is_no_number(value: float) -> None:
    for call in (to_si, from_si, span_to_si, text, span_text):
        with pytest.raises(BadQuantity, match="not a finite number"):
            call(value, "bar")


def test_overflow_is_said() -> None:
    with pytest.raises(BadQuantity, match="not a finite number"):
        to_si(1e308, "MPa")
    with pytest.raises(BadQuantity, match="not a finite number"):
        from_si(1e308, "µin")


def test_nothing_below_absolute_zero_or_vacuum() -> None:
    for value, unit in [(-0.001, "K"), (-273.16, "°C"), (-459.68, "°F")]:
        with pytest.raises(BadQuantity, match="below absolute zero"):
            to_si(value, unit)
    for value, unit in [(-0.001, "bara"), (-1.02, "bar"), (-14.7, "psi"), (-0.001, "MPa(a)")]:
        with pytest.raises(BadQuantity, match="below vacuum"):
            to_si(value, unit)
    with pytest.raises(BadQuantity, match="below absolute zero"):
        from_si(-1.0, "°C")
    assert to_si(-459.67, "°F") == 0.0
    assert to_si(0.0, "bara") == -101325.0


@pytest.mark.parametrize("atmosphere_pa", [0.0, -1.0, math.nan, math.inf])
def test_no_impossible_atmosphere(atmosphere_pa: float) -> None:
    with pytest.raises(BadQuantity, match="atmosphere"):
        to_si(1.0, "bara", atmosphere_pa=atmosphere_pa)


@pytest.mark.parametrize(
    ("value", "unit", "shown"),
    [
        (62.0, "bar", "62.0 bar"),
        (0.312, "in", "0.312 in"),
        (0.5, "in", "0.500 in"),
        (3.3125, "in", "3.3125 in"),
        (0.31254, "in", "0.3125 in"),
        (8.0, "mm", "8.000 mm"),
        (1500.0, "psi", "1500 psi"),
        (2.5, "N·m", "2.5 N·m"),
        (35.0, "in-lb", "35.0 in-lb"),
        (25.0, "ft-lb", "25.0 ft-lb"),
        (20.0, "°C", "20.0 °C"),
        (-5.0, "°C", "-5.0 °C"),
        (6.0, "mL", "6.0 mL"),
        (0.16, "L", "0.16 L"),
        (10.0, "min", "10 min"),
        (1.5, "h", "1.5 h"),
        (45.0, "°", "45°"),
        (0.8, "µm Ra", "0.8 µm Ra"),
        (0.005, "bar", "0.005 bar"),  # a small limit must not round up to twice itself
        (0.05, "psi", "0.05 psi"),
        (5.25, "bar", "5.3 bar"),  # halves go away from zero, whatever the binary fraction
        (-0.00000001, "mm", "0.000 mm"),
        (1e9, "psi", "1000000000 psi"),
    ],
)
def test_figures_of_a_gauge(value: float, unit: str, shown: str) -> None:
    assert text(to_si(value, unit), unit) == shown


def test_decimals_can_be_asked_for() -> None:
    assert text(6.2e6, "bar", digits=3) == "62.000 bar"
    assert text(6.25e6, "bar", digits=0) == "63 bar"
    assert text(1e20, "bar", digits=99) == "1e+15 bar"


def test_importing_loads_no_pint_and_warming_does() -> None:
    program = (
        "import sys, shopdesk.quantities as q; before = 'pint' in sys.modules; "
        "q.dimension_of('bar'); still = 'pint' in sys.modules; q.warm(); "
        "print(before, still, 'pint' in sys.modules)"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True
    )
    assert done.stdout.split() == ["False", "False", "True"]


def test_warming_twice_is_harmless() -> None:
    warm()
    warm()
    assert to_si(1.0, "in") == 0.0254
