"""The forms that take a calculation further: stress, glands, leak units, tools, and both ways."""

import math

import pytest
from CoolProp.CoolProp import PropsSI

from shopdesk.desk.calculator import run as run_calculation

from .shell import calc, run

ATMOSPHERE_PA = 101325.0
MONTH_S = 365.25 * 86400 / 12
WIRE = (
    "--wire", "0.105 in", "--outside", "1.225 in", "--total", "12", "--ends", "plain ground",
    "--material", "music wire",
)  # fmt: skip


def value(found: dict[str, dict[str, object]], name: str) -> float:
    taken = found[name]["value"]
    assert isinstance(taken, float)
    return taken


# springs


def test_stress_of_a_published_spring() -> None:
    """Published solution of problem 10-3 to Shigley: 45.2 lbf brings it to its yield in shear of
    125.4 ksi, by a curvature factor it says is within 1 % of Wahl's; solid 1.26 in."""
    found = calc("spring-stress", *WIRE, "--load", "45.2 lbf", "--free-length", "9 in")["results"]
    assert value(found, "allowed_stress") == pytest.approx(125.4 * 6.894757, rel=1e-3)
    assert value(found, "stress_share") == pytest.approx(100.0, abs=1.0)
    assert value(found, "solid_length") == pytest.approx(1.26, abs=1e-6)
    assert value(found, "compressed") == pytest.approx(45.2 / 11.55, rel=1e-3)
    assert found["stress"]["as_text"].endswith("ksi)")


def test_a_spring_pressed_solid_beyond_its_wire_is_a_caution() -> None:
    said = calc("spring-stress", *WIRE, "--free-length", "8 in")["cautions"]
    assert any("it will take a set" in each for each in said)
    fine = calc("spring-stress", *WIRE, "--free-length", "3 in")["cautions"]
    assert not any("set:" in each for each in fine)


def test_load_and_depth_are_two_ways_to_say_one_thing() -> None:
    by_depth = calc("spring-stress", *WIRE, "--worked-to", "1 in")["results"]
    by_load = calc("spring-stress", *WIRE, "--load", f"{by_depth['force']['value']} N")["results"]
    assert value(by_load, "stress") == pytest.approx(value(by_depth, "stress"), rel=1e-9)
    assert value(by_load, "compressed") == pytest.approx(1.0, rel=1e-9)


def test_a_wanted_cracking_pressure_undoes_the_compression() -> None:
    words = ("--rate", "12 N/mm", "--seat", "6 mm", "--back-pressure", "5 bar")
    cracks = calc("spring", *words, "--preload-length", "7.5 mm")["results"]
    back = calc("spring", *words, "--cracking", f"{value(cracks, 'cracking_pressure')} bar")
    assert value(back["results"], "preload_length") == pytest.approx(7.5)
    assert value(cracks, "force") == pytest.approx(90.0)


def test_a_shim_and_the_change_it_makes_undo_each_other() -> None:
    words = ("--rate", "12 N/mm", "--seat", "6 mm")
    change = calc("spring", *words, "--shim", "0.1 mm")["results"]["pressure_change"]
    assert (change["unit"], change["value"]) == ("bar", pytest.approx(0.424413, abs=1e-5))
    back = calc("spring", *words, "--change", f"{change['value']} bar")["results"]
    assert value(back, "depth_change") == pytest.approx(0.1)


def test_a_spring_without_a_seat_has_its_force() -> None:
    """F = k x: 12 N/mm over 7.5 mm."""
    found = calc("spring", "--rate", "12 N/mm", "--preload-length", "7.5 mm")["results"]
    assert found["force"] == {"value": 90.0, "unit": "N", "as_text": "90.0 N (20.2 lbf)"}
    assert "cracking_pressure" not in found


# seals

GLAND = ("gland", "--gland", "rod", "--service", "reciprocating")


def test_a_gland_cut_to_the_chart_is_within_it() -> None:
    """The chart's own depths and widths for a moving .139 section."""
    found = calc(
        *GLAND, "--dash", "-214", "--depth", "0.121 in", "--depth", "0.123 in", "--width",
        "0.187 in", "--width", "0.192 in",
    )["results"]  # fmt: skip
    assert (value(found, "squeeze_low"), value(found, "squeeze_high")) == (9.0, 16.0)
    assert found["squeeze_verdict"]["value"] == found["fill_verdict"]["value"] == "within"
    assert value(found, "squeeze_least") == pytest.approx(100 * (0.135 - 0.123) / 0.135)
    assert value(found, "fill_most") == pytest.approx(
        100 * math.pi / 4 * 0.143**2 / (0.121 * 0.187)
    )


