"""The worked examples through ``shopdesk calc ... --json``, each with its source in the table."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

import pytest

from tests.calc.lives import AUTOMOTIVE_FAILED, AUTOMOTIVE_RUNNING, BEARINGS
from tests.calc.worked import Row, rows

from .shell import calc

Key = tuple[str, str, int]


@dataclass(frozen=True)
class Case:
    """``unit`` is the one the result must carry, ``scale`` brings it to the table's."""

    words: tuple[str, ...]
    result: str
    unit: str
    scale: float = 1.0
    text: str | None = None


def case(words: str | Sequence[str], result: str, unit: str, scale: float = 1.0) -> Case:
    """The words of a command line, split at double spaces where quantities hold single ones."""
    split = words.split("  ") if isinstance(words, str) else words
    return Case(tuple(split), result, unit, scale)


def a3(gas: str) -> str:
    return f"charge  --target  200 bara  --at  20 C  --gas  {gas}"


def a4(gas: str) -> str:
    return f"charge  --target  1500 psig  --at  70 F  --gas  {gas}"


A1 = "charge  --target  90 barg  --at  40 C  --gas  20 C"
A8 = (
    "fill  --start  1.01325 bara  --at  293.15 K  --to  100 bara  --supply  150 bara  "
    "--supply-at  20 C"
)
A9 = A8.replace("1.01325 bara", "80 bara")
A10 = "rig-loss  --volume  500 mL  --rig  15 mL  --pressure  100 bara  --at  20 C"
A11 = "room  --volume  10 L  --pressure  200 bara  --at  20 C  --room  30 m3"
A10_SMALL = A10.replace("500 mL", "20 mL").replace("15 mL", "5 mL")

GAS = {
    ("A1", "ideal p(20 C)", 1): case(A1, "set_pressure_ideal", "barg"),
    ("A1", "real p(20 C)", 1): case(A1, "set_pressure", "barg"),
    ("A3", "ideal 60 C", 1): case(a3("60 C"), "set_pressure_ideal", "bara"),
    ("A3", "real 60 C", 1): case(a3("60 C"), "set_pressure", "bara"),
    ("A3", "ideal 0 C", 1): case(a3("0 C"), "set_pressure_ideal", "bara"),
    ("A3", "real 0 C", 1): case(a3("0 C"), "set_pressure", "bara"),
    ("A4", "ideal 140 F", 1): case(a4("140F"), "set_pressure_ideal", "psig"),
    ("A4", "real 140 F", 1): case(a4("140F"), "set_pressure", "psig"),
    ("A4", "ideal 0 F", 1): case(a4("0F"), "set_pressure_ideal", "psig"),
    ("A4", "real 0 F", 1): case(a4("0F"), "set_pressure", "psig"),
    ("A8", "ideal T2", 1): case(A8, "filled_temperature_ideal", "K"),
    ("A8", "ideal settled", 1): case(A8, "settled_pressure_ideal", "bara"),
    ("A8", "real T2", 1): case(A8, "filled_temperature", "K"),
    ("A8", "real settled", 1): case(A8, "settled_pressure", "bara"),
    ("A9", "ideal settled", 1): case(A9, "settled_pressure_ideal", "bara"),
    ("A9", "real settled", 1): case(A9, "settled_pressure", "bara"),
    ("A10", "500 ml, 15 ml, 1 check ideal", 1): case(A10, "pressure_after_ideal", "bara"),
    ("A10", "same real", 1): case(A10, "pressure_after", "bara"),
    ("A10", "3 checks ideal", 1): case(f"{A10}  --checks  3", "pressure_after_ideal", "bara"),
    ("A10", "3 checks real", 1): case(f"{A10}  --checks  3", "pressure_after", "bara"),
    ("A10", "20 ml, 5 ml, 1 check ideal", 1): case(A10_SMALL, "pressure_after_ideal", "bara"),
    ("A10", "same real", 2): case(A10_SMALL, "pressure_after", "bara"),
    ("A11", "mass", 1): case(
        "density  --pressure  200 bara  --temperature  20 C  --volume  10 L", "mass", "kg"
    ),
    ("A11", "free gas", 1): case(A11, "free_gas", "m³"),
    ("A11", "O2 mixed", 1): case(A11, "oxygen_mixed", "%"),
    ("A11", "O2 displaced", 1): case(A11, "oxygen_displaced", "%"),
}  # fmt: skip

