"""Bench tests: decay, drops, relief, pilot ratio against scipy, cleanliness against the table."""

import math

import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats as reference

from shopdesk.calc import bench, cleanliness
from shopdesk.calc.bench import Held
from shopdesk.errors import BadInput

BAR = 1e5


def test_a_kelvin_of_oil_is_about_ten_bar() -> None:
    """K 1.5 GPa, β 7e-4: 1.5e9 × (7e-4 - 3.6e-5) = 9.96 bar/K, "10 bar a degree" (common practice,
    no source). Cooled 1 K and down 10 bar, nothing leaks but 0.04 bar."""
    found = bench.liquid_decay(
        Held(200 * BAR, 313.15), Held(190 * BAR, 312.15), 600, 1e-3, 1.5e9, 7e-4
    )
    assert found.thermal_pa / BAR == pytest.approx(9.96)
    assert found.leak_pa / BAR == pytest.approx(0.04)
    assert found.leak_m3_s == pytest.approx(1e-3 * 0.04 * BAR / 1.5e9 / 600)


@given(
    pressure=st.floats(1e5, 400e5),
    temperature=st.floats(280, 340),
    change=st.floats(-10, 10),
    volume=st.floats(1e-5, 1e-2),
)
def test_tight_liquid_shows_no_leak(
    pressure: float, temperature: float, change: float, volume: float
) -> None:
    bulk, beta = 1.4e9, 7e-4
    after = pressure + bulk * (beta - bench.STEEL_EXPANSION_1_K) * change
    found = bench.liquid_decay(
        Held(pressure, temperature), Held(after, temperature + change), 60, volume, bulk, beta
    )
    assert found.leak_pa == pytest.approx(0.0, abs=1e-2)


@given(
    pressure=st.floats(5e5, 400e5),
    first=st.floats(275, 320),
    second=st.floats(275, 320),
    lost=st.floats(0, 0.05),
)
def test_gas_decay_against_an_independent_library(
    pressure: float, first: float, second: float, lost: float
) -> None:
    """CoolProp: the pressure the gas left would have at the first temperature."""
    density = PropsSI("D", "P", pressure, "T", first, "Nitrogen") * (1 - lost)
    read = PropsSI("P", "D", density, "T", second, "Nitrogen")
    at_first = PropsSI("P", "D", density, "T", first, "Nitrogen")
    found = bench.gas_decay(Held(pressure, first), Held(read, second))
    assert found.corrected_pa == pytest.approx(pressure - at_first, abs=2e-5 * pressure)
    assert found.corrected_ideal_pa == pytest.approx(pressure - read * first / second)


@given(drops=st.integers(1, 1000), seconds=st.floats(1, 3600), drop_ml=st.floats(0.02, 0.2))
def test_drops_there_and_back(drops: int, seconds: float, drop_ml: float) -> None:
    flow = bench.drops_to_flow(drops, seconds, drop_ml * 1e-6)
    assert bench.flow_to_drops(flow, seconds, drop_ml * 1e-6) == pytest.approx(drops, rel=1e-12)


def test_drops_need_a_size() -> None:
    """20 drops of 0.05 ml in a minute are 1 ml/min, by definition; without a size nothing is."""
    assert bench.drops_to_flow(20, 60, 0.05e-6) * 60e6 == pytest.approx(1.0)
    with pytest.raises(BadInput, match="No drop size"):
        bench.drops_to_flow(20, 60, None)


def test_relief_is_judged_by_its_limits() -> None:
    found = bench.relief_test(
        200 * BAR,
        220 * BAR,
        170 * BAR,
        crack_low_pa=195 * BAR,
        crack_high_pa=205 * BAR,
        full_flow_high_pa=215 * BAR,
        reseat_low_pa=160 * BAR,
    )
    assert [(one.name, one.within) for one in found.judged] == [
        ("crack", True),
        ("full flow", False),
        ("reseat", True),
    ]
    assert not found.within
    assert found.reseat_share == pytest.approx(0.85)
    assert found.full_flow_share == pytest.approx(1.10)
    assert bench.relief_test(200 * BAR, 220 * BAR, 170 * BAR).within


def test_relief_limits_include_their_ends() -> None:
    found = bench.relief_test(200e5, 210e5, 180e5, 200e5, 200e5, 210e5, 180e5)
    assert found.within


LOADS = st.lists(st.floats(10e5, 400e5), min_size=3, max_size=10).filter(
    lambda values: max(values) - min(values) > 20e5
)


@given(loads=LOADS, ratio=st.floats(1.5, 12), spring=st.floats(0, 20e5), data=st.data())
def test_pilot_ratio_is_the_regression(
    loads: list[float], ratio: float, spring: float, data: st.DataObject
) -> None:
    """Oracle: scipy.stats.linregress and its t interval of the slope."""
    noise = st.floats(-0.5e5, 0.5e5)
    pilots = [max(spring + load / ratio + data.draw(noise), 0.0) for load in loads]
    line = reference.linregress(loads, pilots)
    if line.slope <= 1e-3:
        return
    found = bench.pilot_ratio(loads, pilots)
    half = reference.t.ppf(0.975, len(loads) - 2) * line.stderr
    assert found.ratio == pytest.approx(1 / line.slope, rel=1e-7)
    assert found.no_load_pa == pytest.approx(line.intercept, abs=1.0)
    assert 1 / found.ratio_low == pytest.approx(line.slope + half, rel=1e-4, abs=1e-8)


