"""Bores: the survey against its definitions, roughness against integrals, the fit leak's powers."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shopdesk.calc import bore
from shopdesk.errors import BadInput

DIAMETERS = st.floats(0.0399, 0.0401)


@st.composite
def surveys(draw: st.DrawFn) -> list[list[float]]:
    axes = draw(st.integers(2, 4))
    depths = draw(st.integers(2, 6))
    return [draw(st.lists(DIAMETERS, min_size=axes, max_size=axes)) for _ in range(depths)]


@given(rows=surveys())
def test_survey_bounds(rows: list[list[float]]) -> None:
    """Definitions: neither out-of-round nor taper exceeds the whole range; the mean lies inside."""
    found = bore.survey(rows)
    whole = found.largest_m - found.smallest_m
    assert 0 <= found.out_of_round_m <= whole
    assert 0 <= found.taper_m <= whole
    assert found.smallest_m - 1e-15 <= found.mean_m <= found.largest_m + 1e-15
    assert found.out_of_round_m == found.out_of_round_by_row_m[found.out_of_round_row]
    assert found.taper_m == found.taper_by_column_m[found.taper_column]


@given(rows=surveys())
def test_turned_table_swaps_out_of_round_and_taper(rows: list[list[float]]) -> None:
    turned = [list(column) for column in zip(*rows, strict=True)]
    found, other = bore.survey(rows), bore.survey(turned)
    assert (found.out_of_round_m, found.taper_m) == (other.taper_m, other.out_of_round_m)


@given(rows=surveys(), shift=st.floats(-0.001, 0.001))
def test_a_larger_bore_keeps_its_shape(rows: list[list[float]], shift: float) -> None:
    found = bore.survey(rows)
    moved = bore.survey([[cell + shift for cell in row] for row in rows])
    assert moved.out_of_round_m == pytest.approx(found.out_of_round_m, abs=1e-15)
    assert moved.taper_m == pytest.approx(found.taper_m, abs=1e-15)
    assert moved.mean_m == pytest.approx(found.mean_m + shift, abs=1e-15)


def test_bell_mouth_is_the_wider_end_over_the_middle() -> None:
    """By hand: ends 40.03 and 40.01 mm over 40.00 between; an hourglass the other way has none."""
    assert bore.bell_mouth([40.03, 40.00, 40.00, 40.01]) == pytest.approx(0.03)
    assert bore.bell_mouth([40.00, 40.02, 40.00]) == 0.0
    assert bore.survey([[0.04, 0.04], [0.04, 0.04]]).bell_mouth_m is None


def test_wear_and_clearance() -> None:
    found = bore.survey([[40.012e-3, 40.018e-3], [40.010e-3, 40.013e-3]])
    gap = bore.clearance(found, 39.960e-3)
    assert bore.wear(found.largest_m, 40e-3) == pytest.approx(0.018e-3)
    assert bore.wear(39.99e-3, 40e-3) == pytest.approx(-0.01e-3)
    assert (gap.smallest_m, gap.largest_m) == pytest.approx((0.050e-3, 0.058e-3))
    assert gap.mean_m == pytest.approx(found.mean_m - 39.960e-3)


@given(clearance=st.floats(1e-6, 1e-4), factor=st.floats(1.1, 3.0))
def test_leak_goes_with_the_cube_of_clearance(clearance: float, factor: float) -> None:
    one = bore.fit_leak(20e-3, clearance, 200e5, 0.03, 15e-3)
    more = bore.fit_leak(20e-3, clearance * factor, 200e5, 0.03, 15e-3)
    assert more.concentric_m3_s == pytest.approx(one.concentric_m3_s * factor**3, rel=1e-9)
    assert one.eccentric_m3_s == pytest.approx(2.5 * one.concentric_m3_s, rel=1e-12)


def test_parabolic_profile_against_its_integrals() -> None:
    """z = x² on -1 to 1, mean 1/3: Ra = 4/(9√3), Rq = √(4/45) by integration."""
    count = 20001
    heights = [1e-6 * (2 * (n + 0.5) / count - 1) ** 2 for n in range(count)]
    found = bore.profile_roughness(heights)
    assert found.rq_m * 1e6 == pytest.approx(math.sqrt(4 / 45), rel=1e-6)
    assert found.ra_m * 1e6 == pytest.approx(4 / (9 * math.sqrt(3)), rel=1e-4)


@given(heights=st.lists(st.floats(-5e-6, 5e-6), min_size=3, max_size=50))
def test_rq_is_never_below_ra(heights: list[float]) -> None:
    if max(heights) - min(heights) < 1e-12:
        return
    assert bore.profile_roughness(heights).ratio >= 1.0 - 1e-9


@given(value=st.floats(0.0, 1e4))
def test_microinches_there_and_back(value: float) -> None:
    assert bore.to_microinches(bore.from_microinches(value)) == pytest.approx(value, rel=1e-12)


def test_estimate_carries_its_caution() -> None:
    found = bore.rq_from_ra(0.4e-6)
    assert found.sine_m < found.low_m < found.high_m
    assert "never to pass or fail" in found.caution


@pytest.mark.parametrize(
    ("rows", "named"),
    [
        ([], "0 depths"),
        ([[0.04, 0.04]], "1 depths"),
        ([[0.04], [0.04]], "1 diameters"),
        ([[0.04, 0.04], [0.04]], "Depth 2"),
        ([[0.04, 0.04], [0.04, math.nan]], "Diameter 2 at depth 2"),
        ([[0.04, 0.04], [0.04, -0.04]], "greater than zero"),
        ([[0.04, 0.04], [0.04, math.inf]], "finite"),
    ],
)
def test_survey_refuses(rows: list[list[float]], named: str) -> None:
    with pytest.raises(BadInput, match=named):
        bore.survey(rows)


def test_other_refusals() -> None:
    with pytest.raises(BadInput, match="bell-mouth needs 3"):
        bore.bell_mouth([0.04, 0.04])
    with pytest.raises(BadInput, match="close fits"):
        bore.fit_leak(20e-3, 10e-3, 200e5, 0.03, 15e-3)
    with pytest.raises(BadInput, match="flat"):
        bore.profile_roughness([1e-6, 1e-6, 1e-6])
    with pytest.raises(BadInput, match="microinches"):
        bore.from_microinches(-16)