IN_LBF, FT_LBF, LBF = 0.1129848290276167, 1.3558179483314004, 4.4482216152605
"""N·m and N. Source: NIST SP 811."""


def set_to(target: str, length: str, adapter: str, angle: str = "0 deg") -> str:
    return f"torque  --target  {target}  --length  {length}  --adapter  {adapter}  --angle  {angle}"


def bolt(thread: str, grade: str, friction: str = "0.20") -> str:
    return f"preload  --thread  {thread}  --grade  {grade}  --share  75  --friction  {friction}"


def torque_of(words: str, unit_nm: float = 1.0) -> Case:
    return case(words, "torque", "N·m", 1 / unit_nm)


def load_of(words: str, unit_n: float) -> Case:
    return case(words, "preload", "N", 1 / unit_n)


def setting(words: str, unit_nm: float = 1.0) -> Case:
    return case(words, "setting", "N·m", 1 / unit_nm)


B11 = "torque-tool  --largest  100 N·m"

TORQUE = {
    ("B1", "longer", 1): setting(set_to("135 in-lb", "10 in", "1.5 in"), IN_LBF),
    ("B1", "shorter", 1): setting(set_to("135 in-lb", "10 in", "1 1/2 in", "180°"), IN_LBF),
    ("B3", "L 12", 1): setting(set_to("20 ft-lb", "12 in", "3 in"), FT_LBF),
    ("B3", "L 14", 1): setting(set_to("20 ft-lb", "14 in", "3 in"), FT_LBF),
    ("B4", "0 deg", 1): setting(set_to("50 Nm", "300 mm", "60 mm")),
    ("B4", "45 deg", 1): setting(set_to("50 Nm", "300 mm", "60 mm", "45")),
    ("B4", "90 deg", 1): setting(set_to("50 Nm", "300 mm", "6 cm", "90")),
    ("B4", "180 deg", 1): setting(set_to("50 Nm", "0.3 m", "60 mm", "180")),
    ("B2", "TA", 1): torque_of(
        "joint-torque  --setting  60 in-lb  --length  12 in  --adapter  2 in", IN_LBF
    ),
    ("B5", "1 in-lbf", 1): case("torque-units  --torque  1 in-lb", "newton_metre", "N·m"),
    ("B5", "1 ft-lbf", 1): case("torque-units  --torque  1 ft-lb", "newton_metre", "N·m"),
    ("B5", "1 ozf-in", 1): case("torque-units  --torque  1 in-oz", "newton_metre", "N·m"),
    ("B5", "1 kgf-cm", 1): case("torque-units  --torque  1 kgf·cm", "newton_metre", "N·m"),
    ("B5", "1 bar", 1): case("pressure-units  --pressure  1 barg", "psi_gauge", "psig"),
    ("B5", "1 ft-lbf", 2): case("torque-units  --torque  1 ft-lb", "inch_pound", "in-lb"),
    ("B6", "grade 5 F", 1): load_of(bolt("1/2-13", "5"), LBF),
    ("B6", "grade 5 T", 1): torque_of(bolt("1/2-13", "5"), FT_LBF),
    ("B6", "grade 5 T, K 0.15", 1): torque_of(bolt("1/2-13", "5", "0.15"), FT_LBF),
    ("B6", "grade 8 F", 1): load_of(bolt("1/2-13", "8"), LBF),
    ("B6", "grade 8 T", 1): torque_of(bolt("1/2-13", "8"), FT_LBF),
    ("B6", "A574 T", 1): torque_of(bolt("1/2-13", "A574"), FT_LBF),
    ("B7", "1/4-20 gr 5", 1): torque_of(bolt("1/4-20", "5"), IN_LBF),
    ("B7", "1/4-20 gr 8 F", 1): load_of(bolt("1/4-20", "8"), LBF),
    ("B7", "3/8-16 gr 5", 1): torque_of(bolt("3/8-16", "5"), FT_LBF),
    ("B7", "3/8-16 gr 8", 1): torque_of(bolt("3/8-16", "8"), FT_LBF),
    ("B7", "3/8-16 gr 2 F", 1): load_of(bolt("3/8-16", "2"), LBF),
    ("B8", "M8 F", 1): load_of(bolt("M8", "8.8"), 1e3),
    ("B8", "M8 T", 1): torque_of(bolt("M8", "8.8")),
    ("B8", "M10 T", 1): torque_of(bolt("M10x1.5", "10.9")),
    ("B8", "M12 T", 1): torque_of(bolt("M12", "12.9")),
    ("B10", "1/4-20", 1): case(bolt("1/4-20", "5"), "stress_area", "mm²", 1 / 645.16),
    ("B10", "1/2-13", 1): case(bolt("1/2-13", "5"), "stress_area", "mm²", 1 / 645.16),
    ("B10", "M8", 1): case(bolt("M8", "8.8"), "stress_area", "mm²"),
    ("B10", "M10", 1): case(bolt("M10", "8.8"), "stress_area", "mm²"),
    ("B11", "lowest usable", 1): case(B11, "usable_from", "N·m"),
    ("B11", "limit at 60 N m (4 %)", 1): case(B11, "check_2_within", "N·m"),
    ("B11", "limit at 8 N m on a 10 N m tool (6 %)", 1): case(
        "torque-tool  --largest  10 N·m  --setting  8 N·m", "setting_within", "N·m"
    ),
    ("B11", "due: calibrated 2025-03-14, 1000 cycles/month", 1): case(
        "recalibration  --checked  2025-03-14  --a-month  1000", "due", ""
    ),
    ("B11", "due: calibrated 2024-02-29, 50 cycles/month", 1): case(
        "recalibration  --checked  2024-02-29  --a-month  50", "due", ""
    ),
}

