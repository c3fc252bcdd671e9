"""Torque: factors against two libraries, adapters there and back, tools and unit slips."""

import math
from datetime import date

import pint
import pytest
import scipy.constants
from hypothesis import given
from hypothesis import strategies as st

from shopdesk.calc import torque
from shopdesk.calc.torque import Tool
from shopdesk.errors import BadInput, OutOfRange

TODAY = date(2026, 3, 1)
IN_LBF, FT_LBF = torque.TORQUE_NM["in-lbf"], torque.TORQUE_NM["ft-lbf"]


@pytest.mark.parametrize(
    ("unit", "pint_unit"),
    [
        ("N m", "newton * meter"),
        ("in-lbf", "inch * force_pound"),
        ("ft-lbf", "foot * force_pound"),
        ("kgf cm", "force_kilogram * centimeter"),
        ("ozf in", "force_ounce * inch"),
    ],
)
def test_factors_against_pint(unit: str, pint_unit: str) -> None:
    """pint's registry, an independent library."""
    theirs = pint.UnitRegistry().Quantity(1.0, pint_unit).to("newton * meter").magnitude
    assert torque.TORQUE_NM[unit] == pytest.approx(theirs, rel=1e-14)


def test_factors_against_scipy() -> None:
    """scipy.constants (CODATA)."""
    assert scipy.constants.lbf == pytest.approx(torque.POUND_FORCE_N, rel=1e-15)
    assert scipy.constants.kgf / 100 == pytest.approx(torque.TORQUE_NM["kgf cm"], rel=1e-15)


@given(st.floats(1e-3, 1e5), st.sampled_from(list(torque.TORQUE_NM)))
def test_units_there_and_back(value: float, unit: str) -> None:
    assert torque.from_nm(torque.to_nm(value, unit), unit) == pytest.approx(value, rel=1e-14)
    assert torque.convert(value, unit, "N m") == pytest.approx(torque.to_nm(value, unit))


@pytest.mark.parametrize(
    ("value", "unit", "nm"),
    [
        (24, "in-lbf", 2.7116),
        (25, "in-lbf", 2.8246),
        (100, "in-lbf", 11.298),
        (12, "ft-lbf", 16.270),
        (25, "ft-lbf", 33.895),
        (30, "ft-lbf", 40.675),
        (55, "ft-lbf", 74.570),
    ],
)
def test_torques_of_the_trade(value: float, unit: str, nm: float) -> None:
    """Common practice, no source: joints of 24 in-lb to 55 ft-lb; N·m by NIST SP 811."""
    assert torque.to_nm(value, unit) == pytest.approx(nm, abs=0.0006)


@given(
    st.floats(0.5, 500), st.floats(0.1, 1.2), st.floats(0.0, 0.75), st.floats(-180, 180)
)  # fmt: skip
def test_adapter_there_and_back(target: float, length: float, share: float, angle: float) -> None:
    adapter = share * length
    setting = torque.adapter_setting(target, length, adapter, angle)
    assert torque.applied_torque(setting, length, adapter, angle) == pytest.approx(target)
    mirrored = torque.adapter_setting(target, length, adapter, -angle)
    assert mirrored == pytest.approx(setting)


@given(st.floats(0.2, 1.0), st.floats(0.01, 0.09), st.floats(0.005, 0.05))
def test_longer_adapter_is_set_lower(length: float, adapter: float, more: float) -> None:
    short = torque.adapter_setting(50, length, adapter)
    long = torque.adapter_setting(50, length, adapter + more)
    assert long < short < 50
    assert torque.adapter_setting(50, length, adapter, 180) > 50


@pytest.mark.parametrize(
    ("length", "adapter", "angle", "says"),
    [
        (0.3, 0.31, 0, "makes no sense"),
        (0.3, 1e6, 0, "makes no sense"),
        (0.3, -0.05, 0, "180 degrees"),
        (0.3, 0.29, 180, "almost no lever"),
        (0.0, 0.05, 0, "greater than zero"),
        (0.3, 0.05, 361, "-360 to 360"),
        (math.nan, 0.05, 0, "finite"),
        (0.3, math.inf, 0, "finite"),
        (0.3, 0.05, math.nan, "finite"),
    ],
)
def test_adapter_that_makes_no_sense(
    length: float, adapter: float, angle: float, says: str
) -> None:
    for call in (torque.adapter_setting, torque.applied_torque):
        with pytest.raises(BadInput, match=says):
            call(50, length, adapter, angle)


@pytest.mark.parametrize("bad", [0.0, -5.0, math.nan, math.inf])
def test_torque_that_is_none(bad: float) -> None:
    for call in (torque.adapter_setting, torque.applied_torque):
        with pytest.raises(BadInput):
            call(bad, 0.3, 0.05)
    with pytest.raises(BadInput):
        torque.choose_tool(bad, [], TODAY)


def test_unknown_unit() -> None:
    with pytest.raises(BadInput, match="'furlong'; accepted are N m, in-lbf"):
        torque.to_nm(1, "furlong")


@pytest.mark.parametrize(
    ("typed", "meant", "factor"),
    [
        ("ft-lbf", "in-lbf", 12),
        ("in-lbf", "ft-lbf", 1 / 12),
        ("N m", "in-lbf", 8.850746),
        ("in-lbf", "N m", 1 / 8.850746),
        ("ft-lbf", "N m", 1.355818),
        ("N m", "ft-lbf", 1 / 1.355818),
    ],
)
@pytest.mark.parametrize("pulled", [34.0, 35.0, 36.5])
def test_slip(typed: str, meant: str, factor: float, pulled: float) -> None:
    """35 asked for in one unit, about 35 read in another; factors of NIST SP 811 (7 digits)."""
    target = torque.to_nm(35, meant)
    found = torque.slip(torque.to_nm(pulled, typed), target, tolerance_nm=0.1 * target)
    assert found is not None
    assert (found.typed_unit, found.meant_unit) == (typed, meant)
    assert found.factor == pytest.approx(factor, rel=1e-6)
    assert found.meant_nm == pytest.approx(torque.to_nm(pulled, meant))
    assert found.ratio == pytest.approx(factor * pulled / 35, rel=1e-6)


