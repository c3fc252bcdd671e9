"""The stores by key presses, on both databases: receive, order, count, who holds."""

from collections.abc import Callable

from sqlalchemy import select, update

from shopdesk.desk import office, purchases
from shopdesk.desk.shop import Shop
from shopdesk.records.tables import Job, Lot, Part, Purchase, PurchaseLine, Supplier
from shopdesk.tui.app import ShopApp
from tests.tui.conftest import on_shelf, quoted, rebuilt
from tests.tui.driving import see, settled, type_in

NewApp = Callable[..., ShopApp]
SIZE = (80, 24)


async def test_ordering_what_is_short_and_receiving_it(shop: Shop, new_app: NewApp) -> None:
    number = quoted(shop)
    office.record_answer(
        shop, "CC", number, approved=True, by="Ada", how="telephone", cap_cents=100_00
    )
    async with new_app().run_test(size=SIZE) as pilot:
        await pilot.press("f4")
        await see(pilot, "OR-014-N90", "TO ORDER")
        await pilot.press("f8")
        await see(pilot, "S01 Ring Supply: 7.50 EUR", f"J-{number}")
        await pilot.press("enter")
        await see(pilot, "Order from Ring Supply", "25 x OR-014-N90")
        await pilot.press("enter")
        await see(pilot, "purchase 501 placed", "On its way")
        await pilot.press("escape")
        await see(pilot, "the shelf")
        await pilot.press("f9")
        await see(pilot, "> Lot")
        await type_in(pilot, "L-77", "enter")
        await type_in(pilot, "25", "enter")
        await type_in(pilot, "1Q2026", "enter")
        await type_in(pilot, "CERT-1", "enter")
        await see(pilot, "on the shelf, lot L-77", f"reserved for J-{number}")
    with shop.read() as db:
        part = db.execute(select(Part.on_hand, Part.reserved)).one()
        lot = db.execute(select(Lot.number, Lot.cured, Lot.certificate)).one()
        bought = db.execute(select(PurchaseLine.quantity, PurchaseLine.received)).one()
        assert db.execute(select(Purchase.number)).scalar_one() == 501
        assert db.execute(select(Job.waiting_for)).scalar_one() == "parts to issue"
    assert tuple(part) == (25, 2)
    assert tuple(lot) == ("L-77", "1Q2026", "CERT-1")
    assert tuple(bought) == (25, 25)


async def test_an_order_below_its_suppliers_minimum_says_so(shop: Shop, new_app: NewApp) -> None:
    number = quoted(shop)
    office.record_answer(
        shop, "CC", number, approved=True, by="Ada", how="telephone", cap_cents=100_00
    )
    with shop.record.write() as db:
        db.execute(update(Supplier).values(minimum_order_cents=50_00))
    async with new_app().run_test(size=SIZE) as pilot:
        await pilot.press("f4")
        await see(pilot, "TO ORDER")
        await pilot.press("f8")
        await see(pilot, "S01 Ring Supply: 7.50 EUR, BELOW his minimum of 50.00")


async def test_what_will_not_come_is_called_off(shop: Shop, new_app: NewApp) -> None:
    purchases.order(shop, "CC", "S01", (("OR-014-N90", 25),))
    async with new_app().run_test(size=SIZE) as pilot:
        await pilot.press("f4", "f8")
        await see(pilot, "On its way, by purchase", "25 ordered, 25 still to come")
        await pilot.press("delete")
        await see(pilot, "Call off OR-014-N90 of purchase 501")
        await type_in(pilot, "ordered twice", "enter")
        await see(pilot, "25 of OR-014-N90 of purchase 501 called off")
    with shop.read() as db:
        line = db.execute(select(PurchaseLine.quantity, PurchaseLine.called_off)).one()
    assert tuple(line) == (25, 25)


