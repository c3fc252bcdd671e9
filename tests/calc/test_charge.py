"""The charge, the rig and the bottle: against CoolProp, ISO 2533's table and their own inverses."""

import math
from collections.abc import Callable
from datetime import date, timedelta

import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given
from hypothesis import strategies as st

from shopdesk.calc import bottle, charge, nitrogen
from shopdesk.errors import BadInput, OutOfRange

BAR, ATM = 1e5, charge.ATMOSPHERE_PA
LITRE = 1e-3
WARM = st.floats(253.15, 353.15)
CHARGES = st.floats(5 * BAR, 300 * BAR)
UNITS_M3 = st.floats(20e-6, 50e-3)
RIGS_M3 = st.floats(1e-6, 20e-6)


def rho(pressure_pa: float, temperature_k: float) -> float:
    return float(PropsSI("D", "P", pressure_pa, "T", temperature_k, "Nitrogen"))


def of_density(density: float, temperature_k: float) -> float:
    return float(PropsSI("P", "D", density, "T", temperature_k, "Nitrogen"))


@given(CHARGES, WARM, WARM)
def test_set_and_read_back(target_pa: float, reference_k: float, gas_k: float) -> None:
    setting = charge.set_pressure(target_pa, reference_k, gas_k)
    back = charge.at_reference(setting.pressure_pa_abs, gas_k, reference_k)
    assert back.pressure_pa_abs == pytest.approx(target_pa, rel=1e-10)
    assert back.density_kg_m3 == pytest.approx(setting.density_kg_m3, rel=1e-10)
    ideal = charge.at_reference(setting.ideal_pa_abs, gas_k, reference_k).ideal_pa_abs
    assert ideal == pytest.approx(target_pa, rel=1e-12)


@given(CHARGES, WARM, st.floats(253.15, 343.15), st.floats(0.1, 10.0))
def test_warmer_gas_is_set_higher(target: float, ref_k: float, gas_k: float, step: float) -> None:
    cooler = charge.set_pressure(target, ref_k, gas_k)
    warmer = charge.set_pressure(target, ref_k, gas_k + step)
    assert warmer.pressure_pa_abs > cooler.pressure_pa_abs
    assert warmer.ideal_pa_abs > cooler.ideal_pa_abs


def test_at_the_reference_nothing_changes() -> None:
    there = charge.set_pressure(70 * BAR, 293.15, 293.15)
    assert there.pressure_pa_abs == pytest.approx(70 * BAR, rel=1e-12)
    assert there.ideal_pa_abs == 70 * BAR


@pytest.mark.parametrize(
    ("altitude_m", "hpa"),
    [(0, 1013.25), (1000, 898.746), (2000, 794.952), (3000, 701.086), (4000, 616.402),
     (5000, 540.199), (6000, 471.810), (10000, 264.363), (11000, 226.321)],
)  # fmt: skip
def test_standard_atmosphere(altitude_m: float, hpa: float) -> None:
    """ISO 2533:1975 / ICAO Doc 7488 table of geopotential altitude, printed in two public codes."""
    assert charge.site_atmosphere(altitude_m) == pytest.approx(hpa * 100, abs=0.6)


@given(st.floats(-2000, 10999), st.floats(0.1, 1.0))
def test_air_thins_with_height(altitude_m: float, step_m: float) -> None:
    assert charge.site_atmosphere(altitude_m + step_m) < charge.site_atmosphere(altitude_m)


@given(st.floats(-0.6 * BAR, 400 * BAR), st.floats(0.6 * BAR, 1.1 * BAR))
def test_gauge_and_absolute(gauge_pa: float, atmosphere_pa: float) -> None:
    back = charge.gauge(charge.absolute(gauge_pa, atmosphere_pa), atmosphere_pa)
    assert back == pytest.approx(gauge_pa, abs=1e-6)