@pytest.mark.parametrize(
    ("depth", "verdict"),
    [("0.112 in", "too much"), ("0.130 in", "too little"), ("0.122 in", "within")],
)
def test_a_gland_off_the_chart_is_told_which_way(depth: str, verdict: str) -> None:
    found = calc(*GLAND, "--section", "0.139 in", "--depth", depth)["results"]
    assert found["squeeze_verdict"]["value"] == verdict


def test_an_oring_is_judged_by_the_chart_of_its_service() -> None:
    """One gland: right for parts that stand, 16 to 23 %, too tight where they slide, 9 to 16 %."""
    words = (
        "oring", "--dash", "-214", "--gland", "piston", "--groove", "1.010 in", "--bore",
        "1.238 in", "--width", "0.1895 in",
    )  # fmt: skip
    assert "squeeze_verdict" not in calc(*words)["results"]
    standing = calc(*words, "--service", "static")
    sliding = calc(*words, "--service", "reciprocating")
    assert standing["results"]["squeeze_verdict"]["value"] == "within"
    assert sliding["results"]["squeeze_verdict"]["value"] == "too much"
    assert any("9 to 16 % is usual" in each for each in sliding["cautions"])


def test_a_ring_no_chart_has_keeps_its_own_figures() -> None:
    found = calc(
        "oring", "--dash", "-906", "--gland", "rod", "--groove", "17 mm", "--rod", "13 mm",
        "--width", "3 mm", "--service", "static",
    )  # fmt: skip
    assert "squeeze_verdict" not in found["results"]
    assert any("straight-thread fitting" in each for each in found["cautions"])


def test_without_a_standard_each_has_its_day() -> None:
    """Initial lives of NBR: 7 years under ISO 2230, 15 under ARP5316 (public summaries of both)."""
    words = ("shelf-life", "--compound", "NBR", "--cured", "2Q2019")
    found = calc(*words)["results"]
    for standard, name in (("ISO 2230", "iso_2230"), ("ARP5316", "arp5316")):
        one = calc(*words, "--standard", standard)["results"]
        assert found[f"use_by_{name}"] == one["use_by"]
        assert found[f"use_by_extended_{name}"] == one["use_by_extended"]


def test_what_no_standard_limits_is_said_once() -> None:
    found = calc("shelf-life", "--compound", "PTFE", "--cured", "2Q2019")
    assert found["results"]["use_by"]["value"] == "no limit"
    assert "no standard limits" in found["source"]


# leaks


@pytest.mark.parametrize(
    "text",
    [
        "1 mbar l/s", "0.1 Pa·m³/s", "0.1 Pa m^3/s", "1 mbar·L/s", "1 mbar-l/sec",
        "1 mbar litre per second", "1 mbar*liter/s", "0.7500617 torr l/s", "0.98692327 atm cc/s",
        "59.215396 mL/min", "59.215396 cc/minute", "3552.9238 ml per hour",
        "4.1376 g/h", "99.3024 g/day", "4137.6 mg/hr",
    ],
)  # fmt: skip
def test_one_leak_written_in_every_way(text: str) -> None:
    """0.1 Pa m³/s; factors of NIST SP 811, mass by pV = nRT with M = 28.01348 g/mol, by hand:
    0.1 × 0.02801348/(8.314462618 × 293.15) = 1.14933e-6 kg/s."""
    found = calc("leak-units", "--rate", text)["results"]
    assert value(found, "pascal_cubic_metre") == pytest.approx(0.1, rel=2e-5)
    assert value(found, "millibar_litre") == pytest.approx(1.0, rel=2e-5)
    assert value(found, "nitrogen_mass") == pytest.approx(1.14933e-3 * 365.25 * 86400, rel=3e-5)


def test_a_standard_cubic_centimetre_is_at_the_temperature_stated() -> None:
    """20 °C over 0 °C is 1.0732 in volume (worked example F3)."""
    zero = calc("leak-units", "--rate", "1 sccm")["results"]
    twenty = calc("leak-units", "--rate", "1 std cc/min", "--standard", "20 C")["results"]
    assert value(zero, "millilitre") == pytest.approx(293.15 / 273.15, rel=1e-9)
    assert value(twenty, "millilitre") == pytest.approx(1.0, rel=1e-9)
    assert value(twenty, "standard_cc") == pytest.approx(1.0, rel=1e-9)


