"""What ``shopdesk calc`` shows, and how it takes pressures, files and repeated readings."""

import json
import subprocess
import textwrap
from pathlib import Path

import pytest

from shopdesk.calc.charge import site_atmosphere
from shopdesk.desk.calculator import CALCULATIONS, Calculation, Incomplete, Kind
from shopdesk.errors import BadInput

from .shell import calc, run

PROMISED = (
    "charge", "density", "fill", "rig-loss", "leak", "torque", "preload", "spring", "oring",
    "shelf-life", "bore", "cleanliness", "order-point", "order-quantity", "flow-time", "life",
)  # fmt: skip
NAMES = tuple(CALCULATIONS)
A1 = ("--at", "40 C", "--gas", "20 C")


def test_alone_it_lists_every_calculation() -> None:
    result = run("calc")
    assert result.exit_code == 0
    assert set(PROMISED) <= set(CALCULATIONS)
    listed = [line.split()[0] for line in result.stdout.splitlines() if line[:3].strip()]
    assert [name for name in CALCULATIONS if name in listed] == list(CALCULATIONS)


@pytest.mark.parametrize("name", NAMES)
def test_help_shows_an_example_that_is_true(name: str) -> None:
    shown = run("calc", name, "--help").stdout
    assert f"$ shopdesk calc {name} " in shown
    assert max(map(len, shown.splitlines())) <= 80
    for result in CALCULATIONS[name].run(CALCULATIONS[name].example).results.values():
        assert result.as_text in shown
    for field in CALCULATIONS[name].inputs:
        assert f"--{field.name} " in shown or f"{field.metavar}" in shown


@pytest.mark.parametrize("name", [name for name in NAMES if name != "bore"])
def test_the_example_is_what_a_shell_takes(name: str) -> None:
    """As it stands, lines and quotes: copied from the help, it prints what the help prints."""
    shown = textwrap.dedent(run("calc", name, "--help").stdout.partition("Example:\n\n")[2])
    lines = shown.splitlines()
    last = next(n for n, line in enumerate(lines) if not line.endswith(" \\"))
    command = "\n".join(lines[: last + 1]).removeprefix("$ ")
    shell = ["sh", "-c", f"shopdesk() {{ printf '%s\\0' \"$@\"; }}\n{command}"]
    taken = subprocess.run(shell, capture_output=True, text=True, check=True).stdout
    words = taken.removesuffix("\0").split("\0")
    assert run(*words).stdout.split() == " ".join(lines[last + 1 :]).split()


@pytest.mark.parametrize("name", NAMES)
def test_every_outcome_has_its_sum_and_its_source(name: str) -> None:
    found = CALCULATIONS[name].run(CALCULATIONS[name].example)
    assert found.results
    assert found.sum_text
    assert found.source
    assert set(CALCULATIONS[name].example) <= set(found.inputs)


def test_for_people_results_come_first_then_sum_source_and_caution() -> None:
    shown = run("calc", "charge", "--target", "90 bar", *A1).stdout.splitlines()
    assert shown[0] == "set_pressure        83.1 bar gauge"
    assert shown[1] == "set_pressure_ideal  84.2 bar gauge"
    heads = [line.split(":")[0] for line in shown if line.split(":")[0].isalpha()]
    assert heads == ["Sum", "Source", "Caution", "Caution"]
    assert max(map(len, shown)) <= 80


def test_json_is_one_object_of_values_units_and_texts() -> None:
    result = run("calc", "charge", "--target", "90 bar", *A1, "--json")
    found = json.loads(result.stdout)
    assert found["inputs"]["target"] == {"value": 90.0, "unit": "bar", "as_text": "90 bar"}
    set_to = found["results"]["set_pressure"]
    assert (set_to["unit"], set_to["as_text"]) == ("bar", "83.1 bar gauge")
    assert isinstance(set_to["value"], float)
    assert isinstance(found["source"], str)
    assert all(isinstance(each, str) for each in found["cautions"])


@pytest.mark.parametrize(
    ("target", "text"),
    [
        ("90 bar", "83.1 bar gauge"),
        ("90 barg", "83.1 barg"),
        ("91.01325 bara", "84.15 bara"),
        ("9 MPa", "8.31 MPa gauge"),
        ("1305.34 psi", "1206 psi gauge"),
        ("1320.03 psia", "1220.4 psia"),
    ],
)
def test_a_pressure_keeps_the_unit_and_reference_it_came_in(target: str, text: str) -> None:
    """One charge (worked example A1) written six ways."""
    found = calc("charge", "--target", target, *A1)
    assert found["results"]["set_pressure"]["as_text"] == text
    assert found["results"]["set_pressure"]["unit"] == target.split()[1]
    said_gauge = any("is gauge here" in each for each in found["cautions"])
    assert said_gauge == ("gauge" in text)


