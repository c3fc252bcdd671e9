"""Scans on the sheet and the lists, by keys as fast as a scanner sends them.

SQLite alone: what a code is comes from one query, which other tests run on both databases.
"""

from collections.abc import Callable
from threading import Event
from typing import Any

import pytest
from sqlalchemy import func, select
from textual import events

from shopdesk.desk import bench, entries, keeping, office, signing
from shopdesk.desk.shop import Shop
from shopdesk.records.tables import Entry
from shopdesk.tui import finding, places
from shopdesk.tui.app import ShopApp
from tests.tui.conftest import on_shelf, quoted, take_in
from tests.tui.driving import see, settled, type_in

NewApp = Callable[..., ShopApp]
SIZE = (80, 24)


@pytest.fixture
def database_url(sqlite_url: str) -> str:
    return sqlite_url


def at_vent(shop: Shop) -> int:
    """A gas unit at its first tick of the vent record."""
    number = take_in(shop, "K-1", model="EX-1")
    entries.record_entry(shop, "TT", number, "receipt.plate", "readable")
    keeping.add_instrument(
        shop.laying_out(), "MM", keeping.NewInstrument("G-11", "pressure gauge", "gauge")
    )
    hand = {"pressure gauge": "G-11"}
    entries.record_entry(shop, "TT", number, "vent.arrival", "62 bar at 21 C", in_hand=hand)
    return number


def answers(shop: Shop, line: str) -> list[str]:
    with shop.read() as db:
        rows = db.execute(select(Entry.typed).where(Entry.line == line).order_by(Entry.id))
        return [row.typed for row in rows]


def count(shop: Shop) -> int:
    with shop.read() as db:
        return int(db.execute(select(func.count(Entry.id))).scalar_one())


@pytest.mark.parametrize("code", ["J-99999", "ZX-4411", "4006381333931", "P0V77/3"])
async def test_another_shops_label_ticks_nothing(shop: Shop, new_app: NewApp, code: str) -> None:
    number = at_vent(shop)
    before = count(shop)
    app = new_app("TT")
    async with app.run_test(size=SIZE) as pilot:
        await settled(pilot)
        await type_in(pilot, f"J-{number}\n")
        await see(pilot, f"J-{number}  ")
        await settled(pilot)
        await type_in(pilot, f"{code}\n")
        said = "no job of this shop has this tag" if code[0] == "J" else "looks like a label"
        await see(pilot, code, said)
    assert count(shop) == before


async def test_two_codes_at_a_scanners_speed_stay_two(shop: Shop, new_app: NewApp) -> None:
    number = at_vent(shop)
    keeping.add_instrument(
        shop.laying_out(), "MM", keeping.NewInstrument("W-02", "torque wrench", "wrench")
    )
    app = new_app("TT")
    async with app.run_test(size=SIZE) as pilot:
        await settled(pilot)
        await type_in(pilot, f"J-{number}\n")
        await see(pilot, f"J-{number}  ")
        await type_in(pilot, "W-02\nG-11\n")
        await settled(pilot)
        assert app.in_hand == {"torque wrench": "W-02", "pressure gauge": "G-11"}
    async with (again := new_app("TT")).run_test(size=SIZE) as pilot:
        await settled(pilot)
        await type_in(pilot, "W-02\nG-11\n")  # on a list
        await settled(pilot)
        assert again.in_hand == {"torque wrench": "W-02", "pressure gauge": "G-11"}


@pytest.mark.parametrize("pasted", [False, True])
async def test_what_is_scanned_behind_a_tag_goes_to_that_sheet(
    shop: Shop, new_app: NewApp, pasted: bool
) -> None:
    """From a list, then from a sheet: the tag, the lot for its line, and what is typed behind."""
    on_shelf(shop)
    first, second = quoted(shop, "V-1"), quoted(shop, "V-2")
    for number in (first, second):
        office.record_answer(
            shop, "CC", number, approved=True, by="Ada", how="telephone", cap_cents=100_00
        )
    app = new_app("TT")
    async with app.run_test(size=SIZE) as pilot:
        await settled(pilot)
        for number in (first, second):
            burst = f"J-{number}\nL-1\n"
            if pasted:
                app.post_message(events.Paste(burst))
            else:
                await type_in(pilot, f"{burst}smooth")
            await see(pilot, f"J-{number}  ", *(() if pasted else ("> smooth",)))
            await see(pilot, "2 from L-1")
            if not pasted:
                await pilot.press("escape")
    assert answers(shop, "parts.issue_seal") == ["L-1", "L-1"]


async def test_a_scan_into_the_wrong_place_says_what_was_expected(
    shop: Shop, new_app: NewApp
) -> None:
    on_shelf(shop)
    number = at_vent(shop)
    keeping.add_bottle(
        shop.laying_out(),
        "MM",
        code="N2-14",
        gas="nitrogen",
        volume_m3=0.05,
        pressure_pa=184e5,
        rating_pa=200e5,
    )
    before = count(shop)
    async with new_app("TT").run_test(size=SIZE) as pilot:
        await settled(pilot)
        await type_in(pilot, f"J-{number}\n")
        await see(pilot, f"J-{number}  ")
        await settled(pilot)
        for code, kind in (("N2-14", "bottle"), ("L-1", "lot"), ("OR-014-N90", "part")):
            await type_in(pilot, f"{code}\n")
            await see(pilot, f"{code} is a {kind}", "expected:")
        await type_in(pilot, f"J-{number}\n")
        await see(pilot, "this is its sheet")
    assert count(shop) == before


