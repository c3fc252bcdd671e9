"""The sample's shop on a Monday, on each database, with stock and one earlier visit."""

import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache
from pathlib import Path

import pytest

from shopdesk.desk import counter, keeping, stores
from shopdesk.desk.sample import reading
from shopdesk.desk.sample.clock import Clock, at
from shopdesk.desk.sample.crew import Crew
from shopdesk.desk.sample.plans import Plan
from shopdesk.desk.sample.walker import Hands, Walker
from shopdesk.desk.shop import Shop
from shopdesk.records.engine import Record, open_record
from shopdesk.views import sheets
from tests import sharing
from tests.fixtures_sample import template

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


@pytest.fixture(scope="session")
def day_file(sqlite_pattern: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The shop in a SQLite file, to be copied."""

    def make(path: Path) -> None:
        shutil.copyfile(sqlite_pattern, path)
        _build(f"sqlite:///{path}")

    return sharing.once(sharing.folder(tmp_path_factory) / "day.db", make)


@pytest.fixture(scope="session")
def day_database(day_file: Path, tmp_path_factory: pytest.TempPathFactory) -> str:
    """The name of a PostgreSQL database with the same rows, to be copied."""
    return template(day_file, tmp_path_factory)


@pytest.fixture(params=["sqlite", "postgresql"])
def day(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Day]:
    """Everything on the shelf, nobody at the terminals; K20418 was here two years ago."""
    if request.param == "sqlite":
        path = tmp_path / "shop.db"
        shutil.copyfile(request.getfixturevalue("day_file"), path)
        url = f"sqlite:///{path}"
    else:
        url = request.getfixturevalue("server").new(request.getfixturevalue("day_database"))
    record = open_record(url)
    yield _day(record, Clock(at(TODAY, 7)))
    record.close()


@cache
def _found() -> reading.SampleShop:
    return reading.read(reading.folder(), TODAY)


def _day(record: Record, clock: Clock) -> Day:
    shop = Shop(record=record, clock=clock, terminal="bench-1")
    crew = _found().crew
    hands = Hands(crew.one("RT"), crew.role("counter")[0])
    return Day(shop, clock, crew, Walker(shop, clock, crew), hands)


def _build(url: str) -> None:
    record = open_record(url)
    day = _day(record, Clock(at(EARLIER, 7)))
    found = _found()
    reading.put_down(day.shop, found, at(TODAY, 6), TODAY)
    for bottle in found.bottles:
        keeping.add_bottle(
            day.shop,
            day.crew.role("manager")[0].initials,
            code=bottle.code,
            gas=bottle.gas,
            volume_m3=bottle.volume_m3,
            pressure_pa=bottle.pressure_pa,
            rating_pa=bottle.rating_pa,
        )
    before = (TODAY - EARLIER).days
    clerk = day.hands.desk.initials
    for lot in found.lots:
        if lot.days_ago >= before:
            stores.receive(day.shop, clerk, lot.delivery)
    visit(day, "K20418", "PA-016", "C12")
    day.clock.until(at(TODAY, 7))
    for lot in found.lots:
        if lot.days_ago < before:
            stores.receive(day.shop, clerk, lot.delivery)
    record.close()


def visit(day: Day, serial: str, model: str, customer: str) -> int:
    """A repair from receipt to shipment, by the walker's hands."""
    core = counter.Core(serial, model, customer, "pressure sags overnight")
    number = counter.receive_core(day.shop, day.hands.desk.initials, core).heading.number
    day.walker.walk(number, day.hands, Plan(defects=0.0))
    counter.hand_over(day.shop, day.hands.desk.initials, number, "own van")
    return number