@given(loads=LOADS, ratio=st.floats(1.5, 12), spring=st.floats(0, 20e5))
def test_perfect_readings_give_the_ratio(loads: list[float], ratio: float, spring: float) -> None:
    found = bench.pilot_ratio(loads, [spring + load / ratio for load in loads])
    assert found.ratio == pytest.approx(ratio, rel=1e-6)
    assert found.no_load_pa == pytest.approx(spring, abs=10.0)


def test_scattered_readings_bound_the_ratio_below_only() -> None:
    """By hand: slope 0.15, mean 50 bar at 200, so the middle reading lies 30 bar off."""
    found = bench.pilot_ratio([100e5, 200e5, 300e5], [20e5, 80e5, 50e5])
    assert found.ratio_high == math.inf
    assert found.ratio_low < found.ratio
    assert found.worst_off_pa == pytest.approx(30e5, abs=1e-3)


# ISO 4406 scale numbers and their largest counts per ml, as printed by a filter maker and a trade
# journal (identical). Read row by row: the limit itself, and a hair above it.
PRINTED = [
    (28, 2_500_000), (27, 1_300_000), (26, 640_000), (25, 320_000), (24, 160_000), (23, 80_000),
    (22, 40_000), (21, 20_000), (20, 10_000), (19, 5_000), (18, 2_500), (17, 1_300), (16, 640),
    (15, 320), (14, 160), (13, 80), (12, 40), (11, 20), (10, 10), (9, 5), (8, 2.5), (7, 1.3),
    (6, 0.64), (5, 0.32), (4, 0.16), (3, 0.08), (2, 0.04), (1, 0.02), (0, 0.01),
]  # fmt: skip


@pytest.mark.parametrize(("number", "limit"), PRINTED)
def test_scale_number_as_printed(number: int, limit: float) -> None:
    above = f">{number}" if number == 28 else str(number + 1)
    assert cleanliness.scale_number(limit) == str(number)
    assert cleanliness.scale_number(limit * 1.0001) == above
    assert cleanliness.scale_number(cleanliness.per_ml(limit * 100, 100)) == str(number)


def test_the_table_has_29_limits() -> None:
    assert len(cleanliness.UPPER_LIMITS_PER_ML) == len(PRINTED) == 29


def test_fewer_than_twenty_counted_is_marked() -> None:
    assert cleanliness.scale_number(1.0, counted=19) == ">=7"
    assert cleanliness.scale_number(1.0, counted=20) == "7"
    assert cleanliness.scale_number(3e6, counted=3) == ">28"
    assert cleanliness.scale_number(0.0) == "0"


@given(count=st.floats(0, 2.4e6), more=st.floats(1, 3))
def test_scale_number_never_falls(count: float, more: float) -> None:
    higher = cleanliness.scale_number(min(count * more, 2.5e6))
    assert int(cleanliness.scale_number(count)) <= int(higher)


@pytest.mark.parametrize(
    ("counts", "named"),
    [
        ((), "0 counts"),
        ((100, 20), "2 counts"),
        ((100, 200, 10), "can't rise"),
        ((100, math.nan, 10), "finite"),
        ((100, 20, -1), "below zero"),
        ((math.inf, 20, 1), "finite"),
    ],
)
def test_code_refuses(counts: tuple[float, ...], named: str) -> None:
    with pytest.raises(BadInput, match=named):
        cleanliness.code(counts)


def test_other_refusals() -> None:
    with pytest.raises(BadInput, match="check which is which"):
        bench.relief_test(170e5, 220e5, 200e5)
    with pytest.raises(BadInput, match="lower one first"):
        bench.relief_test(200e5, 220e5, 170e5, crack_low_pa=210e5, crack_high_pa=190e5)
    with pytest.raises(BadInput, match="3 or more pairs"):
        bench.pilot_ratio([100e5, 200e5], [25e5, 50e5])
    with pytest.raises(BadInput, match="vary the load"):
        bench.pilot_ratio([100e5] * 3, [25e5] * 3)
    with pytest.raises(BadInput, match="not rising"):
        bench.pilot_ratio([100e5, 200e5, 300e5], [50e5, 40e5, 30e5])
    with pytest.raises(BadInput, match="absolute zero"):
        bench.gas_decay(Held(100e5, -1.0), Held(99e5, 293.0))
    with pytest.raises(BadInput, match="Time"):
        bench.liquid_decay(Held(1e5, 293), Held(1e5, 293), 0, 1e-3, 1.5e9, 7e-4)
    with pytest.raises(BadInput, match="Volume counted"):
        cleanliness.per_ml(185000, 0)
