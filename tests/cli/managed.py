"""A shop that has just begun, for commands a manager signs."""

from shopdesk.desk import keeping
from shopdesk.desk.shop import Shop
from shopdesk.records.engine import open_record
from tests.tui.conftest import DATA

SIGNED = ("--sign", "MM 4711")


def shop_at(url: str) -> str:
    """A shop with its rules and one manager, nothing in stores; gives back where it is."""
    record = open_record(url, create=True)
    shop = Shop(record)
    for kind in ("shop", "roads"):
        keeping.adopt_document(shop, "", kind, (DATA / f"{kind}.toml").read_text())
    keeping.add_person(
        shop, "", initials="MM", name="Mara Manager", role="manager", pin="4711", pin_cost=16
    )
    record.close()
    return url
