"""What is typed and not recorded: kept when a terminal is gone, offered back, PINs never."""

from collections.abc import Callable

import pytest
from sqlalchemy import select

from shopdesk.desk import drafts
from shopdesk.desk.shop import Shop
from shopdesk.records.tables import Draft, Entry
from shopdesk.tui.app import ShopApp
from tests.tui.conftest import torn_down
from tests.tui.driving import see, settled, type_in, until

NewApp = Callable[..., ShopApp]
SIZE = (80, 24)
SQLITE = pytest.mark.parametrize("database_url", ["sqlite"], indirect=True)


def kept(shop: Shop) -> list[str]:
    with shop.read() as db:
        return list(db.execute(select(Draft.text).order_by(Draft.id)).scalars())


@SQLITE
async def test_a_correction_half_typed_comes_back(shop: Shop, new_app: NewApp) -> None:
    number = torn_down(shop)
    async with new_app("TT").run_test(size=SIZE) as pilot:
        await type_in(pilot, f"J-{number}", "enter")
        await see(pilot, "TEARDOWN")
        while pilot.app.screen.state().line.section != "teardown":  # type: ignore[attr-defined]
            await pilot.press("up")
        line = pilot.app.screen.state().line  # type: ignore[attr-defined]
        await pilot.press("f7")
        await see(pilot, "type it as it should be")
        await settled(pilot)
        assert kept(shop) == []  # nothing was typed over it
        await type_in(pilot, "1.1 mm", "enter")
        await see(pilot, "corrected to 1.1 mm: why?")
        await type_in(pilot, "read upside d")
        await until(pilot, lambda: kept(shop) == ["1.1 mm", "read upside d"], "the drafts")
    async with new_app("TT").run_test(size=SIZE) as pilot:
        await type_in(pilot, f"J-{number}", "enter")
        await see(pilot, f"correction begun, not recorded: {line.text[:12]}")
        while pilot.app.screen.state().line.key != line.key:  # type: ignore[attr-defined]
            await pilot.press("up")
        await see(pilot, "a correction was begun here: 1.1 mm. F7 goes on")
        await pilot.press("f7")
        await see(pilot, "typed here and not recorded: 1.1 mm (why: read upside d)")
        await pilot.press("enter")
        await see(pilot, "corrected to 1.1 mm: why?", "read upside d")
        await pilot.press("end")
        await type_in(pilot, "own", "enter")
        await until(pilot, lambda: kept(shop) == [], "no draft")
    with shop.read() as db:
        new = db.execute(select(Entry.reason, Entry.answer).where(Entry.reason != "")).one()
    assert tuple(new) == ("read upside down", "1.100 mm")


@SQLITE
async def test_a_form_half_typed_comes_back_without_its_pin(shop: Shop, new_app: NewApp) -> None:
    number = torn_down(shop, seat="1.9 mm")
    async with new_app().run_test(size=SIZE) as pilot:
        await pilot.press("f5")
        await see(pilot, "Office", f"J-{number}")
        await pilot.press("c")
        await see(pilot, "Concession")
        await pilot.press("enter")
        await type_in(pilot, "still seals", "enter")
        await type_in(pilot, "Ada Be", "enter")
        await type_in(pilot, "telephone", "enter")
        await type_in(pilot, "MM 471")
        await until(pilot, lambda: "Ada Be" in "".join(kept(shop)), "the draft")
    assert "MM" not in "".join(kept(shop))
    async with new_app().run_test(size=SIZE) as pilot:
        await pilot.press("f5")
        await see(pilot, "Office", f"J-{number}")
        await pilot.press("c")
        await see(pilot, "offered back", "still seals", "Ada Be")
        await pilot.press("enter", "enter", "enter", "enter")
        await type_in(pilot, "MM 4711", "enter")
        await see(pilot, "conceded as it is")
    assert drafts.kept_places(shop) == ()
