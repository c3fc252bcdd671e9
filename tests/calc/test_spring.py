"""Springs against worked textbook problems and the printed tables of moduli."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shopdesk.calc import spring
from shopdesk.calc.torque import INCH_M, POUND_FORCE_N
from shopdesk.errors import BadInput, OutOfRange

KSI = 1e3 * spring.PSI_PA
MPSI = 1e6 * spring.PSI_PA

# Music wire, 0.105 in, 1.225 in outside, plain ground, 12 coils. Source: published solution of
# problem 10-3 to Shigley's Mechanical Engineering Design: k 11.55 lbf/in, solid 1.26 in, index
# 10.67, tensile 278.7 ksi, yield in shear 125.4 ksi, 45.2 lbf at yield.
WIRE, OUTSIDE = 0.105 * INCH_M, 1.225 * INCH_M


def problem_10_3() -> spring.Spring:
    return spring.spring(
        WIRE, OUTSIDE, 12, spring.shear_modulus("music wire", WIRE), ends="plain ground"
    )


def test_published_problem() -> None:
    found = problem_10_3()
    assert found.active == 11
    assert found.rate_n_m * INCH_M / POUND_FORCE_N == pytest.approx(11.55, abs=0.01)
    assert found.solid_length_m / INCH_M == pytest.approx(1.26, abs=1e-6)
    assert found.index == pytest.approx(10.67, abs=0.005)
    assert spring.tensile_strength("A228", WIRE) / KSI == pytest.approx(278.7, abs=0.1)
    assert spring.allowed_stress("music wire", WIRE) / KSI == pytest.approx(125.4, abs=0.1)


def test_stress_of_the_published_problem() -> None:
    """45.2 lbf with the book's (4C + 2)/(4C - 3), which it says is within 1 % of Wahl's factor."""
    found = spring.stress(45.2 * POUND_FORCE_N, WIRE, OUTSIDE)
    assert found / KSI == pytest.approx(125.4, rel=0.01)


# Source: Shigley Table 10-5 (a stored page of the book) and, but for A239/A231, a reprinted
# handbook table of spring moduli.
@pytest.mark.parametrize(
    ("material", "wire_in", "modulus_mpsi"),
    [
        ("music wire", 0.020, 12.0),
        ("music wire", 0.050, 11.85),
        ("music wire", 0.100, 11.75),
        ("music wire", 0.200, 11.6),
        ("hard drawn", 0.020, 11.7),
        ("hard drawn", 0.050, 11.6),
        ("hard drawn", 0.100, 11.5),
        ("hard drawn", 0.200, 11.4),
        ("oil tempered", 0.100, 11.2),
        ("chrome vanadium", 0.100, 11.2),
        ("chrome silicon", 0.100, 11.2),
        ("stainless 302", 0.100, 10.0),
        ("stainless 316", 0.100, 10.0),
        ("stainless 17-7 PH", 0.100, 10.5),
    ],
)
def test_modulus_as_printed(material: str, wire_in: float, modulus_mpsi: float) -> None:
    found = spring.shear_modulus(material, wire_in * INCH_M)
    assert found == pytest.approx(modulus_mpsi * MPSI, rel=1e-12)


def test_stainless_strength_is_nearly_continuous() -> None:
    """Its three rows (from memory, Shigley Table 10-4) must meet where they join."""
    for inches in (0.1, 0.2):
        below = spring.tensile_strength("stainless 302", (inches - 1e-6) * INCH_M)
        above = spring.tensile_strength("stainless 302", (inches + 1e-6) * INCH_M)
        assert below == pytest.approx(above, rel=0.02)


def test_wahl_factor_of_a_closed_form() -> None:
    """C = 5: 19/16 + 0.123 = 1.3105. Source: the formula by hand; charts print 1.31."""
    assert spring.wahl_factor(5.0) == pytest.approx(1.3105, abs=1e-4)


def test_solid_check_names_a_spring_that_sets() -> None:
    found = problem_10_3()
    tall = spring.solid_check(found, WIRE, OUTSIDE, 8.0 * INCH_M, "music wire")
    short = spring.solid_check(found, WIRE, OUTSIDE, 3.0 * INCH_M, "music wire")
    assert tall.share_of_allowed > 1.0
    assert "set" in tall.cautions[0]
    assert short.share_of_allowed < 1.0
    assert short.cautions == ()


WIRES = st.floats(0.0002, 0.02)
INDEXES = st.floats(2.5, 20.0)
COILS = st.floats(1.0, 60.0)


@given(wire=WIRES, index=INDEXES, active=COILS)
def test_rate_scales(wire: float, index: float, active: float) -> None:
    """Twice the coils halve the rate; the whole spring twice as large doubles it."""
    outside = (index + 1.0) * wire
    one = spring.rate(wire, outside, active, 79.3e9)
    assert spring.rate(wire, outside, 2 * active, 79.3e9) == pytest.approx(one / 2, rel=1e-9)
    assert spring.rate(2 * wire, 2 * outside, active, 79.3e9) == pytest.approx(2 * one, rel=1e-9)


@given(wire=WIRES, index=INDEXES, total=st.floats(3.0, 60.0), free=st.floats(1.05, 6.0))
def test_force_at_length_meets_force_at_compression(
    wire: float, index: float, total: float, free: float
) -> None:
    found = spring.spring(wire, (index + 1.0) * wire, total, 79.3e9)
    free_m = free * found.solid_length_m
    at_solid = spring.force_at_length(found, free_m, found.solid_length_m)
    travel = free_m - found.solid_length_m
    assert at_solid == pytest.approx(spring.force(found.rate_n_m, travel), rel=1e-9)
    assert spring.force_at_length(found, free_m, free_m) == 0.0


@pytest.mark.parametrize(
    ("wire", "outside", "active", "modulus", "named"),
    [
        (13.0, 30e-3, 9, 79.3e9, "gauge number"),
        (-1e-3, 30e-3, 9, 79.3e9, "Wire diameter"),
        (4e-3, math.nan, 9, 79.3e9, "Outside diameter"),
        (4e-3, 30e-3, 0, 79.3e9, "Active coils"),
        (4e-3, 30e-3, 9, math.inf, "Shear modulus"),
    ],
)
def test_rate_refuses(
    wire: float, outside: float, active: float, modulus: float, named: str
) -> None:
    with pytest.raises(BadInput, match=named):
        spring.rate(wire, outside, active, modulus)


def test_refusals_name_what_is_known() -> None:
    with pytest.raises(BadInput, match="music wire"):
        spring.shear_modulus("bubble gum", 1e-3)
    with pytest.raises(BadInput, match="stainless 316"):
        spring.shear_modulus("A313", 1e-3)
    with pytest.raises(OutOfRange, match="music wire"):
        spring.tensile_strength("music wire", 20e-3)
    with pytest.raises(BadInput, match="squared ground"):
        spring.solid_length(1e-3, 10, "welded")
    with pytest.raises(BadInput, match="can't be more"):
        spring.spring(4e-3, 30e-3, 9, 79.3e9, active=11)
    with pytest.raises(BadInput, match="none is left"):
        spring.active_coils(2.0)
    with pytest.raises(OutOfRange, match="solid"):
        spring.force_at_length(problem_10_3(), 0.1, 0.01)
    with pytest.raises(BadInput, match="doesn't pull"):
        spring.force_at_length(problem_10_3(), 0.1, 0.2)
