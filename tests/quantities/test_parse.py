"""Entries as people type, speak and paste them."""

import time
from fractions import Fraction

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from shopdesk.errors import BadQuantity
from shopdesk.quantities import Ambiguous, Dimension, Measured, from_si, parse

# The spellings are common practice; the factors are those checked in test_units.py.
READ = [
    ("3 5/16 in", "in", 3.3125, "in"),
    ("2-3/8", "in", 2.375, "in"),
    ('2 3/8"', "in", 2.375, "in"),
    ("2 and 3/8 in", "in", 2.375, "in"),
    ("-2-3/8 in", "in", -2.375, "in"),
    ("5/16", "in", 0.3125, "in"),
    ("17/16", "in", 1.0625, "in"),
    (".312", "in", 0.312, "in"),
    ("5.", "in", 5.0, "in"),
    ("5 in.", "in", 5.0, "in"),
    ("5 thou", "in", 5.0, "thou"),
    ("five thou", "in", 5.0, "thou"),
    ("Twenty-five thou", "in", 25.0, "thou"),
    ("5 mil", "in", 5.0, "thou"),
    ("0,312", "in", 0.312, "in"),
    (",312", "in", 0.312, "in"),
    ("12,5 mm", "mm", 12.5, "mm"),
    ("0,500 mm", "mm", 0.5, "mm"),
    ("1,5000 mm", "mm", 1.5, "mm"),
    ("1,500.5 mm", "mm", 1500.5, "mm"),
    ("1.500,5 mm", "mm", 1500.5, "mm"),
    ("1,234,567 Pa", "Pa", 1234567.0, "Pa"),
    ("1\u202f500 psi", "psi", 1500.0, "psi"),
    ("1e-3 m", "m", 0.001, "m"),
    ("3/4\"", "in", 0.75, "in"),
    ("3½ in", "in", 3.5, "in"),
    ("¼", "in", 0.25, "in"),
    ("-⅜ in", "in", -0.375, "in"),
    ("5⁄16 in", "in", 0.3125, "in"),
    ("⅟16 in", "in", 0.0625, "in"),
    ("1 ft 2 in", "in", 14.0, "in"),
    ("1' 2 3/8\"", "in", 14.375, "in"),
    ("-1 ft 2 in", "in", -14.0, "in"),
    ("2''", "in", 2.0, "in"),
    ("35 in-lb", "in-lb", 35.0, "in-lb"),
    *((f"35 {each}", "N·m", 35.0, "in-lb") for each in (
        "inlb", "in lbs", "in-lbf", "lbf-in", "lbf·in", "inch pounds", "IN-LBS", "in.lb", "inch-lb",
    )),
    *((f"25 {each}", "N·m", 25.0, "ft-lb") for each in (
        "ft-lb", "ft lbs", "ftlb", "foot pounds", "ft-lbf", "lb ft",
    )),
    *((f"2.5 {each}", "in-lb", 2.5, "N·m") for each in (
        "Nm", "N·m", "N.m", "N m", "newton metres", "newton-meters", "nm", "N⋅m", "N*m",
    )),
    ("10 kgf-cm", "N·m", 10.0, "kgf·cm"),
    ("10 kg-cm", "N·m", 10.0, "kgf·cm"),
    ("210 bar", "bar", 210.0, "bar"),
    ("210bar", "bar", 210.0, "bar"),
    ("  210   BAR ", "bar", 210.0, "bar"),
    ("3000 psi", "bar", 3000.0, "psi"),
    ("3000 psig", "bar", 3000.0, "psig"),
    ("3000 psia", "bar", 3000.0, "psia"),
    ("21 MPa", "bar", 21.0, "MPa"),
    ("21 MPA", "bar", 21.0, "MPa"),
    ("21 MPa(a)", "bar", 21.0, "MPa(a)"),
    ("70 bar abs", "bar", 70.0, "bara"),
    ("５０ bar", "bar", 50.0, "bar"),
    ("68F", "°C", 68.0, "°F"),
    ("68 °F", "°C", 68.0, "°F"),
    ("20C", "°C", 20.0, "°C"),
    ("20 deg C", "°C", 20.0, "°C"),
    ("20 degrees celsius", "°C", 20.0, "°C"),
    ("20 ℃", "°C", 20.0, "°C"),
    ("20°", "°C", 20.0, "°C"),
    ("-5 C", "°C", -5.0, "°C"),
    ("−5 C", "°C", -5.0, "°C"),
    ("- 5 C", "°C", -5.0, "°C"),
    ("minus five C", "°C", -5.0, "°C"),
    ("293 K", "°C", 293.0, "K"),
    ("6 mL", "mL", 6.0, "mL"),
    ("6 ml", "mL", 6.0, "mL"),
    ("6 cc", "mL", 6.0, "cc"),
    ("6 cm³", "mL", 6.0, "cc"),
    ("0.16 L", "mL", 0.16, "L"),
    ("16 fl oz", "mL", 16.0, "US fl oz"),
    ("10 min", "min", 10.0, "min"),
    ("24 h", "min", 24.0, "h"),
    ("1.5 h", "min", 1.5, "h"),
    ("1 d", "min", 1.0, "d"),
    ("1 h 30 min", "min", 90.0, "min"),
    ("1 d 2 h 30 min", "min", 1590.0, "min"),
    ("0.8 µm", "µm Ra", 0.8, "µm Ra"),
    ("0.8 μm Ra", "µm Ra", 0.8, "µm Ra"),
    ("Ra 0.8", "µm Ra", 0.8, "µm Ra"),
    ("32 Ra", "µin Ra", 32.0, "µin Ra"),
    ("32 µin", "µm Ra", 32.0, "µin Ra"),
    ("3", "pcs", 3.0, "pcs"),
    ("0.3 bar", "Δbar", 0.3, "Δbar"),
    ("4 psid", "Δbar", 4.0, "Δpsi"),
    ("3 F", "Δ°C", 3.0, "Δ°F"),
    ("0.3 bar per month", "bar/month", 0.3, "bar/month"),
    ("5 psi/min", "bar/min", 5.0, "psi/min"),
    ("45 deg", "°", 45.0, "°"),
    ("1/4 turn", "°", 0.25, "turn"),
    ("5 lb", "N", 5.0, "lbf"),
    ("2 gpm", "L/min", 2.0, "US gal/min"),
]  # fmt: skip


