"""The office by key presses, on both databases: backlog, quotes, answers, concessions."""

from collections.abc import Callable

from sqlalchemy import select

from shopdesk.desk.shop import Shop
from shopdesk.records.tables import Approval, Concession, Job, Quote
from shopdesk.tui.app import ShopApp
from shopdesk.tui.filling import Choice, Field
from shopdesk.tui.forms import FormScreen
from tests.tui.conftest import Clock, on_shelf, quoted, take_in, torn_down
from tests.tui.driving import see, settled, type_in

NewApp = Callable[..., ShopApp]
SIZE = (80, 24)
# kit 2 x 0.28, labour 1 h at 78.00, margin 22 % of 0.56 rounded: the shop's rules in data/
TOTAL_CENTS = 56 + 7800 + 12


async def at_office(pilot: object, *words: str) -> None:
    await pilot.press("f5")  # type: ignore[attr-defined]
    await see(pilot, "Office", *words)  # type: ignore[arg-type]


async def test_the_backlog_is_grouped_by_whose_move_it_is(
    shop: Shop, clock: Clock, new_app: NewApp
) -> None:
    take_in(shop, "K-1", model="EX-1")
    torn_down(shop, "V-2")
    clock.on(days=3)
    async with new_app().run_test(size=SIZE) as pilot:
        await at_office(pilot, "Office's move: 1", "quote to make", "3 days")
        await see(pilot, "Charged or unknown, treat as charged: 1", "counter: receipt to finish")


async def test_quote_then_answer(shop: Shop, new_app: NewApp) -> None:
    on_shelf(shop)
    number = torn_down(shop)
    async with new_app().run_test(size=SIZE) as pilot:
        await at_office(pilot, f"J-{number}")
        await pilot.press("q")
        await see(pilot, f"quote for J-{number}: 78.68 EUR")
        await pilot.press("f8")
        await see(pilot, "customer to call", "+00 550 0101", "78.68")
        await pilot.press("a")
        await see(pilot, "2 x  OR-014-N90", "in all", "> Answer")
        await pilot.press("y", "enter")
        await type_in(pilot, "Ada [bold]Berg[/]", "enter")
        await pilot.press("1", "enter", "enter")
        await see(pilot, f"J-{number}: approved by Ada [bold]Berg[/], telephone")
    with shop.read() as db:
        quote = db.execute(select(Quote.total_cents)).scalar_one()
        answer = db.execute(select(Approval.answer, Approval.who, Approval.cap_cents)).one()
    assert quote == TOTAL_CENTS
    assert tuple(answer) == ("approved", "Ada [bold]Berg[/]", TOTAL_CENTS)


async def test_a_quote_is_read_out_as_it_stands_on_the_paper(shop: Shop, new_app: NewApp) -> None:
    """22 % on 2 x 0.28, to the cent: 0.68. The margin is no line of its own."""
    quoted(shop)
    async with new_app().run_test(size=SIZE) as pilot:
        await at_office(pilot, "customer's answer")
        await pilot.press("a")
        screen = await see(pilot, "78.68 EUR for Northern", "> Answer", "2 x  OR-014-N90", "0.68")
        assert "margin" not in screen.casefold()


async def test_what_fits_no_choice_gives_way_to_what_is_typed_next(
    shop: Shop, new_app: NewApp
) -> None:
    app = new_app()
    async with app.run_test(size=SIZE) as pilot:
        await settled(pilot)
        why = Field("for", "For", choices=(Choice("outside"), Choice("freight"), Choice("fees")))
        app.push_screen(FormScreen("Bill", (why, Field("by", "Whose")), lambda *_: ""))
        await see(pilot, "> For")
        await type_in(pilot, "honing", "enter")
        await see(pilot, "For: read 'honing': nothing fits", "> For    honing")
        await type_in(pilot, "f", "enter")  # two fit: what is typed on belongs behind it
        await see(pilot, "2 fit; type more")
        await type_in(pilot, "e", "enter")
        await see(pilot, "For    fees", "> Whose")


async def test_what_a_form_has_no_room_for_is_read_on_by_key(shop: Shop, new_app: NewApp) -> None:
    app = new_app()
    async with app.run_test(size=SIZE) as pilot:
        await settled(pilot)
        long = [f"line {n} of what is asked" for n in range(30)]
        app.push_screen(FormScreen("Ask", (Field("by", "Who"),), lambda *_: "", context=long))
        screen = await see(pilot, "line 0 of", "> Who", "Page Down reads on")
        assert "line 29" not in screen
        await pilot.press("pagedown", "pagedown", "pagedown", "pagedown")
        await see(pilot, "line 29 of", "> Who")
        await pilot.press("pageup", "pageup", "pageup", "pageup")
        await see(pilot, "line 0 of")


