"""The counter by key presses, on both databases: what is seen and what is recorded."""

from collections.abc import Callable
from typing import cast

import pytest
from sqlalchemy import select, update
from textual import events

from shopdesk.desk import drafts, keeping
from shopdesk.desk.shop import Shop
from shopdesk.records.tables import CoreDeposit, Customer, Job, Shipment, Unit
from shopdesk.tui.app import ShopApp
from shopdesk.tui.places import ListScreen
from tests.tui.conftest import MARKUP_NAME, Clock, rebuilt, take_in, torn_down
from tests.tui.driving import see, settled, type_in, until

NewApp = Callable[..., ShopApp]
SIZE = (80, 24)


async def test_the_floor_says_gas_state_and_lateness_in_words(
    shop: Shop, clock: Clock, new_app: NewApp
) -> None:
    take_in(shop, "K-20418", model="EX-1")
    take_in(shop, "V-100")
    clock.on(days=60)
    async with new_app().run_test(size=SIZE) as pilot:
        screen = await see(pilot, "K-20418", "V-100")
        gas = next(line for line in screen.splitlines() if "K-20418" in line)
        assert "UNKNOWN=charged" in gas
        assert "LATE" in gas
        assert "waits for" in screen
        assert all(len(line) <= 80 for line in screen.splitlines())


async def test_markup_like_text_is_shown_as_typed(shop: Shop, new_app: NewApp) -> None:
    take_in(shop, "[/]-9", customer="C02", complaint="[red]leaks[/red]")
    async with new_app().run_test(size=(120, 30)) as pilot:
        await see(pilot, "[/]-9", MARKUP_NAME)
        await pilot.press("n")
        await see(pilot, "> Serial")
        await type_in(pilot, "[x", "down")
        await see(pilot, "[x")


async def test_finding_as_you_type_and_opening_by_enter(shop: Shop, new_app: NewApp) -> None:
    take_in(shop, "V-100")
    number = take_in(shop, "K-20418", model="EX-1", customer="C02")
    async with new_app().run_test(size=SIZE) as pilot:
        await see(pilot, "V-100", "K-20418")
        await type_in(pilot, "k-204")
        screen = await see(pilot, "Find: k-204_", "1 found")
        assert "V-100" not in screen
        await pilot.press("enter")
        await see(pilot, f"J-{number}  EX-1 ")
        await pilot.press("f2")
        await see(pilot, "what is on the floor", "V-100")


@pytest.mark.parametrize("database_url", ["sqlite"], indirect=True)
async def test_enter_is_not_lost_when_another_terminal_records_meanwhile(
    shop: Shop, new_app: NewApp, monkeypatch: pytest.MonkeyPatch
) -> None:
    take_in(shop, "V-100")
    number = take_in(shop, "K-20418", model="EX-1", customer="C02")
    async with new_app().run_test(size=SIZE) as pilot:
        await see(pilot, "V-100", "K-20418")
        screen = cast(ListScreen, pilot.app.screen)
        plain = screen.reload

        def reload(then: Callable[[], None] | None = None) -> None:
            plain(then)
            if then is not None:
                screen.changed()

        monkeypatch.setattr(screen, "reload", reload)
        await type_in(pilot, "k-204\n")
        await see(pilot, f"J-{number}  EX-1 ")


async def test_a_search_by_customer_is_moved_through_and_ended(shop: Shop, new_app: NewApp) -> None:
    for serial in ("V-1", "V-2"):
        take_in(shop, serial)
    take_in(shop, "V-3", customer="C02")
    async with new_app().run_test(size=SIZE) as pilot:
        await see(pilot, "V-3")
        await pilot.press("f7")
        await type_in(pilot, "northern")  # "n" takes in a core where nothing is typed
        await see(pilot, "2 found")
        await pilot.press("down")
        await see(pilot, "Found for 'northern': 2")
        await pilot.press("escape")
        await see(pilot, "V-3")


async def test_a_scanned_tag_opens_its_sheet_from_any_list(shop: Shop, new_app: NewApp) -> None:
    number = take_in(shop, "V-100")
    async with new_app().run_test(size=SIZE) as pilot:
        for place in ("f2", "f3", "f5", "f4"):
            await pilot.press(place)
            await settled(pilot)
            await type_in(pilot, f"J-{number}\n")
            await see(pilot, f"J-{number}  TV-2 ")


