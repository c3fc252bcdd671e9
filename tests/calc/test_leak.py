"""Leak rates: gas histories made with CoolProp, scipy's statistics, and rounding drawn by lot."""

import math
import random
from datetime import date
from itertools import pairwise

import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from shopdesk.calc import leak, leak_units
from shopdesk.calc.charge import ATMOSPHERE_PA, set_pressure
from shopdesk.calc.leak import Reading
from shopdesk.errors import BadInput, OutOfRange

BAR, HOUR = 1e5, 3600.0
UNIT_M3, RIG_M3 = 160e-6, 6e-6
TIMES_H = (0.0, 2.0, 7.0, 20.0, 26.0)
TEMPS_K = (294.15, 297.0, 299.3, 291.0, 295.5)


def rho(pressure_pa: float, temperature_k: float) -> float:
    return float(PropsSI("D", "P", pressure_pa, "T", temperature_k, "Nitrogen"))


def pressure(density: float, temperature_k: float) -> float:
    return float(PropsSI("P", "D", density, "T", temperature_k, "Nitrogen"))


def history(leak_kg_s: float, rig_m3: float) -> list[Reading]:
    """A unit that loses gas steadily, read with an empty rig that is vented after each reading."""
    mass, last, found = UNIT_M3 * rho(70 * BAR, 294.15), 0.0, []
    for hours, kelvin in zip(TIMES_H, TEMPS_K, strict=True):
        mass -= leak_kg_s * (hours - last) * HOUR
        last = hours
        density = (mass + rig_m3 * rho(ATMOSPHERE_PA, kelvin)) / (UNIT_M3 + rig_m3)
        found.append(Reading(pressure(density, kelvin), kelvin, hours * HOUR))
        mass = UNIT_M3 * density
    return found


def found(readings: list[Reading], rig_m3: float, bar: float = 0.1, k: float = 0.1) -> leak.Leak:
    return leak.leak(
        UNIT_M3,
        readings,
        gauge_resolution_pa=bar * BAR,
        thermometer_resolution_k=k,
        rig_volume_m3=rig_m3,
    )


@pytest.mark.parametrize("rig_m3", [0.0, RIG_M3], ids=["gauge stays on", "rig each time"])
@pytest.mark.parametrize("leak_kg_s", [2e-8, 0.0, -1e-8])
def test_finds_the_leak_that_was_put_in(leak_kg_s: float, rig_m3: float) -> None:
    """Mass balance with CoolProp's densities; the rig's own share is not taken for a leak."""
    result = found(history(leak_kg_s, rig_m3), rig_m3)
    assert result.rate_kg_s == pytest.approx(leak_kg_s, abs=1e-14)
    per_m3 = rho(ATMOSPHERE_PA, 293.15)
    assert result.rate_m3_s == pytest.approx(leak_kg_s / per_m3, abs=1e-14)
    for at_s, lost, fit in zip(result.times_s, result.lost_kg, result.fit_kg, strict=True):
        assert lost == pytest.approx(leak_kg_s * at_s, abs=1e-11)
        assert fit == pytest.approx(lost, abs=1e-11)


def test_forgetting_the_rig_would_look_like_a_leak() -> None:
    result = found(history(0.0, RIG_M3), 0.0)
    assert result.verdict == "leak"
    assert found(history(0.0, RIG_M3), RIG_M3).verdict == "no leak shown"


def test_verdicts() -> None:
    assert found(history(2e-8, 0.0), 0.0).verdict == "leak"
    assert found(history(-2e-8, 0.0), 0.0).verdict == "rise"
    assert found(history(1e-10, 0.0), 0.0).verdict == "no leak shown"
    assert found(history(1e-10, 0.0), 0.0, bar=0.001, k=0.001).verdict == "leak"


def test_slope_is_that_of_scipy() -> None:
    """scipy.stats.linregress on the same points; scatter by its standard error and t."""
    readings = [
        Reading(r.pressure_pa_abs + shift * BAR, r.temperature_k, r.at_s)
        for r, shift in zip(history(1e-8, 0.0), (0.4, -0.5, 0.3, -0.4, 0.5), strict=True)
    ]
    result = found(readings, 0.0, bar=0.0, k=0.0)
    line = stats.linregress(result.times_s, result.lost_kg)
    assert result.rate_kg_s == pytest.approx(line.slope, rel=1e-9)
    assert result.uncertainty_kg_s == pytest.approx(stats.t.ppf(0.975, 3) * line.stderr, rel=1e-3)


