"""Counting by key presses: the day's list, a move meanwhile, a second person, a manager's PIN."""

from collections.abc import Callable

import pytest

from shopdesk.desk import keeping, stores
from shopdesk.desk.shop import Shop
from shopdesk.tui.app import ShopApp
from tests.desk.test_counting import RULE
from tests.tui.conftest import DATA, Clock, on_shelf
from tests.tui.driving import see, settled, type_in

SQLITE = pytest.mark.parametrize("database_url", ["sqlite"], indirect=True)
REVISION = 'revision = "4'
TEN_DAYS = RULE.replace("365", "10")
GRADES = '\n[harvest]\nsource = "test rule 12"\n[harvest.grades]\nA = 40\n'
SIZE = (80, 24)


@SQLITE
async def test_a_count_from_the_list_to_the_managers_pin(
    shop: Shop, clock: Clock, new_app: Callable[..., ShopApp]
) -> None:
    on_shelf(shop)
    text = (DATA / "shop.toml").read_text().replace(REVISION, REVISION + "b") + TEN_DAYS + GRADES
    keeping.adopt_document(shop, "MM 4711", "shop", text)
    clock.on(days=11)
    app = new_app()
    async with app.run_test(size=SIZE) as pilot:
        await pilot.press("f4")
        await see(pilot, "Tab To count")
        await pilot.press("tab")
        await see(pilot, "Due today (test rule rev A)", "A1-05", "L-1")
        await see(pilot, "class C every 10 days, not counted since it came")
        await pilot.press("f12")
        await see(pilot, "Count sheet, what is due on 2026-03-13", "test rule rev A")
        await pilot.press("escape", "enter")
        await see(pilot, "Count lot L-1", "> Pieces counted")
        clock.on(minutes=5)
        stores.receive(shop, "MM", stores.Delivery("OR-014-N90", "L-1", 8, "1Q2026"))
        await type_in(pilot, "8 at 9:7x\n", "enter")
        await see(pilot, "read '9:7x', expected a time of today")
        await pilot.press("up", *["backspace"] * 8, "enter", "enter")
        await see(pilot, "was moved since your count began: MM received 8 at")
        await pilot.press("enter")  # what was typed stands; said once more it counts
        await see(pilot, "8 is kept, and beyond what is allowed", "to recount, not CC")
        app.person = "TT"
        await pilot.press("enter")
        await type_in(pilot, "8\n\n")
        await see(pilot, "a manager approves it", "approved")
        await pilot.press("enter")
        await see(pilot, "CC counted 8 where the ledger said 20", "-12 pieces")
        await type_in(pilot, "1")
        await pilot.press("enter")
        await type_in(pilot, "a box went missing\nMM 1234\n")
        await see(pilot, "initials and PIN do not fit", "a box went missing")
        await type_in(pilot, "4711\n")
        await see(pilot, "lot L-1: -12, approved", "adjusted -12", "Nothing is to be counted")
        await pilot.press("shift+tab")
        await see(pilot, "the shelf", "8 on hand")
        await pilot.press("enter")
        await see(pilot, "one part")
        await pilot.press("u")
        await see(pilot, "Graded by test rule 12")
        await type_in(pilot, "9\n1\n")
        await see(pilot, "40 % of a new one's cost")


@SQLITE
async def test_use_by_days_stand_behind_a_key(
    shop: Shop, clock: Clock, new_app: Callable[..., ShopApp]
) -> None:
    on_shelf(shop)  # NBR cured 1Q2026: to be used by 31 March 2033 (ISO 2230, group A)
    clock.on(days=7 * 365)
    async with new_app().run_test(size=SIZE) as pilot:
        await pilot.press("f4")
        await settled(pilot)
        await pilot.press("shift+tab")
        await see(pilot, "0 over, 1 within 90 days", "31 Mar 2033", "L-1", "A1-05")
        await pilot.press("enter")
        await see(pilot, "one part", "lot L-1: 12 pieces")