LBF_IN = LBF / 0.0254
C1 = (
    "spring  --wire  0.037 in  --outside  0.437 in  --active  10.5  --total  12.5  "
    "--shear-modulus  11.85 Mpsi"
)
"""The book rounds 7/16 - 0.037 in to a mean diameter of 0.400, so 0.437 in outside."""
C2 = (
    "spring  --wire  4 mm  --outside  30 mm  --active  9  --total  11  --ends  squared ground  "
    "--shear-modulus  79.3 GPa"
)
C3 = "spring  --rate  12 N/mm  --seat  6.0 mm  --preload-length  7.5 mm"

C4 = "pilot  --load  200 barg  --piston  20 mm  --seat  10 mm  --spring  8 N"

SPRINGS = {
    ("C1", "k", 1): case(C1, "rate", "N/mm", 1e3 / LBF_IN),
    ("C1", "spring index", 1): case(C1, "index", ""),
    ("C1", "solid length (Nt+1)d", 1): case(C1, "solid_length", "in"),
    ("C2", "k", 1): case(C2, "rate", "N/mm"),
    ("C3", "p crack", 1): case(C3, "cracking_pressure", "bar"),
    ("C3", "with 5 bar back pressure on the spring side", 1): case(
        f"{C3}  --back-pressure  5 bar", "cracking_pressure", "bar"
    ),
    ("C3", "per 0.10 mm shim", 1): case(f"{C3}  --shim  0.10 mm", "pressure_change", "bar"),
    ("C4", "ratio", 1): case(C4, "ratio", ""),
    ("C4", "p pilot", 1): case(C4, "pilot_pressure", "barg"),
    ("C3", "shim for +10 bar", 1): case(f"{C3}  --change  10 bar", "depth_change", "mm"),
}