@given(
    st.floats(1e3, 60 * BAR), st.floats(61 * BAR, 200 * BAR), st.floats(0, 100 * BAR),
    st.floats(273.15, 313.15), st.floats(273.15, 313.15),
)  # fmt: skip
def test_fill_keeps_the_energy(
    start_pa: float, target_pa: float, over_pa: float, start_k: float, supply_k: float
) -> None:
    """The first law with CoolProp's energies: what is in is what was in and what came in."""
    filled = charge.fill(start_pa, start_k, target_pa, target_pa + over_pa, supply_k)
    before = rho(start_pa, start_k)
    after = rho(target_pa, filled.filled_k)
    h = PropsSI("H", "P", target_pa + over_pa, "T", supply_k, "Nitrogen")
    u1 = PropsSI("U", "D", before, "T", start_k, "Nitrogen")
    u2 = PropsSI("U", "D", after, "T", filled.filled_k, "Nitrogen")
    assert after * u2 == pytest.approx(before * u1 + (after - before) * h, rel=1e-6)
    assert filled.settled_pa_abs == pytest.approx(of_density(after, start_k), rel=1e-8)
    assert filled.filled_k > start_k - 15


def test_filling_nothing_changes_nothing() -> None:
    filled = charge.fill(80 * BAR, 290.0, 80 * BAR, 100 * BAR, 300.0)
    assert filled.filled_k == pytest.approx(290.0, abs=1e-5)
    assert filled.settled_pa_abs == pytest.approx(80 * BAR, rel=1e-7)
    assert filled.filled_ideal_k == pytest.approx(290.0)


def test_fill_that_makes_no_sense() -> None:
    with pytest.raises(BadInput, match="already holds 90 bar"):
        charge.fill(90 * BAR, 293.15, 80 * BAR, 150 * BAR, 293.15)
    with pytest.raises(BadInput, match="can't fill"):
        charge.fill(ATM, 293.15, 160 * BAR, 150 * BAR, 293.15)
    with pytest.raises(BadInput, match="greater than zero"):
        charge.fill(0.0, 293.15, 0.0, 150 * BAR, 293.15)


@given(CHARGES, WARM, UNITS_M3, RIGS_M3, st.integers(1, 5))
def test_rig_there_and_back(
    pressure: float, gas_k: float, unit: float, rig: float, checks: int
) -> None:
    after = charge.after_checks(unit, rig, pressure, gas_k, checks)
    assert after.pressure_pa_abs < pressure
    before = charge.before_checks(unit, rig, after.pressure_pa_abs, gas_k, checks)
    assert before.pressure_pa_abs == pytest.approx(pressure, rel=1e-8)
    ideal = charge.before_checks(unit, rig, after.ideal_pa_abs, gas_k, checks).ideal_pa_abs
    assert ideal == pytest.approx(pressure, rel=1e-8)


@given(CHARGES, WARM, UNITS_M3, RIGS_M3)
def test_repeated_checks_are_single_ones_in_a_row(
    pressure: float, gas_k: float, unit: float, rig: float
) -> None:
    at_once = charge.after_checks(unit, rig, pressure, gas_k, 3).pressure_pa_abs
    for _ in range(3):
        pressure = charge.after_checks(unit, rig, pressure, gas_k).pressure_pa_abs
    assert pressure == pytest.approx(at_once, rel=1e-9)


def test_rig_loss_against_coolprop() -> None:
    """Mass balance with CoolProp's densities: 160 ml, rig 6 ml holding 0.9 bar, 70 bar at 25 °C."""
    mass = 160e-6 * rho(70 * BAR, 298.15) + 6e-6 * rho(0.9 * BAR, 298.15)
    expected = of_density(mass / 166e-6, 298.15)
    after = charge.after_checks(160e-6, 6e-6, 70 * BAR, 298.15, rig_pa_abs=0.9 * BAR)
    assert after.pressure_pa_abs == pytest.approx(expected, rel=1e-9)


def test_rig_that_makes_no_sense() -> None:
    with pytest.raises(BadInput, match="Number of checks was read as 0"):
        charge.after_checks(1e-3, 1e-5, 70 * BAR, 293.15, checks=0)
    with pytest.raises(BadInput, match="greater than zero"):
        charge.after_checks(0.0, 1e-5, 70 * BAR, 293.15)
    with pytest.raises(BadInput, match="below zero"):
        charge.before_checks(1e-3, -1e-5, 70 * BAR, 293.15)
    with pytest.raises(BadInput, match="lower than a rig"):
        charge.before_checks(1e-5, 1e-5, 0.1 * BAR, 293.15)
    with pytest.raises(BadInput, match="leave nothing"):
        charge.after_checks(1e-5, 1e-3, 70 * BAR, 293.15, checks=9)


