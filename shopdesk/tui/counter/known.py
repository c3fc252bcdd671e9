"""What the take-in form reads: models and customers, a serial's past, a date to offer."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from shopdesk.rules import serials
from shopdesk.tui.columns import day, local_day
from shopdesk.tui.counter import visits
from shopdesk.tui.effects import whom
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
        found = [
            unit for unit in self.units if serials.key(unit.serial) == serials.key(self.serial)
        ]
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
    from shopdesk.views import documents, finding, lists, sheets

    now = shop.clock()
    today = now.astimezone().date()
    with shop.read() as db:
        units = lists.known_units(db, serial)
        jobs = finding.history(db, serial)
        rules = documents.rules(db)
        past = [visits.visit_line(job, today, rules) for job in jobs]
        left = [job for job in jobs if job.closed_at is not None]
        if len({serials.key(unit.serial) for unit in units}) == 1 and left:
            past += visits.as_it_left(sheets.load(db, left[0].number, now))
    return Known(serial, units, tuple(past))


def order_so_far(shop: "Shop", customer: str, reference: str) -> Sequence[str]:
    """What came with this order before, one line a unit."""
    from shopdesk.views import orders

    today = shop.clock().astimezone().date()
    with shop.read() as db:
        order = orders.of_reference(db, customer, reference)
    if order is None:
        return ()
    units = [
        f"  {unit.told}, " + (f"left {local_day(unit.left_at, today)}" if unit.left_at else "here")
        for unit in order.others
    ]
    return [f"Order {order.reference} so far:", *units]


@dataclass(frozen=True, slots=True)
class DateOffered:
    """What may be promised for a core of the model, on what it rests and whom it delays; ``on``
    None: left to the desk."""

    model: str = ""
    asked: date | None = None
    on: date | None = None
    text: str = ""


def date_offered(shop: "Shop", model: str, asked: date | None) -> DateOffered:
    """The date that holds with 80 % as the shop stands, or what becomes of the one asked for."""
    from shopdesk.views import documents, forecasts, promises

    now = shop.clock()
    today = now.astimezone().date()
    with shop.read() as db:
        found = forecasts.new_core(db, now, model, asked)
        if found.dates is None:
            rules = documents.rules(db)
            offer = promises.offer(db, model, now, rules.promise_days, rules.calendar)
            return DateOffered(model, asked, None, f"Date offered: {offer.text}")
        if asked is None:
            found_80 = found.dates[1]
            found = forecasts.new_core(db, now, model, found_80)
    assert found.dates is not None
    by_50, by_80, by_95 = found.dates
    spread = f"50 %: {day(by_50, today)}, 80 %: {day(by_80, today)}, 95 %: {day(by_95, today)}"
    if asked is None:
        said = f"Date offered: {by_80.isoformat()}   ({spread})"
    else:
        said = f"{day(asked, today)} is kept with {found.keeps or 0.0:.0%}   ({spread})"
    return DateOffered(model, asked, by_80, f"{said}\n   {whom(found.effects, today)}")
