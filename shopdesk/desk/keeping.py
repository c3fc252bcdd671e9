"""Keeping the shop's own books: documents, people, customers, procedures, instruments.

``who`` signs with initials and PIN, "OB 7314"; only in an empty shop nobody can.
"""

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import func, insert, select

from shopdesk import procedure
from shopdesk.calc import bottle
from shopdesk.calc.charge import ATMOSPHERE_PA, REFERENCE_K
from shopdesk.desk import instruments, pins, procedures
from shopdesk.desk.shop import Deed, Shop, Worker
from shopdesk.errors import BadInput, Refused
from shopdesk.records.tables import (
    Bottle,
    Calibration,
    Customer,
    Instrument,
    Person,
    ShopDocument,
)
from shopdesk.rules import people
from shopdesk.rules import shop as shop_rules
from shopdesk.rules.answers import SIDE_ROADS


def _keeper(deed: Deed, who: str, action: str) -> Worker | None:
    """The manager doing it; nobody while the shop has no people yet."""
    if deed.db.execute(select(func.count(Person.id))).scalar_one() == 0:
        return None
    return deed.signed(who, action)


def adopt_document(shop: Shop, who: str, kind: str, text: str) -> None:
    """Puts a revision of the shop's rules ("shop") or side roads ("roads") in force."""
    if kind == "shop":
        revision = shop_rules.read(text).revision
    elif kind == "roads":
        procedure.side_roads(text, name="roads.toml", roads=SIDE_ROADS)
        revision = procedure.digest(text)[:8]
    else:
        raise BadInput(f"read {kind!r}; a shop document is shop or roads")

    def work(deed: Deed) -> None:
        person = _keeper(deed, who, "keep the shop's rules")
        sha = procedure.digest(text)
        known = deed.db.execute(
            select(ShopDocument.sha256).where(
                ShopDocument.kind == kind, ShopDocument.revision == revision
            )
        ).scalar()
        if known == sha:
            return
        if known is not None:
            raise Refused(f"{kind} revision {revision} is in force with other text; raise it")
        deed.db.execute(
            insert(ShopDocument).values(
                kind=kind, revision=revision, document=text, sha256=sha, at=deed.now
            )
        )
        deed.event("document", person, {"kind": kind, "revision": revision, "sha256": sha})

    shop.write(work)


def adopt_procedure(shop: Shop, who: str, text: str, *, name: str = "procedure") -> str:
    """Puts a checked procedure in force at once, by a manager; gives back "MODEL rev R"."""
    doc = procedure.loads(text, name=name)

    def work(deed: Deed) -> str:
        person = _keeper(deed, who, "keep procedures")
        return procedures.put_on_record(deed, person, doc, text, "", proposed=False).name

    return shop.write(work)


def add_person(
    shop: Shop,
    who: str,
    *,
    initials: str,
    name: str,
    role: str,
    pin: str,
    badge: str = "",
    pin_cost: int = pins.COST,
) -> None:
    """A person with initials, role and PIN. The first one of a shop has to be a manager."""
    if role not in people.ROLES:
        raise BadInput(f"read role {role!r}; expected one of {', '.join(people.ROLES)}")
    code = people.initials(initials)

    def work(deed: Deed) -> None:
        person = _keeper(deed, who, "keep people")
        if person is None and role != "manager":
            raise Refused("the first person of a shop is its manager")
        if deed.db.execute(select(Person.id).where(Person.initials == code)).first():
            raise Refused(f"{code} signs here already; choose other initials")
        deed.db.execute(
            insert(Person).values(
                initials=code,
                name=name.strip(),
                role=role,
                badge=badge.strip().upper() or None,
                pin_hash=pins.hashed(pin, cost=pin_cost),
                active=True,
            )
        )
        deed.event("person", person, {"initials": code, "name": name.strip(), "role": role})

    shop.write(work)