@pytest.mark.parametrize(("typed", "line", "value", "unit"), READ)
def test_read(typed: str, line: str, value: float, unit: str) -> None:
    read = parse(typed, unit=line)
    assert read.unit == unit
    assert read.typed == typed.strip()
    assert from_si(read.value_si, unit) == pytest.approx(value, rel=1e-12)


# Each with what the sentence must say.
REFUSED = [
    ("", "in", "Nothing was typed"),
    ("   ", "in", "Nothing was typed"),
    ("bar", "bar", "unit without a number"),
    ("about 5", "bar", "begins with no number"),
    ("nan", "bar", "begins with no number"),
    ("inf", "bar", "begins with no number"),
    ("--5 bar", "bar", "begins with no number"),
    ("1e999 bar", "bar", "not a number any gauge can show"),
    ("1e308 MPa", "bar", "not a finite number"),
    ("3 5", "in", "more than one number"),
    ("1.5 5/16 in", "in", "more than one number"),
    ("½5 in", "in", "more than one number"),
    ("5 mm 3 mm", "mm", "more than one number"),
    ("7/16-20", "in", "more than one number"),
    ("70 bar at 20 C", "bar", "more than one number"),
    ("1 500 psi", "psi", "space inside the number"),
    ("1,500 psi", "psi", "write 1500 or 1.500"),
    ("12,500", "mm", "write 12500 or 12.500"),
    ("1.2.3 mm", "mm", "not one number"),
    ("1,2,3 mm", "mm", "not one number"),
    ("35,", "mm", "not one number"),
    ("1/0 in", "in", "divides by zero"),
    ("3 17/16 in", "in", "no mixed fraction"),
    ("35 bar", "N·m", "is a pressure, and this line asks for a torque (N·m)"),
    ("35 psid", "bar", "is a pressure difference, and this line asks for a pressure (bar)"),
    ("5 kg", "N", "is a mass, and this line asks for a force"),
    ("1 h 30 min", "mm", "is a time, and this line asks for a length"),
    ("10 m", "min", "is a length, and this line asks for a time"),
    ("5 brr", "bar", '"brr" is not a unit known here'),
    ("5 tohu", "in", "did you mean thou"),
    ("62 bra", "bar", "did you mean bar?"),  # not bara: an atmosphere less
    ("5 mN", "N·m", '"mN" is not a unit known here'),
    ("10² mm", "mm", "is not a unit known here"),
    ("21 mPa", "bar", "write MPa for megapascal"),
    ("21 mpa", "bar", "write MPa for megapascal"),
    ("5\x07 bar", "bar", "control character"),
    ("5\nbar", "bar", "control character"),
    ("[b]5[/b]", "bar", "no quantity is written with"),
    ("5 bar; drop", "bar", "no quantity is written with"),
    ("٣ bar", "bar", "no quantity is written with"),
    ("5\u200b bar", "bar", "no quantity is written with"),
    ("\ud800 bar", "bar", "no quantity is written with"),
    ("1 ft 2", "in", "needs in after its ft"),
    ("1 ft 2 mm", "in", "needs in after its ft"),
    ("1 ft 14 in", "in", "does not add up"),
    ("1.5 h 30 min", "min", "does not add up"),
    ("2.5", "pcs", "not a whole number"),
    ("-1 K", "°C", "below absolute zero"),
    ("-500 F", "°C", "below absolute zero"),
    ("-2 bar", "bar", "below vacuum"),
    ("-0.1 psia", "bar", "below vacuum"),
    ("9" * 81, "bar", "81 characters long"),
]


