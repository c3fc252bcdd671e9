"""Money and cores in the office by key presses, on both databases."""

from collections.abc import Callable

from sqlalchemy import update

from shopdesk.desk import keeping, office
from shopdesk.desk.shop import Shop
from shopdesk.records.tables import Job, Unit
from shopdesk.tui.app import ShopApp
from tests.tui.conftest import rebuilt, take_in
from tests.tui.driving import see, type_in

NewApp = Callable[..., ShopApp]
SIZE = (80, 24)


async def test_a_jobs_money_and_hours_and_the_shops_value(shop: Shop, new_app: NewApp) -> None:
    number = rebuilt(shop)
    async with new_app().run_test(size=SIZE) as pilot:
        await pilot.press("f5")
        await see(pilot, f"J-{number}")
        await pilot.press("m")
        await see(pilot, f"J-{number} TV-2: cost", "OR-014-N90", "quoted")
        await pilot.press("h")
        await see(pilot, "hours worked")
        await type_in(pilot, "build", "enter")
        await type_in(pilot, "soon", "enter", "enter")
        await see(pilot, "read 'soon', expected hours such as 1.5")
        await pilot.press("up", *["backspace"] * 4)
        await type_in(pilot, "1:30", "enter", "enter")
        await see(pilot, f"J-{number}: 90 min recorded in build", "1.5 for 0.5 h")
        await pilot.press("b")
        await see(pilot, "a bill")
        await type_in(pilot, "freight", "enter")
        await type_in(pilot, "12.50", "enter")
        await type_in(pilot, "van [to] Midsund", "enter", "enter")
        await see(pilot, "freight recorded", "12.50")
        await pilot.press("escape", "v")
        await see(pilot, "work in progress", "stock to be used", "cores owed to the shop")
        await pilot.press(*["down"] * 5, "enter")
        await see(pilot, f"J-{number}", "has cost")


async def test_a_core_is_judged_and_paid_on_the_screen(shop: Shop, new_app: NewApp) -> None:
    keeping.add_customer(shop.laying_out(), "MM", code="HOUSE", name="The shop", house=True)
    number = take_in(shop, "X-1", customer="HOUSE")
    with shop.record.write() as db:  # as if rebuilt: on the exchange shelf
        db.execute(update(Job).values(closed_at=shop.clock()))
        db.execute(update(Unit).values(pool=True))
    office.exchange(shop, "CC", "X-1", "C01", deposit_cents=250_00, carrier="van")
    back = take_in(shop, "OLD-7")
    assert back == number + 1
    async with new_app().run_test(size=SIZE) as pilot:
        await pilot.press("f5")
        await see(pilot, "backlog")
        await pilot.press("v")
        await see(pilot, "cores back, not judged")
        await pilot.press("end", "enter")
        await see(pilot, "to judge", "TV-2", "250.00", f"J-{back}")
        await pilot.press("j")
        await see(pilot, "Judge the core")
        await type_in(pilot, "complete", "enter")
        await type_in(pilot, "or-014-n90 or-014-n90", "enter", "enter")
        await see(pilot, "249.44 EUR of 250.00 EUR go back", "credit due")
        await pilot.press("p")
        await see(pilot, "249.44 EUR to Northern Ferry Yard")
        await pilot.press("enter")
        await see(pilot, "249.44 EUR paid back", "1 rebuilt, 0 scrapped")
