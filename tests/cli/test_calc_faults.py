"""Bad input to the calculations: one sentence, exit status 2, nothing on standard output."""

import math
import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shopdesk.desk.calculator import CALCULATIONS
from shopdesk.desk.calculator import run as run_calculation
from shopdesk.errors import BadInput, ShopError

from .shell import run, sentence

CHARGE = ("charge", "--at", "40 C", "--gas", "20 C", "--target")
TORQUE = ("torque", "--length", "12 in", "--adapter", "3 in", "--target")
PRELOAD = ("preload", "--grade", "8", "--friction", "0.2", "--share", "75", "--thread")
SHELF = ("shelf-life", "--compound", "NBR", "--standard", "ISO 2230", "--cured")
LEAK = ("leak", "--volume", "120 mL")
OR = ("oring", "--gland", "piston", "--groove", "1.010 in", "--bore", "1.238 in", "--width",
      "0.19 in", "--dash")  # fmt: skip

SENTENCES = [
    ((*CHARGE, "800 bar"), "0 to 700 bar absolute"),
    ((*CHARGE, "-3 bar"), "below vacuum"),
    ((*CHARGE, "90"), 'type "90 bar" or "90 psi"'),
    ((*CHARGE, "90 in-lb"), '"90 in-lb" is a torque'),
    ((*CHARGE, "nan"), "begins with no number"),
    ((*CHARGE, "nan bar"), "begins with no number"),
    ((*CHARGE, "inf bar"), "begins with no number"),
    ((*CHARGE, "1e999 bar"), "not a number any gauge can show"),
    ((*CHARGE, "90 bra"), "did you mean bar"),
    ((*CHARGE, "90 mPa"), "write MPa for megapascal"),
    ((*CHARGE, ""), "--target was given without anything in it"),
    ((*CHARGE, "9\x00bar"), "control character"),
    (("charge", "--target", "90 bar", "--at", "-274 C", "--gas", "20 C"), "below absolute zero"),
    (("charge", "--target", "90 bar", "--at", "20 C", "--gas", "-60 C"), "-43.15 to 326.85 °C"),
    (("charge", "--target", "90 bar", "--at", "20 C"), "still needs gas"),
    ((*CHARGE, "90 bar", "--atmosphere", "1 bar gauge"), "the air's own is absolute"),
    ((*CHARGE, "90 bar", "--atmosphere", "20 bar"), "no air pressure a shop stands in"),
    ((*CHARGE, "90 bar", "--altitude", "20000 m"), "-2000 to 11000 m"),
    ((*CHARGE, "90 bar", "--altitude", "9 m", "--atmosphere", "1 bar"), "one follows"),
    (("density", "--pressure", "1 bar", "--temperature", "20"), '"20 °C" or "20 °F"'),
    (("fill", "--start", "90 bar", "--at", "20 C", "--to", "80 bar", "--supply", "150 bar",
      "--supply-at", "20 C"), "filling can only raise it"),
    (("fill", "--start", "0 bar", "--at", "20 C", "--to", "180 bar", "--supply", "150 bar",
      "--supply-at", "20 C"), "take a fuller bottle or a booster"),
    (("rig-loss", "--volume", "1 L", "--rig", "15 mL", "--at", "20 C"), "pressure or reads"),
    (("rig-loss", "--volume", "1 L", "--rig", "15 mL", "--at", "20 C", "--pressure", "90 bar",
      "--checks", "1.5"), "not a whole number"),
    (("rig-loss", "--volume", "1 L", "--rig", "15 mL", "--at", "20 C", "--pressure", "90 bar",
      "--checks", "0"), "must be 1 or more"),
    ((*LEAK, "--reading", "0 h=100 bar@20 C"), "needs two or more"),
    ((*LEAK, "--reading", "0 h=100 bar", "--reading", "1 h=99 bar"), "TIME=PRESSURE@TEMPERATURE"),
    ((*LEAK, "--reading", "1 h=100 bar@20 C", "--reading", "1 h=99 bar@20 C"), "the same time"),
    ((*LEAK, "--reading", "1 h=100 bar@20 C", "--reading", "2026-03-14=99 bar@20 C"), "one way"),
    ((*LEAK, "--reading", "2026-13-14=100 bar@20 C", "--reading", "1 h=99 bar@20 C"), "no moment"),
    ((*TORQUE, "20"), "more than one is used on this line"),
    ((*TORQUE, "20 bar"), "is a pressure"),
    (("torque", "--target", "20 Nm", "--length", "12 in", "--adapter", "40 in"), "makes no sense"),
    (("torque", "--target", "20 Nm", "--length", "0 mm", "--adapter", "0 mm"), "greater than zero"),
    ((*PRELOAD, "7/17-20"), "no series has that size"),
    ((*PRELOAD, "7/16-21"), "20 UNF"),
    ((*PRELOAD, "big"), "write it as 7/16-20"),
    (("preload", "--thread", "7/16-20", "--grade", "9", "--friction", "0.2"), "known are 2, 5, 8"),
    (("preload", "--thread", "M10", "--grade", "5", "--friction", "0.2"), "not for metric threads"),
    ((*PRELOAD, "7/16-20", "--share", "0.75"), "0.75 % or 75 %"),
    ((*PRELOAD, "7/16-20", "--share", "150"), "give 0 to 1"),
    ((*PRELOAD, "7/16-20", "--torque", "20 Nm"), "one follows from the other"),
    (("spring", "--wire", "4 mm"), "still needs outside"),
    (("spring", "--wire", "4 mm", "--outside", "30 mm", "--active", "9"), "shear-modulus or"),
    (("spring", "--wire", "4 mm", "--outside", "30 mm", "--active", "9", "--shear-modulus", "79"),
     "no unit"),
    (("spring", "--wire", "4 mm", "--outside", "30 mm", "--active", "9", "--material", "cheese"),
     "known are"),
    (("spring", "--rate", "12 N/mm", "--change", "10 bar"), "still needs seat"),
    ((*OR, "-999"), "AS568 has no -999"),
    ((*OR, "two"), "write it as -214"),
    (("oring", "--dash", "214", "--gland", "piston", "--width", "5 mm"), "still needs groove"),
    (("oring", "--dash", "214", "--gland", "square", "--width", "5 mm"), "piston, rod, face"),
    ((*SHELF, "5Q2017"), "write the quarter as 4Q2017"),
    ((*SHELF, "4Q2017", "--compound", "XYZ"), "known are"),
    ((*SHELF, "4Q2017", "--standard", "ISO 9"), "known are ISO 2230"),
    (("cleanliness", "21500", "2100"), "the code needs 3"),
    (("cleanliness", "21500", "2100", "nan"), "begins with no number"),
    (("cleanliness", "68", "2100", "21500"), "they can't rise"),
    (("cleanliness",), "still needs counts"),
    (("order-point", "--demand", "3/d", "--lead-time", "12"), "both with one"),
    (("order-point", "--demand", "3/kg", "--lead-time", "12 d"), "no unit of time"),
    (("order-point",), "demand and lead-time or lead-demand"),
    (("order-point", "--lead-demand", "3", "--service", "100"), "between 0 and 1"),
    (("order-quantity", "--demand", "5", "--order-cost", "1"), "holding-share and price"),
    (("order-quantity", "--demand", "5", "--order-cost", "1", "--holding-share", "20",
      "--break", "7"), "FROM=PRICE"),
    (("flow-time", "--arrivals", "9/h", "--process-time", "10 min"), "queue grows without end"),
    (("flow-time", "--arrivals", "9/h"), "still needs process-time"),
    (("life", "--failed", "410"), "needs 2 failures or more"),
    (("life", "--failed", "410 1e999"), "not a finite number"),
    (("life",), "total-time and failures"),
    (("room", "--volume", "50 L", "--pressure", "300 bar", "--at", "20 C", "--room", "5 m3"),
     "no air would be left"),
    (("depth", "--reading", "7.4 mm"), "needs 2 readings or more"),
    (("depth", "--reading", "7.4 mm", "--reading", "7.5 mm", "--restored", "7 mm"), "needs rate"),
    (("ring-size",), "dash or inside and section"),
    (("drops", "--drops", "9", "--in", "1 min"), "still needs size"),
    (("service-leak", "--shipped", "90 bar", "--shipped-gas", "20 C", "--shipped-on", "14.3.2026",
      "--arrived", "80 bar", "--arrived-gas", "20 C", "--arrived-on", "2026-03-14", "--at", "20 C"),
     "write it as 2026-03-14"),
    (("fit-leak", "--diameter", "20 mm", "--clearance", "10 um", "--drop", "9 bar", "--length",
      "1 mm", "--viscosity", "32 cSt"), "cSt times density"),
    (("spring-stress", "--wire", "4 mm", "--outside", "30 mm", "--active", "9", "--material",
      "music wire"), "load or worked-to or free-length"),
    (("spring-stress", "--wire", "4 mm", "--outside", "30 mm", "--active", "9", "--material",
      "music wire", "--load", "9 N", "--worked-to", "1 mm"), "one follows from the other"),
    (("spring-stress", "--wire", "4 mm", "--outside", "30 mm", "--active", "9", "--material",
      "music wire", "--worked-to", "40 mm", "--free-length", "60 mm"), "goes solid at 48 mm"),
    (("spring-stress", "--wire", "9 mm", "--outside", "60 mm", "--active", "9", "--material",
      "music wire", "--load", "9 N"), "outside what the table has"),
    (("spring", "--rate", "12 N/mm", "--shim", "1 mm"), "still needs seat"),
    (("spring", "--rate", "12 N/mm", "--seat", "6 mm", "--cracking", "3 bar", "--back-pressure",
      "5 bar"), "below the back pressure"),
    (("gland", "--gland", "rod"), "dash or section"),
    (("gland", "--gland", "rod", "--dash", "-906"), "straight-thread fitting"),
    (("gland", "--gland", "rod", "--section", "20 mm"), "take the seal maker's"),
    (("gland", "--gland", "face", "--service", "reciprocating", "--section", "3 mm"),
     "nothing slides"),
    (("gland", "--gland", "rod", "--section", "3 mm", "--width", "4 mm"), "still needs depth"),
    (("gland", "--gland", "rod", "--section", "3 mm", "--depth", "2 mm", "--depth", "3 mm",
      "--depth", "4 mm"), "the least and the most"),
    (("gland", "--gland", "rod", "--section", "3 mm", "--tolerance", "3 mm", "--depth", "2 mm"),
     "must be smaller than the size"),
    (("extrusion-gap", "--bore", "40 mm"), "still needs inner"),
    (("extrusion-gap", "--bore", "40 mm", "--faces", "1 mm"), "ask for one gland"),
    (("leak-units", "--rate", "-1 sccm"), "counted outwards"),
    (("density", "--pressure", "1 bar", "--temperature", "20 C", "--volume", "-1 L"),
     'volume: "-1 L" is below zero'),
    (("leak-units", "--rate", "5"), "write a leak rate in mbar l/s"),
    (("leak-units", "--rate", "5 bar"), 'has the unit "bar"'),
    (("leak-units", "--rate", "nan mbar l/s"), "begins with no number"),
    (("leak-units", "--rate", "1e999 sccm"), "not a finite number"),
    (("leak-units", "--rate", "1 sccm", "--standard", "-300 C"), "below absolute zero"),
    (("leak-units", "--rate", "1 sccm", "--volume", "1 L"), "still needs pressure"),
    (("pressure-rise", "--volume", "1 L", "--start", "5 mbara", "--at", "20 C", "--end",
      "6 mbara", "--end-at", "20 C", "--in", "0 s"), "must be later"),
    (("gas-decay", "--start", "900 bar", "--at", "20 C", "--end", "890 bar", "--end-at", "20 C"),
     "0 to 700 bar absolute"),
    (("over-set",), "loss or default"),
    (("over-set", "--loss", "2 bar"), "1 of 5 past losses"),
    (("torque-tool", "--largest", "100 Nm", "--lowest", "120 Nm"), "it must lie between"),
    (("torque-slip", "--reading", "30 ft-lb", "--target", "0 in-lb"), "greater than zero"),
    (("drops", "--in", "1 min", "--size", "0.05 mL"), "drops or flow"),
    (("drops", "--in", "1 min", "--size", "0.05 mL", "--drops", "9", "--flow", "1 mL/min"),
     "one follows from the other"),
    (("life", "--total-time", "5000", "--failures", "2", "--age", "5"), "needs failed"),
    (("order-point", "--lead-demand", "3.2", "--kept", "6"), "it asks for poisson"),
    (("order-point", "--model", "poisson", "--lead-demand", "3.2", "--kept", "6", "--service",
      "90"), "one follows from the other"),
    (("order-point", "--lead-demand", "3.2", "--quantity", "6"), "poisson or lumpy"),
    (("order-point", "--lots", "3"), "still needs lot-size"),
    (("order-point", "--chance", "30=0.2"), "they must make 1"),
    (("order-point", "--chance", "30"), "PIECES=SHARE"),
    (("order-point", "--chance", "1.5=1"), "whole pieces"),
    (("order-point", "--chance", "5=0.5", "--chance", "5=0.5"), "given twice"),
    (("abc", "--value", "P-1"), "write PART=VALUE"),
    (("abc", "--value", "P-1=9", "--value", "P-1=8"), "given twice"),
    (("abc", "--value", "P-1=lots"), "begins with no number"),
    (("share", "--count", "9", "--of", "5"), "no more seen"),
    (("wizardry",), "No such command"),
    (("charge", "--targit", "9 bar"), "No such option"),
]  # fmt: skip