def add_customer(
    shop: Shop,
    who: str,
    *,
    code: str,
    name: str,
    phone: str = "",
    email: str = "",
    place: str = "",
    house: bool = False,
) -> None:
    """A customer by code and name. Raises Refused for a code in use."""
    key = code.strip().upper()
    if not key or not name.strip():
        raise BadInput("a customer needs a code and a name")
    for what, text, most in (
        ("code", key, 20),
        ("name", name.strip(), 200),
        ("phone", phone.strip(), 60),
        ("mail", email.strip(), 120),
        ("place", place.strip(), 120),
    ):
        if len(text) > most or not text.isprintable():
            raise BadInput(f"{what}: expected at most {most} printable signs")

    def work(deed: Deed) -> None:
        person = deed.worker(who, "receive a core")
        if deed.db.execute(select(Customer.id).where(Customer.code == key)).first():
            raise Refused(f"customer code {key} is in use")
        values = {
            "code": key,
            "name": name.strip(),
            "phone": phone.strip(),
            "email": email.strip(),
            "place": place.strip(),
            "house": house,
        }
        deed.db.execute(insert(Customer).values(name_key=name.strip().casefold()[:200], **values))
        deed.event("customer", person, dict(values))

    shop.write(work)


@dataclass(frozen=True, slots=True)
class NewInstrument:
    """An instrument and its last calibration; range and resolution in SI of ``unit``."""

    code: str
    kind: str
    description: str
    unit: str = ""
    low_si: float | None = None
    high_si: float | None = None
    resolution_si: float | None = None
    rating_pa: float | None = None
    dead_volume_m3: float | None = None
    calibrated_at: datetime | None = None
    due: datetime | None = None
    certificate: str = ""
    interval_days: int | None = None
    interval_cycles: int | None = None


def add_instrument(shop: Shop, who: str, new: NewInstrument) -> None:
    """Puts an instrument on the shop's list. Raises Refused for a code in use."""

    def work(deed: Deed) -> None:
        person = deed.worker(who, "keep instruments")
        code = new.code.strip().upper()
        if deed.db.execute(select(Instrument.id).where(Instrument.code == code)).first():
            raise Refused(f"instrument code {code} is in use")
        values = {
            "code": code,
            "kind": new.kind,
            "description": new.description,
            "unit": new.unit,
            "low_si": new.low_si,
            "high_si": new.high_si,
            "resolution_si": new.resolution_si,
            "rating_pa": new.rating_pa,
            "dead_volume_m3": new.dead_volume_m3,
            "interval_days": new.interval_days,
            "interval_cycles": new.interval_cycles,
        }
        instrument_id = deed.db.execute(
            insert(Instrument).values(**values).returning(Instrument.id)
        ).scalar_one()
        if new.due is not None:
            deed.db.execute(
                insert(Calibration).values(
                    instrument_id=instrument_id,
                    at=new.calibrated_at or deed.now,
                    due=new.due,
                    passed=True,
                    certificate=new.certificate,
                )
            )
        deed.event("instrument", person, dict(values))

    shop.write(work)


def add_bottle(
    shop: Shop,
    who: str,
    *,
    code: str,
    gas: str,
    volume_m3: float,
    pressure_pa: float,
    rating_pa: float,
) -> None:
    """A gas bottle with its content, gauge pressure as read. Raises OutOfRange for nitrogen at
    more than its equation covers: no fill could be taken off it."""
    if gas.strip().lower() == instruments.GAS:
        bottle.mass(volume_m3, pressure_pa + ATMOSPHERE_PA, REFERENCE_K)

    def work(deed: Deed) -> None:
        person = deed.worker(who, "keep instruments")
        values = {
            "code": code.strip().upper(),
            "gas": gas.strip().lower(),
            "volume_m3": volume_m3,
            "pressure_pa": pressure_pa,
            "rating_pa": rating_pa,
        }
        if deed.db.execute(select(Bottle.id).where(Bottle.code == values["code"])).first():
            raise Refused(f"bottle code {values['code']} is in use")
        deed.db.execute(insert(Bottle).values(empty=False, **values))
        deed.event("bottle", person, dict(values))

    shop.write(work)
