"""The day is the shop's own, by the clock on its wall, not the one of Greenwich."""

import time
from collections.abc import Iterator
from datetime import UTC, date, datetime

import pytest
from sqlalchemy import update

from shopdesk.desk import office, purchases, stores
from shopdesk.desk.trade import incoming
from shopdesk.desk.trade.files import Line, Table
from shopdesk.records.tables import CoreDeposit, Job, Lot, Purchase, Unit
from shopdesk.views import lots
from tests.desk.floor import Floor

pytestmark = pytest.mark.parametrize("database", ["sqlite"])

# In Greenwich the last of March; in Auckland, thirteen hours ahead, the first of April has come.
EVENING = datetime(2026, 3, 31, 23, 30, tzinfo=UTC)


@pytest.fixture
def there(floor: Floor, monkeypatch: pytest.MonkeyPatch) -> Iterator[Floor]:
    monkeypatch.setenv("TZ", "Pacific/Auckland")
    time.tzset()
    floor.clock.now = EVENING
    yield floor
    monkeypatch.undo()
    time.tzset()


def test_what_was_cured_this_quarter_is_taken_in(there: Floor) -> None:
    stores.receive(there.shop, "MM", stores.Delivery("SEAL-N90", "S-APR", 5, "2Q2026"))
    assert there.value(Lot.use_by, Lot.number == "S-APR") is not None
    cells = ("SEAL-N90", "S-MAY", "5", "2Q2026")
    names = ("part", "lot", "pieces", "cured")
    table, of = Table(names, (Line(2, cells),)), dict(zip(names, names, strict=True))
    with there.shop.read() as db:
        assert incoming.look(db, there.clock(), "lots", table, of).bad == []


def test_what_is_due_counts_from_the_shops_day(there: Floor) -> None:
    number = purchases.order(there.shop, "MM", "S01", (("WASHER", 5),))
    assert there.value(Purchase.due_on, Purchase.number == number) == date(2026, 4, 7)  # 6 days
    there.take_in("PT-1", "X-1", customer="HOUSE", kind="exchange")
    with there.shop.record.write() as db:  # as if rebuilt: on the shelf
        db.execute(update(Job).values(closed_at=there.clock()))
        db.execute(update(Unit).values(pool=True))
    owed = office.exchange(there.shop, "CC", "X-1", "C02", deposit_cents=0, carrier="collected")
    assert there.value(CoreDeposit.due_on, CoreDeposit.id == owed) == date(2026, 5, 1)


def test_what_came_in_this_morning_is_of_today(there: Floor) -> None:
    stores.receive(there.shop, "MM", stores.Delivery("WASHER", "W-2", 5))
    with there.shop.read() as db:
        [lot] = [lot for lot in lots.of_part(db, "WASHER") if lot.number == "W-2"]
    assert lot.received == date(2026, 4, 1)