@pytest.mark.parametrize(("words", "part"), SENTENCES, ids=[" ".join(w[:8]) for w, _ in SENTENCES])
def test_bad_input_is_a_sentence(words: tuple[str, ...], part: str) -> None:
    assert part in sentence(run("calc", *words), 2)


@pytest.mark.parametrize(
    ("text", "part"),
    [
        ("", "is empty; asked for is CSV: header depth,ANGLE"),
        ("\n \n", "is empty"),
        ("depth,0,90\n", "0 depths"),
        ("depth,0,90\n20,40.01,40.02\n", "at least 2 depths and 2 axes"),
        ("depth,0\n20,40.01\n40,40.02\n", "at least 2 depths and 2 axes"),
        ("20,40.01,40.02\n40,40.0,40.1\n", "it is depth and then the angles"),
        ("depth,0,90\n20,40.01\n40,40,40\n", "Row 2 of the survey has 2 cells"),
        ("depth,0,90\n20,nan,40\n40,40,40\n", 'has "nan" under "0"'),
        ("depth,0,90\n20,40,1e999\n40,40,40\n", 'has "1e999" under "90"'),
        ("depth,0,90\n20,40,-40\n40,40,40\n", 'has "-40" under "90"'),
        ("depth,0,90\n20,40,0\n40,40,40\n", "greater than zero"),
        ("depth,0,90\nnan,40,40\n40,40,40\n", "as its depth"),
        ('depth,0,90\n"20,40,40\n', "no CSV file"),
        ("depth,0,90\n" + "1,40,40\n" * 2001, "up to 2000"),
    ],
)
def test_a_bad_survey_is_a_sentence(text: str, part: str) -> None:
    assert part in sentence(run("calc", "bore", "-", "--nominal", "40 mm", text=text), 2)