async def test_a_serial_seen_before_fills_model_and_customer(
    shop: Shop, clock: Clock, new_app: NewApp
) -> None:
    number = take_in(shop, "K-20418", model="EX-1", customer="C02")
    with shop.record.write() as db:
        db.execute(update(Job).values(closed_at=clock.now, stage="done"))
    clock.on(days=700)
    async with new_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await pilot.press("n")
        await see(pilot, "> Serial")
        await type_in(pilot, "k20418")
        await see(pilot, f"J-{number}  2 Mar 26 to 2 Mar 26", "1  K-20418  EX-1")
        await pilot.press("down", "enter")
        await see(pilot, "> Complaint", "C02", "Date offered: 2028-")
        await type_in(pilot, "[bold]sags[/] overnight", "enter", "enter", "enter", "enter")
        await see(pilot, "K-20418", "taken in: tag it")
        await settled(pilot)
        assert drafts.kept_places(shop) == ()
    with shop.read() as db:
        row = db.execute(
            select(Job.complaint, Unit.serial, Customer.code)
            .join(Unit, Unit.id == Job.unit_id)
            .join(Customer, Customer.id == Job.customer_id)
            .where(Job.closed_at.is_(None))
        ).one()
    assert tuple(row) == ("[bold]sags[/] overnight", "K-20418", "C02")


async def test_a_serial_that_left_lately_is_said_to_be_under_warranty(
    shop: Shop, clock: Clock, new_app: NewApp
) -> None:
    """Twelve months by the shop's rule: whether a claim stands is seen where its kind is chosen."""
    number = take_in(shop, "K-20418", model="EX-1", customer="C02")
    with shop.record.write() as db:
        db.execute(update(Job).values(closed_at=clock.now, stage="done"))
    clock.on(days=20)
    async with new_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await pilot.press("n")
        await type_in(pilot, "k20418")
        left = f"J-{number}  2 Mar to 2 Mar, under warranty until 2 Mar 27"
        await see(pilot, left)
        await pilot.press("down", "enter")
        await type_in(pilot, "sags again", "enter")
        await see(pilot, "> Kind of job", "2  warranty", left)


async def test_a_unit_found_that_left_in_another_year_has_the_year_seen(
    shop: Shop, clock: Clock, new_app: NewApp
) -> None:
    number = take_in(shop, "K-20418", model="EX-1")
    with shop.record.write() as db:
        db.execute(update(Job).values(closed_at=clock.now, stage="done"))
    clock.on(days=330)
    async with new_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await type_in(pilot, "k-204")
        screen = await see(pilot, "1 found")
        row = next(line for line in screen.splitlines() if f"J-{number}  EX-1" in line)
        assert row.rstrip().endswith("left Mar 26")


async def test_a_long_customer_on_a_sheet_is_cut_with_a_mark(shop: Shop, new_app: NewApp) -> None:
    number = take_in(shop, "K-20418-LONG-SERIAL", model="EX-1", customer="C02")
    async with new_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await type_in(pilot, f"J-{number}\n")
        screen = await see(pilot, "Enter records")
        assert screen.splitlines()[0].startswith(f" J-{number}  EX-1 K-20418-LONG-SERIAL  ")
        assert "… " in screen.splitlines()[0]


async def test_a_new_core_by_number_and_by_name(shop: Shop, new_app: NewApp) -> None:
    async with new_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await pilot.press("n")
        await see(pilot, "> Serial")
        await type_in(pilot, "NEW-7", "enter")
        await see(pilot, "> Model")
        await type_in(pilot, "2", "enter")
        await type_in(pilot, "ferry", "enter")
        await type_in(pilot, "drips", "enter", "enter", "enter")
        await type_in(pilot, "14 Apr", "enter")
        await see(pilot, "NEW-7", "Promised for 14 Apr")
    with shop.read() as db:
        promised = db.execute(select(Job.promised_on)).scalar_one()
    assert promised.isoformat() == "2026-04-14"


async def test_a_whole_take_in_typed_at_once_loses_no_key(shop: Shop, new_app: NewApp) -> None:
    """A scanner or a paste types faster than any answer comes back."""
    async with new_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await pilot.press("n")
        await see(pilot, "> Serial")
        await type_in(pilot, "NEW-8\nTV-2\nC01\nburst\n\n\n\n")
        await see(pilot, "NEW-8", "taken in")


