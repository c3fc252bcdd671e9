"""No deed writes to a table without an event of its own in the same transaction."""

import re
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, field
from typing import Any

import pytest
from sqlalchemy import event, insert

from shopdesk.desk import calibrating, counter, drafts, signing, stores
from shopdesk.desk.shop import Deed, Shop
from shopdesk.errors import ShopError
from shopdesk.records.engine import Record
from shopdesk.records.tables import Customer
from tests.desk import deeds as table
from tests.desk.floor import Floor

At = Callable[..., Floor]
SQLITE = pytest.mark.parametrize("database", ["sqlite"], indirect=True)
_WRITES = re.compile(r"\s*(?:INSERT INTO|UPDATE|DELETE FROM) \"?(\w+)")
ITS_OWN = {"event", "chain_head"}
NO_DEED = {"draft"}  # what is typed and not recorded yet


@dataclass
class Watch:
    """The tables that each whole transaction wrote to."""

    wrote: list[set[str]] = field(default_factory=list)
    now: set[str] = field(default_factory=set)

    def note(self, _db: Any, _cursor: Any, sql: str, *_: Any) -> None:
        found = _WRITES.match(sql)
        if found is not None:
            self.now.add(found[1])

    def whole(self, _db: Any) -> None:
        self.wrote.append(set(self.now))
        self.now.clear()

    def undone(self, _db: Any) -> None:
        self.now.clear()


@contextmanager
def watched(record: Record) -> Iterator[Watch]:
    engine, watch = record._backend.writing, Watch()
    with ExitStack() as stack:
        for what, listener in (
            ("before_cursor_execute", watch.note),
            ("commit", watch.whole),
            ("rollback", watch.undone),
        ):
            event.listen(engine, what, listener)
            stack.callback(event.remove, engine, what, listener)
        yield watch


def without_event(watch: Watch) -> list[set[str]]:
    return [wrote for wrote in watch.wrote if wrote - ITS_OWN - NO_DEED and "event" not in wrote]


@SQLITE
def test_every_deed_that_writes_has_its_event(at: At) -> None:
    floor = at("shipment", "PT-1")
    every = table.deeds(table.stand(floor))
    refused = set()
    with watched(floor.shop.record) as watch:
        for deed in every:
            done = table.undone(floor, deed.by("MM 1111"), watch.whole)
            if isinstance(done, ShopError):
                refused.add(deed.do.__name__)
    assert refused == {"report_hiss", "pay", "open_rechecks", "give_back"}  # below
    assert len(watch.wrote) == len(every) - len(refused)
    assert without_event(watch) == []


@SQLITE
def test_what_follows_another_deed_has_its_event_too(at: At) -> None:
    floor = at("shipment", "PT-1")
    by_name = {deed.do.__name__: deed for deed in table.deeds(table.stand(floor))}
    with watched(floor.shop.record) as watch:
        by_name["judge"].by("MM")(floor)
        by_name["pay"].by("MM")(floor)
        calibrating.record_calibration(floor.shop, "MM", "G-01", passed=False)
        by_name["open_rechecks"].by("MM")(floor)
        drafts.keep(floor.shop, "J-1001/x", "half a wo")
        with pytest.raises(signing.WrongPin):
            signing.sign_in(floor.shop, "TT 0000")
        signing.sign_in(floor.shop, "TT 3333")
    assert {name for each in watch.wrote for name in each} > {"core_grade", "calibration", "person"}
    assert without_event(watch) == []


@SQLITE
def test_a_whole_job_writes_nothing_without_its_event(floor: Floor) -> None:
    with watched(floor.shop.record) as watch:
        floor.take_in()
        floor.go("build")
        stores.give_back(floor.shop, "TT", floor.number, "S-OLD", 2, "wrong bag")
        floor.go("proof")
        floor.hiss()
        floor.go("done")
        counter.hand_over(floor.shop, "CC", floor.number, "Coast Haulage")
    written = set().union(*watch.wrote)
    assert written >= {"job", "entry", "stock_move", "reopening", "charge_result", "shipment"}
    assert without_event(watch) == []


@SQLITE
def test_a_write_without_its_event_is_found(floor: Floor) -> None:
    def silent(deed: Deed) -> None:
        values = {"code": "C77", "name": "Nobody", "name_key": "nobody", "place": ""}
        deed.db.execute(insert(Customer).values(**values, phone="", email="", house=False))

    with watched(floor.shop.record) as watch:
        Shop(floor.shop.record, floor.clock).write(silent)
    assert without_event(watch) == [{"customer"}]