async def test_a_tag_opens_its_sheet_where_a_lot_is_asked(shop: Shop, new_app: NewApp) -> None:
    on_shelf(shop)
    other, number = take_in(shop, "V-2"), quoted(shop)
    office.record_answer(
        shop, "CC", number, approved=True, by="Ada", how="telephone", cap_cents=100_00
    )
    async with new_app("TT").run_test(size=SIZE) as pilot:
        await settled(pilot)
        await type_in(pilot, f"J-{number}\n")
        await see(pilot, "scan a lot of")
        await settled(pilot)
        await type_in(pilot, f"J-{other}\n")
        await see(pilot, f"J-{other}  ")


async def test_a_badge_signs_in_or_waits_for_its_pin(shop: Shop, new_app: NewApp) -> None:
    number = at_vent(shop)
    app = new_app("TT")
    async with app.run_test(size=SIZE) as pilot:
        await settled(pilot)
        await type_in(pilot, f"J-{number}\n")
        await see(pilot, f"J-{number}  ")
        await settled(pilot)
        await type_in(pilot, "B-CC1\n")
        await see(pilot, "Who stands at this terminal?", "CC")
        await type_in(pilot, "2222\n")
        await see(pilot, "at this terminal: CC", f"J-{number}  ")


async def test_what_was_entered_comes_back_when_nobody_signs(shop: Shop, new_app: NewApp) -> None:
    number = take_in(shop, "V-1")
    async with new_app("").run_test(size=SIZE) as pilot:
        await settled(pilot)
        await type_in(pilot, f"J-{number}\n")
        await see(pilot, f"J-{number}  ")
        await settled(pilot)
        await type_in(pilot, "readable\n")
        await see(pilot, "Who stands at this terminal?")
        await pilot.press("escape")
        await see(pilot, "> readable", "nobody said who they are")


async def test_what_is_scanned_right_behind_a_pin_is_not_lost(shop: Shop, new_app: NewApp) -> None:
    number = take_in(shop, "V-1")
    app = new_app("")
    async with app.run_test(size=SIZE) as pilot:
        await settled(pilot)
        await pilot.press("f6")
        await type_in(pilot, f"tt 3333\nJ-{number}\n")
        await see(pilot, f"J-{number}  TV-2", "at this terminal: TT")


@pytest.fixture
def slow(monkeypatch: pytest.MonkeyPatch) -> Event:
    """What is looked for, and whose PIN it is, is answered once this is set."""
    go = Event()
    find, sign = finding.what_is, signing.sign_in

    def slowly(real: Callable[..., object]) -> Callable[..., object]:
        return lambda *given: (go.wait(10), real(*given))[1]

    monkeypatch.setattr(places, "what_is", slowly(find))
    monkeypatch.setattr(signing, "sign_in", slowly(sign))
    return go


async def test_letters_behind_a_pasted_scan_do_nothing_by_themselves(
    shop: Shop, new_app: NewApp, slow: Event
) -> None:
    on_shelf(shop)
    async with new_app().run_test(size=SIZE) as pilot:
        await pilot.press("f4")
        await see(pilot, "OR-014-N90")
        pilot.app.post_message(events.Paste("zz-9\n"))
        await type_in(pilot, "rs")  # R alone receives a delivery
        await see(pilot, "Find: rs_")
        slow.set()
        await see(pilot, "'zz-9' is no label of this shop", "Find: rs_", "Stores: the shelf")


async def test_function_keys_wait_for_the_pin(shop: Shop, new_app: NewApp, slow: Event) -> None:
    app = new_app("")
    async with app.run_test(size=SIZE) as pilot:
        await see(pilot, "nobody yet: F6")
        await pilot.press("f6")
        await see(pilot, "Who stands at this terminal?")
        await type_in(pilot, "tt 1\n", "f4")  # a wrong one: the key is given up with it
        slow.set()
        await see(pilot, "do not fit")
        slow.clear()
        await type_in(pilot, "3333\n", "f4")
        await see(pilot, "Who stands at this terminal?")
        slow.set()
        await see(pilot, "at this terminal: TT", "Stores: the shelf")


async def test_function_keys_wait_for_a_forms_deed(
    shop: Shop, new_app: NewApp, monkeypatch: pytest.MonkeyPatch
) -> None:
    go, real = Event(), bench.quarantine

    def slowly(*given: Any) -> object:
        go.wait(10)
        return real(*given)

    monkeypatch.setattr(bench, "quarantine", slowly)
    number = take_in(shop, "V-100")
    async with new_app().run_test(size=SIZE) as pilot:
        await pilot.press("f5")
        await see(pilot, f"J-{number}")
        await pilot.press("u")
        await see(pilot, "> Why")
        await type_in(pilot, "smells\n\n", "f4")  # the second Enter was for the form
        go.set()
        await see(pilot, "Stores: the shelf")
