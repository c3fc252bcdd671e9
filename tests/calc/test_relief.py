"""Relief settings: depth readings against scipy's statistics, pressures against their inverses."""

import math

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from scipy import stats as reference

from shopdesk.calc import relief
from shopdesk.errors import BadInput

DEPTHS = st.lists(st.floats(0.005, 0.006), min_size=2, max_size=12).filter(
    lambda values: max(values) - min(values) > 1e-7
)
RATES, SEATS = st.floats(1e3, 1e6), st.floats(1e-3, 0.05)


@given(readings=DEPTHS, confidence=st.sampled_from([0.9, 0.95, 0.99]))
def test_half_width_is_students(readings: list[float], confidence: float) -> None:
    """Oracle: scipy.stats.t.interval with the standard error of the mean."""
    found = relief.repeat_depths(readings, confidence=confidence)
    low, high = reference.t.interval(
        confidence, len(readings) - 1, loc=found.mean_m, scale=reference.sem(readings)
    )
    assert found.half_width_m == pytest.approx((high - low) / 2, rel=1e-7)
    assert found.spread_m == max(readings) - min(readings)


def test_three_readings_by_hand() -> None:
    """5.10, 5.12, 5.14 mm: mean 5.12, s 0.02, t(2, 95 %) 4.303 (any printed table)."""
    found = relief.repeat_depths([5.10e-3, 5.12e-3, 5.14e-3])
    assert found.mean_m == pytest.approx(5.12e-3, rel=1e-12)
    assert found.deviation_m == pytest.approx(0.02e-3, rel=1e-9)
    assert found.half_width_m == pytest.approx(4.303 * 0.02e-3 / math.sqrt(3), rel=1e-3)
    assert (found.count, found.confidence) == (3, 0.95)


def test_identical_readings_are_as_good_as_the_instrument() -> None:
    """Resolution r alone: 1.96 r/√12. Source: JCGM 100 4.3.7 (from memory)."""
    blind = relief.repeat_depths([5e-3, 5e-3, 5e-3])
    seen = relief.repeat_depths([5e-3, 5e-3, 5e-3], resolution_m=0.02e-3)
    assert blind.half_width_m == 0.0
    assert seen.half_width_m == pytest.approx(1.95996 * 0.02e-3 / math.sqrt(12), rel=1e-5)


@given(readings=DEPTHS, resolution=st.floats(1e-6, 1e-4))
@example(readings=[0.005002154322504867, 0.005002154322504867, 0.005], resolution=8.9071173501e-5)
def test_resolution_combines_as_the_guide_says(readings: list[float], resolution: float) -> None:
    """Oracle: Welch-Satterthwaite by hand and scipy's t quantile."""
    repeat = reference.sem(readings)
    combined = math.hypot(repeat, resolution / math.sqrt(12))
    degrees = (len(readings) - 1) / (repeat / combined) ** 4
    found = relief.repeat_depths(readings, resolution)
    expected = reference.t.ppf(0.975, degrees) * combined
    assert found.half_width_m == pytest.approx(expected, rel=2e-6)


@given(rate=RATES, preload=st.floats(0, 0.05), seat=SEATS, back=st.floats(0, 50e5))
def test_preload_there_and_back(rate: float, preload: float, seat: float, back: float) -> None:
    crack = relief.cracking_pressure(rate, preload, seat, back)
    again = relief.preload_for(crack, rate, seat, back)
    assert again == pytest.approx(preload, abs=1e-9 + 1e-12 * crack * seat**2 / rate)


@given(rate=RATES, seat=SEATS, change=st.floats(-0.01, 0.01))
def test_depth_change_there_and_back(rate: float, seat: float, change: float) -> None:
    pressure = relief.pressure_change(rate, seat, change)
    assert relief.depth_change(rate, seat, pressure) == pytest.approx(change, rel=1e-12)


def test_restored_setting_moves_with_the_depth() -> None:
    """k 12 N/mm on a 6 mm seat is 4.244 bar per mm (force balance); 0.05 mm deeper is 0.212 bar."""
    before = relief.repeat_depths([5.10e-3, 5.12e-3, 5.14e-3])
    slope = relief.pressure_per_depth(12e3, 6e-3)
    found = relief.restored_setting(before, 5.17e-3, 0.02e-3, slope, 31.8e5)
    assert found.shift_pa / 1e5 == pytest.approx(0.2122, abs=1e-4)
    assert found.pressure_pa == pytest.approx(31.8e5 + found.shift_pa)
    assert found.half_width_pa == pytest.approx(slope * math.hypot(before.half_width_m, 0.02e-3))
    sticking_out = relief.restored_setting(before, 5.17e-3, 0.02e-3, -slope)
    assert sticking_out.shift_pa == -found.shift_pa
    assert sticking_out.half_width_pa == found.half_width_pa
    assert sticking_out.pressure_pa is None


@given(load=st.floats(0, 400e5), piston=st.floats(5e-3, 0.05), seat=st.floats(2e-3, 0.05))
def test_pilot_opens_at_load_over_ratio(load: float, piston: float, seat: float) -> None:
    found = relief.pilot_opening(load, piston, seat)
    assert found.pilot_pa * found.ratio == pytest.approx(load, rel=1e-9, abs=1e-6)


@pytest.mark.parametrize("readings", [[], [5e-3], [5e-3, math.nan], [5e-3, math.inf]])
def test_repeat_depths_refuses(readings: list[float]) -> None:
    with pytest.raises(BadInput, match=r"read"):
        relief.repeat_depths(readings)


def test_refusals() -> None:
    before = relief.repeat_depths([5e-3, 5.1e-3])
    with pytest.raises(BadInput, match="back pressure"):
        relief.preload_for(1e5, 12e3, 6e-3, 5e5)
    with pytest.raises(BadInput, match="Seat diameter"):
        relief.cracking_pressure(12e3, 1e-3, 0.0)
    with pytest.raises(BadInput, match="moves nothing"):
        relief.restored_setting(before, 5e-3, 0.0, 0.0)
    with pytest.raises(BadInput, match="Confidence"):
        relief.repeat_depths([5e-3, 5.1e-3], confidence=95.0)
    with pytest.raises(BadInput, match="Load pressure"):
        relief.pilot_opening(-1.0, 20e-3, 10e-3)