def test_a_survey_that_cannot_be_read_is_a_sentence(tmp_path: Path) -> None:
    binary = tmp_path / "bore.csv"
    binary.write_bytes(b"depth\xff\xfe\x00")
    for name, part in (
        (str(binary), "is not UTF-8 text"),
        (str(tmp_path / "none.csv"), "cannot be read: No such file"),
        (str(tmp_path), "cannot be read: Is a directory"),
    ):
        assert part in sentence(run("calc", "bore", name, "--nominal", "40 mm"), 2)


def test_no_calculation_of_that_name() -> None:
    with pytest.raises(BadInput, match="'wizardry' is no calculation; known are charge, reference"):
        run_calculation("wizardry", {})


_HARD = st.sampled_from(
    [
        "0",
        "-1",
        "1",
        "1e300",
        "-1e300",
        "1e-300",
        "1e999",
        "nan",
        "1e17",
        "1e-12",
        "1/0",
        "",
        "999999",
    ]
)
_ODD = st.text(max_size=40) | st.sampled_from(
    ["[/b]", "1=2@3", "0 h=1 bar@20 C", "=", ";;", "depth,0,90\n1,nan,2\n", "5 kg", "a" * 500]
)


@st.composite
def spoilt(draw: st.DrawFn) -> tuple[str, dict[str, str]]:
    """A calculation's example with some of its numbers or texts replaced."""
    name = draw(st.sampled_from(sorted(CALCULATIONS)))
    values = dict(CALCULATIONS[name].example)
    for field in draw(st.lists(st.sampled_from(sorted(values)), min_size=1, max_size=3)):
        if draw(st.booleans()):
            values[field] = re.sub(r"\d+(?:\.\d+)?", lambda _: draw(_HARD), values[field])
        else:
            values[field] = draw(_ODD)
    return name, values


@settings(max_examples=400, deadline=None)
@given(spoilt())
def test_whatever_is_typed_it_computes_or_says_why_not(asked: tuple[str, dict[str, str]]) -> None:
    name, values = asked
    try:
        found = run_calculation(name, values)
    except ShopError as fault:
        refusal: ShopError | None = fault
    else:
        refusal = None
        assert found.results
        for value in found.results.values():
            assert isinstance(value.value, str) or math.isfinite(value.value)
    if refusal is not None:
        assert isinstance(refusal, BadInput)
        assert str(refusal)
        assert "\n" not in str(refusal)