@given(st.floats(0.1, 500), st.floats(0.0, 0.5), st.floats(-1.0, 1.0))
def test_no_slip_inside_the_tolerance(target: float, tolerance: float, at: float) -> None:
    reading = target * (1 + 0.999 * at * tolerance)
    assert torque.slip(reading, target, tolerance * target) is None


@pytest.mark.parametrize("ratio", [0.5, 0.91, 1.15, 2.0, 5.0, 0.2, 20.0, 0.04, 1e6])
def test_plainly_wrong_is_no_slip(ratio: float) -> None:
    assert torque.slip(50 * ratio, 50, 2) is None


def test_slip_of_nothing() -> None:
    assert torque.slip(0.0, 50, 2) is None
    assert torque.slip(-600.0, 50, 2) is None
    with pytest.raises(BadInput, match="finite"):
        torque.slip(math.nan, 50, 2)
    with pytest.raises(BadInput, match="greater than zero"):
        torque.slip(50, 0, 2)


SMALL = Tool("W-1", 2, 10, date(2026, 9, 1))
MIDDLE = Tool("W-2", 10, 50, date(2026, 9, 1))
LAPSED = Tool("W-3", 5, 25, date(2026, 2, 28))
LARGE = Tool("W-4", 20, 100)


def test_tool_that_fits() -> None:
    choice = torque.choose_tool(22, [LARGE, LAPSED, MIDDLE, SMALL], TODAY)
    assert choice.tool == MIDDLE
    assert dict(choice.passed_over) == {
        "W-1": "above its usable range, which ends at 10 N·m",
        "W-3": "calibration ran out on 2026-02-28",
        "W-4": "W-2 is the finer one",
    }


def test_no_tool_fits() -> None:
    choice = torque.choose_tool(1.0, [SMALL, LARGE], TODAY)
    assert choice.tool is None
    assert choice.passed_over[0] == ("W-1", "below its usable range, which starts at 2 N·m")
    assert torque.choose_tool(1.0, [], TODAY) == torque.ToolChoice(None, ())


def test_tool_is_good_on_its_last_day() -> None:
    assert torque.choose_tool(12, [LAPSED], date(2026, 2, 28)).tool == LAPSED


@given(st.floats(1, 200), st.lists(st.tuples(st.floats(1, 50), st.floats(2, 5)), max_size=6))
def test_chosen_tool_is_in_range_and_the_smallest(
    target: float, spans: list[tuple[float, float]]
) -> None:
    tools = [Tool(f"T{i}", low, low * reach) for i, (low, reach) in enumerate(spans)]
    choice = torque.choose_tool(target, tools, TODAY)
    fit = [tool for tool in tools if tool.low_nm <= target <= tool.high_nm]
    assert (choice.tool is None) == (not fit)
    if choice.tool is not None:
        assert choice.tool.high_nm == min(tool.high_nm for tool in fit)
    assert len(choice.passed_over) == len(tools) - (1 if fit else 0)


def test_marked_range_goes_before_a_fifth() -> None:
    """ISO 6789-1:2017 starts at the lowest marked value (from memory)."""
    assert torque.usable_range(100, lowest_marked_nm=10) == torque.UsableRange(10, 100)
    assert torque.check_points(100, lowest_marked_nm=10) == (10, 60, 100)
    for lowest in (0.0, 100.0, -1.0):
        with pytest.raises(BadInput, match="must lie between"):
            torque.usable_range(100, lowest_marked_nm=lowest)
    with pytest.raises(OutOfRange, match="above the tool's maximum"):
        torque.permitted_deviation(101, 100)


@pytest.mark.parametrize(
    ("calibrated", "cycles_per_month", "due"),
    [
        (date(2025, 3, 14), 0, date(2026, 3, 14)),
        (date(2025, 8, 31), 5000, date(2025, 9, 30)),
        (date(2025, 3, 1), 2000, date(2025, 5, 16)),
        (date(2025, 1, 1), 1e9, date(2025, 1, 1)),
    ],
)
def test_recalibration(calibrated: date, cycles_per_month: float, due: date) -> None:
    """12 months or 5000 cycles (ISO 6789:2003 default, from memory), by the calendar."""
    assert torque.recalibration_due(calibrated, cycles_per_month) == due


@given(st.dates(date(2000, 1, 1), date(2100, 1, 1)), st.floats(0, 1e5), st.floats(1, 1e4))
def test_more_use_is_never_due_later(day: date, cycles: float, more: float) -> None:
    busier = torque.recalibration_due(day, cycles + more)
    assert day <= busier <= torque.recalibration_due(day, cycles)


def test_recalibration_refuses() -> None:
    with pytest.raises(BadInput, match="finite"):
        torque.recalibration_due(TODAY, math.nan)
    with pytest.raises(BadInput, match="below zero"):
        torque.recalibration_due(TODAY, -1)
    with pytest.raises(BadInput, match="1 or more"):
        torque.recalibration_due(TODAY, 10, months=0)
    with pytest.raises(OutOfRange, match="past the year"):
        torque.recalibration_due(date(9999, 5, 1))
