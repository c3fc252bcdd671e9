"""The bench's list, who stands at the terminal, help: by key presses, on both databases."""

from collections.abc import Callable

import pytest
from sqlalchemy import select

from shopdesk.desk import office
from shopdesk.desk.shop import Shop
from shopdesk.records.tables import Job, Person
from shopdesk.rules.shop import money
from shopdesk.tui.app import ShopApp
from shopdesk.tui.jobs import move_of
from shopdesk.views import sheets
from tests.tui.conftest import on_shelf, quoted, take_in, torn_down
from tests.tui.driving import see, settled, type_in

NewApp = Callable[..., ShopApp]
SIZE = (80, 24)


async def test_a_wrong_pin_is_said_and_the_pin_never_shown(shop: Shop, new_app: NewApp) -> None:
    app = new_app("")
    async with app.run_test(size=SIZE) as pilot:
        await see(pilot, "nobody yet: F6")
        await pilot.press("f6")
        await see(pilot, "Who stands at this terminal?")
        await type_in(pilot, "tt 1234")
        assert "1234" not in await see(pilot, "tt ••••")
        await pilot.press("enter")
        screen = await see(pilot, "do not fit")
        assert "1234" not in screen
        assert "••••" not in screen
        await type_in(pilot, "3333", "enter")
        await see(pilot, "at this terminal: TT")
        assert app.person == "TT"


async def test_a_scanned_badge_asks_for_the_pin(shop: Shop, new_app: NewApp) -> None:
    async with new_app("CC").run_test(size=SIZE) as pilot:
        await settled(pilot)
        await type_in(pilot, "B-TT1", "enter")
        await see(pilot, "Who stands at this terminal?", "TT")
        await type_in(pilot, "3333", "enter")
        await see(pilot, "at this terminal: TT")


async def test_a_deed_asks_first_who_does_it(shop: Shop, new_app: NewApp) -> None:
    number = torn_down(shop)
    async with new_app("").run_test(size=SIZE) as pilot:
        await pilot.press("f3")
        await see(pilot, "V-100", "F6 says who you are")
        await pilot.press("t")
        await see(pilot, "Who stands at this terminal?")
        await type_in(pilot, "tt 3333", "enter")
        await see(pilot, f"J-{number} is on TT's bench", "TT's bench: 1 taken")
    with shop.read() as db:
        taken = db.execute(
            select(Person.initials).join(Job, Job.assigned_to == Person.id)
        ).scalar_one()
    assert taken == "TT"


async def test_taking_a_job_is_refused_to_the_counter(shop: Shop, new_app: NewApp) -> None:
    torn_down(shop)
    async with new_app("CC").run_test(size=SIZE) as pilot:
        await pilot.press("f3")
        await see(pilot, "V-100")
        await pilot.press("t")
        await see(pilot, "takes a technician or manager", "!")


async def test_enter_opens_the_sheet(shop: Shop, new_app: NewApp) -> None:
    number = torn_down(shop)
    async with new_app("TT").run_test(size=SIZE) as pilot:
        await pilot.press("f3")
        await see(pilot, "V-100")
        await pilot.press("enter")
        await see(pilot, f"J-{number}  TV-2 ")


async def test_help_names_every_key_the_screen_has(shop: Shop, new_app: NewApp) -> None:
    take_in(shop, "V-100")
    async with new_app().run_test(size=(80, 40)) as pilot:
        for place in ("f2", "f3", "f4", "f5"):
            await pilot.press(place)
            await settled(pilot)
            screen = pilot.app.screen
            tooltips = [
                binding.tooltip
                for kind in type(screen).__mro__
                if kind.__module__.startswith("shopdesk")
                for binding in vars(kind).get("BINDINGS", ())
            ]
            assert tooltips
            assert all(tooltips)
            await pilot.press("f1")
            await see(pilot, "Help", *(str(words)[:40] for words in tooltips))
            await pilot.press("escape")
            await settled(pilot)


async def test_what_the_office_answers_is_asked_no_more_at_the_bench(
    shop: Shop, new_app: NewApp
) -> None:
    """The sheet open at the bench goes on to what comes next, so that a scan is taken there."""
    on_shelf(shop)
    number = quoted(shop)
    async with new_app("TT").run_test(size=SIZE) as pilot:
        await type_in(pilot, f"J-{number}\n")
        await see(pilot, "recorded at the office (F5, then A)")
        office.record_answer(
            shop, "CC", number, approved=True, by="Ada Berg", how="telephone", cap_cents=9000
        )
        screen = await see(pilot, "Asks: scan a lot of OR-014-N90")
        assert "Nothing" not in screen
        await pilot.press("up", "up")
        screen = await see(pilot, ">   1 Quote made")
        assert "Asks:" not in screen


@pytest.mark.parametrize(
    ("mover", "said"), [("RT", "RT's move"), ("stores", "stores' move"), ("", "nobody's move")]
)
def test_whose_move_it_is_in_words(mover: str, said: str) -> None:
    assert move_of(mover) == said


async def test_a_second_press_opens_no_second_form(shop: Shop, new_app: NewApp) -> None:
    take_in(shop, "V-100")
    async with new_app().run_test(size=SIZE) as pilot:
        await see(pilot, "V-100")
        depth = len(pilot.app.screen_stack)
        await pilot.press("h", "h", "h")
        await see(pilot, "Hand over")
        await settled(pilot)
        assert len(pilot.app.screen_stack) == depth + 1


async def test_the_quotes_lines_say_its_sum_and_the_answer(shop: Shop, new_app: NewApp) -> None:
    number = quoted(shop)
    app = new_app("TT")
    async with app.run_test(size=(80, 24)) as pilot:
        await see(pilot, f"J-{number}")
        await type_in(pilot, f"J-{number}", "enter")
        total = shop_quote(shop, number)
        await see(pilot, f"{money(total, 'EUR')} on 02 Mar")
        office.record_answer(
            shop, "CC", number, approved=True, by="Ada", how="telephone", cap_cents=100_00
        )
        await see(pilot, "approved up to 100.00, telephone: Ada")


def shop_quote(shop: Shop, number: int) -> int:
    with shop.read() as db:
        quote = sheets.load(db, number, shop.clock()).sheet.facts.quote
    assert quote is not None
    return quote.total_cents
