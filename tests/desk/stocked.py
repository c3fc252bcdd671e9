"""What the desk's invented shop holds: rules, people, instruments, stock, procedures."""

from datetime import timedelta
from pathlib import Path

from sqlalchemy import update

from shopdesk.desk import keeping, stores
from shopdesk.desk.keeping import NewInstrument
from shopdesk.desk.shop import Shop
from shopdesk.records.tables import Bottle

DATA = Path(__file__).parent / "data"
BAR = 1e5
PINS = {"MM": "1111", "NN": "1112", "CC": "2222", "TT": "3333", "UU": "4444"}


def variant(model: str, *changes: tuple[str, str]) -> str:
    """The gas unit's procedure as another model, with pieces of its text exchanged."""
    text = (DATA / "gas.toml").read_text()
    for old, new in (('model = "GT-1"', f'model = "{model}"'), *changes):
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return text


def fill(shop: Shop) -> None:
    """People, customers, instruments, bottles, parts and two procedures."""
    shop = shop.laying_out()
    for kind in ("shop", "roads"):
        keeping.adopt_document(shop, "", kind, (DATA / f"{kind}.toml").read_text())
    roles = {"MM": "manager", "NN": "manager", "CC": "counter"}
    for initials, pin in PINS.items():
        keeping.add_person(
            shop,
            "MM",
            initials=initials,
            name=f"Invented {initials}",
            role=roles.get(initials, "technician"),
            pin=pin,
            badge=f"B-{initials}1",
            pin_cost=2**4,
        )
    keeping.add_customer(shop, "MM", code="C01", name="Northern Ferry Yard")
    keeping.add_customer(shop, "MM", code="C02", name="Hill Forestry")
    keeping.add_customer(shop, "MM", code="HOUSE", name="Dry Fork Test Shop", house=True)
    _instruments(shop)
    _stores(shop)
    for name in ("gas", "plain"):
        keeping.adopt_procedure(shop, "MM", (DATA / f"{name}.toml").read_text(), name=name)


def _instruments(shop: Shop) -> None:
    due, overdue = shop.clock() + timedelta(days=200), shop.clock() - timedelta(days=1)
    for new in (
        NewInstrument("G-01", "pressure gauge", "large", "bar", 0.0, 250 * BAR, due=due),
        NewInstrument("G-04", "pressure gauge", "small", "bar", 0.0, 4 * BAR, due=due),
        NewInstrument("G-99", "pressure gauge", "old", "bar", 0.0, 250 * BAR, due=overdue),
        NewInstrument("BG-1", "bore gauge", "35 to 60 mm", "mm", 0.035, 0.060, due=due),
        NewInstrument("W-01", "torque wrench", "1 to 60 N·m", "N·m", 1.0, 60.0, due=due),
        NewInstrument("W-02", "torque wrench", "1 to 5 N·m", "N·m", 1.0, 5.0, due=due),
        NewInstrument("H-1", "hose", "hose", rating_pa=300 * BAR),
        NewInstrument("H-60", "hose", "weak hose", rating_pa=60 * BAR),
        NewInstrument("R-1", "rig", "rig", rating_pa=200 * BAR, dead_volume_m3=5e-6),
        NewInstrument("R-60", "rig", "weak rig", rating_pa=60 * BAR, dead_volume_m3=5e-6),
        NewInstrument("R-0", "rig", "rig without a plate"),
    ):
        keeping.add_instrument(shop, "MM", new)
    for code, gas in (("N2-1", "nitrogen"), ("N2-2", "nitrogen"), ("AR-1", "argon")):
        keeping.add_bottle(
            shop,
            "MM",
            code=code,
            gas=gas,
            volume_m3=0.05,
            pressure_pa=150 * BAR,
            rating_pa=200 * BAR,
        )
    with shop.record.write() as db:
        db.execute(update(Bottle).where(Bottle.code == "N2-2").values(empty=True))


def _stores(shop: Shop) -> None:
    stores.add_supplier(
        shop, "MM", code="S01", name="Ring Supply", email="", lead_days=6, minimum_order_cents=0
    )
    for number, compound, cents in (
        ("SEAL-N90", "NBR", 400),
        ("SEAL-V90", "FKM", 900),
        ("WASHER", "", 150),
        ("PISTON", "", 12000),
        ("BARREL", "", 30000),
    ):
        stores.add_part(
            shop,
            "MM",
            stores.NewPart(
                number,
                f"test {number.lower()}",
                cents,
                compound=compound,
                pack=5,
                supplier="S01",
                supplier_price_cents=cents,
            ),
        )
    for part, lot, pieces, cured in (
        ("SEAL-N90", "S-NEW", 20, "1Q2025"),
        ("SEAL-N90", "S-OLD", 20, "2Q2021"),
        ("SEAL-N90", "S-GONE", 5, "1Q2005"),
        ("SEAL-V90", "V-1", 10, "1Q2024"),
        ("WASHER", "W-1", 10, ""),
        ("PISTON", "P-1", 2, ""),
        ("BARREL", "B-1", 1, ""),
    ):
        stores.receive(shop, "MM", stores.Delivery(part, lot, pieces, cured))


MATCHED = """
[[kit]]
id = "plunger"
part = "PISTON"
quantity = 1
policy = "keep"
inspect = "teardown.plunger"
matched = "pump"

[[kit]]
id = "bore"
part = "BARREL"
quantity = 1
policy = "keep"
inspect = "teardown.bore"
matched = "pump"

[[receipt]]
key = "plate\""""
FOUND = """[[teardown]]
key = "plunger"
kind = "finding"
text = "Plunger"
part = "plunger"
defects = ["scored"]
dispositions = ["replace", "ask customer"]

[[teardown]]
key = "bore"
kind = "finding"
text = "Bore"
part = "bore"
defects = ["scored"]
dispositions = ["replace", "ask customer"]

[[teardown]]
key = "rod\""""
FITTED = """[[build]]
key = "plunger"
kind = "fit"
text = "Plunger into its bore"
kit = "plunger"

[[build]]
key = "gland\""""


def matched_set(bore: str = "BARREL") -> str:
    """The plain model as MT-1, with plunger and bore out of one matched set."""
    text = (DATA / "plain.toml").read_text()
    for old, new in (
        ('model = "PT-1"', 'model = "MT-1"'),
        ('\n[[receipt]]\nkey = "plate"', MATCHED.replace('"BARREL"', f'"{bore}"')),
        ('[[teardown]]\nkey = "rod"', FOUND),
        ('[[build]]\nkey = "gland"', FITTED),
    ):
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return text