def test_the_sites_atmosphere_counts() -> None:
    """The same gauge reading is less gas where the air is thin: 843 mbar at 5000 ft (ISO 2533)."""
    low = calc("density", "--pressure", "1 bar", "--temperature", "20 C")
    high = calc("density", "--pressure", "1 bar", "--temperature", "20 C", "--altitude", "5000 ft")
    named = calc(
        "density", "--pressure", "1 bar", "--temperature", "20 C",
        "--atmosphere", f"{site_atmosphere(1524.0) / 100:.9f} mbar",
    )  # fmt: skip
    ratio = high["results"]["density"]["value"] / low["results"]["density"]["value"]
    assert ratio == pytest.approx((100000 + site_atmosphere(1524.0)) / 201325, rel=1e-4)
    assert named["results"]["density"]["value"] == pytest.approx(
        high["results"]["density"]["value"], rel=1e-9
    )


@pytest.mark.parametrize("text", ["1013.25 mbar", "1013.25 mbara", "101.325 kPa", "14.6959 psia"])
def test_the_atmosphere_is_absolute_however_it_is_written(text: str) -> None:
    plain = calc("charge", "--target", "90 bar", *A1)
    named = calc("charge", "--target", "90 bar", *A1, "--atmosphere", text)
    assert named["results"]["set_pressure"]["value"] == pytest.approx(
        plain["results"]["set_pressure"]["value"], abs=1e-4
    )


def test_an_absolute_pressure_asks_for_no_atmosphere() -> None:
    plain = calc("charge", "--target", "91 bara", *A1)
    thin = calc("charge", "--target", "91 bara", *A1, "--altitude", "3000 m")
    assert thin["results"]["set_pressure"]["value"] == pytest.approx(
        plain["results"]["set_pressure"]["value"], rel=1e-12
    )


def test_rig_loss_is_undone_by_what_the_rig_reads() -> None:
    words = ("--volume", "500 mL", "--rig", "15 mL", "--at", "20 C", "--checks", "3")
    after = calc("rig-loss", *words, "--pressure", "100 barg")["results"]["pressure_after"]
    reads = f"{after['value']} barg"
    before = calc("rig-loss", *words, "--reads", reads)["results"]["pressure_before"]
    assert before["value"] == pytest.approx(100.0, abs=1e-6)
    assert before["unit"] == "barg"


def leak(*readings: str, volume: str = "120 mL") -> dict[str, dict[str, object]]:
    words = [word for each in readings for word in ("--reading", each)]
    found: dict[str, dict[str, object]] = calc("leak", "--volume", volume, *words)["results"]
    return found


def test_a_leak_within_its_uncertainty_is_none_shown() -> None:
    held = leak("0 h=100.0 bara@20.0 C", "24 h=99.95 bara@20.0 C")
    assert held["verdict"] == {"value": "no leak shown", "unit": "", "as_text": "no leak shown"}


def test_readings_may_carry_their_date_and_come_in_any_order() -> None:
    since = leak("0 h=100.0 bara@21 C", "12 h=99.6 bara@20.5 C", "24 h=99.2 bara@20 C")
    dated = leak(
        "2026-03-15T08:00=99.2 bara@20 C",
        "2026-03-14T08:00=100.0 bara@21 C",
        "2026-03-14 20:00=99.6 bara@20.5 C",
    )
    assert dated == since


def test_a_time_without_a_unit_is_hours_and_it_is_said() -> None:
    words = ("--reading", "0=100 bara@21 C", "--reading", "24=99.2 bara@20 C")
    found = calc("leak", "--volume", "120 mL", *words)
    assert found["results"] == leak("0 h=100 bara@21 C", "24 h=99.2 bara@20 C")
    assert "Times without a unit were taken as hours." in found["cautions"]


def test_a_finer_gauge_is_surer() -> None:
    words = ("--volume", "1 L", "--reading", "0 h=100 bar@20 C", "--reading", "24 h=99 bar@20 C")
    coarse = calc("leak", *words, "--gauge-resolution", "10 psi")["results"]["uncertainty"]
    fine = calc("leak", *words, "--gauge-resolution", "0.1 psi")["results"]["uncertainty"]
    assert fine["value"] < coarse["value"]


def test_torque_results_are_newton_metres() -> None:
    found = calc("torque", "--target", "20 ft-lb", "--length", "12 in", "--adapter", "3 in")
    assert found["results"]["setting"]["unit"] == "N·m"
    assert found["results"]["setting"]["as_text"] == "21.7 N·m (16.0 ft-lb)"


