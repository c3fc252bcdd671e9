"""The sample's shop on a Monday, on each database, with stock and one earlier visit."""

import json
import shutil
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import cache
from pathlib import Path

import pytest
from sqlalchemy.engine import make_url

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
    stages: "Stages | None" = None

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


Walk = Callable[[Day, int, str], int]
"""Walks the job of that number on, or a new one, to a section or line; its number."""


class Stages:
    """On SQLite, the day with one job walked to a section or line: done once a run, then copied.
    What a test walks on PostgreSQL is walked there each time."""

    def __init__(self, day_file: Path, folder: Path) -> None:
        self._folder = folder
        self._day_file = day_file
        self.events = _events(day_file)

    def put(self, day: Day, model: str, until: str, walk: Walk) -> int:
        """The day becomes as it was when the job stood there; the job's number. Walks it there
        where the test has recorded something before."""
        target = make_url(day.shop.record.url).database or ""
        if _events(target) != self.events:
            return walk(day, 0, until)
        path = self._made(model, until, walk)
        with closing(sqlite3.connect(path)) as kept, closing(sqlite3.connect(target)) as into:
            kept.backup(into)
        now, number = json.loads(path.with_suffix(".json").read_text())
        day.clock.until(datetime.fromisoformat(now))
        return int(number)

    def _made(self, model: str, until: str, walk: Walk) -> Path:
        section, _, line = until.partition(".")
        path = self._folder / f"day-{model}-{until or 'end'}.db"

        def make(note: Path) -> None:
            before, at_start, number = self._day_file, at(TODAY, 7).isoformat(), 0
            if line:
                before = self._made(model, section, walk)
                at_start, number = json.loads(before.with_suffix(".json").read_text())
            shutil.copyfile(before, path)
            record = open_record(f"sqlite:///{path}")
            day = _day(record, Clock(datetime.fromisoformat(at_start)))
            number = walk(day, number, until)
            record.close()
            note.write_text(json.dumps([day.clock.now.isoformat(), number]))

        sharing.once(path.with_suffix(".json"), make)
        return path


def _events(path: str | Path) -> int:
    with closing(sqlite3.connect(path)) as db:
        return int(db.execute("SELECT count(*) FROM event").fetchone()[0])


@pytest.fixture(scope="session")
def day_stages(day_file: Path, tmp_path_factory: pytest.TempPathFactory) -> Stages:
    return Stages(day_file, sharing.folder(tmp_path_factory))


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
    made = _day(record, Clock(at(TODAY, 7)))
    if request.param == "sqlite":
        made.stages = request.getfixturevalue("day_stages")
    yield made
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
