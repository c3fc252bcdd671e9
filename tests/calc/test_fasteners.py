"""Threads and strengths row by row against the reference table, and published bolt loads."""

import csv
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shopdesk.calc import fasteners
from shopdesk.calc.torque import INCH_M, POUND_FORCE_N
from shopdesk.errors import BadInput, OutOfRange

from .worked import REFERENCE

with (REFERENCE / "fasteners.csv").open(encoding="utf-8", newline="") as file:
    TABLE = list(csv.DictReader(file))
AREAS = [row for row in TABLE if row["table"] == "area"]
STRENGTHS = [row for row in TABLE if row["table"] == "strength"]
KSI_PA = 1e3 * POUND_FORCE_N / INCH_M**2


@pytest.mark.parametrize("row", AREAS, ids=lambda row: f"{row['class_or_thread']}, {row['source']}")
def test_stress_area(row: dict[str, str]) -> None:
    """The formula gives the table's computed area to its digits, and stands 0.13 % from print."""
    thread = fasteners.thread(row["class_or_thread"])
    metric = row["area_unit"] == "mm2"
    length_m, area_m2 = (1e-3, 1e-6) if metric else (INCH_M, INCH_M**2)
    assert thread.metric is metric
    assert thread.diameter_m / length_m == pytest.approx(float(row["d"]))
    pitch = float(row["pitch_or_tpi"])
    assert thread.pitch_m / length_m == pytest.approx(pitch if metric else 1 / pitch)
    area = fasteners.stress_area(thread)
    computed, printed = float(row["area_formula"]), float(row["area_published"])
    assert area.formula_m2 / area_m2 == pytest.approx(computed, abs=6e-4 if metric else 6e-6)
    assert area.area_m2 / area_m2 == pytest.approx(printed)
    assert area.formula_m2 == pytest.approx(area.area_m2, rel=0.0013)


SIZES = {"in": ("1/4-20", "1/2-13", "3/4-10", "7/8-9", "1-8", "1 1/8-7", "1 1/2-6"),
         "mm": ("M5", "M16", "M18", "M36")}  # fmt: skip


def covers(row: dict[str, str], size: float) -> bool:
    low, high = row["size_from"], row["size_to"]
    if low.startswith(">"):
        return size > float(low[1:]) and (not high or size <= float(high))
    return (not low or size >= float(low)) and (not high or size <= float(high))


@pytest.mark.parametrize(
    "row", STRENGTHS, ids=lambda r: f"{r['spec']} {r['class_or_thread']} {r['size_from']}"
)
def test_strength(row: dict[str, str]) -> None:
    """Each row's proof, yield and tensile strength, in the sizes the row covers."""
    grade = "A574" if row["spec"] == "ASTM A574" else row["class_or_thread"]
    unit = KSI_PA if row["strength_unit"] == "ksi" else 1e6
    length_m = INCH_M if row["size_unit"] == "in" else 1e-3
    inside = 0
    for name in SIZES[row["size_unit"]]:
        thread = fasteners.thread(name)
        if covers(row, thread.diameter_m / length_m):
            inside += 1
            found = fasteners.strength(grade, thread)
            assert found.proof_pa / unit == pytest.approx(float(row["proof"]))
            assert found.yield_pa / unit == pytest.approx(float(row["yield"]))
            assert found.tensile_pa / unit == pytest.approx(float(row["tensile"]))
            assert (found.source, found.confidence) == (row["source"], row["confidence"])
    assert inside > 0


@pytest.mark.parametrize(
    ("name", "grade", "proof_n"),
    [
        ("M5", "8.8", 8230), ("M6", "8.8", 11600), ("M8", "8.8", 21200), ("M10", "8.8", 33700),
        ("M12", "8.8", 48900), ("M6", "10.9", 16700), ("M8", "10.9", 30400), ("M10", "10.9", 48100),
        ("M12", "10.9", 70000), ("M8", "12.9", 35500), ("M10", "12.9", 56300),
    ],
)  # fmt: skip
def test_proof_load(name: str, grade: str, proof_n: float) -> None:
    """ISO 898-1 proof loads of coarse threads (from memory), cut to three digits."""
    bolt = fasteners.preload(name, grade, 1.0, 0.2)
    assert bolt.proof_load_n == pytest.approx(proof_n, rel=0.006)
    assert bolt.preload_n == bolt.proof_load_n


@pytest.mark.parametrize(
    ("written", "name"),
    [
        ("7/16-20", "7/16-20 UNF"),
        (" 7/16 - 20 unf ", "7/16-20 UNF"),
        ("1 1/16-12", "1 1/16-12 UN"),
        ("1-1/16-12 UN", "1 1/16-12 UN"),
        ("1-1/2-6", "1 1/2-6 UNC"),
        ("#10-32", "#10-32 UNF"),
        ("10-32", "#10-32 UNF"),
        ("8-32", "#8-32 UNC"),
        ("1-8", "1-8 UNC"),
        ("1-64", "#1-64 UNC"),
        ("2-4.5", "2-4.5 UNC"),
        (".25-20", "1/4-20 UNC"),
        ("0.3125-18", "5/16-18 UNC"),
        ("M10x1.5", "M10x1.5"),
        ("m10X1.5", "M10x1.5"),
        ("M10 × 1.25", "M10x1.25"),
        ("M10", "M10x1.5"),
        ("M27x2", "M27x2"),
    ],
)
def test_thread_as_people_write_it(written: str, name: str) -> None:
    assert fasteners.thread(written).name == name