@pytest.mark.parametrize("share", ["60", "60 %", "60%", "60 percent", "60 per cent", "60pct"])
def test_a_share_is_percent_however_it_is_written(share: str) -> None:
    words = ("--thread", "7/16-20", "--grade", "8", "--friction", "0.15", "--share", share)
    assert calc("preload", *words)["results"]["share_of_proof"]["as_text"] == "60.00 %"


def test_a_torque_gives_back_the_share_it_came_from() -> None:
    words = ("--thread", "7/16-20", "--grade", "8", "--friction", "0.15")
    torque = calc("preload", *words, "--share", "60")["results"]["torque"]
    back = calc("preload", *words, "--torque", f"{torque['value']} Nm")["results"]
    assert back["share_of_proof"]["value"] == pytest.approx(60.0, abs=1e-6)


@pytest.mark.parametrize(
    "words",
    [
        ("--gland", "rod", "--groove", "1.250 in", "--rod", "1.000 in"),
        ("--gland", "face", "--groove", "1.262 in", "--depth", "0.107 in"),
        ("--gland", "face", "--inside", "0.990 in", "--depth", "0.107 in"),
    ],
)
def test_every_gland_has_its_squeeze_and_fill(words: tuple[str, ...]) -> None:
    found = calc("oring", "--dash", "214", "--width", "0.187 in", *words)["results"]
    assert 5.0 < found["squeeze"]["value"] < 35.0
    assert 50.0 < found["fill"]["value"] < 95.0


def test_a_standard_without_an_extension_says_so() -> None:
    words = ("--compound", "NBR", "--cured", "4Q2017", "--standard", "ARP5316")
    found = calc("shelf-life", *words)["results"]
    assert found["use_by_extended"]["value"] == "no extension"


def test_a_survey_is_read_from_its_file(tmp_path: Path) -> None:
    """Worked example E1; semicolons and decimal commas are how some spreadsheets save it."""
    survey = tmp_path / "bore.csv"
    survey.write_text(
        "\ufeffDepth;0;90\r\n20;40,012;40,018\r\n60;40,010;40,013\r\n110;40,006;40,008\r\n",
        encoding="utf-8",
    )
    found = calc("bore", str(survey), "--nominal", "40 mm")
    assert found["inputs"]["file"]["value"] == str(survey)
    taken = {name: value["value"] for name, value in found["results"].items()}
    assert taken["out_of_round"] == pytest.approx(0.006, abs=1e-9)
    assert taken["taper"] == pytest.approx(0.010, abs=1e-9)
    assert taken["wear"] == pytest.approx(0.018, abs=1e-9)
    assert taken["mean"] == pytest.approx(240.067 / 6, abs=1e-9)


def test_the_cells_have_the_nominals_unit() -> None:
    text = "depth,0,90\n1,1.0005,1.0010\n2,1.0002,1.0004\n"
    found = calc("bore", "-", "--nominal", "1 in", "--piston", "0.998 in", text=text)["results"]
    assert (found["taper"]["unit"], found["taper"]["value"]) == ("in", pytest.approx(0.0006))
    assert found["clearance_smallest"]["value"] == pytest.approx(0.0022)


def test_counts_may_be_for_a_volume_and_written_with_strokes() -> None:
    """185000 per 100 ml is scale number 18 (worked example G1)."""
    found = calc("cleanliness", "--counts", "185000/90000/4000", "--per", "100 mL")
    assert found["results"]["code"]["value"].startswith("18/")


def test_price_breaks_are_compared() -> None:
    """All-units discount; figures computed by hand: 700 at the base price, 1000 at the break."""
    found = calc(
        "order-quantity", "--demand", "5000", "--order-cost", "49", "--holding-share", "20 %",
        "--break", "0=5.00", "--break", "1000=4.80", "--break", "2000=4.75",
    )  # fmt: skip
    assert found["results"]["order_quantity"]["value"] == 1000
    assert found["results"]["annual_cost"]["value"] == pytest.approx(24725.0)


def test_lumpy_demand_orders_earlier_than_a_steady_mean() -> None:
    lumpy = calc("order-point", "--model", "lumpy", "--lead-demand", "3.2", "--sigma", "4")
    even = calc("order-point", "--model", "poisson", "--lead-demand", "3.2")
    assert lumpy["results"]["order_point"]["value"] > even["results"]["order_point"]["value"]


def field_of(calculation: Calculation, kind: Kind) -> str:
    return next(field.name for field in calculation.inputs if field.kind is kind)