def marked(true: Reading, draw: random.Random) -> Reading:
    """The reading on a gauge with marks each 0.5 bar and a thermometer with marks each 0.5 K."""
    shift, warm = draw.random() * 0.5 * BAR, draw.random() * 0.5
    return Reading(
        round((true.pressure_pa_abs + shift) / (0.5 * BAR)) * 0.5 * BAR - shift,
        round((true.temperature_k + warm) / 0.5) * 0.5 - warm,
        true.at_s,
    )


@pytest.mark.parametrize("rig_m3", [0.0, RIG_M3], ids=["gauge stays on", "rig each time"])
def test_uncertainty_covers_the_rounding(rig_m3: float) -> None:
    """Round true readings to the marks: about 95 % of the errors lie within the figure.

    Two readings, so only resolution counts; GUM JCGM 100:2008 F.2.2.1 says how a mark spreads.
    Where each reading falls between two marks is drawn by lot (seed 7).
    """
    draw = random.Random(7)
    first, *_, last = history(0.0, rig_m3)
    exact = found([first, last], rig_m3).rate_kg_s
    results = [
        found([marked(first, draw), marked(last, draw)], rig_m3, bar=0.5, k=0.5) for _ in range(400)
    ]
    inside = sum(abs(r.rate_kg_s - exact) <= r.uncertainty_kg_s for r in results) / 400
    assert 0.93 < inside < 0.99


def test_uncertainty_follows_every_reading() -> None:
    """Nudge each pressure in turn: 2/√12 times the root of the squares (GUM 5.1.2)."""
    rig_m3, step = 40e-6, 10.0
    readings = history(1e-8, rig_m3)
    base = found(readings, rig_m3, bar=0.5, k=0.0)
    square = 0.0
    for i, r in enumerate(readings):
        nudged = [*readings]
        nudged[i] = Reading(r.pressure_pa_abs + step, r.temperature_k, r.at_s)
        slope = (found(nudged, rig_m3, k=0.0).rate_kg_s - base.rate_kg_s) / step
        square += (slope * 0.5 * BAR) ** 2
    assert base.uncertainty_kg_s == pytest.approx(2 * math.sqrt(square / 12), rel=1e-3)


@given(st.permutations(list(range(5))))
def test_order_of_typing_does_not_matter(order: list[int]) -> None:
    readings = history(1e-8, RIG_M3)
    shuffled = [readings[i] for i in order]
    assert found(shuffled, RIG_M3) == found(readings, RIG_M3)


@given(st.floats(30 * BAR, 200 * BAR), st.floats(273.15, 323.15), st.floats(273.15, 323.15))
def test_temperature_alone_is_no_leak(start_pa: float, first_k: float, second_k: float) -> None:
    second_pa = set_pressure(start_pa, first_k, second_k).pressure_pa_abs
    readings = [Reading(start_pa, first_k, 0.0), Reading(second_pa, second_k, 24 * HOUR)]
    result = found(readings, 0.0, bar=0.01, k=0.01)
    assert result.verdict == "no leak shown"
    lost = leak.loss_at_reference(readings[0], readings[1])
    assert lost.loss_pa == pytest.approx(0.0, abs=0.5)


@given(st.floats(0.01, 1.0), st.floats(1.5, 10.0))
def test_coarser_gauge_is_less_sure(bar: float, times: float) -> None:
    readings = history(0.0, 0.0)
    fine, coarse = found(readings, 0.0, bar=bar), found(readings, 0.0, bar=bar * times)
    assert coarse.uncertainty_kg_s > fine.uncertainty_kg_s


