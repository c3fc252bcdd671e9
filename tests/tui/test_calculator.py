"""The calculator by key presses: find, type, read; nothing typed is lost, no key waits."""

import time
from collections.abc import Callable
from pathlib import Path

import pytest
from textual import events
from textual.pilot import Pilot

from shopdesk.desk.calculator import CALCULATIONS
from shopdesk.desk.shop import Shop
from shopdesk.tui.app import ShopApp
from shopdesk.tui.calculator import reckoning, showing
from shopdesk.tui.calculator.boxes import Boxes
from shopdesk.tui.calculator.form import CalculationScreen
from tests.calc.worked import rows
from tests.tui.conftest import take_in, torn_down
from tests.tui.driving import see, seen, settled, type_in, until

NewApp = Callable[..., ShopApp]
SIZE = (80, 24)
SURVEY = "depth,0,90\n20,40.012,40.018\n80,40.010,40.013\n140,40.006,40.008\n"


def a1(quantity: str) -> str:
    """Worked example A1 as the screen writes it: 90 bar at 40 °C, set at 20 °C; its source stands
    in the table: an accumulator maker's guide for the ideal gas, CoolProp for the real one."""
    (row,) = (row for row in rows("A") if (row.id, row.quantity) == ("A1", quantity))
    return f"{row.expected:.1f} bar gauge"


@pytest.fixture
def database_url(sqlite_url: str) -> str:
    """One database: a sum asks the record for next to nothing."""
    return sqlite_url


async def open_form(pilot: Pilot[int], name: str) -> CalculationScreen:
    await settled(pilot)
    await pilot.press("f11")
    await see(pilot, "Calculator", "density")
    await type_in(pilot, name, "enter")
    await see(pilot, f"Calculator: {name}")
    screen = pilot.app.screen
    assert isinstance(screen, CalculationScreen)
    return screen


async def test_a_word_finds_and_enter_opens(shop: Shop, new_app: NewApp) -> None:
    async with new_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await pilot.press("f11")
        screen = await see(pilot, "charge", "torque", "Wrench setting")
        assert all(len(line) <= 80 for line in screen.splitlines())
        await type_in(pilot, "wrench")
        await see(pilot, "2 found", "> torque")
        await pilot.press("enter")
        await see(pilot, "Calculator: torque", "Still needs target", "length", "adapter")
        await pilot.press("escape")
        await see(pilot, "Find:", "> torque", "density")
        await pilot.press("escape")
        await see(pilot, "Counter: what is on the floor")


async def test_a_name_opens_its_own_form_though_others_hold_the_word(
    shop: Shop, new_app: NewApp
) -> None:
    async with new_app().run_test(size=SIZE) as pilot:
        await open_form(pilot, "spring")
        await pilot.press("escape")
        await type_in(pilot, "leak", "enter")
        await see(pilot, "Calculator: leak")


async def test_the_result_lives_while_one_types(shop: Shop, new_app: NewApp) -> None:
    async with new_app().run_test(size=SIZE) as pilot:
        await open_form(pilot, "charge")
        await type_in(pilot, "90 bar\n40 C\n")
        screen = await see(pilot, "Still needs gas (The gas's temperature now).")
        assert "set pressure" not in screen
        await type_in(pilot, "20 C")
        screen = await see(
            pilot,
            f"set pressure  {a1('real p(20 C)')}   ideal gas {a1('ideal p(20 C)')}",
            "Sum: ρ(91.0132 bar abs, 40 °C)",
            "Source: constant mass",
            "CAUTION  Advice only",
        )
        assert "Still needs" not in screen
        await pilot.press("backspace", "backspace", "backspace", "backspace")
        await see(pilot, "Still needs gas")


async def test_a_bad_value_is_said_at_its_field_and_nothing_is_lost(
    shop: Shop, new_app: NewApp
) -> None:
    async with new_app().run_test(size=SIZE) as pilot:
        screen = await open_form(pilot, "charge")
        await type_in(pilot, "90 bar\n40 [/]brr\n20 C")
        shown = await see(pilot, '! at: "40 [/]brr" holds "["', "type a number")
        (line,) = (line for line in shown.splitlines() if line.strip().startswith("at "))
        assert "40 [/]brr" in line
        assert ' ! "40 [/]brr"' in line
        assert screen.boxes.typed() == {"target": "90 bar", "at": "40 [/]brr", "gas": "20 C"}
        await pilot.press("up", *["backspace"] * 6)
        await type_in(pilot, "C")
        await see(pilot, f"set pressure  {a1('real p(20 C)')}")


