"""Drawings: their numbers against the books, their signs on the screen, a sheet's own readings."""

import math
from collections.abc import Callable, Iterable
from datetime import timedelta
from itertools import pairwise
from typing import cast

import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given
from hypothesis import strategies as st
from rich.color import Color

from shopdesk import procedure
from shopdesk.desk.calculator import CALCULATIONS
from shopdesk.desk.calculator.curves import Curve, Drawing, Scale, Wall, bore_drawing
from shopdesk.desk.calculator.drawn import DRAWN, drawing
from shopdesk.desk.shop import Shop
from shopdesk.errors import BadInput, OutOfRange
from shopdesk.rules import shop as shop_rules
from shopdesk.rules.answers import Answer, Verdict
from shopdesk.rules.sheet import lay_out
from shopdesk.tui.app import ShopApp
from shopdesk.tui.drawings import drawing_for
from shopdesk.tui.drawings.plot import LINE_SHOWN, labels, levels, named_rows, ticks
from shopdesk.tui.drawings.screen import DrawingScreen
from shopdesk.views.sheets import Heading, SheetView
from tests.desk.stocked import DATA
from tests.rules.conftest import NOW, facts
from tests.tui.driving import see, settled, type_in

NewApp = Callable[..., ShopApp]
ATMOSPHERE_PA = 101325.0
CELSIUS_K = 273.15
CHARGE = CALCULATIONS["charge"].example
SPRING = CALCULATIONS["spring"].example


def drawn(name: str, **typed: str) -> Drawing:
    more = {key.replace("_", "-"): text for key, text in typed.items()}
    made = drawing(name, {**CALCULATIONS[name].example, **more})
    assert made is not None
    return made


def curve(of: Drawing, label: str) -> Curve:
    (found,) = (each for each in of.curves if each.label.startswith(label))
    return found


def at(points: Iterable[tuple[float, float]], x: float) -> float:
    """Between the two points around x."""
    known = list(points)
    (x0, y0), (x1, y1) = next(pair for pair in pairwise(known) if pair[0][0] <= x <= pair[1][0])
    return y0 + (y1 - y0) * (x - x0) / (x1 - x0)


# the calculator's


def test_the_charge_is_drawn_by_the_reference_equation() -> None:
    """CoolProp at the target's density; ideal gas by p T/T0."""
    made = drawn("charge")
    density = PropsSI("D", "P", 90e5 + ATMOSPHERE_PA, "T", 40 + CELSIUS_K, "Nitrogen")
    for celsius, bar in curve(made, "nitrogen").points:
        kelvin = celsius + CELSIUS_K
        reference = PropsSI("P", "D", density, "T", kelvin, "Nitrogen") - ATMOSPHERE_PA
        assert bar == pytest.approx(reference / 1e5, rel=1e-4)
    for celsius, bar in curve(made, "ideal").points:
        ideal = (90e5 + ATMOSPHERE_PA) * (celsius + CELSIUS_K) / (40 + CELSIUS_K) - ATMOSPHERE_PA
        assert bar == pytest.approx(ideal / 1e5, rel=1e-9)
    ((celsius, bar),) = curve(made, "to be set now").points
    assert celsius == pytest.approx(20.0)
    assert bar == pytest.approx(at(curve(made, "nitrogen").points, 20.0), abs=1e-3)


def test_the_charge_keeps_the_units_it_was_typed_in() -> None:
    made = drawn("charge", target="1300 psia", at="104 F", gas="68 F")
    assert (made.up, made.across) == ("psia", "gas at °F")
    assert at(curve(made, "nitrogen").points, 104.0) == pytest.approx(1300.0, rel=1e-4)


def test_a_charge_near_the_edge_of_the_equation_is_drawn_as_far_as_it_goes() -> None:
    made = drawn("charge", target="680 bar", gas="40 C")
    shown = curve(made, "nitrogen").points
    assert shown[-1][0] < 55.0
    assert max(bar for _, bar in shown) < 700.0


def test_a_reading_lies_on_the_curve_of_what_it_means() -> None:
    made = drawn("reference")
    ((celsius, bar),) = curve(made, "reading").points
    assert (celsius, bar) == pytest.approx((20.0, 83.1))
    assert at(curve(made, "nitrogen").points, 20.0) == pytest.approx(83.1, abs=0.01)


