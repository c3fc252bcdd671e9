"""A shop of one's own, laid out in an empty record from a folder of plain files."""

from datetime import date
from pathlib import Path

from shopdesk.desk import keeping, pins, stores
from shopdesk.desk.sample import reading
from shopdesk.desk.sample.reading import SampleShop
from shopdesk.desk.shop import Shop
from shopdesk.errors import Refused
from shopdesk.views import lists


def read(folder: Path, today: date) -> SampleShop:
    """The folder's files, checked. Raises BadInput naming file and line."""
    return reading.read(folder, today)


def start_from(shop: Shop, found: SampleShop) -> str:
    """Rules, people, customers, parts with their lots, instruments, bottles and procedures, read
    from files like the sample shop's; gives back the shop's name. Raises Refused where there is a
    shop already."""
    with shop.read() as db:
        if lists.people(db):
            raise Refused("there is a shop in this record already; name an empty one")
    now = shop.clock()
    reading.put_down(shop, found, now, now.astimezone().date(), pin_cost=pins.COST)
    manager = found.crew.role("manager")[0].initials
    laid = shop.laying_out()
    for bottle in found.bottles:
        keeping.add_bottle(
            laid,
            manager,
            code=bottle.code,
            gas=bottle.gas,
            volume_m3=bottle.volume_m3,
            pressure_pa=bottle.pressure_pa,
            rating_pa=bottle.rating_pa,
        )
    for lot in found.lots:
        stores.receive(shop, manager, lot.delivery)
    return found.name