@pytest.mark.parametrize(("typed", "line", "sentence"), REFUSED)
def test_refused(typed: str, line: str, sentence: str) -> None:
    with pytest.raises(BadQuantity) as caught:
        parse(typed, unit=line)
    said = str(caught.value)
    assert sentence in said
    assert said.endswith(".")
    assert said.isprintable()
    assert len(said) < 250


def test_a_bare_torque_asks_where_two_units_are_used() -> None:
    with pytest.raises(Ambiguous, match='"35 N·m" or "35 in-lb"') as caught:
        parse("35", unit="N·m", units=["in-lb", "Nm", "lbf-in"])
    assert caught.value.choices == ("N·m", "in-lb")
    assert parse("35", unit="N·m", units=["Nm"]).unit == "N·m"
    assert parse("35 in-lb", unit="N·m", units=["in-lb"]).unit == "in-lb"


def test_only_units_of_the_line_are_plausible_on_it() -> None:
    shop = ["bar", "psi", "°C", "in"]
    assert parse("21", unit="°C", units=shop).unit == "°C"
    with pytest.raises(Ambiguous) as caught:
        parse("21", unit="Δbar", units=shop)
    assert caught.value.choices == ("Δbar", "Δpsi")


def test_two_names_of_one_unit_are_no_second_unit() -> None:
    assert parse("210", unit="bar", units=["barg"]).unit == "bar"
    with pytest.raises(Ambiguous):
        parse("210", unit="bar", units=["bara"])


def test_zero_gauge_is_zero_in_every_unit() -> None:
    assert parse("0", unit="bar", units=["psi", "MPa"]).value_si == 0.0
    with pytest.raises(Ambiguous):
        parse("0", unit="bar", units=["psia"])
    with pytest.raises(Ambiguous):
        parse("0", unit="°C", units=["°F"])


def test_a_reading_the_other_unit_cannot_have_is_not_asked_about() -> None:
    assert parse("-5", unit="°C", units=["K"]).value_si == pytest.approx(268.15)