def test_loss_between_two_readings() -> None:
    """62 bar at 21 °C after 70 bar at 20 °C, CoolProp's densities at 20 °C."""
    lost = leak.loss_at_reference(Reading(70 * BAR, 293.15), Reading(62 * BAR, 294.15))
    expected = pressure(rho(62 * BAR, 294.15), 293.15)
    assert lost.after_pa_abs == pytest.approx(expected, rel=1e-9)
    assert lost.loss_pa == pytest.approx(70 * BAR - expected, rel=1e-8)
    assert lost.loss_ideal_pa == pytest.approx(70 * BAR - 62 * BAR * 293.15 / 294.15, rel=1e-9)


def test_loss_without_the_rigs_share() -> None:
    first, second = history(0.0, RIG_M3)[:2]
    lost = leak.loss_at_reference(first, second, volume_m3=UNIT_M3, rig_volume_m3=RIG_M3)
    assert lost.loss_pa == pytest.approx(0.0, abs=1.0)
    assert leak.loss_at_reference(first, second).loss_pa > 2 * BAR
    with pytest.raises(BadInput, match="give both"):
        leak.loss_at_reference(first, second, rig_volume_m3=RIG_M3)


def test_between_shipment_and_arrival() -> None:
    """70 at 20 °C on shipping, 62 at 21 °C 26 months later: 61.8 at 20 °C, 0.32 bar a month."""
    gone = leak.in_service(
        Reading(70 * BAR + ATMOSPHERE_PA, 293.15),
        date(2024, 1, 15),
        Reading(62 * BAR + ATMOSPHERE_PA, 294.15),
        date(2026, 3, 15),
        minimum_ref_pa_abs=60 * BAR + ATMOSPHERE_PA,
    )
    assert (gone.arrived_pa_abs - ATMOSPHERE_PA) / BAR == pytest.approx(61.8, abs=0.05)
    assert gone.loss_pa_per_month / BAR == pytest.approx(0.32, abs=0.005)
    assert gone.days == 790
    assert gone.interval is not None
    assert gone.interval.days == int(10 * BAR / gone.loss_pa_per_day)


def test_the_doubt_of_what_was_lost_in_service() -> None:
    """By hand after GUM JCGM 100:2008 F.2.2.1: gauges of 0.1 and 0.5 bar, thermometer of 1 K. At
    71.01325 bar abs 0.1/√12 = 0.0289 bar and 71.01/293.15/√12 = 0.0699; at 62.80 (63.01 at 21 °C)
    0.5/√12·62.80/63.01 = 0.1439 and 62.80/294.15/√12 = 0.0616: twice the root of the sum of
    squares, 0.348 bar."""
    gone = leak.in_service(
        Reading(70 * BAR + ATMOSPHERE_PA, 293.15),
        date(2024, 1, 15),
        Reading(62 * BAR + ATMOSPHERE_PA, 294.15),
        date(2026, 3, 15),
        minimum_ref_pa_abs=60 * BAR + ATMOSPHERE_PA,
        gauge_resolutions_pa=(0.1 * BAR, 0.5 * BAR),
        thermometer_resolution_k=1.0,
    )
    assert gone.doubt_pa / BAR == pytest.approx(0.348, abs=0.001)
    assert gone.interval == leak.Interval(
        int(10 * BAR / (gone.loss_pa / 790)),
        int(10 * BAR / ((gone.loss_pa + gone.doubt_pa) / 790)),
        int(10 * BAR / ((gone.loss_pa - gone.doubt_pa) / 790)),
    )
    same, days = Reading(70 * BAR, 293.15), (date(2024, 1, 1), date(2025, 1, 1))
    with pytest.raises(BadInput, match="Resolution"):
        leak.in_service(same, days[0], same, days[1], thermometer_resolution_k=-1.0)


def test_service_interval_of_a_unit_that_lost_nothing() -> None:
    same = Reading(70 * BAR, 293.15)
    days = (date(2024, 1, 1), date(2025, 1, 1))
    kept = leak.in_service(same, days[0], same, days[1], minimum_ref_pa_abs=60 * BAR)
    assert kept.interval == leak.Interval(None, None, None)
    less = Reading(69 * BAR, 293.15)
    assert leak.in_service(same, days[0], less, days[1]).interval is None
    whole = leak.in_service(same, days[0], less, days[1], minimum_ref_pa_abs=60 * BAR)
    half = leak.in_service(same, days[0], less, days[1], minimum_ref_pa_abs=60 * BAR, share=0.5)
    assert whole.interval is not None
    assert half.interval is not None
    assert whole.interval.days in (3659, 3660)
    assert half.interval.days in (1829, 1830)