async def test_a_fault_of_the_whole_sum_is_a_sentence(shop: Shop, new_app: NewApp) -> None:
    async with new_app().run_test(size=SIZE) as pilot:
        await open_form(pilot, "torque")
        await type_in(pilot, "20 ft-lb\n12 in\n12 in\n180")
        await see(pilot, "! ")
        await until(pilot, lambda: "setting  " not in seen(pilot.app), "no setting")


async def test_keys_typed_at_once_are_all_taken(shop: Shop, new_app: NewApp) -> None:
    async with new_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await pilot.press("f11")
        await see(pilot, "density")
        await type_in(pilot, "charge")
        await see(pilot, "4 found")
        await type_in(pilot, "\n")
        await see(pilot, "Calculator: charge")
        await type_in(pilot, "90 bar\n40 C\n20 C")
        await see(pilot, a1("real p(20 C)"))


async def test_typing_never_waits_for_a_sum(
    shop: Shop, new_app: NewApp, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[dict[tuple[str, int], str]] = []
    honest = reckoning.reckon

    def slow(name: str, lines: dict[tuple[str, int], str]) -> reckoning.Reckoned:
        asked.append(dict(lines))
        time.sleep(0.4)
        return honest(name, lines)

    monkeypatch.setattr(reckoning, "reckon", slow)
    text = "90.000000000 bar"
    async with new_app().run_test(size=SIZE) as pilot:
        screen = await open_form(pilot, "density")
        begun = time.monotonic()
        await type_in(pilot, text)
        await until(pilot, lambda: screen.boxes.typed().get("pressure") == text, "the text")
        taken_s = time.monotonic() - begun
        assert text in seen(pilot.app)
        await until(pilot, lambda: bool(asked) and asked[-1] == {("pressure", 1): text}, "the last")
        assert len(asked) < len(text) / 2, "sums of what is no longer typed are left out"
        assert taken_s < 0.4 * len(text) / 2


async def test_what_is_typed_stays_with_the_terminal(shop: Shop, new_app: NewApp) -> None:
    async with new_app().run_test(size=SIZE) as pilot:
        await open_form(pilot, "density")
        await type_in(pilot, "200 bar\n20 C")
        await see(pilot, "compressibility")
        await pilot.press("escape")
        await settled(pilot)
    async with new_app().run_test(size=SIZE) as pilot:
        await open_form(pilot, "density")
        await see(pilot, "as you left it", "200 bar", "20 C", "compressibility")
        await pilot.press("f9")
        await see(pilot, "emptied; F9 again puts your figures back", "Still needs pressure")
        await pilot.press("f9")
        await see(pilot, "your figures again", "200 bar", "compressibility")
        await type_in(pilot, "150 bar")
        shown = await see(pilot, "150 bar", "compressibility")
        assert "200 bar" not in shown, "what is offered gives way to the first sign typed"


async def test_the_example_stands_in_and_gives_way(shop: Shop, new_app: NewApp) -> None:
    async with new_app().run_test(size=SIZE) as pilot:
        await open_form(pilot, "charge")
        await type_in(pilot, "77 bar")
        await pilot.press("f7")
        await see(pilot, "the worked example; F7 again", a1("real p(20 C)"))
        await pilot.press("f7")
        shown = await see(pilot, "your figures again", "77 bar")
        assert "90 bar" not in shown


async def test_help_shows_the_worked_example(shop: Shop, new_app: NewApp) -> None:
    async with new_app().run_test(size=(80, 40)) as pilot:
        await open_form(pilot, "charge")
        await settled(pilot)
        await pilot.press("f1")
        await see(
            pilot, "altitude: Or the site's height", "target: 90 bar", a1("real p(20 C)"), "F8"
        )
        await pilot.press("escape")
        await see(pilot, "Calculator: charge")


async def test_readings_get_a_line_each(shop: Shop, new_app: NewApp) -> None:
    async with new_app().run_test(size=SIZE) as pilot:
        screen = await open_form(pilot, "leak")
        await type_in(pilot, "120 mL\n0 h=100 bara@21 C\n24 h=99.2 bara@20 C\n")
        shown = await see(pilot, "reading 2", "reading 3", "leak rate", "ideal gas", "verdict")
        assert "reading 4" not in shown
        assert screen.boxes.typed()["reading"] == "0 h=100 bara@21 C\n24 h=99.2 bara@20 C"
        await type_in(pilot, "48 h=hot@20 C")
        await see(pilot, "reading 4", '"hot"')


async def test_a_pasted_survey_is_rows(shop: Shop, new_app: NewApp) -> None:
    async with new_app().run_test(size=SIZE) as pilot:
        screen = await open_form(pilot, "bore")
        await settled(pilot)
        screen.boxes.post_message(events.Paste(SURVEY))
        await until(pilot, lambda: screen.boxes.typed().get("file") == SURVEY.strip(), "the rows")
        await type_in(pilot, "\n40 mm")
        # 40.018 less 40.012, the widest row; 40.018 less 40.008, the widest column.
        await see(pilot, "out of round  0.006 mm", "taper         0.010 mm")


async def test_more_fields_than_lines_scroll_with_the_cursor(shop: Shop, new_app: NewApp) -> None:
    async with new_app().run_test(size=SIZE) as pilot:
        await open_form(pilot, "spring")
        shown = await see(pilot, "> wire", "↓")
        assert "back pressure" not in shown
        await pilot.press(*["down"] * 14)
        shown = await see(pilot, "> shim", "↑")
        assert "> wire" not in shown
        assert len(shown.splitlines()) <= 24
        await pilot.press("enter")
        await see(pilot, "> wire")


async def test_the_calculator_opens_from_the_bench_and_over_a_form(
    shop: Shop, new_app: NewApp
) -> None:
    torn_down(shop, "V-100")
    async with new_app("TT").run_test(size=SIZE) as pilot:
        await pilot.press("f3")
        await see(pilot, "V-100", "C Calculator")
        await pilot.press("c")
        await see(pilot, "density")
        await type_in(pilot, "drops", "enter")
        await see(pilot, "Calculator: drops")
        await pilot.press("f11")
        await see(pilot, "Find:", "> drops")
        await pilot.press("escape")
        await see(pilot, "Bench: my units")


async def test_a_scanned_tag_opens_its_sheet(shop: Shop, new_app: NewApp) -> None:
    number = take_in(shop, "V-100")
    async with new_app("TT").run_test(size=SIZE) as pilot:
        await settled(pilot)
        await pilot.press("f11")
        await see(pilot, "density")
        await type_in(pilot, f"J-{number}", "enter")
        await see(pilot, f"J-{number}  TV-2 ")
        await pilot.press("f11")
        await see(pilot, "density", "Calculator")


@pytest.mark.parametrize("name", list(CALCULATIONS))
def test_every_form_reckons_its_example(name: str) -> None:
    boxes = Boxes(CALCULATIONS[name])
    boxes.put(CALCULATIONS[name].example)
    reckoned = reckoning.reckon(name, boxes.lines())
    assert (reckoned.missing, reckoned.fault, reckoned.refused) == ("", "", {})
    shown = " ".join(showing.shown(reckoned, 78).plain.split())
    outcome = CALCULATIONS[name].run(CALCULATIONS[name].example)
    for said in (*(v.as_text for v in outcome.results.values()), outcome.sum_text, outcome.source):
        assert " ".join(said.split()) in shown
    assert max(len(line) for line in showing.shown(reckoned, 78).plain.splitlines()) <= 78


@pytest.mark.parametrize("name", list(CALCULATIONS))
def test_an_empty_form_says_what_it_needs(name: str) -> None:
    reckoned = reckoning.reckon(name, {})
    assert reckoned.missing
    assert reckoned.outcome is None


def test_a_survey_file_is_read_and_a_missing_one_said(tmp_path: Path) -> None:
    file = tmp_path / "bore.csv"
    file.write_text(SURVEY)
    lines = {("file", 1): str(file), ("nominal", 1): "40 mm"}
    found = reckoning.reckon("bore", lines).outcome
    assert found is not None
    assert found.results["taper"].as_text == "0.010 mm"
    file.unlink()
    assert "cannot be read" in reckoning.reckon("bore", lines).fault


async def test_only_one_empty_line_stands_behind_several(shop: Shop, new_app: NewApp) -> None:
    async with new_app().run_test(size=SIZE) as pilot:
        screen = await open_form(pilot, "depth")
        await type_in(pilot, "7.42 mm\n7.45 mm\n")
        await see(pilot, "reading 3")
        await pilot.press("up", *["backspace"] * 7, "up")
        await until(pilot, lambda: "reading 3" not in seen(pilot.app), "one line less")
        assert screen.boxes.typed()["reading"] == "7.42 mm"