def test_what_a_rate_takes_from_a_charge_in_a_month() -> None:
    """CoolProp's density less the mass lost, brought back to a pressure."""
    words = ("--rate", "1e-4 mbar l/s", "--volume", "0.5 L", "--pressure", "200 bar")
    found = calc("leak-units", *words)["results"]
    full = PropsSI("D", "P", 200e5 + ATMOSPHERE_PA, "T", 293.15, "Nitrogen")
    lost = 1e-5 * 0.02801348 / (8.314462618 * 293.15) * MONTH_S / 0.5e-3
    left = PropsSI("P", "D", full - lost, "T", 293.15, "Nitrogen")
    assert value(found, "loss_per_month") == pytest.approx(
        (200e5 + ATMOSPHERE_PA - left) / 1e5, rel=1e-3
    )
    assert value(found, "loss_per_month_ideal") == pytest.approx(1e-5 * MONTH_S / 0.5e-3 / 1e5)
    gone = calc("leak-units", *words[2:], "--rate", "1 mbar l/s")["results"]
    assert value(gone, "empty_in") == pytest.approx(
        (full - PropsSI("D", "P", ATMOSPHERE_PA, "T", 293.15, "Nitrogen"))
        * 0.5e-3 / (0.1 * 0.02801348 / (8.314462618 * 293.15)) / 86400, rel=1e-3,
    )  # fmt: skip


def test_gas_decay_and_leak_see_the_same_loss() -> None:
    """What is left of the drop at the first temperature, by CoolProp."""
    found = calc("gas-decay", "--start", "100 bara", "--at", "21 C", "--end", "99.2 bara",
                 "--end-at", "20 C")["results"]  # fmt: skip
    density = PropsSI("D", "P", 99.2e5, "T", 293.15, "Nitrogen")
    brought = PropsSI("P", "D", density, "T", 294.15, "Nitrogen") / 1e5
    assert value(found, "by_leak") == pytest.approx(100.0 - brought, abs=1e-4)
    assert value(found, "by_cooling") == pytest.approx(brought - 99.2, abs=1e-4)
    assert value(found, "by_leak_ideal") == pytest.approx(100.0 - 99.2 * 294.15 / 293.15)


# charges and torque


def test_the_over_set_is_the_median_of_enough_losses() -> None:
    """Median of 1.8, 2.0, 2.1, 2.2, 2.4 is 2.1, the middle half 2.0 to 2.2."""
    losses = [w for each in ("2.1", "1.8", "2.4", "2.0", "2.2") for w in ("--loss", f"{each} bar")]
    found = calc("over-set", *losses, "--target", "83.1 barg")["results"]
    assert value(found, "over_set") == pytest.approx(2.1)
    assert value(found, "spread") == pytest.approx(0.2)
    assert found["regulator"]["unit"] == "barg"
    assert value(found, "regulator") == pytest.approx(85.2)
    few = calc("over-set", *losses[:6], "--default", "3 bar")["results"]
    assert value(few, "over_set") == pytest.approx(3.0)
    assert few["known_from"]["value"] == "the shop's default"


def test_a_pressure_in_every_unit() -> None:
    """14.5038 psi in a bar, 0.0980665 MPa in a kgf/cm² (NIST SP 811); 845.56 mbar at 1500 m
    (ISO 2533)."""
    found = calc("pressure-units", "--pressure", "100 barg", "--altitude", "1500 m")["results"]
    assert value(found, "psi_gauge") == pytest.approx(1450.3774, rel=1e-6)
    assert value(found, "bar_absolute") == pytest.approx(100.84556, abs=1e-4)
    assert value(found, "kgf_cm2_gauge") == pytest.approx(10.0 / 0.0980665, rel=1e-9)
    assert value(found, "mpa_absolute") == pytest.approx(10.084556, abs=1e-5)


