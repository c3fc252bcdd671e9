"""A shop laid out for an ugly Friday: its jobs stand where the hours begin, by today's clock."""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from shopdesk.desk import counter, counts, stores
from shopdesk.desk.sample import reading
from shopdesk.desk.sample.clock import Clock
from shopdesk.desk.sample.plans import Plan
from shopdesk.desk.sample.walker import Hands, Walker
from shopdesk.desk.shop import Shop
from shopdesk.records.engine import open_record
from shopdesk.views import lots

SEAL = "OR-013-N90"


@dataclass(frozen=True)
class Friday:
    """``hisses`` was vented yesterday; two jobs ask for the only ``lot`` of the seal; ``joint`` is
    about to be pulled to its torque."""

    url: str
    hisses: int
    seals: tuple[int, int]
    lot: str
    joint: int


def laid_out(url: str) -> Friday:
    record = open_record(url)
    now = datetime.now(UTC)
    clock = Clock(now - timedelta(days=3))
    shop = Shop(record=record, clock=clock, terminal="counter-1")
    found = reading.read(reading.folder(), now.date())
    reading.put_down(shop, found, clock.now, now.date())
    for lot in found.lots:
        stores.receive(shop, "SK", lot.delivery)
    walker = Walker(shop, clock, found.crew)
    hands = Hands(found.crew.one("RT"), found.crew.one("SK"))

    def job(serial: str, until: str) -> int:
        core = counter.Core(serial, "PA-016", "C02", "sags")
        number = counter.receive_core(shop, "SK", core).heading.number
        view = walker.walk(number, hands, Plan(defects=0.0), until)
        assert view.sheet.cursor is not None
        assert view.sheet.cursor.line.key == until
        return number

    joint = job("K31001", "build.bleed_screw")
    seals = (
        job("K31002", "parts.issue_seal_relief_lower"),
        job("K31003", "parts.issue_seal_relief_lower"),
    )
    assert clock.now < now - timedelta(hours=30), clock.now
    clock.until(now - timedelta(hours=30))
    hisses = job("K31004", "teardown.retaining_ring")
    assert clock.now < now, clock.now
    clock.until(now)
    last = _one_left(shop)
    record.close()
    return Friday(url, hisses, seals, last, joint)


def _one_left(shop: Shop) -> str:
    """The lot of the only seal that is still fit for use."""
    with shop.read() as db:
        found = lots.of_part(db, SEAL)
    for n, lot in enumerate(found):
        if lot.on_hand > int(n == 0):
            counts.scrap(shop, "SK", SEAL, lot.number, lot.on_hand - int(n == 0), "swollen")
    return found[0].number