STEADY = "0 h=100 bara@20 C\n24 h=99 bara@20 C\n72 h=97 bara@20 C"
READINGS = "0 h=100 bara@21 C\n24 h=99.2 bara@20 C\n72 h=97.9 bara@20.5 C"


def test_the_leak_is_drawn_as_gas_lost() -> None:
    """Mass by CoolProp, as gas at 1 atm and 20 °C; the line by least squares, by hand."""
    made = drawn("leak", reading=READINGS)
    assert (made.across, made.up) == ("time, h", "gas lost, mL")
    free = PropsSI("D", "P", ATMOSPHERE_PA, "T", 293.15, "Nitrogen")
    held = [
        120.0 * PropsSI("D", "P", bar * 1e5, "T", celsius + CELSIUS_K, "Nitrogen") / free
        for bar, celsius in ((100, 21), (99.2, 20), (97.9, 20.5))
    ]
    points = curve(made, "reading").points
    assert [hour for hour, _ in points] == [0.0, 24.0, 72.0]
    assert [lost for _, lost in points] == pytest.approx([held[0] - one for one in held], abs=0.01)
    (x0, y0), (x1, y1) = curve(made, "fit").points
    hours, lost = zip(*points, strict=True)
    middle, mean = sum(hours) / 3, sum(lost) / 3
    slope = sum((x - middle) * (y - mean) for x, y in points) / sum(
        (x - middle) ** 2 for x in hours
    )
    assert (y1 - y0) / (x1 - x0) == pytest.approx(slope)
    assert at([(x0, y0), (x1, y1)], middle) == pytest.approx(mean)


@pytest.mark.parametrize(
    ("reading", "shown"),
    [(STEADY, True), ("0 h=100 bara@21 C\n1 h=100.0 bara@21 C", False)],
)
def test_no_loss_lies_between_slowest_and_fastest_where_no_leak_is_shown(
    reading: str, shown: bool
) -> None:
    made = drawn("leak", reading=reading)
    slowest, fastest = (each.points for each in made.curves if each.sign == ":")
    assert (slowest[1][1] > slowest[0][1]) is shown
    assert fastest[1][1] > slowest[1][1]
    assert made.said[0].endswith(": leak" if shown else ": no leak shown")


def test_the_spring_reads_on_two_scales() -> None:
    """F = k x and p = F/(π/4 d²), a force balance: common practice, no source."""
    made = drawn("spring", rate="12 N/mm", back_pressure="3 bar", free_length="60 mm")
    ((depth, force),) = curve(made, "as set").points
    assert (depth, force) == pytest.approx((7.5, 90.0))
    assert made.right is not None
    cracks = 90.0 / (math.pi / 4 * 6.0**2) * 10.0 + 3.0
    assert made.right.slope * force + made.right.offset == pytest.approx(cracks)
    ((changed, more),) = curve(made, "after the change").points
    assert made.right.slope * more + made.right.offset == pytest.approx(cracks + 10.0)
    assert changed > depth
    assert f"cracks at {cracks:.1f} bar" in made.said[0]


def test_a_wound_spring_ends_where_its_coils_touch() -> None:
    """(N) d of squared and ground ends: 11 coils of 4 mm, of a free length of 60 mm."""
    made = drawn("spring", free_length="60 mm", material="music wire", shear_modulus="")
    assert curve(made, "coils touch").points[0][0] == pytest.approx(60.0 - 11 * 4.0)


def test_the_stress_is_drawn_with_what_the_wire_stands() -> None:
    """The published spring of problem 10-3 to Shigley: 11.55 lbf/in, solid at 1.26 in of 5 in."""
    made = drawn("spring-stress")
    ((depth, force),) = curve(made, "at work").points
    assert (depth, force) == pytest.approx((30 / 11.55, 30 * 4.4482216), rel=1e-3)
    assert curve(made, "coils touch").points[0][0] == pytest.approx(5 - 1.26)
    assert made.said[-1].startswith("of the allowed stress: at work")


def test_the_bore_goes_down_by_depth_with_a_letter_an_axis() -> None:
    made = drawn("bore", piston="39.98 mm")
    assert made.names == ((-20.0, "20"), (-80.0, "80"), (-140.0, "140"))
    assert curve(made, "axis 90").sign == "b"
    across, down = zip(*curve(made, "axis 90").points, strict=True)
    assert across == pytest.approx((40.018, 40.013, 40.008))
    assert down == (-20.0, -80.0, -140.0)
    assert curve(made, "piston 39.980 mm").points[0][0] == pytest.approx(39.98)