async def test_an_approval_below_the_quote_is_refused_and_the_form_keeps_its_text(
    shop: Shop, new_app: NewApp
) -> None:
    quoted(shop)
    async with new_app().run_test(size=SIZE) as pilot:
        await at_office(pilot, "customer's answer")
        await pilot.press("a")
        await see(pilot, "> Answer")
        await pilot.press("1", "enter")
        await type_in(pilot, "Ada Berg", "enter")
        await type_in(pilot, "tel", "enter")
        await pilot.press(*["backspace"] * 5)
        await type_in(pilot, "20", "enter")
        await see(pilot, "does not cover it", "Ada Berg", "telephone", "Agreed up to  20")
    with shop.read() as db:
        assert db.execute(select(Approval.id)).all() == []


async def test_declining_sends_the_unit_down_its_side_road(shop: Shop, new_app: NewApp) -> None:
    quoted(shop)
    async with new_app().run_test(size=SIZE) as pilot:
        await at_office(pilot, "customer's answer")
        await pilot.press("a")
        await see(pilot, "> Answer")
        await type_in(pilot, "dec", "enter")
        await type_in(pilot, "Ada Berg", "enter")
        await type_in(pilot, "at the gate", "enter", "enter")
        await see(pilot, "declined by Ada Berg, at the gate")
    with shop.read() as db:
        assert db.execute(select(Job.road)).scalar_one() == "declined"


async def test_a_second_quote_is_asked_for_first(shop: Shop, new_app: NewApp) -> None:
    quoted(shop)
    async with new_app().run_test(size=SIZE) as pilot:
        await at_office(pilot, "customer's answer")
        await pilot.press("q")
        await see(pilot, "A quote stands already (not answered)")
        await pilot.press("escape")
        await settled(pilot)
        await pilot.press("q")
        await see(pilot, "A quote stands already")
        await pilot.press("enter")
        await see(pilot, "A records the customer's answer")
    with shop.read() as db:
        assert len(db.execute(select(Quote.id)).all()) == 2


async def test_a_concession_needs_the_managers_pin_which_is_never_shown(
    shop: Shop, new_app: NewApp
) -> None:
    number = torn_down(shop, seat="1.9 mm")
    async with new_app().run_test(size=SIZE) as pilot:
        await at_office(pilot, f"J-{number}")
        await pilot.press("c")
        await see(pilot, "Concession", "Seat width", "limit")
        await pilot.press("enter")
        await type_in(pilot, "still seals", "enter")
        await type_in(pilot, "Ada Berg", "enter")
        await pilot.press("1", "enter")
        await type_in(pilot, "MM 9999")
        assert "9999" not in await see(pilot, "MM ••••")
        await pilot.press("enter")
        screen = await see(pilot, "do not fit", "still seals", "Ada Berg")
        assert "••••" not in screen
        await type_in(pilot, "4711", "enter")
        await see(pilot, "conceded as it is")
    with shop.read() as db:
        row = db.execute(select(Concession.line, Concession.reason)).one()
    assert tuple(row) == ("teardown.seat", "still seals")


async def test_a_new_promise_and_a_date_that_cannot_be_read(shop: Shop, new_app: NewApp) -> None:
    number = torn_down(shop)
    async with new_app().run_test(size=SIZE) as pilot:
        await at_office(pilot, f"J-{number}")
        await pilot.press("p")
        await see(pilot, "> Promised for")
        await type_in(pilot, "3/4", "enter")
        await type_in(pilot, "parts are late", "enter")
        await type_in(pilot, "MM 4711", "enter")
        await see(pilot, "expected a date", "parts are late")
        await pilot.press("up", "up", *["backspace"] * 3)
        await type_in(pilot, "3 Apr", "down", "down")
        await type_in(pilot, "4711", "enter")
        await see(pilot, f"J-{number} is promised for 3 Apr")
    with shop.read() as db:
        assert db.execute(select(Job.promised_on)).scalar_one().isoformat() == "2026-04-03"


async def test_scrap_and_quarantine(shop: Shop, new_app: NewApp) -> None:
    number = torn_down(shop)
    async with new_app().run_test(size=SIZE) as pilot:
        await at_office(pilot, f"J-{number}")
        await pilot.press("u")
        await see(pilot, "> Why")
        await pilot.press("enter")
        await see(pilot, "Why: nothing is typed")
        await type_in(pilot, "smells of solvent", "enter")
        await see(pilot, "is in quarantine")
    with shop.read() as db:
        assert db.execute(select(Job.road)).scalar_one() == "quarantined"
