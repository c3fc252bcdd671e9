"""People in the app: the first manager, keeping the list, the lock that keeps what was typed."""

from collections.abc import Callable

from shopdesk.desk import signing
from shopdesk.desk.shop import Shop
from shopdesk.records.engine import Record
from shopdesk.tui.app import ShopApp

from .driving import see, seen, type_in, until

SIZE = (80, 24)


async def test_the_first_start_asks_for_the_first_manager(record: Record) -> None:
    shop = Shop(record=record)
    app = ShopApp(lambda: shop)
    async with app.run_test(size=SIZE) as pilot:
        await see(pilot, "A new shop: who is its manager?")
        await type_in(pilot, "Mara Manager", "enter")
        await type_in(pilot, "MM 4711", "enter")
        await type_in(pilot, "MM 4712", "enter")
        await see(pilot, "the two do not agree")
        await pilot.press("up")  # the PINs are gone, the initials are not
        await type_in(pilot, "4711", "enter")
        await type_in(pilot, "4711", "enter")
        await see(pilot, "MM is the manager of this shop")
    assert signing.sign_in(shop, "MM 4711").role == "manager"


async def test_a_manager_adds_somebody_in_place(
    new_app: Callable[..., ShopApp], shop: Shop
) -> None:
    app = new_app()
    async with app.run_test(size=SIZE) as pilot:
        await pilot.press("f5")
        await see(pilot, "Office:")
        await pilot.press("w")
        await see(pilot, "People: who works here", "Mara Manager")
        await pilot.press("a")
        await see(pilot, "Somebody new")
        for text in ("Zed Zander", "technician", "ZZ 5555", "B-5", "MM 4711"):
            await type_in(pilot, text, "enter")
        await see(pilot, "ZZ works here from now on as technician", "Zed Zander")
    assert signing.sign_in(shop, "B-5 5555").initials == "ZZ"


async def test_the_lock_keeps_what_was_open(new_app: Callable[..., ShopApp]) -> None:
    app = new_app("CC")
    async with app.run_test(size=SIZE) as pilot:
        await see(pilot, "Counter: what is on the floor")
        await pilot.press("n")
        await see(pilot, "Serial")
        await type_in(pilot, "K-4711")

        def locked() -> bool:
            app.idle_s = 0.0  # again and again: the shop's own time may be read after this
            return "Locked: nobody has touched this terminal" in seen(app)

        await until(pilot, locked, "the lock")
        assert app.person == ""
        await pilot.press("escape", "f5", "f2")  # no way round
        await see(pilot, "Locked: nobody has touched this terminal")
        app.idle_s = 600.0
        await type_in(pilot, "2222")  # CC's initials stand there already
        await pilot.press("enter")
        await see(pilot, "K-4711", "at this terminal: CC")
