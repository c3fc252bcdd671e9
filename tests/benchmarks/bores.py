"""A shop with many jobs that stand before their bore readings, and fresh copies of it."""

import shutil
import uuid
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Protocol
from urllib.parse import urlsplit

import psycopg

from shopdesk.desk import counter
from shopdesk.desk.sample import reading
from shopdesk.desk.sample.clock import Clock
from shopdesk.desk.sample.plans import Plan
from shopdesk.desk.sample.walker import Hands, Walker
from shopdesk.desk.shop import Shop
from shopdesk.records import carrying, migrate
from shopdesk.records.engine import open_record

FIRST, JOBS = 1001, 112
"""Job numbers: seven for each of sixteen terminals."""
LINE, SLOTS = "teardown.bore", 6


class Shops(Protocol):
    def new(self) -> str: ...


class Files:
    """Copies of a SQLite record; of each only the newest is kept."""

    def __init__(self, pattern: Path, folder: Path) -> None:
        self._pattern, self._folder = pattern, folder

    def new(self) -> str:
        for old in self._folder.iterdir():
            old.unlink()
        path = self._folder / f"{uuid.uuid4().hex[:8]}.db"
        shutil.copyfile(self._pattern, path)
        return f"sqlite:///{path}"


class Databases:
    """Copies of the same record on a PostgreSQL server."""

    def __init__(self, pattern: Path, server: str) -> None:
        self._server, self._made = server, [f"shopdesk_bores_{uuid.uuid4().hex[:8]}"]
        with psycopg.connect(server, autocommit=True) as admin:
            admin.execute(f"CREATE DATABASE {self._made[0]} TEMPLATE template0 ENCODING 'UTF8'")
        carrying.move(
            str(pattern), self._url(self._made[0]), lambda _what, _share: None, keep_open=True
        )

    def new(self) -> str:
        name = f"{self._made[0]}_{len(self._made)}"
        with psycopg.connect(self._server, autocommit=True) as admin:
            for old in self._made[1:]:
                admin.execute(f"DROP DATABASE IF EXISTS {old} WITH (FORCE)")
            admin.execute(f"CREATE DATABASE {name} TEMPLATE {self._made[0]}")
        self._made.append(name)
        return self._url(name)

    def drop(self) -> None:
        with psycopg.connect(self._server, autocommit=True) as admin:
            for name in self._made:
                admin.execute(f"DROP DATABASE IF EXISTS {name} WITH (FORCE)")

    def _url(self, name: str) -> str:
        return urlsplit(self._server)._replace(path=f"/{name}").geturl()


def build(path: Path) -> None:
    """The sample's people and tools, and every job before its first bore reading."""
    scratch = path.with_suffix(".part")
    scratch.unlink(missing_ok=True)
    migrate.create(str(scratch))
    record = open_record(f"sqlite:///{scratch}")
    begun = datetime.now(UTC) - timedelta(days=60)
    clock = Clock(begun)
    shop = Shop(record=record, clock=clock, terminal="counter-1")
    found = reading.read(reading.folder(), begun.date())
    reading.put_down(shop, found, begun, begun.date())
    hands = Hands(found.crew.one("RT"), found.crew.one("SK"))
    walker = Walker(shop, clock, found.crew)
    for n in range(JOBS):
        core = counter.Core(f"K{n:05}", "PA-016", "C02", "sags")
        number = counter.receive_core(shop, "SK", core).heading.number
        assert number == FIRST + n
        walker.walk(number, hands, Plan(defects=0.0), until=LINE)
    record.close()
    scratch.rename(path)
