"""What the take-in form reads: models and customers, a serial's past, a date to offer."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from shopdesk.tui.counter import visits
from shopdesk.tui.filling import Choice

if TYPE_CHECKING:
    from shopdesk.desk.shop import Shop
    from shopdesk.views.lists import KnownUnit

PLACE = "take in"


@dataclass(frozen=True, slots=True)
class Known:
    """What the shop knows of a serial as typed; ``units`` at most eight."""

    serial: str
    units: "Sequence[KnownUnit]" = ()
    past: Sequence[str] = ()

    @property
    def same(self) -> "KnownUnit | None":
        """The very unit, where just one has this serial."""
        found = [unit for unit in self.units if key_of(unit.serial) == key_of(self.serial)]
        return found[0] if len(found) == 1 else None


@dataclass(frozen=True, slots=True)
class Offered:
    """``drafts`` are texts by field name, typed at this terminal and not taken in."""

    models: Sequence[Choice]
    customers: Sequence[Choice]
    drafts: dict[str, str]


def offered(shop: "Shop") -> Offered:
    from shopdesk.desk import drafts
    from shopdesk.views import lists

    with shop.read() as db:
        models = tuple(Choice(m.code, m.name) for m in lists.models(db))
        customers = tuple(Choice(c.code, c.name) for c in lists.customers(db, limit=5000))
    kept = {
        place.removeprefix(f"{PLACE}/"): text
        for place, text in drafts.kept_places(shop)
        if place.startswith(f"{PLACE}/")
    }
    return Offered(models, customers, kept)


def known_of(shop: "Shop", serial: str) -> Known:
    from shopdesk.views import finding, lists, sheets

    now = shop.clock()
    today = now.astimezone().date()
    with shop.read() as db:
        units = lists.known_units(db, serial)
        jobs = finding.history(db, serial)
        past = [visits.visit_line(job, today) for job in jobs]
        left = [job for job in jobs if job.closed_at is not None]
        if len({key_of(unit.serial) for unit in units}) == 1 and left:
            past += visits.as_it_left(sheets.load(db, left[0].number, now))
    return Known(serial, units, tuple(past))


def date_offered(shop: "Shop", model: str) -> str:
    """The date that may be promised for a core of the model, and on what it rests."""
    from shopdesk.views import documents, promises

    with shop.read() as db:
        days = documents.rules(db).promise_days
        return promises.offer(db, model, shop.clock(), days).text


def key_of(serial: str) -> str:
    return "".join(sign for sign in serial.upper() if sign.isalnum())