async def test_three_scans_pasted_in_a_row_are_three_scans(shop: Shop, new_app: NewApp) -> None:
    number = take_in(shop, "V-100")
    for code, kind in (("G-11", "pressure gauge"), ("W-02", "torque wrench")):
        keeping.add_instrument(
            shop.laying_out(), "MM", keeping.NewInstrument(code, kind, "test instrument")
        )
    app = new_app()
    async with app.run_test(size=SIZE) as pilot:
        await see(pilot, "V-100")
        app.post_message(events.Paste(f"G-11\nW-02\nJ-{number}\n"))
        await see(pilot, f"J-{number}  TV-2 ")
        assert app.in_hand == {"pressure gauge": "G-11", "torque wrench": "W-02"}


async def test_what_is_typed_and_not_taken_in_is_offered_back(shop: Shop, new_app: NewApp) -> None:
    async with new_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await pilot.press("n")
        await see(pilot, "> Serial")
        await type_in(pilot, "HALF-1", "enter")
        await see(pilot, "> Model")
        await until(
            pilot, lambda: ("take in/serial", "HALF-1") in drafts.kept_places(shop), "the draft"
        )
    async with new_app().run_test(size=SIZE) as pilot:  # a new process at the same terminal
        await settled(pilot)
        await pilot.press("n")
        await see(pilot, "HALF-1", "offered back")
        await pilot.press("enter")
        await see(pilot, "> Model")
        await pilot.press("f9")
        await until(pilot, lambda: "HALF-1" not in str(drafts.kept_places(shop)), "emptied")


async def test_another_serial_begins_anew_where_a_draft_is_offered(
    shop: Shop, new_app: NewApp
) -> None:
    drafts.keep(shop, "take in/serial", "HALF-1")
    drafts.keep(shop, "take in/complaint", "of the other unit")
    async with new_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await pilot.press("n")
        await see(pilot, "HALF-1", "offered back")
        await type_in(pilot, "NEW-9\nTV-2\nC01\n")
        screen = await see(pilot, "NEW-9", "> Complaint")
        assert "HALF-1" not in screen
        assert "of the other unit" not in screen


async def test_a_refused_take_in_keeps_the_form(shop: Shop, new_app: NewApp) -> None:
    number = take_in(shop, "V-100")
    async with new_app().run_test(size=SIZE) as pilot:
        await settled(pilot)
        await pilot.press("n")
        await see(pilot, "> Serial")
        await type_in(pilot, "V-100", "enter")
        await see(pilot, "> Complaint")
        await type_in(pilot, "again", "enter", "enter", "enter", "enter")
        await see(pilot, f"in the shop already as J-{number}", "again")


async def test_handing_over_an_unfinished_unit_is_refused_inside_the_form(
    shop: Shop, new_app: NewApp
) -> None:
    number = torn_down(shop)
    async with new_app().run_test(size=SIZE) as pilot:
        await see(pilot, "V-100")
        await pilot.press("h")
        await see(pilot, f"Hand over J-{number}", "This closes its job")
        await type_in(pilot, "Blue Van", "enter", "enter")
        await see(pilot, "!", "Blue Van")
        await pilot.press("escape")
        await see(pilot, "what is on the floor")
    with shop.read() as db:
        assert db.execute(select(Job.closed_at)).scalar_one() is None


async def test_a_finished_unit_is_handed_over_and_comes_back_with_its_past(
    shop: Shop, clock: Clock, new_app: NewApp
) -> None:
    number = rebuilt(shop)
    async with new_app().run_test(size=SIZE) as pilot:
        await see(pilot, "to be handed over")
        await pilot.press("h")
        await see(pilot, f"Hand over J-{number}")
        await type_in(pilot, "Blue Van\n\n")
        await see(pilot, f"J-{number} has left the shop", "nothing is on the floor")
        clock.on(days=700)
        await pilot.press("n")
        await see(pilot, "> Serial")
        await type_in(pilot, "v1")
        await see(pilot, f"J-{number}  2 Mar 26 to 2 Mar 26", "fitted: OR-014-N90 2 from L-1")
    with shop.read() as db:
        shipped = db.execute(select(Shipment.carrier)).scalar_one()
    assert shipped == "Blue Van"


