"""The walker answers any procedure: one that it has never seen, line by line to the door."""

from collections.abc import Iterator
from datetime import date, datetime, timedelta
from pathlib import Path

import pytest

from shopdesk.desk import counter, keeping, stores
from shopdesk.desk.sample import reading
from shopdesk.desk.sample.clock import Clock, at, working, working_days
from shopdesk.desk.sample.plans import Plan
from shopdesk.desk.sample.walker import Hands, Walker
from shopdesk.desk.shop import Shop
from shopdesk.records.engine import open_record
from shopdesk.rules.answers import Verdict
from tests.procedure.test_unseen import UNSEEN

DAY = date(2026, 6, 3)
MODEL = "WD-77"
RIG = """
[[charge]]
key = "bottle"
kind = "prepare"
text = "Bottle"
instrument = "bottle"
[[charge]]
key = "rig"
kind = "prepare"
text = "Rig"
instrument = "rig"
[[charge]]
key = "set"
"""


@pytest.fixture
def clock() -> Clock:
    return Clock(at(DAY - timedelta(days=20), 8))


@pytest.fixture
def shop(sqlite_url: str, clock: Clock) -> Iterator[Shop]:
    """The sample's people, rules and instruments; parts and procedure of a unit of our own."""
    record = open_record(sqlite_url)
    shop = Shop(record, clock)
    found = reading.read(reading.folder(), DAY)
    reading.put_down(shop, found, clock.now, DAY)
    keeping.adopt_procedure(
        shop.laying_out(), "LH", UNSEEN.replace('\n[[charge]]\nkey = "set"\n', RIG)
    )
    for number in ("WD-R1", "WD-H", "WD-HP"):
        stores.add_part(shop, "LH", stores.NewPart(number, "invented", 100))
        stores.receive(shop, "SK", stores.Delivery(number, f"LOT-{number}", 9))
    full = next(bottle for bottle in found.bottles if bottle.gas == "nitrogen")
    keeping.add_bottle(
        shop.laying_out(),
        "LH",
        code=full.code,
        gas=full.gas,
        volume_m3=full.volume_m3,
        pressure_pa=full.pressure_pa,
        rating_pa=full.rating_pa,
    )
    yield shop
    record.close()


@pytest.fixture
def walker(shop: Shop, clock: Clock) -> Walker:
    return Walker(shop, clock, reading.read(reading.folder(), DAY).crew)


@pytest.fixture
def hands(walker: Walker) -> Hands:
    return Hands(walker.crew.one("RT"), walker.crew.one("SK"))


@pytest.fixture
def number(shop: Shop) -> int:
    core = counter.Core("WD 1", MODEL, "C01", "reads heavy")
    return counter.receive_core(shop, "SK", core).heading.number


def test_it_goes_from_the_counter_to_the_door(
    shop: Shop, walker: Walker, hands: Hands, number: int
) -> None:
    view = walker.walk(number, hands, Plan(defects=0.0))
    assert view.sheet.cursor is None
    answered = [state for state in view.sheet.lines if state.given]
    assert len(answered) >= 20
    assert all(state.verdict is not Verdict.OUTSIDE for state in answered)
    left = counter.hand_over(shop, "SK", number, "own van")
    assert left.sheet.facts.closed


def test_it_stops_where_it_is_told(walker: Walker, hands: Hands, number: int) -> None:
    assert walker.walk(number, hands, Plan(), until="teardown").sheet.stage == "teardown"
    view = walker.walk(number, hands, Plan(), until="teardown.cell.cell_2.stop")
    assert view.sheet.cursor is not None
    assert view.sheet.cursor.line.key == "teardown.cell.cell_2.stop"


def test_what_a_plan_says_is_bad_turns_out_bad(walker: Walker, hands: Hands, number: int) -> None:
    plan = Plan(outside={"teardown.hub": "replace"}, defects=0.0)
    view = walker.walk(number, hands, plan, until="build")
    hub = view.sheet.get("teardown.hub")
    assert hub is not None
    assert hub.given["condition"].answer == "cracked"
    issued = view.sheet.get("parts.issue_hub")
    assert issued is not None
    assert issued.given["lot1"].answer == "1 from LOT-WD-H"


def test_the_shop_is_shut_at_night_and_at_the_end_of_the_week() -> None:
    friday_evening = datetime.fromisoformat("2026-06-05T16:20:00+00:00")
    assert working(friday_evening).isoformat() == "2026-06-08T06:20:00+00:00"
    friday_noon = datetime.fromisoformat("2026-06-05T12:00:00+00:00")
    assert working_days(friday_noon, 2).isoformat() == "2026-06-09T12:00:00+00:00"
    assert working(friday_noon) == friday_noon


def test_the_files_are_found_in_the_checkout() -> None:
    assert (reading.folder() / "shop.toml").is_file()
    assert isinstance(reading.folder(), Path)