def test_in_service_refuses() -> None:
    same = Reading(70 * BAR, 293.15)
    with pytest.raises(BadInput, match="later day"):
        leak.in_service(same, date(2025, 1, 1), same, date(2025, 1, 1))
    with pytest.raises(BadInput, match="0 to 1"):
        leak.interval(1.0, 0.0, 70 * BAR, 60 * BAR, share=1.5)


def test_readings_that_give_no_rate() -> None:
    one = Reading(70 * BAR, 293.15, 0.0)
    with pytest.raises(BadInput, match="two or more"):
        found([], 0.0)
    with pytest.raises(BadInput, match="two or more"):
        found([one], 0.0)
    with pytest.raises(BadInput, match="same time"):
        found([one, one], 0.0)
    with pytest.raises(OutOfRange, match="absolute zero"):
        found([one, Reading(70 * BAR, -1.0, 60.0)], 0.0)


@pytest.mark.parametrize("bad", [math.nan, math.inf])
def test_not_a_finite_number(bad: float) -> None:
    one = Reading(70 * BAR, 293.15, 0.0)
    for other in (Reading(bad, 293.15, 9.0), Reading(1.0, bad, 9.0), Reading(1.0, 293.15, bad)):
        with pytest.raises(BadInput, match="finite"):
            found([one, other], 0.0)
    with pytest.raises(BadInput, match="finite"):
        leak_units.convert_leak(bad, "sccm", "ml/min")


@given(st.floats(1e-12, 1e3))
def test_units_there_and_back(value: float) -> None:
    units = list(leak_units.LEAK_UNITS_PA_M3_S)
    for here, there in pairwise([*units, units[0]]):
        back = leak_units.convert_leak(leak_units.convert_leak(value, here, there), there, here)
        assert back == pytest.approx(value, rel=1e-12)


@given(st.floats(-1.0, 1e3), st.floats(240.0, 400.0))
def test_mass_there_and_back(rate: float, at_k: float) -> None:
    back = leak_units.leak_of_mass(leak_units.leak_mass(rate, at_k), at_k)
    assert back == pytest.approx(rate, rel=1e-12)


def test_the_mass_of_a_throughput_by_an_independent_density() -> None:
    """Q of gas at one atmosphere is Q/p m³/s of it; its density by CoolProp, 0.03 % above ideal."""
    density = rho(ATMOSPHERE_PA, 293.15)
    assert leak_units.leak_mass(1.0, 293.15) == pytest.approx(density / ATMOSPHERE_PA, rel=5e-4)


def test_mass_units() -> None:
    """The ounce is 28.349523125 g (NIST SP 811), a year 365.25 days."""
    masses = leak_units.LEAK_MASSES_KG_S
    assert masses["g/h"] / masses["g/yr"] == pytest.approx(8766.0)
    assert masses["oz/yr"] / masses["g/yr"] == pytest.approx(28.349523125)
    assert leak_units.convert_leak(1, "torr l/s", "mbar l/s") == pytest.approx(1.33322, rel=1e-5)
    assert leak_units.convert_leak(1, "scc/s", "sccm") == pytest.approx(60.0)


def test_units_known_and_unknown() -> None:
    """1 mbar·l/s = 0.1 Pa·m³/s and 59.2 sccm (ISO 20485 and vacuum practice, from memory)."""
    assert leak_units.convert_leak(1, "mbar l/s", "Pa m3/s") == pytest.approx(0.1)
    assert leak_units.convert_leak(1, "mbar l/s", "sccm") == pytest.approx(59.2, abs=0.05)
    with pytest.raises(BadInput, match="'drops'; accepted are"):
        leak_units.convert_leak(1, "drops", "sccm")
    with pytest.raises(BadInput, match="later"):
        leak_units.molar_rise_ideal(1.0, Reading(1.0, 293.15, 5.0), Reading(2.0, 293.15, 5.0))