def test_named_depths_and_cells_not_yet_measured() -> None:
    made = bore_drawing(
        ["X"], ["top", "foot"], [[0.04], [None]], "mm", [Wall("nominal", 0.04)], at=[]
    )
    assert made.names == ((0.0, "top"), (-1.0, "foot"))
    assert curve(made, "axis X").points[0] == pytest.approx((40.0, 0.0))


def test_calculations_without_a_drawing_have_none() -> None:
    assert drawing("torque", {}) is None
    assert set(DRAWN) < set(CALCULATIONS)


def test_what_cannot_be_reckoned_cannot_be_drawn() -> None:
    with pytest.raises(BadInput, match="still needs"):
        drawing("charge", {"target": "90 bar"})
    with pytest.raises(OutOfRange):
        drawing("charge", {"target": "900 bar", "at": "20 C", "gas": "20 C"})


@given(
    low=st.floats(-1e6, 1e6),
    span=st.floats(1e-3, 1e6),
    rows=st.integers(7, 60),
)
def test_upright_marks_are_round_and_as_many_lines_apart(
    low: float, span: float, rows: int
) -> None:
    found = levels(low, low + span, rows)
    assert found is not None
    (bottom, top), marks = found
    line = (top - bottom) / (rows - 1)
    assert bottom <= low + 1e-6 * span
    assert top >= low + span - 1e-6 * span
    assert top - bottom <= 2.0 * span + 1e-6 * span
    assert len(marks) >= (3 if rows > 10 else 2)
    for mark in marks:
        assert (mark - bottom) / line == pytest.approx(round((mark - bottom) / line), abs=1e-3)
    step = marks[1] - marks[0]
    assert 1.9 < step / line < 5.1
    assert round(step / 10.0 ** math.floor(math.log10(step))) in (1, 2, 5, 10)  # 9.9999999


@pytest.mark.parametrize("rows", [10, 14, 15, 28])
def test_a_share_has_no_mark_above_one_or_below_nothing(rows: int) -> None:
    found = levels(0.0, 1.0, rows)
    assert found is not None
    assert (min(found[1]), max(found[1])) == pytest.approx((0.0, 1.0))


@pytest.mark.parametrize("size", [(80, 24), (97, 31), (120, 36)])
@pytest.mark.parametrize("right", [None, Scale("more", 37.0, 5.0)])
async def test_a_line_passes_through_the_cells_of_its_points(
    size: tuple[int, int], right: Scale | None
) -> None:
    """The same curve as a line and by its signs."""

    def no_shop() -> Shop:
        raise BadInput("no record is open in this test")

    points = tuple((n * n / 7.0, 40.0 + n * (n - 3)) for n in range(12))
    as_signs = Drawing("By signs", "x", "y", (Curve("s", points, "o", joined=False),), right=right)
    as_line = Drawing("By a line", "x", "y", (Curve("s", points),), right=right)
    app = ShopApp(no_shop, person="TT")
    async with app.run_test(size=size) as pilot:
        app.push_screen(DrawingScreen(as_signs))
        signs = (await see(pilot, "By signs", "Esc Back")).splitlines()
        app.pop_screen()
        app.push_screen(DrawingScreen(as_line))
        line = (await see(pilot, "By a line", "Esc Back")).splitlines()
    plot = range(3, len(signs) - 5)
    stood = [(n, c) for n in plot for c, sign in enumerate(signs[n]) if sign == "o"]
    assert len(stood) > len(points) - 3  # some share a cell
    for n, c in stood:
        assert line[n][c] not in " │┤├"


def test_depths_that_lie_evenly_are_drawn_evenly() -> None:
    found = named_rows([-20.0, -60.0, -140.0], 13)
    assert found is not None
    line = (found[1] - found[0]) / 12
    assert [(d - found[0]) / line for d in (-20.0, -60.0, -140.0)] == pytest.approx([12, 8, 0])
    assert named_rows([-20.0, -61.3, -140.0], 13) is None
    assert named_rows([-20.0], 13) is None


