"""A small shop on each database: two models, few people, one part; and its app without a terminal.

Everything in it is invented.
"""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from shopdesk.desk import counter, entries, keeping, office, stores
from shopdesk.desk.shop import Shop
from shopdesk.records.engine import Record
from shopdesk.tui.app import ShopApp

DATA = Path(__file__).parent / "data"
START = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)  # a Monday
MARKUP_NAME = "[bold]Bracket & Sons[/]"


class Clock:
    """A clock that stands until it is moved."""

    def __init__(self) -> None:
        self.now = START

    def __call__(self) -> datetime:
        return self.now

    def on(self, **span: float) -> None:
        self.now += timedelta(**span)


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def shop(record: Record, clock: Clock) -> Shop:
    made = Shop(record=record, clock=clock, terminal="test-1")
    fill(made)
    return made


@pytest.fixture
def new_app(shop: Shop) -> Callable[..., ShopApp]:
    """Makes the app; ``person`` stands at the terminal from the first."""

    def new(person: str = "CC") -> ShopApp:
        return ShopApp(lambda: shop, person=person)

    return new


def fill(shop: Shop) -> None:
    shop = shop.laying_out()
    for kind in ("shop", "roads"):
        keeping.adopt_document(shop, "", kind, (DATA / f"{kind}.toml").read_text())
    for initials, name, role, pin in (
        ("MM", "Mara Manager", "manager", "4711"),
        ("CC", "Cora Counter", "counter", "2222"),
        ("TT", "Tilo Technician", "technician", "3333"),
    ):
        keeping.add_person(
            shop,
            "MM",
            initials=initials,
            name=name,
            role=role,
            pin=pin,
            badge=f"B-{initials}1",
            pin_cost=16,
        )
    for name in ("gas", "valve"):
        keeping.adopt_procedure(shop, "MM", (DATA / f"{name}.toml").read_text(), name=name)
    keeping.add_customer(shop, "MM", code="C01", name="Northern Ferry Yard", phone="+00 550 0101")
    keeping.add_customer(shop, "MM", code="C02", name=MARKUP_NAME, phone="+00 550 0102")
    stores.add_supplier(
        shop,
        "MM",
        code="S01",
        name="Ring Supply",
        email="orders@ring.example",
        lead_days=6,
        minimum_order_cents=0,
    )
    stores.add_part(
        shop,
        "MM",
        stores.NewPart(
            "OR-014-N90",
            "O-ring 12.42 x 1.78",
            28,
            dash="014",
            compound="NBR",
            pack=25,
            minimum=10,
            bin="A1-05",
            supplier="S01",
            supplier_price_cents=30,
        ),
    )


def take_in(
    shop: Shop,
    serial: str,
    *,
    model: str = "TV-2",
    customer: str = "C01",
    complaint: str = "drips",
    reference: str = "",
) -> int:
    core = counter.Core(serial, model, customer, complaint, reference)
    return counter.receive_core(shop, "CC", core).heading.number


def torn_down(
    shop: Shop, serial: str = "V-100", *, seat: str = "1.2 mm", customer: str = "C01"
) -> int:
    """A valve whose teardown is done; ``seat`` beyond 1.5 mm is outside its limit."""
    number = take_in(shop, serial, customer=customer)
    for line, typed in (("receipt.plate", "readable"), ("teardown.seat", seat)):
        entries.record_entry(shop, "TT", number, line, typed)
    return number


def quoted(shop: Shop, serial: str = "V-100") -> int:
    number = torn_down(shop, serial)
    office.make_quote(shop, "CC", number)
    return number


def rebuilt(shop: Shop, serial: str = "V-100") -> int:
    """A valve ready to be handed over."""
    number = proved(shop, serial)
    for line, typed in (("release.released", "MM 4711"), ("shipment.ports", "plugged")):
        entries.record_entry(shop, "TT", number, line, typed)
    return number


def proved(shop: Shop, serial: str = "V-100") -> int:
    """A valve that waits for its release."""
    on_shelf(shop)
    number = quoted(shop, serial)
    office.record_answer(
        shop, "CC", number, approved=True, by="Ada", how="telephone", cap_cents=100_00
    )
    keeping.add_instrument(
        shop.laying_out(), "MM", keeping.NewInstrument("G-11", "pressure gauge", "bench gauge")
    )
    for line, typed in (
        ("parts.issue_seal", "L-1"),
        ("build.seal", "done"),
        ("proof.opens", "181 bar"),
    ):
        entries.record_entry(shop, "TT", number, line, typed)
    return number


def on_shelf(shop: Shop, pieces: int = 12, lot: str = "L-1") -> None:
    stores.receive(shop, "CC", stores.Delivery("OR-014-N90", lot, pieces, "1Q2026"))
