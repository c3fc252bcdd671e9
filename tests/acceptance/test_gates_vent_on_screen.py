"""Attempts to walk round the vent gate by keys: each refusal says which line is missing and whose
move it is, and nothing is recorded."""

import pytest

from shopdesk.rules.answers import GasState
from shopdesk.rules.sheet import State
from tests.acceptance.conftest import Day
from tests.acceptance.filling import fill
from tests.acceptance.terminal import terminal
from tests.acceptance.trying import (
    at_sheet,
    go,
    job_at,
    nothing_recorded,
    notice,
    refused,
)

SQLITE = pytest.mark.parametrize("day", ["sqlite"], indirect=True)
TWO = "technician and a second person"
WITNESS = "Second person has seen both gauges at zero"


# No teardown of a gas unit before a complete vent record with a second person's signature


async def test_no_teardown_before_the_vent_record(day: Day) -> None:
    number = job_at(day, "vent")
    async with at_sheet(day, number) as t:
        for key, typed in (
            ("teardown.relief_depth", "8.12 mm"),
            ("teardown.piston", "good"),
            ("teardown.bore_photo", "bore.jpg"),
            ("build.washed", ""),
        ):
            says = ("vent record complete", "line 1, Gas pressure before venting")
            await refused(t, day, key, typed, says=says, move=TWO)
        assert day.view(number).sheet.facts.gas_state is GasState.UNKNOWN


async def test_no_teardown_while_the_second_person_is_missing(day: Day) -> None:
    number = job_at(day, "vent.witness")
    async with at_sheet(day, number) as t:
        await refused(t, day, "teardown.piston", "good", says=(WITNESS,), move=TWO)
        await go(t, "vent.witness")
        await refused(
            t,
            day,
            "vent.witness",
            "RT 9046",
            says=("did part of this work",),
            move="a second person",
        )
        t.shows("GAS CHARGED")
        with nothing_recorded(day, number):
            await t.enter("JV 9046")
            assert "do not fit" in notice(t)
            t.hides("9046")
        await t.enter("JV 3178")
        t.shows("gas vented")
        await go(t, "teardown.piston")
        t.hides("Closed:")


@SQLITE
async def test_the_vent_is_done_in_order(day: Day) -> None:
    number = job_at(day, "vent")
    async with at_sheet(day, number) as t:
        for key, typed in (("vent.gas_open", ""), ("vent.zero_gas", "0 bar"), ("vent.hold", "")):
            says = ("done in order", "line 1, Gas pressure before venting")
            await refused(t, day, key, typed, says=says, move="technician")
        await refused(
            t,
            day,
            "vent.witness",
            "JV 3178",
            says=("Gas pressure before venting",),
            move="technician",
        )


@SQLITE
async def test_pressure_at_zero_keeps_the_teardown_shut(day: Day) -> None:
    number = job_at(day, "vent.zero_gas")
    async with at_sheet(day, number) as t:
        await t.enter("G-01")
        await t.enter("1.4 bar")
        t.shows("OUTSIDE", "GAS CHARGED")
        await refused(t, day, "teardown.piston", "good", says=("Zero on the gas side",), move=TWO)
        await go(t, "vent.zero_gas")
        with nothing_recorded(day, number):
            await t.enter("scrap it")
            t.shows("expected one of")


@SQLITE
async def test_a_vent_reading_corrected_asks_the_second_person_again(day: Day) -> None:
    number = job_at(day, "teardown")
    async with at_sheet(day, number) as t:
        await go(t, "vent.zero_again")
        await t.press("f7")
        await t.enter("0.02 bar")
        await t.enter("read in a hurry")
        t.shows("was signed", "GAS UNKNOWN: counts as charged")
        await refused(t, day, "teardown.piston", "good", says=(WITNESS,), move=TWO)


@SQLITE
async def test_a_signature_is_not_corrected(day: Day) -> None:
    number = job_at(day, "teardown")
    async with at_sheet(day, number) as t:
        with nothing_recorded(day, number):
            await go(t, "vent.witness")
            await t.press("f7")
            await t.enter("AD 8203")
            await t.enter("she saw it too")
            assert "not corrected" in notice(t)
            t.shows("gas vented")


@SQLITE
async def test_a_hiss_is_reported_not_written(day: Day) -> None:
    number = job_at(day, "vent.oil_open")
    async with at_sheet(day, number) as t:
        with nothing_recorded(day, number):
            await t.enter("it still hisses")
            assert "a hiss is no answer" in notice(t)


# Unknown counts as charged on every screen


@SQLITE
async def test_unknown_counts_as_charged_on_every_screen(day: Day) -> None:
    number = job_at(day, "vent")
    async with terminal(day.shop, person="RT") as t:
        for place in ("f2", "f3", "f5"):
            await t.press(place)
            t.shows(f"J-{number}", "UNKNOWN=charged")
        await t.press("f2")
        await t.write("K310")
        await t.settled()
        t.shows("UNKNOWN=charged")
        await t.press("enter")
        assert t.sheet.number == number
        t.shows("GAS UNKNOWN: counts as charged")
        await t.press("escape", "f5", "u")
        t.shows("UNKNOWN=charged")


# Re-pressurising or a hiss voids the vent record


@SQLITE
@pytest.mark.parametrize("until", ["teardown", "decision", "parts", "build", "proof"])
async def test_a_hiss_voids_the_vent_record(day: Day, until: str) -> None:
    number = job_at(day, until)
    async with at_sheet(day, number) as t:
        await t.press("f9")
        t.shows("GAS CHARGED", "VENT 10 open", "vent record is void", "by RT 16 Nov")
        opening = "teardown.relief_depth" if until == "teardown" else "build.washed"
        await refused(
            t, day, opening, "8.12 mm", says=("line 1, Gas pressure before venting",), move=TWO
        )


@SQLITE
async def test_setting_the_regulator_voids_the_vent_record(day: Day) -> None:
    number = job_at(day, "charge.setting")
    async with at_sheet(day, number) as t:
        t.shows("gas vented")
        await fill(t, day, day.hands.bench, until="charge.fill")
        t.shows("GAS CHARGED")
        assert all(s.state is State.NOT_ASKED for s in day.view(number).sheet.section("vent"))
        await fill(t, day, day.hands.bench, until="hold.leak")
        await t.enter("60 bar at 20 C")
        t.shows("OUTSIDE")
        await t.enter("rework")
        assert t.line == "vent.pressure"
        t.shows("GAS CHARGED", "was signed", "vent void")
        await refused(t, day, "build.washed", "", says=("Gas pressure before",), move=TWO)
