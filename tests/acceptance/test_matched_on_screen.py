"""A piston lapped to its sleeve, by keys in 80x24: found scored, both issued out of one set, and in
stores moved and scrapped as one."""

import pytest
from sqlalchemy import select

from shopdesk.desk import office
from shopdesk.desk.sample.plans import Plan
from shopdesk.records.tables import Lot, Part
from shopdesk.rules.sheet import State
from tests.acceptance.conftest import Day
from tests.acceptance.terminal import Terminal, terminal
from tests.acceptance.trying import at_sheet, go, job_at, line, on, refused

SQLITE = pytest.mark.parametrize("day", ["sqlite"], indirect=True)
PISTON, SLEEVE = "parts.issue_pilot_piston", "parts.issue_pilot_sleeve"


def lot(day: Day, part: str, number: str) -> tuple[object, ...]:
    with day.shop.read() as db:
        asked = select(Lot.on_hand, Lot.bin, Lot.set_broken, Lot.quarantined)
        named = asked.join(Part).where(Part.number == part, Lot.number == number)
        return tuple(db.execute(named).one())


async def find_piston(t: Terminal) -> None:
    await t.press("f4")
    await t.write("GS-2431")
    await t.settled()


@SQLITE
async def test_both_mates_come_out_of_one_set(day: Day) -> None:
    scored = Plan(defects=0.0, outside={"teardown.pilot_piston": "replace"})
    number = job_at(day, "decision", "SC-240", scored)
    office.make_quote(day.shop, "SK", number)
    office.record_answer(
        day.shop, "SK", number, approved=True, by="Ada", how="telephone", cap_cents=900_000
    )
    on(day, number, PISTON, scored)
    async with at_sheet(day, number) as t:
        assert t.line == PISTON
        t.shows("matched to GS-2433: one set", "set PS-101 (lot PS-101)")
        await t.enter("PS-103")
        assert t.line == SLEEVE
        t.shows("set PS-103 (lot PS-103) alone, the mate of what is issued")
        says = ("expected GS-2433 of set PS-103", "scanned lot PS-102 of set PS-102", "was issued")
        await refused(t, day, SLEEVE, "PS-102", says=says, move="technician")
        await t.press("escape")
    async with at_sheet(day, number) as t:
        assert t.line == SLEEVE
        await t.enter("PS-103")
        assert t.line != SLEEVE
        await go(t, PISTON)
        t.shows("issued from lot PS-103, set PS-103, no storage limit")
        await go(t, "parts.issue_pilot_seal")
        t.shows("issued from lot", "use by 20")
    assert line(day, number, SLEEVE).state is State.DONE


@SQLITE
async def test_in_stores_what_is_done_to_one_is_done_to_its_mate(day: Day) -> None:
    async with terminal(day.shop, person="SK") as t:
        await find_piston(t)
        await t.press("enter")
        await t.settled()
        t.shows("set PS-101 with GS-2433 lot PS-101 (bin E1-08)")
        await t.press("m")
        t.shows("One of matched set PS-101, with GS-2433 lot PS-101", "They go with it.")
        await t.enter("K-1")
        t.shows("lot PS-101 lies in K-1 now", "GS-2433 lot PS-101")
        assert lot(day, "GS-2433", "PS-101") == (1, "K-1", False, False)
        await t.press("s")
        t.shows("breaks the set")
        await t.enter("1")
        await t.enter("dropped")
        t.shows("set PS-101 is broken")
        assert lot(day, "GS-2433", "PS-101") == (1, "K-1", True, True)


@SQLITE
async def test_a_delivery_names_its_set_beside_its_lot(day: Day) -> None:
    async with terminal(day.shop, person="SK") as t:
        await find_piston(t)
        await t.press("f9")
        for typed in ("B-9 of set M-9", "1", ""):
            await t.enter(typed)
        await t.enter("")
        t.shows("lot B-9, of matched set M-9")
        await t.press("f9")
        for typed in ("B-10", "1", ""):
            await t.enter(typed)
        await t.enter("")
        t.shows("OF NO SET: it goes in only as one set with GS-2433")
    assert lot(day, "GS-2431", "B-9")[0] == 1