D3 = (
    "oring  --dash  -214  --gland  piston  --groove  1.010 in  --bore  1.238 in  --width  0.1895 in"
)


def shelf(compound: str, standard: str, result: str = "use_by") -> Case:
    return case(
        f"shelf-life  --compound  {compound}  --cured  2Q2019  --standard  {standard}", result, ""
    )


DEPTHS_IN = {
    (".070", "static"): ("0.050", "0.052"),
    (".103", "static"): ("0.081", "0.083"),
    (".139", "static"): ("0.111", "0.113"),
    (".210", "static"): ("0.170", "0.173"),
    (".275", "static"): ("0.226", "0.229"),
    (".103", "dynamic"): ("0.088", "0.090"),
    (".210", "dynamic"): ("0.185", "0.188"),
}
DASH_OF_SECTION = {".070": "010", ".103": "110", ".139": "210", ".210": "325", ".275": "425"}
D2 = (
    "gland  --gland  piston  --dash  -214  --depth  0.111 in  --depth  0.113 in  --width  0.187 in"
    "  --width  0.192 in"
)


def d1() -> dict[Key, Case]:
    """Squeeze over the tolerances of the charts' glands."""
    return {
        ("D1", f"{section} {use} {end}", 1): case(
            f"gland  --gland  piston  --dash  {DASH_OF_SECTION[section]}  --depth  {low} in  "
            f"--depth  {high} in",
            f"squeeze_{name}",
            "%",
        )
        for (section, use), (low, high) in DEPTHS_IN.items()
        for end, name in (("min", "least"), ("max", "most"))
    }


SEALS = d1() | {
    ("D2", "nominal", 1): case(
        "gland  --gland  piston  --section  0.139 in  --depth  0.112 in  --width  0.1895 in",
        "fill_most",
        "%",
    ),
    ("D2", "worst high", 1): case(D2, "fill_most", "%"),
    ("D2", "worst low", 1): case(D2, "fill_least", "%"),
    ("D3", "(i) loss", 1): case(D3, "section_loss", "%"),
    ("D3", "(iii) loss", 1): case(D3, "handbook_section_loss", "%"),
    ("D3", "stretch", 1): case(D3, "stretch", "%"),
    ("D3", "(i) W'", 1): case(D3, "section", "in"),
    ("D5", "ID", 1): case("ring-size  --dash  AS568-429", "inside", "in"),
    ("D5", "OD", 1): case("ring-size  --dash  AS568-429", "outside", "in"),
    ("D5", "W", 1): case("ring-size  --dash  AS568-429", "section", "in"),
    ("D6", "NBR, ARP5316 15 yr", 1): shelf("NBR", "ARP5316"),
    ("D6", "NBR, ISO 2230 7 yr", 1): shelf("NBR", "ISO 2230"),
    ("D6", "NBR, ISO 2230 7+3 yr", 1): shelf("NBR", "ISO 2230", "use_by_extended"),
    ("D6", "AU, ARP5316 5 yr", 1): shelf("AU", "ARP5316"),
    ("D6", "FKM, ARP5316", 1): shelf("FKM", "ARP5316"),
    ("D6", "FKM, ISO 2230 10 yr", 1): shelf("FKM", "ISO 2230"),
}

E1_CSV = "depth,0,90\n10,40.012,40.018\n60,40.010,40.013\n110,40.006,40.008\n"


def e1(result: str) -> Case:
    return Case(("bore", "-", "--nominal", "40 mm"), result, "mm", text=E1_CSV)


E3 = (
    "fit-leak  --diameter  20 mm  --clearance  10 micron  --drop  200 bar  --viscosity  30 mPa·s  "
    "--length  15 mm"
)

