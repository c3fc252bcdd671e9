"""Short lists to choose from: models, customers, people; what a scanned code is."""

from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import Connection, func, or_, select

from shopdesk.records.finding import serial_starts
from shopdesk.records.tables import (
    Bottle,
    Customer,
    Instrument,
    Job,
    Lot,
    Part,
    Person,
    ProcedureRevision,
    Unit,
    UnitModel,
)
from shopdesk.rules import serials
from shopdesk.views.documents import APPROVED


@dataclass(frozen=True, slots=True)
class Named:
    code: str
    name: str


@dataclass(frozen=True, slots=True)
class KnownUnit:
    """A serial seen before, with model and owner as they are now."""

    serial: str
    model: str
    customer_code: str
    customer: str
    pool: bool


@dataclass(frozen=True, slots=True)
class Scan:
    """What a code is: "job", "person", "instrument", "bottle", "lot" or "part". ``name`` is the
    instrument's kind, the person's initials, the lot's or part's part number."""

    kind: str
    code: str
    name: str


def models(db: Connection) -> Sequence[Named]:
    """Unit models that have a procedure in force."""
    rows = db.execute(
        select(UnitModel.code, UnitModel.name)
        .where(UnitModel.id.in_(select(ProcedureRevision.unit_model_id).where(APPROVED)))
        .order_by(UnitModel.code)
    )
    return tuple(Named(row.code, row.name) for row in rows)


def customers(db: Connection, text: str = "", limit: int = 20) -> Sequence[Named]:
    """Customers whose code or name contains the text."""
    words = text.strip().casefold()
    named = Customer.name_key.contains(words, autoescape=True)
    coded = func.lower(Customer.code).contains(words, autoescape=True)
    rows = db.execute(
        select(Customer.code, Customer.name)
        .where(or_(named, coded))
        .order_by(Customer.name_key)
        .limit(limit)
    )
    return tuple(Named(row.code, row.name) for row in rows)


def people(db: Connection) -> Sequence[Named]:
    """Active people: initials and "name, role"."""
    rows = db.execute(
        select(Person.initials, Person.name, Person.role)
        .where(Person.active)
        .order_by(Person.initials)
    )
    return tuple(Named(row.initials, f"{row.name}, {row.role}") for row in rows)


def known_units(db: Connection, serial: str, limit: int = 8) -> Sequence[KnownUnit]:
    """Units whose serial begins with what is typed (two characters up)."""
    key = serials.key(serial)
    if len(key) < 2:
        return ()
    rows = db.execute(
        select(Unit.serial, UnitModel.code, Customer.code, Customer.name, Unit.pool)
        .join(UnitModel, UnitModel.id == Unit.unit_model_id)
        .join(Customer, Customer.id == Unit.customer_id)
        .where(serial_starts(db, key))
        .order_by(Unit.serial_key)
        .limit(limit)
    )
    return tuple(KnownUnit(*row) for row in rows)


def what_is(db: Connection, code: str) -> Scan | None:
    """What a scanned code stands for in this shop, None if it is nothing known."""
    text = code.strip().upper()
    if not text or len(text) > 60:
        return None
    digits = text.removeprefix("J-")
    if text.startswith("J-") and digits.isascii() and digits.isdigit() and len(digits) < 10:
        found = db.execute(select(Job.number).where(Job.number == int(digits))).scalar()
        return Scan("job", text, str(found)) if found is not None else None
    for kind, query in (
        ("person", select(Person.initials).where(Person.badge == text, Person.active)),
        ("instrument", select(Instrument.kind).where(Instrument.code == text)),
        ("bottle", select(Bottle.gas).where(Bottle.code == text)),
        ("lot", select(Part.number).join(Lot, Lot.part_id == Part.id).where(Lot.number == text)),
        ("part", select(Part.number).where(Part.number == text)),
    ):
        name = db.execute(query.limit(1)).scalar()
        if name is not None:
            return Scan(kind, text, str(name))
    return None