@pytest.mark.parametrize("name", ["charge", "leak", "spring"])
async def test_marks_stand_evenly_on_the_screen(name: str) -> None:
    def no_shop() -> Shop:
        raise BadInput("no record is open in this test")

    app = ShopApp(no_shop, person="TT")
    async with app.run_test(size=(80, 24)) as pilot:
        app.push_screen(DrawingScreen(drawn(name)))
        screen = await see(pilot, drawn(name).title, "Esc Back")
        marked = [n for n, line in enumerate(screen.splitlines()) if "┤" in line]
        assert len(marked) >= 3
        assert len({below - above for above, below in pairwise(marked)}) == 1


@pytest.mark.parametrize(
    ("low", "high", "most"), [(0, 1, 5), (39.99, 40.019, 6), (-7, 311, 4), (1e-6, 9e-6, 5)]
)
def test_ticks_are_round_and_inside(low: float, high: float, most: int) -> None:
    found = ticks(low, high, most)
    assert 2 <= len(found) <= most + 1
    assert all(low - 1e-12 <= mark <= high + 1e-12 for mark in found)
    assert len(set(labels(found))) == len(found)
    step = found[1] - found[0]
    assert round(step / 10.0 ** math.floor(math.log10(step) + 1e-9)) in (1, 2, 5)


# the sheet's


def answered(number: int, line: str, slot: str, typed: str, value: float, **on: float) -> Answer:
    unit = "°C" if "temperature" in slot else "mm" if line.startswith("teardown") else "bar"
    when = NOW + timedelta(**on)
    return Answer(number, line, slot, typed, typed, Verdict.NONE, "TT", when, value, unit)


def read(number: int, line: str, bar: str, celsius: str, **on: float) -> list[Answer]:
    """A pressure and the gas's temperature, typed one after the other."""
    return [
        answered(number, line, "value", f"{bar} bar", float(bar) * 1e5, **on),
        answered(number + 1, line, "temperature", f"{celsius} C", float(celsius) + CELSIUS_K, **on),
    ]


def sheet_drawing(key: str, *answers: Answer) -> Drawing | None:
    """What the line draws on the sheet of the test accumulator, 70 ± 2 bar at 20 °C in 0.16 L."""
    document = procedure.loads((DATA / "gas.toml").read_text(), name="gas.toml")
    rules = shop_rules.read((DATA / "shop.toml").read_text())
    sheet = lay_out(document, {}, rules, facts(), answers)
    state = sheet.get(key)
    assert state is not None
    return drawing_for(SheetView(cast("Heading", None), sheet), state)


def test_the_charge_line_draws_its_band_and_what_was_read() -> None:
    made = sheet_drawing("charge.read_back", *read(1, "charge.read_back", "71.0", "24"))
    assert made is not None
    assert made.title == "Charge of 70.0 bar gauge at 20.0 °C"
    upper, lower = (each.points for each in made.curves if each.sign == "-")
    assert at(upper, 20.0) == pytest.approx(72.0, abs=1e-3)
    assert at(lower, 20.0) == pytest.approx(68.0, abs=1e-3)
    assert curve(made, "target ± 2.0 bar").points == upper
    assert curve(made, "read today").points[0] == pytest.approx((24.0, 71.0))
    assert at(lower, 24.0) < 71.0 < at(upper, 24.0)


def test_the_regulator_line_draws_what_is_to_be_set() -> None:
    gas = answered(1, "charge.set", "gas_temperature", "30 C", 30 + CELSIUS_K)
    put = answered(2, "charge.set", "setting", "78 bar", 78e5)
    made = sheet_drawing("charge.set", gas, put)
    assert made is not None
    air = shop_rules.read((DATA / "shop.toml").read_text()).atmosphere_pa
    density = PropsSI("D", "P", 70e5 + air, "T", 293.15, "Nitrogen")
    wanted = (PropsSI("P", "D", density, "T", 303.15, "Nitrogen") - air) / 1e5
    assert curve(made, "target today").points[0] == pytest.approx((30.0, wanted), abs=1e-3)
    assert curve(made, "regulator set").points[0] == pytest.approx((30.0, 78.0))
    assert sheet_drawing("charge.read_back", gas) is not None


