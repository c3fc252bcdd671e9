"""Attempts to walk round the gates of hold, release and the door by keys: each refusal says which
line is missing and whose move it is, and nothing is recorded."""

import pytest
from sqlalchemy import func, select

from shopdesk.desk import keeping
from shopdesk.desk.sample import reading
from shopdesk.records.tables import CoreDeposit, Shipment
from shopdesk.rules.answers import GasState, Road
from shopdesk.rules.sheet import State
from tests.acceptance.conftest import TODAY, Day
from tests.acceptance.filling import fill
from tests.acceptance.terminal import Terminal, terminal
from tests.acceptance.trying import (
    at_sheet,
    go,
    job_at,
    line,
    nothing_recorded,
    notice,
    on,
    refused,
    taken_in,
)

SQLITE = pytest.mark.parametrize("day", ["sqlite"], indirect=True)
TWO = "technician and a second person"


def transport(day: Day, *changes: tuple[str, str]) -> None:
    """The shop's rules rev 5: its transport rule with these changes."""
    text = reading.read(reading.folder(), TODAY).shop_text
    for old, new in (('revision = "4"', 'revision = "5"'), *changes):
        assert old in text
        text = text.replace(old, new, 1)
    keeping.adopt_document(day.shop.laying_out(), "LH", "shop", text)


# No release with a failed or missing test, an open line or a running hold


async def test_no_release_while_the_hold_runs(day: Day) -> None:
    number = job_at(day, "hold.stands")
    async with at_sheet(day, number) as t:
        await t.enter()
        await refused(
            t,
            day,
            "hold.stands",
            "",
            says=("the hold is not over",),
            move="technician, once it is over",
        )
        says = ("In the rack, tagged CHARGED",)
        await refused(t, day, "hold.leak", "70 bar at 20 C", says=says, move="technician")
        await refused(t, day, "release.signed", "OB 7314", says=says, move="technician")
        await refused(t, day, "shipment.ships_as", "charged", says=says, move="technician")
        await leaves_not(t, day, number, "In the rack, tagged CHARGED", "technician")


async def leaves_not(t: Terminal, day: Day, number: int, says: str, move: str) -> None:
    """Tries to hand the unit over at the counter."""
    await t.press("f6")
    await t.enter("SK 2690")
    await t.press("f2", "h")
    with nothing_recorded(day, number):
        await t.enter("own van")
        await t.press("enter")
        said = notice(t)
        assert says in said, said
        assert f"Move: {move}." in said
    await t.press("escape")
    with day.shop.read() as db:
        out = select(Shipment.id).where(Shipment.job_id == day.view(number).heading.job_id)
        assert db.execute(out).all() == []


@SQLITE
@pytest.mark.parametrize(
    ("until", "says"),
    [
        ("proof.past_piston", "Oil past the piston"),
        ("hold.leak", "Charge after the hold"),
        ("release.plate", "Plate and tag agree with this sheet"),
    ],
)
async def test_no_release_with_an_open_line(day: Day, until: str, says: str) -> None:
    number = job_at(day, until)
    async with at_sheet(day, number) as t:
        await refused(t, day, "release.signed", "OB 7314", says=(says,), move="technician")
        await leaves_not(t, day, number, says, "technician")


@SQLITE
async def test_a_failed_test_is_not_released(day: Day) -> None:
    number = job_at(day, "proof.past_piston")
    async with at_sheet(day, number) as t:
        await t.enter("2.5 mL")
        await t.enter("ask customer")
        t.shows("OUTSIDE")
        for key, typed in (("charge.bottle", "N2-14"), ("release.signed", "OB 7314")):
            await refused(t, day, key, typed, says=("Oil past the piston",), move="technician")
        await leaves_not(t, day, number, "Oil past the piston", "technician")


@SQLITE
async def test_a_test_corrected_to_a_failure_takes_the_release_back(day: Day) -> None:
    number = job_at(day, "")
    async with at_sheet(day, number) as t:
        await go(t, "proof.past_piston")
        await t.press("f7")
        await t.enter("2.5 mL")
        await t.enter("read the wrong glass")
        t.shows("OUTSIDE")
        signed = line(day, number, "release.signed")
        assert signed.state is State.OPEN
        assert signed.past
        await refused(
            t,
            day,
            "release.signed",
            "OB 7314",
            says=("Gas pressure before venting",),
            move="technician",
        )
        await leaves_not(t, day, number, "Gas pressure before venting", "technician")


# No unit ships charged or unknown unless the transport rule allows it