F1 = (
    "pressure-rise  --volume  2.0000 L  --start  25.3 kPa(a)  --at  293.15 K  --end  50.6 kPa(a)  "
    "--end-at  293.15 K  --in  70 s"
)

BENCH = {
    ("E2", "16 uin Ra", 1): case("roughness  --ra  16 µin", "ra", "µm Ra"),
    ("F1", "n", 1): case(F1, "molar_rate", "mol/s"),
    ("F3", "1 Pa m3/s", 1): case("leak-units  --rate  1 Pa m3/s", "atmosphere_cc", "atm·cm³/s"),
    ("F3", "1 atm cc/s", 1): case(
        "leak-units  --rate  1 atm cc/s", "pascal_cubic_metre", "Pa·m³/s"
    ),
    ("F3", "20 C / 0 C volume ratio", 1): case(
        "leak-units  --rate  1 sccm", "millilitre", "mL/min"
    ),
    ("E3", "concentric", 1): case(E3, "flow", "mL/min"),
    ("E3", "eccentric", 1): case(E3, "flow_one_sided", "mL/min"),
    ("E1", "worst out-of-round", 1): e1("out_of_round"),
    ("E1", "worst taper", 1): e1("taper"),
    ("E1", "max size", 1): e1("largest"),
    ("G1", "21500 / 2100 / 68", 1): case("cleanliness  21500  2100  68", "code", ""),
    ("G1", "120 / 30 / 1.0 with fewer than 20 counted at 14 um", 1): case(
        "cleanliness  120  30  1.0  --counted  2000 500 19", "code", ""
    ),
}

F2 = "leak  --volume  120 mL  --reading  0 h=100.0 bara@21.0 C  --reading  24 h=99.2 bara@20.0 C"
LEAK = {
    ("F2", "uncorrected", 1): case(F2.replace("21.0 C", "20.0 C"), "leak_rate_ideal", "mL/min"),
    ("F2", "temperature corrected", 1): case(F2, "leak_rate_ideal", "mL/min"),
    ("F2", "real gas", 1): case(F2, "leak_rate", "mL/min"),
}

H1 = "order-quantity  --demand  1000  --order-cost  10  --holding-cost  0.50"
H5 = "order-point  --demand  150/d  --demand-sigma  16  --lead-time  5 d  --lead-sigma  1 d"
H7 = "order-point  --model  poisson  --lead-demand  3.2"
STORES = {
    ("H1", "Q", 1): case(H1, "order_quantity", "pcs"),
    ("H1", "orders", 1): case(H1, "orders_per_year", "1/yr"),
    ("H1", "annual cost", 1): case(H1, "annual_cost", ""),
    ("H2", "Q", 1): case(
        "order-quantity  --demand  54000  --order-cost  90  --holding-cost  3",
        "order_quantity", "pcs",
    ),
    ("H2", "Q2", 1): case(
        "order-quantity  --demand  600  --order-cost  12  --holding-share  20 %  --price  20",
        "order_quantity", "pcs",
    ),
    ("H3", "R with exact z", 1): case(
        "order-point  --demand  2/d  --lead-time  12 d  --demand-sigma  5.773502691896258",
        "order_point", "pcs",
    ),
    ("H4", "SS exact", 1): case(
        "order-point  --lead-demand  350  --sigma  10  --service  95", "safety_stock", "pcs"
    ),
    ("H5", "sigma", 1): case(H5, "sigma", "pcs"),
    ("H7", "r at 95 %", 1): case(H7, "order_point", "pcs"),
    ("H7", "P(D<=6)", 1): case(H7, "service", "%", 0.01),
    ("H7", "r at 99 %", 1): case(f"{H7}  --service  99 %", "order_point", "pcs"),
}  # fmt: skip