def test_every_thread_is_found_by_its_own_name() -> None:
    every = fasteners.threads()
    assert len(every) > 250
    for thread in every:
        assert fasteners.thread(thread.name) == thread
        assert 0.0 < fasteners.stress_area(thread).area_m2 < math.pi / 4 * thread.diameter_m**2


@pytest.mark.parametrize(
    ("written", "says"),
    [
        ("7/16-99", "7/16 comes with threads per inch of 14 UNC, 20 UNF"),
        ("7/16-20 UNC", "7/16 comes with"),
        ("M10x7", "M10 comes with a pitch in mm of 1.5 coarse"),
        ("M11", "no series has that size"),
        ("9/17-20", "no series has that size"),
        ("1/0-20", "no series has that size"),
        ("#7-32", "no series has that size"),
        ("M26", "M26 comes with"),
        ("banana", "write it as 7/16-20"),
        ("", "write it as 7/16-20"),
        ("7/16", "write it as 7/16-20"),
        ("M", "write it as 7/16-20"),
        ("-20", "write it as 7/16-20"),
        ("1e999-20", "write it as 7/16-20"),
    ],
)
def test_thread_that_does_not_exist(written: str, says: str) -> None:
    with pytest.raises(BadInput, match=says):
        fasteners.thread(written)


@pytest.mark.parametrize("written", ["5", "grade 5", "Gr. 5", "SAE 5", "SAE J429 grade 5"])
def test_grade_as_people_write_it(written: str) -> None:
    assert fasteners.strength(written, fasteners.thread("1/2-13")).grade == "5"


def test_grades() -> None:
    assert fasteners.grades() == ("2", "5", "8", "8.8", "10.9", "12.9", "A574")
    assert fasteners.strength("class 10.9", fasteners.thread("M10")).grade == "10.9"
    assert fasteners.strength("ASTM A574", fasteners.thread("1/2-13")).grade == "A574"


def test_grade_of_the_wrong_kind() -> None:
    with pytest.raises(BadInput, match=r"known are 2, 5, 8, 8\.8"):
        fasteners.strength("7", fasteners.thread("1/2-13"))
    with pytest.raises(BadInput, match="not for inch threads"):
        fasteners.strength("8.8", fasteners.thread("1/2-13"))
    with pytest.raises(BadInput, match="not for metric threads"):
        fasteners.strength("5", fasteners.thread("M10"))
    with pytest.raises(OutOfRange, match="no strength"):
        fasteners.strength("5", fasteners.thread("#10-32"))
    with pytest.raises(OutOfRange, match="no strength"):
        fasteners.strength("8", fasteners.thread("1 3/4-5"))


@given(
    st.sampled_from(["7/16-20", "1/4-28", "3/4-16", "1-12"]), st.sampled_from(["2", "5", "8"]),
    st.floats(0.01, 1.0), st.floats(0.05, 0.5),
)  # fmt: skip
def test_preload_there_and_back(name: str, grade: str, share: float, nut_factor: float) -> None:
    if grade == "2" and name == "1-12":
        grade = "5"
    bolt = fasteners.preload(name, grade, share, nut_factor)
    back = fasteners.preload_from_torque(name, grade, bolt.torque_nm, nut_factor)
    assert back.preload_n == pytest.approx(bolt.preload_n)
    assert back.share_of_proof == pytest.approx(share)
    assert bolt.stress_pa == pytest.approx(share * bolt.strength.proof_pa)


@given(st.floats(0.05, 0.4), st.floats(0.01, 0.1))
def test_more_friction_leaves_less_preload(nut_factor: float, more: float) -> None:
    oiled = fasteners.preload_from_torque("M10", "10.9", 50, nut_factor)
    dry = fasteners.preload_from_torque("M10", "10.9", 50, nut_factor + more)
    assert dry.preload_n < oiled.preload_n


@pytest.mark.parametrize("bad", [0.0, -0.1, 1.01, 75.0, math.nan, math.inf])
def test_share_that_makes_no_sense(bad: float) -> None:
    with pytest.raises(BadInput, match="Share of proof load"):
        fasteners.preload("M10", "10.9", bad, 0.2)


@pytest.mark.parametrize("bad", [0.0, -0.2, 0.01, 20.0, math.nan, math.inf])
def test_nut_factor_that_makes_no_sense(bad: float) -> None:
    with pytest.raises(BadInput, match="Nut factor"):
        fasteners.preload("M10", "10.9", 0.75, bad)
    with pytest.raises(BadInput, match="Nut factor"):
        fasteners.preload_from_torque("M10", "10.9", 50, bad)


def test_torque_that_makes_no_sense() -> None:
    with pytest.raises(BadInput, match="finite"):
        fasteners.preload_from_torque("M10", "10.9", math.nan, 0.2)
    with pytest.raises(BadInput, match="greater than zero"):
        fasteners.tightening_torque(-1.0, 0.01, 0.2)