def test_the_leak_line_draws_from_the_charge_on() -> None:
    charged = read(1, "charge.read_back", "70.2", "20.0")
    assert sheet_drawing("hold.leak", *charged) is None
    made = sheet_drawing("hold.leak", *charged, *read(3, "hold.leak", "69.9", "20.5", days=1))
    assert made is not None
    assert made.across == "time, h"
    assert [hour for hour, _ in curve(made, "reading").points] == pytest.approx([0.0, 24.0])
    assert "0.1 bar and 0.1 °C" in made.said[0]
    air = shop_rules.read((DATA / "shop.toml").read_text()).atmosphere_pa
    before, after = (
        PropsSI("D", "P", bar * 1e5 + air, "T", 293.15, "Nitrogen") for bar in (70.2, 69.2)
    )
    free = PropsSI("D", "P", ATMOSPHERE_PA, "T", 293.15, "Nitrogen")
    allowed = curve(made, "allowed loss").points[0][1]
    assert allowed == pytest.approx(160.0 * (before - after) / free, rel=1e-3)


def test_a_gauge_read_to_whole_bars_says_less() -> None:
    fine = [*read(1, "charge.read_back", "70.0", "20"), *read(3, "hold.leak", "69.0", "20", days=1)]
    whole = [*read(1, "charge.read_back", "70", "20"), *read(3, "hold.leak", "69", "20", days=1)]
    sharp, blunt = sheet_drawing("hold.leak", *fine), sheet_drawing("hold.leak", *whole)
    assert sharp is not None
    assert blunt is not None
    assert curve(blunt, "slowest").points[1][1] < curve(sharp, "slowest").points[1][1]


def test_the_bore_line_draws_what_is_measured_between_its_limits() -> None:
    cells = [
        answered(1, "teardown.bore", "d1a1", "40.012 mm", 40.012e-3),
        answered(2, "teardown.bore", "d1a2", "40.018 mm", 40.018e-3),
        answered(3, "teardown.bore", "d2a1", "40.010 mm", 40.010e-3),
    ]
    assert sheet_drawing("teardown.bore") is None
    made = sheet_drawing("teardown.bore", *cells)
    assert made is not None
    assert len(curve(made, "axis 0 deg").points) == 2
    assert len(curve(made, "axis 90 deg").points) == 1
    walls = sorted(each.points[0][0] for each in made.curves if each.sign == "|")
    assert walls == pytest.approx([40.0, 40.06])
    assert [name for _, name in made.names] == ["20 mm", "80 mm"]
    assert made.said == ()


def test_other_lines_have_no_drawing() -> None:
    assert sheet_drawing("proof.dry") is None


# on the screen


async def test_a_form_draws_and_comes_back(shop: Shop, new_app: NewApp) -> None:
    async with new_app().run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await pilot.press("f11")
        await see(pilot, "density")
        await type_in(pilot, "charge", "enter")
        await see(pilot, "Calculator: charge", "F8 Draw")
        await pilot.press("f8")
        await see(pilot, "! charge still needs")
        await pilot.press("f7", "f8")
        screen = await see(pilot, "Charge of 90.0 bar gauge", f"{LINE_SHOWN} nitrogen", "ideal gas")
        assert all(len(line) <= 80 for line in screen.splitlines())
        assert "X" in screen
        inside = [line.partition("│")[2] or line.partition("┤")[2] for line in screen.splitlines()]
        assert sum(line.count("i") for line in inside) > 5
        await pilot.press("escape")
        await see(pilot, "Calculator: charge", "set pressure")


@pytest.mark.parametrize("name", sorted(DRAWN))
@pytest.mark.parametrize("size", [(80, 24), (120, 36)])
async def test_every_drawing_is_told_by_signs_and_no_colour(
    name: str, size: tuple[int, int]
) -> None:
    made = drawn(name)

    def no_shop() -> Shop:
        raise BadInput("no record is open in this test")

    app = ShopApp(no_shop, person="TT")
    async with app.run_test(size=size) as pilot:
        app.push_screen(DrawingScreen(made))
        screen = await see(pilot, made.title, "Esc Back")
        body = "".join(line for line in screen.splitlines() if set("│┤├") & set(line))
        for each in made.curves:
            if each.sign and each.points:
                assert each.sign in body
            if each.label:
                assert each.label in " ".join(screen.split())
        for strip in app.screen._compositor.render_strips():
            for segment in strip:
                assert segment.style is None or _plain(segment.style.color)


def _plain(colour: Color | None) -> bool:
    """The terminal's own colour."""
    return colour is None or colour.is_default
