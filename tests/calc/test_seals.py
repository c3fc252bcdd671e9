"""O-rings: all 369 sizes row by row against the reference table, glands against the torus."""

import csv
import math
from decimal import ROUND_HALF_UP, Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shopdesk.calc import glands, seals
from shopdesk.calc.torque import INCH_M
from shopdesk.errors import BadInput, OutOfRange

from .worked import REFERENCE


def _table() -> list[dict[str, str]]:
    with (REFERENCE / "as568.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


SIZES = _table()


def to_mm(inches: str) -> Decimal:
    """Inch value × 25.4 rounded half up to 0.01 mm, as the printed millimetre columns are."""
    return (Decimal(inches) * Decimal("25.4")).quantize(Decimal("0.01"), ROUND_HALF_UP)


def test_there_are_369_sizes() -> None:
    """Two public pages that describe AS568A give the same total."""
    assert len(seals.rings()) == len(SIZES) == 369
    assert [ring.dash for ring in seals.rings()] == [row["dash"] for row in SIZES]


@pytest.mark.parametrize("row", SIZES, ids=[row["dash"] for row in SIZES])
def test_size(row: dict[str, str]) -> None:
    """Each size in inches, its millimetres apart, and found again by its own measures.

    Source: as568.csv, three transcriptions of AS568 compared, disagreements noted per row.
    """
    ring = seals.ring(row["designation"])
    measures = (ring.inside_m, ring.inside_tol_m, ring.section_m, ring.section_tol_m)
    inches = [row[name] for name in ("id_in", "id_tol_in", "w_in", "w_tol_in")]
    printed_mm = [Decimal(row[name]) for name in ("id_mm", "id_tol_mm", "w_mm", "w_tol_mm")]
    assert measures == tuple(float(value) * INCH_M for value in inches)
    assert [to_mm(value) for value in inches] == printed_mm
    assert ring.kind == row["kind"]
    nearest = seals.look_up(ring.inside_m, ring.section_m, 1)[0]
    assert nearest.ring.dash == row["dash"]
    assert nearest.inside_tolerance


# Sizes a public tool or list gives wrong, with the true one. Source: as568_notes, rejected sources.
@pytest.mark.parametrize(
    ("dash", "inside_in", "section_in"),
    [("214", 0.984, 0.139), ("272", 9.484, 0.139), ("325", 1.475, 0.210), ("425", 4.475, 0.275)],
)
def test_not_the_wrong_lists(dash: str, inside_in: float, section_in: float) -> None:
    ring = seals.ring(dash)
    assert (ring.inside_m / INCH_M, ring.section_m / INCH_M) == pytest.approx(
        (inside_in, section_in), abs=1e-9
    )


@pytest.mark.parametrize("text", ["12", "-012", "012", "AS568-012", "AS568A-012", " as568 -12 "])
def test_a_dash_as_people_write_it(text: str) -> None:
    assert seals.ring(text).name == "AS568-012"


@pytest.mark.parametrize("text", ["400", "424", "064", "915", "000", "999"])
def test_sizes_that_do_not_exist(text: str) -> None:
    """400-424 stand in several catalogues and are not AS568 sizes; -064 is invented."""
    with pytest.raises(BadInput, match="AS568 has no"):
        seals.ring(text)


@pytest.mark.parametrize("text", ["", "two-fourteen", "-2144", "2.14", "M10"])
def test_dashes_that_cannot_be_read(text: str) -> None:
    with pytest.raises(BadInput, match="write it as -214"):
        seals.ring(text)


def test_look_up_of_a_measured_ring() -> None:
    """25.1 × 3.5 mm on the caliper is a -214 (24.99 × 3.53); 30 × 3 mm is metric, nothing fits."""
    best, *others = seals.look_up(25.1e-3, 3.5e-3)
    assert (best.ring.dash, best.inside_tolerance) == ("214", True)
    assert best.inside_off_m == pytest.approx(25.1e-3 - 0.984 * 0.0254)
    assert len(others) == 2
    assert not any(match.inside_tolerance for match in seals.look_up(30e-3, 3e-3))


RING = st.sampled_from(seals.rings())


@given(ring=RING, stretch=st.floats(0.001, 0.2))
def test_torus_keeps_its_volume(ring: seals.Ring, stretch: float) -> None:
    """Volume of a torus, π² W² (D + W)/4, before and after. Source: Pappus."""
    on = ring.inside_m * (1 + stretch)
    section = seals.stretched_section(ring.inside_m, ring.section_m, on)
    before = ring.section_m**2 * (ring.inside_m + ring.section_m)
    assert section**2 * (on + section) == pytest.approx(before, rel=1e-9)
    assert section < ring.section_m


@given(ring=RING)
def test_unstretched_torus_is_the_ring(ring: seals.Ring) -> None:
    same = seals.stretched_section(ring.inside_m, ring.section_m, ring.inside_m)
    held = seals.compressed_section(ring.inside_m, ring.section_m, ring.outside_m)
    assert (same, held) == pytest.approx((ring.section_m, ring.section_m), rel=1e-9)


@given(stretch=st.floats(0.005, 0.249), more=st.floats(1e-4, 0.01))
def test_handbook_curve_lies_above_constant_volume(stretch: float, more: float) -> None:
    """Its source says so of itself (a US O-ring handbook, from memory); it rises all the way."""
    assert seals.handbook_section_loss(stretch) > seals.section_loss(stretch)
    if stretch + more < 0.249 and not stretch <= 0.03 < stretch + more:
        assert seals.handbook_section_loss(stretch + more) > seals.handbook_section_loss(stretch)


@given(
    section=st.floats(1e-3, 7e-3),
    tolerance=st.floats(0, 1e-4),
    depth=st.floats(0.6, 1.0),
    spread=st.floats(0, 1e-4),
)
def test_nominal_lies_in_its_range(
    section: float, tolerance: float, depth: float, spread: float
) -> None:
    low, high = depth * section, depth * section + spread
    squeezes = seals.squeeze_range(section, tolerance, low, high)
    fills = seals.fill_range(section, tolerance, (low, high), (1.4 * section, 1.5 * section))
    middle = 0.5 * (low + high)
    assert squeezes.low - 1e-12 <= seals.squeeze(section, middle) <= squeezes.high + 1e-12
    assert fills.low - 1e-12 <= seals.fill(section, middle, 1.45 * section) <= fills.high + 1e-12


def test_piston_gland_of_the_worked_ring() -> None:
    """-214 on a 1.010 in groove: stretch 2.642 %, section 0.137508 in (example D3); depth .112."""
    found = glands.piston_gland(seals.ring("214"), 1.010 * INCH_M, 1.234 * INCH_M, 0.1895 * INCH_M)
    section = 0.137508
    assert found.depth_m / INCH_M == pytest.approx(0.112, abs=1e-9)
    assert found.stretch == pytest.approx(0.0264228, abs=1e-6)
    assert found.section_m / INCH_M == pytest.approx(section, abs=2e-6)
    assert found.squeeze == pytest.approx(1 - 0.112 / section, abs=2e-5)
    assert found.fill == pytest.approx(math.pi / 4 * section**2 / (0.112 * 0.1895), abs=2e-5)
    assert found.handbook_section_m is not None
    assert found.handbook_section_m / INCH_M == pytest.approx(0.139 * (1 - 0.021843), abs=1e-5)
    assert found.cautions == ()


def test_rod_gland_stretches_crushes_or_leaves_the_ring() -> None:
    """-214 is 24.99 inside and 32.06 mm outside: on 26 it stretches, in 30.5 it is held."""
    ring = seals.ring("214")
    stretched = glands.rod_gland(ring, 32e-3, 26e-3, 5e-3)
    free = glands.rod_gland(ring, 32.5e-3, 24.5e-3, 5e-3)
    crushed = glands.rod_gland(ring, 30.5e-3, 24.5e-3, 5e-3)
    assert stretched.stretch == pytest.approx(26e-3 / ring.inside_m - 1)
    assert (free.stretch, free.crush, free.section_m) == (0.0, 0.0, ring.section_m)
    assert crushed.crush == pytest.approx(ring.outside_m / 30.5e-3 - 1)
    assert "buckle" in crushed.cautions[0]
    assert crushed.section_m > ring.section_m > stretched.section_m


def test_face_gland_from_either_side() -> None:
    ring = seals.ring("214")
    inner = glands.face_gland(ring, 2.6e-3, 5e-3, outside_m=32e-3)
    outer = glands.face_gland(ring, 2.6e-3, 5e-3, inside_m=25.2e-3)
    loose = glands.face_gland(ring, 2.6e-3, 5e-3, outside_m=34e-3)
    assert inner.crush == pytest.approx(ring.outside_m / 32e-3 - 1)
    assert outer.stretch == pytest.approx(25.2e-3 / ring.inside_m - 1)
    assert "loose" in loose.cautions[0]
    assert inner.cautions == outer.cautions == ()


def test_gland_cautions() -> None:
    ring = seals.ring("214")
    assert "not advised" in glands.piston_gland(ring, 27e-3, 32e-3, 5e-3).cautions[0]
    assert "loose" in glands.piston_gland(ring, 24e-3, 30e-3, 5e-3).cautions[0]
    assert "No squeeze" in glands.piston_gland(ring, 25.2e-3, 33e-3, 5e-3).cautions[0]
    assert "doesn't go" in glands.piston_gland(ring, 25.2e-3, 31e-3, 3e-3).cautions[0]
    assert "little room" in glands.piston_gland(ring, 25.2e-3, 31e-3, 3.8e-3).cautions[0]


def test_far_stretched_ring_has_no_handbook_figure() -> None:
    found = glands.piston_gland(seals.ring("214"), 32e-3, 38e-3, 5e-3)
    assert found.handbook_section_m is None
    assert found.handbook_squeeze is None


def test_extrusion_gap() -> None:
    """By definition: half the difference, or all of it with the piston against the bore."""
    found = glands.extrusion_gap(40.05e-3, 39.95e-3)
    assert (found.radial_m, found.one_sided_m) == pytest.approx((0.05e-3, 0.10e-3))
    assert glands.face_gap(0.02e-3).one_sided_m == 0.02e-3


def test_refusals() -> None:
    ring = seals.ring("214")
    with pytest.raises(BadInput, match="larger"):
        glands.piston_gland(ring, 33e-3, 32e-3, 5e-3)
    with pytest.raises(BadInput, match="larger"):
        glands.rod_gland(ring, 25e-3, 26e-3, 5e-3)
    with pytest.raises(BadInput, match="one diameter"):
        glands.face_gland(ring, 2.6e-3, 5e-3)
    with pytest.raises(BadInput, match="Gland width"):
        glands.piston_gland(ring, 25.6e-3, 31e-3, math.nan)
    with pytest.raises(BadInput, match="doesn't go into"):
        seals.compressed_section(ring.inside_m, ring.section_m, 12e-3)
    with pytest.raises(BadInput, match="bore must be the larger"):
        glands.extrusion_gap(39e-3, 40e-3)
    with pytest.raises(OutOfRange, match="25 %"):
        seals.handbook_section_loss(0.25)
    with pytest.raises(BadInput, match="tolerance"):
        seals.squeeze_range(1e-3, 2e-3, 1e-3, 1e-3)
    with pytest.raises(BadInput, match="smaller first"):
        seals.fill_range(3e-3, 0.0, (2e-3, 1e-3), (4e-3, 5e-3))
    with pytest.raises(BadInput, match="Inside diameter"):
        seals.look_up(0.0, 3e-3)
    with pytest.raises(BadInput, match="1 or more"):
        seals.look_up(25e-3, 3.5e-3, 0)
