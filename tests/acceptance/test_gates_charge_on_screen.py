"""Attempts to charge what is not proved, with the wrong gas, too far or through weak parts, by
keys: each refusal says which line is missing and whose move it is, and nothing is recorded."""

import pytest
from sqlalchemy import func, select

from shopdesk.calc import charge
from shopdesk.desk import keeping
from shopdesk.desk.sample import reading
from shopdesk.errors import BadProcedure
from shopdesk.procedure import loads
from shopdesk.records.tables import Concession
from shopdesk.rules.answers import GasState
from tests.acceptance.conftest import TODAY, Day
from tests.acceptance.filling import fill
from tests.acceptance.terminal import Terminal
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
RATED = '[rated_pressure]\nvalue = "250 bar"\nsource = "shop drawing GS-016-01"\nrevision = "D"\n'
LIMIT = '[precharge_limit]\nvalue = "90 bar"\nsource = "shop drawing GS-016-01"\nrevision = "D"\n'


def procedure(model: str = "PA-016") -> str:
    found = reading.read(reading.folder(), TODAY)
    return next(text for name, text in found.procedures if model in name)


def revised(day: Day, *changes: tuple[str, str]) -> None:
    """PA-016 rev E in force: the sample's text with these changes."""
    text = procedure()
    new_revision = (
        ('revision = "D"\neffective', 'revision = "E"\neffective'),
        ('changed = "', 'changed = "Charging. '),
    )
    for old, new in (*new_revision, *changes):
        assert old in text
        text = text.replace(old, new, 1)
    keeping.adopt_procedure(day.shop.laying_out(), "LH", text)


# No charge before proof unless the procedure says so


async def test_no_charge_before_proof(day: Day) -> None:
    number = job_at(day, "proof.relief_cracks")
    async with at_sheet(day, number) as t:
        for key, typed in (("charge.bottle", "N2-14"), ("charge.setting", "20 C")):
            await refused(t, day, key, typed, says=("proof", "Relief cracks at"), move="technician")
        assert day.view(number).sheet.facts.gas_state is GasState.VENTED


@SQLITE
async def test_a_procedure_may_charge_before_proof(day: Day) -> None:
    number = job_at(day, "charge", "DA-007")
    async with at_sheet(day, number) as t:
        await refused(
            t,
            day,
            "proof.gas_begins",
            "30 bar",
            says=("charge", "Nitrogen bottle"),
            move="technician",
        )
        await go(t, "charge.bottle")
        t.hides("Closed:")
        await t.enter("N2-14")
        assert t.line == "charge.regulator"


# Rated pressure and precharge limit each required


@SQLITE
@pytest.mark.parametrize(
    ("table", "name"),
    [(RATED, "rated pressure"), (LIMIT, "precharge limit")],
    ids=["rated pressure", "precharge limit"],
)
async def test_either_figure_missing_closes_the_charge(day: Day, table: str, name: str) -> None:
    revised(day, (table, ""))
    number = job_at(day, "charge")
    async with at_sheet(day, number) as t:
        for key, typed in (("charge.bottle", "N2-14"), ("charge.setting", "20 C")):
            await refused(
                t,
                day,
                key,
                typed,
                says=(f"PA-016 rev E states no {name}",),
                move="manager (a new revision of the procedure)",
            )
        assert day.view(number).sheet.facts.gas_state is GasState.VENTED


# The setting within the ratings of unit, rig, hose and regulator


async def set_up(t: Terminal, day: Day, **scans: str) -> None:
    """The charge section up to the setting, with these in place of what the walker takes."""
    said = {f"charge.{kind}": code for kind, code in {"rig": "R-01", **scans}.items()}
    await fill(t, day, day.hands.bench, until="charge.setting", said=said)
    await t.enter("20 C")


@SQLITE
@pytest.mark.parametrize(
    ("scans", "setting", "says"),
    [
        ({"rig": "R-03"}, "105 bar", "rating of the rig R-03: 100.0 bar"),
        ({"hose": "H-09"}, "65 bar", "rating of the hose H-09: 60.0 bar"),
        ({"regulator": "P-02"}, "76 bar", "rating of the regulator P-02: 60.0 bar"),
        ({}, "205 bar", "rating of the regulator P-01: 200.0 bar"),
        ({"hose": "H-10"}, "76 bar", "H-10: no rating is on record"),
    ],
)
async def test_no_setting_above_what_is_attached(
    day: Day, scans: dict[str, str], setting: str, says: str
) -> None:
    for code, rating in (("H-09", 60e5), ("H-10", None)):
        new = keeping.NewInstrument(code, "hose", "old hose", rating_pa=rating)
        keeping.add_instrument(day.shop, "LH", new)
    number = job_at(day, "charge")
    async with at_sheet(day, number) as t:
        await set_up(t, day, **scans)
        move = "manager" if "no rating" in says else "technician"
        await refused(t, day, "charge.setting", setting, says=(says,), move=move)
        t.shows("gas vented")