@SQLITE
@pytest.mark.parametrize(
    ("change", "says"),
    [
        (("ships_charged = true", "ships_charged = false"), "this shop ships no charged unit"),
        (('highest = "200 bar"', 'highest = "50 bar"'), "above the 50.0 bar that may travel"),
    ],
)
async def test_charged_is_not_chosen_where_the_rule_forbids_it(
    day: Day, change: tuple[str, str], says: str
) -> None:
    transport(day, change)
    number = job_at(day, "shipment")
    async with at_sheet(day, number, "SK") as t:
        await refused(
            t,
            day,
            "shipment.ships_as",
            "charged",
            says=(says, "shop rule 9, transport", "leaves vented"),
            move=TWO,
        )
        await leaves_not(t, day, number, "Gas state it ships in", "counter")


@SQLITE
async def test_a_rule_changed_at_the_last_moment_holds_the_unit_back(day: Day) -> None:
    number = job_at(day, "shipment")
    async with at_sheet(day, number, "SK") as t:
        await t.enter("charged")
        on(day, number, "")
        transport(day, ("ships_charged = true", "ships_charged = false"))
        await leaves_not(t, day, number, "this shop ships no charged unit", TWO)


@SQLITE
async def test_a_unit_of_unknown_gas_does_not_leave(day: Day) -> None:
    number = taken_in(day)
    async with at_sheet(day, number, "SK") as t:
        await leaves_not(t, day, number, "Identity plate", "counter")
        assert day.view(number).sheet.facts.gas_state is GasState.UNKNOWN


# Side roads have their own lines


@SQLITE
async def test_a_declined_unit_leaves_by_its_own_lines(day: Day) -> None:
    number = job_at(day, "decision.approval")
    async with terminal(day.shop, person="SK") as t:
        await t.press("f5", "a")
        for typed in ("declined", "the mate", "telephone", ""):
            await t.enter(typed)
        assert day.view(number).sheet.facts.road is Road.DECLINED
        await leaves_not(t, day, number, "Reserved and issued parts back on the shelf", "counter")


@SQLITE
async def test_quarantine_shuts_everything_until_a_manager_lets_it_out(day: Day) -> None:
    number = job_at(day, "teardown")
    async with terminal(day.shop, person="RT") as t:
        await t.press("f5", "u")
        await t.enter("smells of solvent")
        await t.press("f3")
        await t.enter(f"J-{number}")
        first = "Eye and skin protection on"
        for key in ("teardown.piston", "build.washed", "vent.pressure"):
            await refused(t, day, key, "good", says=("in quarantine", first), move="technician")
        await t.press("escape", "f8")
        await fill(t, day, day.hands.bench, until="quarantined.signed")
        await refused(
            t,
            day,
            "quarantined.signed",
            "RT 9046",
            says=("takes a manager's signature",),
            move="manager",
        )
        await t.enter("OB 7314")
        assert day.view(number).sheet.facts.road is Road.REPAIR
        assert t.line == "teardown.relief_depth"


@SQLITE
async def test_nothing_is_scrapped_without_consent_or_by_a_charged_state(day: Day) -> None:
    number = job_at(day, "hold.leak")
    async with terminal(day.shop, person="SK") as t:
        await t.press("f5", "s")
        with nothing_recorded(day, number):
            for typed in ("", " ", ""):
                await t.enter(typed)
            assert "Who consents: nothing is typed" in notice(t)
        await t.enter("the owner")
        await t.enter("letter")
        await t.enter("cracked")
        assert day.view(number).sheet.facts.road is Road.SCRAPPED
        await t.press("f3")
        await t.enter(f"J-{number}")
        says = ("Gas pressure before venting",)
        await refused(t, day, "scrapped.gas_zero", "1", says=says, move="technician")
        await leaves_not(t, day, number, says[0], "technician")


@SQLITE
async def test_a_concession_takes_manager_and_customer(day: Day) -> None:
    number = job_at(day, "teardown.bore_surface")
    async with at_sheet(day, number, "RT") as t:
        for typed in ("scored", "60 mm, top", "light", "4 mm", "ask customer"):
            await t.enter(typed)
        await t.press("f5", "c")
        t.shows("Concession")
        await t.press("enter")
        with nothing_recorded(day, number):
            for typed in ("within wear", "", " "):
                await t.enter(typed)
            assert "Customer agreed: nothing is typed" in notice(t)
            await t.enter("the mate")
            await t.enter("telephone")
            await t.enter("RT 9046")
            said = notice(t)
            assert "to concede takes a manager; this is a technician" in said
            assert "Move: manager." in said
        await t.press(*["backspace"] * 12)
        await t.enter("LH 4821")
        assert line(day, number, "teardown.bore_surface").conceded


@SQLITE
async def test_an_exchange_unit_is_one_of_the_shelfs(day: Day) -> None:
    number = job_at(day, "vent")
    async with terminal(day.shop, person="SK") as t:
        with nothing_recorded(day, number):
            await t.press("x")
            for typed in ("K31007", "C04", "450.00", "own van"):
                await t.enter(typed)
            assert "not on the exchange shelf" in notice(t)
        with day.shop.read() as db:
            assert db.execute(select(func.count(CoreDeposit.id))).scalar_one() == 0