async def test_one_unit_of_an_order_leaves_before_the_other(shop: Shop, new_app: NewApp) -> None:
    number = take_in(shop, "V-100", reference="PO 17")
    async with new_app().run_test(size=SIZE) as pilot:
        await see(pilot, "V-100")
        await pilot.press("n")
        await see(pilot, "> Serial")
        await type_in(pilot, "V-200\nTV-2\nC01\nweeps\n\npo 17")
        await see(pilot, "Order po 17 so far:", f"J-{number} TV-2 V-100, here")
        await type_in(pilot, "\n\n")
        await see(pilot, "taken in: tag it")
        await pilot.press("escape", "f2")
        await type_in(pilot, "po 17")
        await see(pilot, "2 found", "V-100", "V-200")
        await pilot.press("down", "h")
        await see(pilot, "Part shipment of order PO 17, unit 1 of 2.", "Still in the shop: J-")
        await pilot.press("escape")


async def test_ctrl_u_empties_what_is_typed(shop: Shop, new_app: NewApp) -> None:
    async with new_app().run_test(size=SIZE) as pilot:
        await see(pilot, "nothing is on the floor")
        await type_in(pilot, "zzz")
        await see(pilot, "Find: zzz_")
        await pilot.press("ctrl+u", "n")
        await see(pilot, "> Serial")
        await type_in(pilot, "wrong")
        await pilot.press("ctrl+u")
        await type_in(pilot, "V-7")
        await see(pilot, "> Serial        V-7")


async def test_an_exchange_unit_goes_out_and_its_core_is_owed(
    shop: Shop, clock: Clock, new_app: NewApp
) -> None:
    rebuilt(shop)
    with shop.record.write() as db:
        db.execute(update(Job).values(closed_at=clock.now, stage="done"))
        db.execute(update(Unit).values(pool=True))
    async with new_app().run_test(size=SIZE) as pilot:
        await see(pilot, "nothing is on the floor")
        await pilot.press("x")
        await see(pilot, "> Serial", "the core is owed", "1  V-100", "TV-2")
        await type_in(pilot, "1\nbracket\n450,00\nBlue Van\n")
        await see(pilot, "V-100 went to C02")
        await pilot.press("x")
        await see(pilot, "No unit stands on the exchange shelf")
    with shop.read() as db:
        owed = db.execute(
            select(CoreDeposit.cents, Customer.code).join(
                Customer, Customer.id == CoreDeposit.customer_id
            )
        ).one()
    assert tuple(owed) == (45000, "C02")


async def test_another_terminals_hiss_is_seen_within_two_seconds(
    shop: Shop, new_app: NewApp
) -> None:
    from shopdesk.desk import bench

    number = take_in(shop, "K-20418", model="EX-1")
    async with new_app().run_test(size=SIZE) as pilot:
        await see(pilot, "UNKNOWN=charged")
        await pilot.pause(0.7)
        bench.report_hiss(shop, "TT", number, "at the first turn")
        await see(pilot, " CHARGED ")


async def test_a_terminal_too_small_says_so_and_loses_nothing(shop: Shop, new_app: NewApp) -> None:
    take_in(shop, "V-100")
    async with new_app().run_test(size=SIZE) as pilot:
        await see(pilot, "V-100")
        await pilot.resize_terminal(60, 20)
        screen = await see(pilot, "60 x 20", "80 x 24")
        assert "V-100" not in screen
        await pilot.resize_terminal(80, 24)
        await see(pilot, "V-100", "at this terminal: CC")


@pytest.mark.parametrize("database_url", ["sqlite"], indirect=True)
async def test_a_new_customer_is_put_on_the_list_while_the_core_is_taken_in(
    shop: Shop, new_app: NewApp
) -> None:
    async with new_app().run_test(size=SIZE) as pilot:
        await see(pilot, "nothing is on the floor")
        await pilot.press("n")
        await see(pilot, "> Serial")
        await type_in(pilot, "N-1\n")
        await see(pilot, "> Model")
        await type_in(pilot, "EX-1\nSaltmere Yard\n")
        await see(pilot, "nothing fits; F8 puts a new customer")
        await pilot.press("f8")
        await see(pilot, "> Name       Saltmere Yard")
        await type_in(pilot, "\n\n+00 5\n\n\n")
        await see(pilot, "C03 is Saltmere Yard", "> Complaint")
        await type_in(pilot, "leaks\n\n\n\n")
        await see(pilot, "J-1001 taken in")
    with shop.read() as db:
        joined = select(Customer.code, Customer.phone).join(Job, Job.customer_id == Customer.id)
        assert [tuple(row) for row in db.execute(joined)] == [("C03", "+00 5")]