@pytest.mark.parametrize(
    ("reading", "target", "said"),
    [
        ("30 ft-lb", "30 in-lb", "taken as ft-lb, its number fits in-lb"),
        ("30 in-lb", "30 ft-lb", "taken as in-lb, its number fits ft-lb"),
        ("55 N·m", "55 ft-lb", "taken as N·m, its number fits ft-lb"),
        ("20 N·m", "55 N·m", "no unit's factor"),
        ("55.5 N·m", "55 N·m", "within the tolerance"),
    ],
)
def test_a_slip_is_told_from_a_miss(reading: str, target: str, said: str) -> None:
    words = ("--reading", reading, "--target", target, "--tolerance", "2 N·m")
    assert calc("torque-slip", *words)["results"]["slip"]["value"] == said


def test_a_tool_asked_outside_its_range() -> None:
    found = calc("torque-tool", "--largest", "100 N·m", "--setting", "18 N·m")
    assert found["results"]["setting_verdict"]["value"] == "outside"
    assert "setting_within" not in found["results"]
    assert any("take another" in each for each in found["cautions"])


# both ways, and what lies beside


def test_drops_and_flow_undo_each_other() -> None:
    words = ("--in", "5 min", "--size", "0.05 mL")
    drops = calc("drops", *words, "--flow", "0.5 mL/min")["results"]["drops"]["value"]
    assert drops == pytest.approx(50.0)
    assert calc("drops", *words, "--drops", f"{drops}")["results"]["flow"]["value"] == 0.5


def test_the_scale_is_the_age_at_which_e_to_minus_one_still_run() -> None:
    """The Weibull distribution's own definition of its scale."""
    words = ("--failed", "410 620 655 880", "--running", "500 900 950")
    scale = calc("life", *words)["results"]["scale"]["value"]
    found = calc("life", *words, "--age", f"{scale}")["results"]
    assert value(found, "still_running") == pytest.approx(100 * math.exp(-1), rel=1e-6)


def test_a_point_that_is_kept_has_its_service_and_its_share_met() -> None:
    """P(D <= 6) = 95.5381 % at 3.2 (worked example H7); the shortage summed by hand below."""
    found = calc("order-point", "--model", "poisson", "--lead-demand", "3.2", "--kept", "6",
                 "--quantity", "10")["results"]  # fmt: skip
    short = sum((k - 6) * math.exp(-3.2) * 3.2**k / math.factorial(k) for k in range(7, 60))
    assert value(found, "service") == pytest.approx(95.5381, abs=1e-4)
    assert value(found, "expected_shortage") == pytest.approx(short, rel=1e-9)
    assert value(found, "fill_rate") == pytest.approx(100 * (1 - short / 10), rel=1e-9)


def test_demand_in_lots_is_as_lumpy_as_their_mean_and_variance() -> None:
    """Compound Poisson: λ m = 12, λ (m² + s²) = 60."""
    lots = calc("order-point", "--model", "lumpy", "--lots", "3", "--lot-size", "4", "--lot-sigma",
                "2")["results"]  # fmt: skip
    plain = calc("order-point", "--model", "lumpy", "--lead-demand", "12", "--sigma",
                 f"{math.sqrt(60.0)}")["results"]  # fmt: skip
    assert lots["order_point"] == plain["order_point"]


def test_abc_puts_the_part_that_crosses_in_a() -> None:
    """4200 of 8000 is 52.5 %: the second part starts below 80 % and is A still."""
    found = calc("abc", "--value", "P-1=4200", "--value", "P-2=2600", "--value", "P-3=900",
                 "--value", "P-4=240", "--value", "P-5=60")["results"]  # fmt: skip
    assert [found[each]["value"] for each in "abc"] == ["P-1, P-2", "P-3", "P-4, P-5"]
    assert value(found, "a_share") == pytest.approx(85.0)


def test_a_share_has_its_exact_bounds() -> None:
    """Clopper and Pearson for 0 of 10 at 95 %: high = 1 - 0.025^(1/10), by hand."""
    found = calc("share", "--count", "0", "--of", "10")["results"]
    assert value(found, "low") == 0.0
    assert value(found, "high") == pytest.approx(100 * (1 - 0.025 ** (1 / 10)), rel=1e-9)


def test_figures_too_long_for_five_digits_are_written_out() -> None:
    found = run_calculation("order-quantity", {
        "demand": "100000", "order-cost": "5000000", "holding-cost": "0.5",
    })  # fmt: skip
    assert found.results["order_quantity"].as_text == "1414214 pcs"
    assert "e+" not in run("calc", "leak-units", "--rate", "1 Pa m3/s").stdout
