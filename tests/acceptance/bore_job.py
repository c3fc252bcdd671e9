"""A shop with one job that stands before the first bore reading today."""

from datetime import UTC, datetime, timedelta

from shopdesk.desk import counter
from shopdesk.desk.sample import reading
from shopdesk.desk.sample.clock import Clock
from shopdesk.desk.sample.plans import Plan
from shopdesk.desk.sample.walker import Hands, Walker
from shopdesk.desk.shop import Shop
from shopdesk.records.engine import open_record


def job_at_the_bore(url: str) -> int:
    """Lays the shop and its job out in an empty record; the job's number."""
    record = open_record(url)
    now = datetime.now(UTC)
    clock = Clock(now - timedelta(hours=3))
    shop = Shop(record=record, clock=clock, terminal="counter-1")
    found = reading.read(reading.folder(), now.date())
    reading.put_down(shop, found, now - timedelta(hours=3), now.date())
    crew = found.crew
    core = counter.Core("K31007", "PA-016", "C02", "sags")
    number = counter.receive_core(shop, "SK", core).heading.number
    hands = Hands(crew.one("RT"), crew.one("SK"))
    Walker(shop, clock, crew).walk(number, hands, Plan(defects=0.0), until="teardown.bore")
    assert clock.now < now
    record.close()
    return number