def test_a_form_names_the_fields_still_empty() -> None:
    charge = CALCULATIONS["charge"]
    with pytest.raises(Incomplete) as refused:
        charge.run({"target": "90 bar", "gas": "  "})
    assert refused.value.missing == ("at", "gas")
    assert field_of(charge, Kind.PRESSURE) == "target"


def test_a_form_knows_its_fields() -> None:
    with pytest.raises(BadInput, match="its fields are target, at, gas"):
        CALCULATIONS["charge"].run({"tarket": "90 bar"})


def test_a_reading_at_reference_undoes_the_set_pressure() -> None:
    set_to = calc("charge", "--target", "90 barg", *A1)["results"]["set_pressure"]["value"]
    words = ("--pressure", f"{set_to} barg", "--gas", "20 C", "--at", "40 C")
    found = calc("reference", *words)["results"]["pressure_at"]
    assert (found["unit"], found["value"]) == ("barg", pytest.approx(90.0, abs=1e-6))


def test_the_fill_after_the_last_falls_short() -> None:
    words = ("--supply", "200 bar", "--at", "20 C", "--volume", "2.5 L", "--target", "90 bar")
    found = calc("bottle", "--bottle", "50 L", *words)["results"]
    assert found["bottle_after"]["value"] >= 90.0 > found["short_fill_pressure"]["value"]
    assert found["fills_left"]["value"] == int(found["fills_left"]["value"]) > 0


def test_a_service_leak_is_per_month_and_gives_an_interval() -> None:
    """One year, one temperature: 12 bar lost are 1 bar a month; 20 bar to lose last 608 days."""
    words = (
        "--shipped", "90 bara", "--shipped-gas", "20 C", "--shipped-on", "2025-01-01",
        "--arrived", "78 bara", "--arrived-gas", "20 C", "--arrived-on", "2026-01-01",
        "--at", "20 C", "--minimum", "70 bara",
    )  # fmt: skip
    found = calc("service-leak", *words)["results"]
    assert found["loss"] == {"value": pytest.approx(12.0), "unit": "bar", "as_text": "12.0 bar"}
    assert found["loss_per_month"]["value"] == pytest.approx(12.0 * 365.25 / 12 / 365, rel=1e-9)
    assert (found["interval"]["value"], found["interval"]["unit"]) == (608.0, "d")


def test_a_restored_depth_is_worth_its_pressure() -> None:
    """0.10 mm deeper on 12 N/mm and 6 mm is 0.424 bar (worked example C3)."""
    words = ("--reading", "7.40 mm", "--reading", "7.40 mm", "--restored", "7.50 mm")
    found = calc("depth", *words, "--rate", "12 N/mm", "--seat", "6 mm")
    assert found["results"]["pressure_shift"]["value"] == pytest.approx(0.424413, abs=1e-5)
    assert "claim to be exact" in found["cautions"][0]


def test_a_measured_ring_finds_its_size() -> None:
    found = calc("ring-size", "--inside", "0.986 in", "--section", "0.140 in")["results"]
    assert (found["dash"]["value"], found["fit"]["value"]) == ("-214", "within its tolerance")


def test_drops_have_the_size_that_is_stated() -> None:
    found = calc("drops", "--drops", "20", "--in", "1 min", "--size", "0.05 mL")["results"]
    assert found["flow"] == {"value": 1.0, "unit": "mL/min", "as_text": "1.0 mL/min"}


def test_the_judged_bench_tests_give_what_their_definitions_say() -> None:
    """Definitions worked out here; ratio and minimum against lines chosen beforehand."""
    decay = calc("decay", "--start", "250 bar", "--at", "31 C", "--end", "246 bar", "--end-at",
                 "30.7 C", "--in", "10 min", "--volume", "0.5 L", "--bulk-modulus", "1.4 GPa",
                 "--expansion", "7.36")  # fmt: skip
    assert decay["results"]["by_cooling"]["value"] == pytest.approx(1.4e4 * 7.0e-4 * 0.3, rel=1e-9)
    ratio = calc("pilot-ratio", "--load", "50 bar; 100 bar; 200 bar", "--pilot",
                 "20 bar; 30 bar; 50 bar")  # fmt: skip
    assert ratio["results"]["ratio"]["value"] == pytest.approx(5.0, rel=1e-9)
    assert ratio["results"]["no_load"]["value"] == pytest.approx(10.0, rel=1e-9)
    readings = "2026-01-01T00:00=100 bar@20 C; 2026-01-11T00:00=99 bar@20 C"
    due = calc("minimum-date", "--reading", readings, "--minimum", "94.95 bar", "--at", "20 C")
    assert due["results"]["minimum_on"]["value"] == "2026-02-20"  # 4.05 bar at 0.1 a day