def test_over_set_of_a_shop_that_has_not_learned() -> None:
    """Common practice, no source: for 1500 psi the regulator is set to 1800 psi."""
    found = charge.over_set([], default_pa=300 * charge.PSI_PA)
    order = 1500 * charge.PSI_PA + found.over_set_pa
    assert order / charge.PSI_PA == pytest.approx(1800)
    assert (found.learned, found.count, found.spread_pa) == (False, 0, None)


def test_over_set_learns_from_enough_charges() -> None:
    """Median and quartile distance of 1 to 5 bar: 3 and 2 (any statistics text)."""
    losses = [bar * BAR for bar in (3, 1, 5, 2, 4)]
    four = charge.over_set(losses[:4], default_pa=9 * BAR, at_least=5)
    five = charge.over_set(losses, default_pa=9 * BAR, at_least=5)
    assert four == charge.OverSet(9 * BAR, None, 4, learned=False)
    assert five == charge.OverSet(3 * BAR, 2 * BAR, 5, learned=True)
    assert charge.over_set([-1.0] * 6, default_pa=0.0).over_set_pa == 0.0


@given(st.lists(st.floats(0, 30 * BAR), min_size=5, max_size=40))
def test_learned_over_set_lies_among_the_losses(losses: list[float]) -> None:
    found = charge.over_set(losses, default_pa=0.0)
    assert min(losses) <= found.over_set_pa <= max(losses)
    assert found.spread_pa is not None
    assert 0.0 <= found.spread_pa <= max(losses) - min(losses)


def test_over_set_refuses() -> None:
    with pytest.raises(BadInput, match="needs 2 or more"):
        charge.over_set([], default_pa=0.0, at_least=1)
    with pytest.raises(BadInput, match="finite"):
        charge.over_set([math.nan], default_pa=0.0)


def test_date_of_the_minimum() -> None:
    start = date(2026, 3, 1)
    assert charge.minimum_reached(start, 70 * BAR, 60 * BAR, 0.1 * BAR) == date(2026, 6, 9)
    assert charge.minimum_reached(start, 60 * BAR, 60 * BAR, 0.1 * BAR) == start
    assert charge.minimum_reached(start, 70 * BAR, 60 * BAR, 0.0) is None
    assert charge.minimum_reached(start, 70 * BAR, 60 * BAR, -5.0) is None
    assert charge.minimum_reached(start, 70 * BAR, 60 * BAR, 1e-9) is None


@given(st.floats(1.0, 1e5))
def test_minimum_is_not_passed_on_its_date(loss_pa_per_day: float) -> None:
    start = date(2026, 1, 1)
    day = charge.minimum_reached(start, 70 * BAR, 60 * BAR, loss_pa_per_day)
    assert day is None or 70 * BAR - loss_pa_per_day * (day - start).days >= 60 * BAR - 1e-3
    if day is not None:
        after = (day - start) / timedelta(days=1) + 1
        assert 70 * BAR - loss_pa_per_day * after < 60 * BAR + 1e-3


def count_fills(bottle_pa: float, unit_m3: float, target_pa: float, gas_k: float) -> int:
    """Fill after fill from a 10 L bottle with CoolProp's densities, an empty 8 ml rig each time."""
    held, fills = 10 * LITRE * rho(bottle_pa, gas_k), 0
    in_unit, in_rig = unit_m3 * rho(ATM, gas_k), 8e-6 * rho(ATM, gas_k)
    full = (unit_m3 + 8e-6) * rho(target_pa, gas_k)
    while of_density((held - (full - in_unit - in_rig)) / (10 * LITRE), gas_k) >= target_pa:
        held -= full - in_unit - in_rig
        fills += 1
    return fills


@pytest.mark.parametrize(
    ("bottle_bar", "unit_l", "target_bar"), [(200, 0.16, 70), (150, 0.5, 90), (300, 2.5, 100)]
)
def test_fills_left_against_coolprop(bottle_bar: float, unit_l: float, target_bar: float) -> None:
    found = bottle.fills_left(
        10 * LITRE, bottle_bar * BAR, 295.0, unit_l * LITRE, target_bar * BAR, rig_volume_m3=8e-6
    )
    counted = count_fills(bottle_bar * BAR, unit_l * LITRE, target_bar * BAR, 295.0)
    assert found.fills_left == counted
    assert found.short_fill == counted + 1
    assert found.short_pa_abs < target_bar * BAR <= found.bottle_after_pa_abs