async def test_a_part_shows_lots_use_by_and_holders_and_a_lot_is_counted(
    shop: Shop, new_app: NewApp
) -> None:
    on_shelf(shop)
    number = quoted(shop)
    office.record_answer(
        shop, "CC", number, approved=True, by="Ada", how="telephone", cap_cents=100_00
    )
    async with new_app().run_test(size=SIZE) as pilot:
        await pilot.press("f4")
        await settled(pilot)
        await type_in(pilot, "or-014", "enter")
        # NBR is kept 7 years from the end of its cure quarter (ISO 2230, group A)
        await see(pilot, "L-1", "1Q2026", "2033", "ISO 2230", f"held for J-{number}: 2 pieces")
        await pilot.press("k")
        await see(pilot, "Count first")  # blind: the ledger is silent until a count stands
        await type_in(pilot, "x", "enter", "enter")
        await see(pilot, "read 'x', expected a whole number")
        await pilot.press("up", "backspace")
        await type_in(pilot, "11", "enter", "enter")
        await see(pilot, "Give the reason")
        await type_in(pilot, "one torn", "enter")
        await see(pilot, "lot L-1: 11 now, -1 by count")
        await pilot.press("s")
        await type_in(pilot, "12\ntorn\n")
        await see(pilot, "lot L-1 has 11")
        await pilot.press("up", "backspace", "enter", "enter")
        await see(pilot, "1 of lot L-1 scrapped")
        await pilot.press("q")
        await type_in(pilot, "maker calls it back", "enter")
        await see(pilot, "lot L-1 is in quarantine", "ASIDE")
        await pilot.press("b")
        await type_in(pilot, "a2-07", "enter")
        await see(pilot, "lies in A2-07 now, not A1-05")
        await pilot.press("g")
        await type_in(pilot, f"j-{number}\n1\nleft over\n")
        await see(pilot, f"J-{number} has 0 pieces of lot L-1")
        await pilot.press("escape", "p")
        await see(pilot, "S01 Ring Supply: 1: 0.30, at least 1")
        await pilot.press("enter")
        await type_in(pilot, "1: 0.30; 50: 0.40\n\n\n")
        await see(pilot, "quantities rise and prices fall", "1: 0.30; 50: 0.40")
        await pilot.press("up", "up", *["backspace"] * 4)
        await type_in(pilot, "0.25\n\n\n")
        await see(pilot, "from S01: 1: 0.30; 50: 0.25, at least 1")
        await pilot.press("w")
        await see(pilot, "pieces a month", "ORDER 25 from S01", "6 days quoted")
    with shop.read() as db:
        assert db.execute(select(Lot.on_hand)).scalar_one() == 10


async def test_a_scanned_lot_opens_its_part(shop: Shop, new_app: NewApp) -> None:
    on_shelf(shop, lot="L-1")
    on_shelf(shop, lot="L-2")
    async with new_app().run_test(size=SIZE) as pilot:
        await pilot.press("f4")
        await settled(pilot)
        await type_in(pilot, "l-2", "enter")
        await see(pilot, "one part", "lot L-2: 12 pieces")


async def test_receiving_nonsense_is_refused_inside_the_form(shop: Shop, new_app: NewApp) -> None:
    async with new_app().run_test(size=SIZE) as pilot:
        await pilot.press("f4")
        await see(pilot, "OR-014-N90")
        await pilot.press("f9")
        await see(pilot, "> Lot")
        await type_in(pilot, "L-9", "enter")
        await type_in(pilot, "0", "enter", "enter", "enter")
        await see(pilot, "expected 1 to", "L-9")
    with shop.read() as db:
        assert db.execute(select(Lot.id)).all() == []


async def test_t_traces_a_lot_to_its_job_and_back(shop: Shop, new_app: NewApp) -> None:
    number = rebuilt(shop, "V-7")
    async with new_app().run_test(size=SIZE) as pilot:
        await pilot.press("f4")
        await settled(pilot)
        await type_in(pilot, "or-014", "enter")
        await see(pilot, "one part", "L-1")
        await pilot.press("t")
        await see(pilot, "lot L-1: went into 1 job", f"J-{number}", "V-7", "in house")
        await pilot.press("enter")
        await see(pilot, f"J-{number}: pieces of 1 lot", "O-ring 12.42", "1Q2026")
        await type_in(pilot, "or-014-n90", "enter")
        await see(pilot, "OR-014-N90: in the kit of 1 model", "TV-2", "L-1")
        await pilot.press("escape", "escape", "escape")
        await see(pilot, "one part")
        await pilot.press("f5")
        await see(pilot, "backlog", f"J-{number}")
        await pilot.press("t")
        await see(pilot, f"J-{number}: pieces of 1 lot")
