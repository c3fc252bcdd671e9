"""One part standing in for another, by key presses, on both databases."""

from collections.abc import Callable

from sqlalchemy import select

from shopdesk.desk import office, stores
from shopdesk.desk.shop import Shop
from shopdesk.records.tables import Entry, Part
from shopdesk.tui.app import ShopApp
from tests.tui.conftest import quoted
from tests.tui.driving import see, settled, type_in

NewApp = Callable[..., ShopApp]
SIZE = (80, 24)
OTHER = "OR-014-V90"


async def test_proposed_approved_held_and_scanned(shop: Shop, new_app: NewApp) -> None:
    stores.add_part(
        shop, "CC", stores.NewPart(OTHER, "O-ring, other rubber", 61, "014", "FKM", bin="B2-01")
    )
    stores.receive(shop, "CC", stores.Delivery(OTHER, "L-V", 5, "1Q2026"))
    number = quoted(shop)
    async with new_app("CC").run_test(size=SIZE) as pilot:
        await pilot.press("f4")
        await settled(pilot)
        await type_in(pilot, "OR-014-N90", "enter")
        await see(pilot, "one part", "I Interchange")
        await pilot.press("i")
        await see(pilot, "nothing may stand in for anything")
        await pilot.press("n")
        await type_in(pilot, f"{OTHER.lower()}\nsame size\ntv-9\n")
        await see(pilot, "read 'tv-9'", "TV-2: seal")
        await pilot.press(*["backspace"] * 4)
        await type_in(pilot, "tv-2\n")
        await see(pilot, "interchange 1", "waits for a manager", "proposed CC")
        await pilot.press("f5")
        await see(pilot, "Approve: 1 (N)")
        await pilot.press("n")
        await see(pilot, "proposed CC")
        await pilot.press("a")
        await see(pilot, "compound FKM in place of NBR", "Not the other way round")
        await type_in(pilot, "\nmm 4711\n")
        await see(pilot, "may stand in for OR-014-N90 in TV-2", "approved MM")
        await pilot.press("escape")
        await see(pilot, f"J-{number}")
        await pilot.press("f8")
        await see(pilot, "telephone")
        await pilot.press("a")
        await see(pilot, "customer's answer")
        await type_in(pilot, "1\nAda\ntelephone\n\n")
        await see(pilot, f"Short of OR-014-N90: {OTHER} may stand", "in, 5 free")
        await pilot.press("n")
        await see(pilot, f"J-{number} lacks 2 OR-014-N90")
        await pilot.press("down", "enter")
        await see(pilot, f"Hold {OTHER} for J-{number}")
        await pilot.press("enter")
        await see(pilot, f"2 {OTHER} held for J-{number}, in place of OR-014-N90")
        await pilot.press("f3")
        await settled(pilot)
        await type_in(pilot, f"J-{number}", "enter")
        await see(pilot, f"2 {OTHER} held for this job in its place", "lot L-V")
        await type_in(pilot, "L-V", "enter")
        await see(pilot, f"2 {OTHER} from L-V", "in place of OR-014-N90")
    with shop.read() as db:
        left = db.execute(select(Part.on_hand, Part.reserved).where(Part.number == OTHER)).one()
        said = db.execute(select(Entry.limit_text).where(Entry.line == "parts.issue_seal")).scalar()
    assert tuple(left) == (3, 0)
    assert said == "in place of OR-014-N90"


async def test_the_part_says_what_stands_in_and_it_is_withdrawn(
    shop: Shop, new_app: NewApp
) -> None:
    from shopdesk.desk import interchange

    stores.add_part(shop, "CC", stores.NewPart(OTHER, "O-ring, other rubber", 61, "014", "FKM"))
    interchange.propose(shop, "TT", "OR-014-N90", OTHER, "same size")
    interchange.approve(shop, "MM 4711", 1)
    number = quoted(shop)
    office.record_answer(
        shop, "CC", number, approved=True, by="Ada", how="telephone", cap_cents=100_00
    )
    async with new_app("MM").run_test(size=SIZE) as pilot:
        await pilot.press("f4")
        await settled(pilot)
        await type_in(pilot, OTHER, "enter")
        await see(pilot, "may stand in for OR-014-N90: interchange 1, MM 2026-03-02")
        await pilot.press("enter")
        await see(pilot, f"{OTHER} may stand in for it")
        await pilot.press("i")
        await see(pilot, "approved MM")
        await pilot.press("a")
        await see(pilot, "interchange 1 is approved")
        await pilot.press("x")
        await see(pilot, "Withdraw: OR-014-V90 in place of OR-014-N90")
        await type_in(pilot, "leaks\nmm 4711\n")
        await see(pilot, "stands in for OR-014-N90 no more", "withdrawn MM")
        await pilot.press("escape")
        await see(pilot, "nobody holds any")