def test_headroom_of_the_regulator_costs_fills() -> None:
    """10 bar of headroom leaves in the bottle what lies between 70 and 80 bar (CoolProp)."""
    plain = bottle.fills_left(10 * LITRE, 200 * BAR, 295.0, 16e-6, 70 * BAR)
    held = bottle.fills_left(10 * LITRE, 200 * BAR, 295.0, 16e-6, 70 * BAR, headroom_pa=10 * BAR)
    kept_kg = 10 * LITRE * (rho(80 * BAR, 295.0) - rho(70 * BAR, 295.0))
    fewer = kept_kg / plain.gas_per_fill_kg
    assert plain.fills_left - held.fills_left == pytest.approx(fewer, abs=1)
    assert held.bottle_after_pa_abs >= 80 * BAR


def test_bottle_that_is_already_too_low() -> None:
    found = bottle.fills_left(10 * LITRE, 50 * BAR, 293.15, LITRE, 70 * BAR)
    assert (found.fills_left, found.short_fill) == (0, 1)
    shared = 10 * rho(50 * BAR, 293.15) + rho(ATM, 293.15)
    assert found.short_pa_abs == pytest.approx(of_density(shared / 11, 293.15), rel=1e-9)


@given(st.floats(60 * BAR, 300 * BAR), st.floats(0.0, 0.3))
def test_gas_taken_from_a_bottle_is_missing_in_it(start_pa: float, taken_kg: float) -> None:
    after = bottle.bottle_after(10 * LITRE, start_pa, 293.15, taken_kg)
    missing = bottle.mass(10 * LITRE, start_pa, 293.15) - bottle.mass(10 * LITRE, after, 293.15)
    assert missing == pytest.approx(taken_kg, abs=1e-9)


def test_bottle_refuses() -> None:
    with pytest.raises(OutOfRange, match="holds"):
        bottle.bottle_after(10 * LITRE, 10 * BAR, 293.15, 5.0)
    with pytest.raises(BadInput, match="takes no gas"):
        bottle.fills_left(10 * LITRE, 200 * BAR, 293.15, LITRE, 50 * BAR, start_pa_abs=60 * BAR)
    with pytest.raises(BadInput, match="no air would be left"):
        bottle.release(50 * LITRE, 300 * BAR, 293.15, 5.0)


BAD = (math.nan, math.inf, -math.inf)


@pytest.mark.parametrize("bad", BAD)
def test_not_a_finite_number(bad: float) -> None:
    calls: list[Callable[[], object]] = [
        lambda: charge.set_pressure(bad, 293.15, 293.15),
        lambda: charge.set_pressure(70 * BAR, bad, 293.15),
        lambda: charge.set_pressure(70 * BAR, 293.15, bad),
        lambda: charge.site_atmosphere(bad),
        lambda: charge.absolute(bad),
        lambda: charge.gauge(bad),
        lambda: charge.fill(ATM, bad, 70 * BAR, 150 * BAR, 293.15),
        lambda: charge.fill(ATM, 293.15, bad, 150 * BAR, 293.15),
        lambda: charge.after_checks(bad, 1e-5, 70 * BAR, 293.15),
        lambda: charge.minimum_reached(date(2026, 1, 1), 70 * BAR, 60 * BAR, bad),
        lambda: bottle.release(LITRE, 70 * BAR, 293.15, bad),
    ]
    for call in calls:
        with pytest.raises(BadInput, match="finite"):
            call()


def test_outside_what_can_be() -> None:
    with pytest.raises(OutOfRange, match="absolute zero"):
        charge.set_pressure(70 * BAR, 293.15, -3.0)
    with pytest.raises(OutOfRange, match="perfect vacuum"):
        charge.absolute(-1.2 * BAR)
    with pytest.raises(OutOfRange, match="12000 m"):
        charge.site_atmosphere(12000)
    with pytest.raises(OutOfRange, match="700 bar"):
        charge.set_pressure(600 * BAR, 250.0, 400.0)
    with pytest.raises(OutOfRange, match="gauge"):
        charge.gauge(-1.0)


def test_constants() -> None:
    """Standard atmosphere by definition; the psi of NIST SP 811 (from memory, 7 digits)."""
    assert charge.ATMOSPHERE_PA == 101325.0
    assert pytest.approx(6894.757, abs=5e-4) == charge.PSI_PA
    assert nitrogen.MOLAR_MASS_KG_MOL == 0.02801348