@SQLITE
async def test_no_setting_above_the_units_own_rating(day: Day) -> None:
    revised(day, (RATED, RATED.replace("250 bar", "100 bar")))
    number = job_at(day, "charge")
    async with at_sheet(day, number) as t:
        await set_up(t, day)
        await refused(
            t,
            day,
            "charge.setting",
            "105 bar",
            says=("rating of the unit, shop drawing GS-016-01: 100.0 bar",),
            move="technician",
        )


@SQLITE
async def test_a_weaker_rig_scanned_once_the_regulator_is_set(day: Day) -> None:
    number = job_at(day, "charge")
    async with at_sheet(day, number) as t:
        await set_up(t, day)
        await t.enter("120 bar")
        assert "Does its gauge show more?" in notice(t)
        await t.enter("y")
        with nothing_recorded(day, number):
            await go(t, "charge.rig")
            await t.press("f7")
            await t.enter("R-03")
            await t.enter("the other one")
            said = notice(t)
            assert "rating of the rig R-03" in said
            assert "Move: technician." in said


@SQLITE
async def test_a_target_too_hot_for_the_rating_is_not_set(day: Day) -> None:
    """70 bar at 20 °C stands at about 81 bar at 60 °C, the highest service temperature."""
    hot = charge.set_pressure(70e5 + 101325, 293.15, 333.15).pressure_pa_abs - 101325
    assert 78e5 < hot < 85e5
    revised(
        day,
        (RATED, RATED.replace("250 bar", "78 bar")),
        (LIMIT, LIMIT.replace("90 bar", "76 bar")),
    )
    number = job_at(day, "charge")
    async with at_sheet(day, number) as t:
        await set_up(t, day)
        await refused(
            t,
            day,
            "charge.setting",
            "75 bar",
            says=("at 60 C it would stand at", "above the rated 78 bar"),
            move="manager",
        )


# The settled charge within the precharge limit; none without a temperature; nitrogen only


async def test_a_charge_above_the_precharge_limit_goes_no_further(day: Day) -> None:
    number = job_at(day, "charge.read_back")
    async with at_sheet(day, number) as t:
        await t.enter("96 bar at 20 C")
        t.shows("OUTSIDE", "above the precharge limit 90 bar", "let it down now")
        await refused(
            t, day, "hold.stands", "", says=("charge", "Charge read back"), move="technician"
        )
        await go(t, "charge.read_back")
        t.shows("1 read again 2 charge again")
        with nothing_recorded(day, number):
            await t.enter("ask customer")
            t.shows("expected one of")
        await t.press("f6")
        await t.enter("LH 4821")
        await t.press("f5", "c")
        await t.press("enter")
        for typed in ("it will do", "the mate", "telephone", "LH 4821"):
            await t.enter(typed)
        assert "not conceded" in notice(t)
        with day.shop.read() as db:
            assert db.execute(select(func.count(Concession.id))).scalar_one() == 0
    async with at_sheet(day, number) as t:
        await t.press("escape")  # what was typed and refused is offered again
        await t.enter("charge again")
        first = day.view(number).sheet.cursor
        assert first is not None
        assert t.line == first.line.key != "charge.read_back"  # that one waits for those before it


@SQLITE
async def test_no_charge_without_a_temperature(day: Day) -> None:
    number = job_at(day, "charge.setting")
    async with at_sheet(day, number) as t:
        with nothing_recorded(day, number):
            for typed in ("76 bar", "", "-"):
                await t.enter(typed)
                assert t.app.screen.query_one("Notice").loud  # type: ignore[attr-defined]
        await t.press("escape")
        await fill(t, day, day.hands.bench, until="charge.read_back")
        await t.enter("70 bar")
        assert t.line == "charge.read_back"
        t.shows("Asks: gas temperature")
        await refused(t, day, "hold.stands", "", says=("Charge read back",), move="technician")


@SQLITE
@pytest.mark.parametrize(("code", "says"), [("AR-02", "argon"), ("AIR-01", "air")])
async def test_no_gas_but_nitrogen(day: Day, code: str, says: str) -> None:
    number = job_at(day, "charge")
    async with at_sheet(day, number) as t:
        await refused(
            t,
            day,
            "charge.bottle",
            code,
            says=(f"{code} holds {says}", "only dry nitrogen"),
            move="technician: scan a nitrogen bottle",
        )
    with pytest.raises(BadProcedure, match="nitrogen"):
        loads(procedure().replace('gas = "nitrogen"', f'gas = "{says}"'), name="other gas")
