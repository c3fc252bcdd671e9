"""The sample shop: an invented shop with two years behind it, laid out as of any day."""

import gc
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date, timedelta

from shopdesk import settings
from shopdesk.desk.sample import history, reading
from shopdesk.desk.sample.clock import Clock, at
from shopdesk.desk.sample.mix import CLOSED
from shopdesk.desk.sample.together import Together, Yard
from shopdesk.desk.sample.visits import Shopfloor
from shopdesk.desk.sample.walker import Walker
from shopdesk.desk.shop import Shop
from shopdesk.errors import Refused
from shopdesk.records.engine import open_record
from shopdesk.views import lists

__all__ = ["build"]

BEGUN_DAYS = 768
EVENING = 9  # hours before today begins: the last deed of the history


def build(
    url: str,
    *,
    seed: int = 7,
    today: date | None = None,
    progress: Callable[[str, float], None] | None = None,
    closed: int = CLOSED,
) -> None:
    """Makes the record at ``url`` where there is none, and lays the sample shop out in it as of
    ``today``, with ``closed`` visits that are over. The same seed and day give the same events.

    Raises RecordFault, BadInput for the sample's files, Refused for a record with a shop in it.
    """
    day = today or date.today()
    found = reading.read(reading.folder(), day)
    record = open_record(settings.database_url(url), create=True)
    try:
        together = Together(record)
        with _uncollected(), together.building():
            clock = Clock(at(day - timedelta(days=BEGUN_DAYS), 6))
            shop = Yard(together, clock)
            _empty(shop)
            reading.put_down(shop, found, clock.now, day)
            walker = Walker(shop, clock, found.crew, seed)
            floor = Shopfloor(shop, clock, found.crew, walker, seed, at(day, -EVENING))
            history.lay_out(floor, found, day, closed=closed, progress=progress)
    finally:
        record.close()


@contextmanager
def _uncollected() -> Iterator[None]:
    """Looking for garbage takes a fifth of the time and finds next to none."""
    was = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was:
            gc.enable()


def _empty(shop: Shop) -> None:
    with shop.read() as db:
        if lists.people(db):
            raise Refused(
                "there is a shop in that record already; the sample needs one of its own: "
                "name another file"
            )