I2 = "flow-time  --arrivals  2/h  --process-time  20 min"
I3 = "flow-time  --arrivals  8/h  --process-time  5 min  --process-variation  0"


def i4(repair: str) -> str:
    return (
        "flow-time  --arrivals  2.875/h  --process-time  15 min  --process-variation  "
        f"{(3.35 / 15) ** 2}  --availability  75 %  --repair-time  {repair}"
    )


FLOW = {
    ("I1", "flow time", 1): case(
        "flow-time  --in-shop  12  --throughput  3 per week", "flow_time", "wk"
    ),
    ("I2", "L", 1): case(I2, "in_system", ""),
    ("I2", "W", 1): case(I2, "flow_time", "min"),
    ("I2", "Lq", 1): case(I2, "in_queue", ""),
    ("I2", "Wq", 1): case(I2, "queue_time", "min"),
    ("I3", "Lq", 1): case(I3, "in_queue", ""),
    ("I3", "Kingman with ca2 = 1, cs2 = 0", 1): case(I3, "queue_time", "min"),
    ("I3", "Wq", 1): case(I3, "queue_time", "min"),
    ("I5", "Wq", 1): case(
        "flow-time  --arrivals  2/h  --process-time  20 min  --servers  2",
        "queue_time_exact",
        "min",
    ),
    ("I4", "te", 1): case(i4("248 min"), "process_time", "min"),
    ("I4", "ce2 long", 1): case(i4("248 min"), "process_variation", ""),
    ("I4", "ce2 short", 1): case(i4("38 min"), "process_variation", ""),
    ("I4", "u", 1): case(i4("38 min"), "utilisation", "%", 0.01),
    ("I4", "CTq long", 1): case(i4("248 min"), "queue_time", "min", 1 / 60),
    ("I4", "CTq short", 1): case(i4("38 min"), "queue_time", "min", 1 / 60),
}


def listed(lives: Sequence[float]) -> str:
    return " ".join(f"{life:g}" for life in lives)


J1 = ("life", "--failed", listed(BEARINGS), "--unit", "M rev")
J2 = ("life", "--failed", listed(AUTOMOTIVE_FAILED), "--running", listed(AUTOMOTIVE_RUNNING))
LIFE = {
    ("J1", "shape", 1): case(J1, "shape", ""),
    ("J1", "scale", 1): case(J1, "scale", "M rev"),
    ("J1", "B10", 1): case(J1, "b_life", "M rev"),
    ("J2", "shape", 1): case(J2, "shape", ""),
    ("J2", "scale", 1): case(J2, "scale", ""),
    ("J2", "B10", 1): case(J2, "b_life", ""),
    ("J3", "bound", 1): case("life  --total-time  5000  --failures  2  --unit  h",
                             "mtbf_bound", "h"),
    ("J3", "zero failures, 1000 h", 1): case(
        "life  --total-time  1000  --failures  0  --confidence  90", "mtbf_bound", ""
    ),
}  # fmt: skip

CASES: dict[Key, Case] = GAS | TORQUE | SPRINGS | SEALS | BENCH | LEAK | STORES | FLOW | LIFE
EXAMPLES = [row for row in rows(*"ABCDEFGHIJ") if row.key in CASES]


@cache
def results(words: tuple[str, ...], text: str | None) -> dict[str, Any]:
    found: dict[str, Any] = calc(words[0], *words[1:], text=text)["results"]
    return found


@pytest.mark.parametrize("row", EXAMPLES, ids=[row.test_id for row in EXAMPLES])
def test_worked_example(row: Row) -> None:
    asked = CASES[row.key]
    found = results(asked.words, asked.text)[asked.result]
    assert found["unit"] == asked.unit
    value = found["value"] if isinstance(found["value"], str) else found["value"] * asked.scale
    assert row.agrees(value), row.disagreement(value)


def test_every_case_belongs_to_an_example() -> None:
    assert set(CASES) == {row.key for row in EXAMPLES}