def test_a_degree_sign_alone_leaves_the_scale_open() -> None:
    with pytest.raises(Ambiguous, match='"68 °C" or "68 °F"'):
        parse("68°", unit="°C", units=["°F"])


def test_a_length_whose_size_is_known_needs_no_unit_where_one_alone_fits() -> None:
    """A bore of 40 mm nominal: 40.016 is no inches, 1.575 no millimetres; 5 fits neither."""
    for typed, unit, value in (("40.016", "mm", 0.040016), ("1.575", "in", 1.575 * 0.0254)):
        read = parse(typed, unit="mm", units=("mm", "in"), near_si=0.040)
        assert read.unit == unit
        assert read.value_si == pytest.approx(value, rel=1e-12)
    with pytest.raises(Ambiguous):
        parse("5", unit="mm", units=("mm", "in"), near_si=0.040)


def test_a_bare_ra_on_a_micrometre_line_asks() -> None:
    # common practice, no source: drawings in inches say "32 Ra" and mean microinches
    with pytest.raises(Ambiguous) as caught:
        parse("32 Ra", unit="µm Ra")
    assert caught.value.choices == ("µm Ra", "µin Ra")


def test_an_unknown_unit_of_the_line_is_refused() -> None:
    with pytest.raises(BadQuantity, match="not a unit known here"):
        parse("5", unit="qqqq")
    with pytest.raises(BadQuantity, match="not a unit known here"):
        parse("5", unit="bar", units=["qqqq"])


def test_a_megabyte_is_refused_at_once() -> None:
    began = time.perf_counter()
    for text in ("9" * 10**6, "[" * 10**6, " " * 10**6 + "5", "½" * 10**6):
        with pytest.raises(BadQuantity, match="characters long"):
            parse(text, unit="bar")
    assert time.perf_counter() - began < 0.5


LINES = ["in", "mm", "bar", "°C", "N·m", "mL", "min", "µm Ra", "pcs", "Δbar", "bar/month", "N", "°"]
LIKELY = st.text(
    alphabet="0123456789 .,/-+eE'\"°µ½⅜ftinlbNmCFKhdRaMPa()[]\x00\u2009٣²", max_size=24
)


@settings(deadline=None, max_examples=1500)
@given(line=st.sampled_from(LINES), text=st.one_of(st.text(max_size=90), LIKELY))
@example(line="in", text="1e400")
@example(line="in", text="0/0")
@example(line="in", text="-0 ft 0 in")
@example(line="in", text="⅟")
@example(line="in", text="''")
def test_anything_is_a_value_or_a_sentence(line: str, text: str) -> None:
    try:
        read = parse(text, unit=line, units=["psi", "°F", "in-lb", "in"])
    except BadQuantity as refused:
        said = str(refused)
        assert said.isprintable()
        assert said.endswith(".")
        assert len(said) < 300
    else:
        assert isinstance(read, Measured)
        assert abs(read.value_si) < float("inf")


SPELLED = st.sampled_from(["in", "inch", '"', "inches", " in.", " IN"])


@settings(deadline=None)
@given(whole=st.integers(0, 99), power=st.integers(1, 6), data=st.data(), unit=SPELLED)
def test_mixed_fractions(whole: int, power: int, data: st.DataObject, unit: str) -> None:
    below = 2**power
    above = data.draw(st.integers(0, below - 1))
    gap = data.draw(st.sampled_from([" ", "-", "  ", "\u2009"]))
    sign = data.draw(st.sampled_from(["", "-", "−"]))
    read = parse(f"{sign}{whole}{gap}{above}/{below}{unit}", unit="mm")
    inches = whole + Fraction(above, below)
    assert read.value_si == pytest.approx(float(-inches if sign else inches) * 0.0254)
    assert read.dimension is Dimension.LENGTH


@settings(deadline=None)
@given(st.decimals(-999999, 999999, places=4), st.sampled_from([".", ","]))
def test_decimals_with_either_sign(number: object, point: str) -> None:
    typed = str(number).replace(".", point)
    assert parse(f"{typed} mm", unit="mm").value_si == pytest.approx(float(str(number)) * 1e-3)
