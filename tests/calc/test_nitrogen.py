"""Nitrogen against the published tables, an independent library and its own inverse."""

import csv
import math

import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given
from hypothesis import strategies as st

from shopdesk.calc import nitrogen
from shopdesk.errors import BadInput, OutOfRange

from .worked import REFERENCE

PRESSURES_PA = st.floats(1e3, 700e5)
TEMPERATURES_K = st.floats(230.0, 600.0)


def table(name: str) -> list[dict[str, str]]:
    with (REFERENCE / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


PUBLISHED = table("nitrogen_checks.csv")
GRID = table("nitrogen.csv")


def label(row: dict[str, str]) -> str:
    return f"{row['quantity']} {row['T_K']} K {row['p_bar_abs']} bar, {row['source'][:30]}"


@pytest.mark.parametrize("row", PUBLISHED, ids=label)
def test_published_value(row: dict[str, str]) -> None:
    """Each row of nitrogen_checks.csv, its source in the row and in the test's name.

    Density by bracket: the equation's pressure passes the table's between the published density
    less and plus its tolerance. So rows outside the bench's range check the equation too.
    """
    temperature_k, pressure_pa = float(row["T_K"]), float(row["p_bar_abs"]) * 1e5
    published, share = float(row["published"]), float(row["tol_pct"]) / 100
    if row["quantity"] == "Z":
        value = nitrogen.compressibility(pressure_pa, temperature_k)
        assert value == pytest.approx(published, rel=share), row["source"]
        return
    to_kg_m3 = nitrogen.MOLAR_MASS_KG_MOL * 1e3 if row["unit"] == "mol/L" else 1.0
    low, high = published * to_kg_m3 * (1 - share), published * to_kg_m3 * (1 + share)
    below = nitrogen.equation_pressure_pa_abs(low, temperature_k)
    above = nitrogen.equation_pressure_pa_abs(high, temperature_k)
    assert below < pressure_pa < above, row["source"]


@pytest.mark.parametrize(
    "row", GRID, ids=lambda row: f"{row['T_C']} C {row['p_bar_abs']} bar abs, GERG-2008 and AGA8"
)
def test_grid_row(row: dict[str, str]) -> None:
    """Each row of nitrogen.csv: CoolProp 8.0.0 as printed, GERG-2008 and AGA8-DETAIL to 0.033 %."""
    temperature_k, pressure_pa = float(row["T_C"]) + 273.15, float(row["p_bar_abs"]) * 1e5
    density = nitrogen.density(pressure_pa, temperature_k)
    assert density == pytest.approx(float(row["rho_kg_m3"]), abs=0.0006)
    assert nitrogen.compressibility(pressure_pa, temperature_k) == pytest.approx(
        float(row["Z"]), abs=0.000006
    )
    for other in ("rho_gerg2008", "rho_aga8_detail"):
        assert density == pytest.approx(float(row[other]), rel=0.00033)


@pytest.mark.parametrize("temperature_k", [230, 243.15, 260, 293.15, 323.15, 373.15, 450, 600])
def test_agrees_with_coolprop(temperature_k: float) -> None:
    """CoolProp, the same published equation in another's hand: required 0.001 % in density."""
    for bar in (1e-6, 0.01, 1, 1.01325, 5, 20, 62, 100, 150, 210, 300, 414, 550, 700):
        pressure_pa = bar * 1e5
        theirs = PropsSI("D", "T", temperature_k, "P", pressure_pa, "Nitrogen")
        density = nitrogen.density(pressure_pa, temperature_k)
        assert density == pytest.approx(theirs, rel=1e-9)
        assert nitrogen.pressure(theirs, temperature_k) == pytest.approx(pressure_pa, rel=1e-9)
        for ours, key in ((nitrogen.internal_energy, "U"), (nitrogen.enthalpy, "H")):
            there = PropsSI(key, "T", temperature_k, "P", pressure_pa, "Nitrogen")
            assert ours(density, temperature_k) == pytest.approx(there, abs=0.05)


def test_energy_in_the_bell_terms_region() -> None:
    """Near the critical point the four Gaussian terms count; CoolProp at 140 K, 300 kg/m³."""
    theirs = PropsSI("P", "T", 140.0, "D", 300.0, "Nitrogen")
    assert nitrogen.equation_pressure_pa_abs(300.0, 140.0) == pytest.approx(theirs, rel=1e-9)


@given(PRESSURES_PA, TEMPERATURES_K)
def test_density_and_pressure_there_and_back(pressure_pa: float, temperature_k: float) -> None:
    density = nitrogen.density(pressure_pa, temperature_k)
    assert nitrogen.pressure(density, temperature_k) == pytest.approx(pressure_pa, rel=1e-11)


@given(PRESSURES_PA, TEMPERATURES_K)
def test_temperature_from_density_and_energy(pressure_pa: float, temperature_k: float) -> None:
    density = nitrogen.density(pressure_pa, temperature_k)
    energy = nitrogen.internal_energy(density, temperature_k)
    assert nitrogen.temperature(density, energy) == pytest.approx(temperature_k, abs=1e-6)


@given(st.floats(1e3, 690e5), st.floats(1.0001, 1.2), TEMPERATURES_K)
def test_density_rises_with_pressure(pressure_pa: float, factor: float, temp_k: float) -> None:
    higher = min(pressure_pa * factor, 700e5)
    assert nitrogen.density(higher, temp_k) > nitrogen.density(pressure_pa, temp_k)


@given(PRESSURES_PA, st.floats(230.0, 599.0), st.floats(0.01, 1.0))
def test_density_falls_with_temperature(pressure_pa: float, temp_k: float, step_k: float) -> None:
    assert nitrogen.density(pressure_pa, temp_k + step_k) < nitrogen.density(pressure_pa, temp_k)


def test_vacuum_is_ideal() -> None:
    assert nitrogen.density(0.0, 300.0) == 0.0
    assert nitrogen.pressure(0.0, 300.0) == 0.0
    assert nitrogen.compressibility(0.0, 300.0) == 1.0
    thin = nitrogen.density(1.0, 300.0)
    assert thin == pytest.approx(nitrogen.ideal_density(1.0, 300.0), rel=1e-7)
    assert nitrogen.enthalpy(0.0, 300.0) == pytest.approx(nitrogen.enthalpy(thin, 300.0), abs=0.1)


@pytest.mark.parametrize(
    ("pressure_pa", "temperature_k", "says"),
    [
        (100e5, 229.9, "-43.25 °C"),
        (100e5, 600.1, "-43.15 to 326.85 °C"),
        (100e5, -5.0, "absolute zero"),
        (100e5, 0.0, "absolute zero"),
        (700.1e5, 300.0, "700.1 bar absolute"),
        (-1.0, 300.0, "gauge"),
    ],
)
def test_outside_the_range(pressure_pa: float, temperature_k: float, says: str) -> None:
    for function in (nitrogen.density, nitrogen.compressibility):
        with pytest.raises(OutOfRange, match=says):
            function(pressure_pa, temperature_k)


@pytest.mark.parametrize("bad", [math.nan, math.inf, float("1e999"), -math.inf])
def test_not_a_finite_number(bad: float) -> None:
    for call in (nitrogen.density, nitrogen.pressure, nitrogen.internal_energy, nitrogen.enthalpy):
        with pytest.raises(BadInput, match="finite"):
            call(bad, 300.0)
        with pytest.raises(BadInput, match="finite"):
            call(1.0, bad)
    with pytest.raises(BadInput, match="finite"):
        nitrogen.temperature(bad, 2e5)
    with pytest.raises(BadInput, match="finite"):
        nitrogen.temperature(1.0, bad)


def test_too_dense_and_too_hot() -> None:
    with pytest.raises(OutOfRange, match="700 bar"):
        nitrogen.pressure(900.0, 300.0)
    with pytest.raises(OutOfRange, match="700 bar"):
        nitrogen.pressure(1e6, 300.0)
    with pytest.raises(BadInput, match="below zero"):
        nitrogen.pressure(-1.0, 300.0)
    with pytest.raises(OutOfRange, match="No temperature"):
        nitrogen.temperature(1.0, 1e7)
