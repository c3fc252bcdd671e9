"""The sample's shop on its opening day, on each database, with stock and one earlier visit."""

from dataclasses import dataclass
from datetime import date, timedelta

import pytest

from shopdesk.desk import counter, keeping, stores
from shopdesk.desk.sample import reading
from shopdesk.desk.sample.clock import Clock, at
from shopdesk.desk.sample.crew import Crew
from shopdesk.desk.sample.plans import Plan
from shopdesk.desk.sample.walker import Hands, Walker
from shopdesk.desk.shop import Shop
from shopdesk.records.engine import Record
from shopdesk.views import sheets

TODAY = date(2026, 11, 16)  # a Monday
EARLIER = date(2024, 11, 18)


@dataclass
class Day:
    shop: Shop
    clock: Clock
    crew: Crew
    walker: Walker
    hands: Hands

    def view(self, number: int) -> sheets.SheetView:
        return self.walker.look(number)

    def on(self, **span: float) -> None:
        self.clock.until(self.clock.now + timedelta(**span))


@pytest.fixture
def day(record: Record) -> Day:
    """Everything on the shelf, nobody at the terminals; K20418 was here two years ago."""
    clock = Clock(at(EARLIER, 7))
    shop = Shop(record=record, clock=clock, terminal="bench-1")
    found = reading.read(reading.folder(), TODAY)
    reading.put_down(shop, found, at(TODAY, 6), TODAY)
    manager, clerk = found.crew.role("manager")[0], found.crew.role("counter")[0]
    for bottle in found.bottles:
        keeping.add_bottle(
            shop,
            manager.initials,
            code=bottle.code,
            gas=bottle.gas,
            volume_m3=bottle.volume_m3,
            pressure_pa=bottle.pressure_pa,
            rating_pa=bottle.rating_pa,
        )
    made = Day(
        shop,
        clock,
        found.crew,
        Walker(shop, clock, found.crew),
        Hands(found.crew.one("RT"), clerk),
    )
    before = (TODAY - EARLIER).days
    for lot in found.lots:
        if lot.days_ago >= before:
            stores.receive(shop, clerk.initials, lot.delivery)
    visit(made, "K20418", "PA-016", "C12")
    clock.until(at(TODAY, 7))
    for lot in found.lots:
        if lot.days_ago < before:
            stores.receive(shop, clerk.initials, lot.delivery)
    return made


def visit(day: Day, serial: str, model: str, customer: str) -> int:
    """A repair from receipt to shipment, by the walker's hands."""
    core = counter.Core(serial, model, customer, "pressure sags overnight")
    number = counter.receive_core(day.shop, day.hands.desk.initials, core).heading.number
    day.walker.walk(number, day.hands, Plan(defects=0.0))
    counter.hand_over(day.shop, day.hands.desk.initials, number, "own van")
    return number
