"""What a shop that is being set up has so far."""

from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, func, select

from shopdesk.records.tables import (
    Bottle,
    Customer,
    Instrument,
    Job,
    Part,
    Person,
    ShopDocument,
)
from shopdesk.views import documents


@dataclass(frozen=True, slots=True)
class Beginning:
    """``documents`` are the kinds adopted ("shop", "roads"); people initials with their roles;
    ``parts`` numbers known with their rubber, ``stocked`` those with pieces on the shelf;
    ``instruments`` kinds; ``codes`` those of instruments and customers."""

    documents: frozenset[str]
    people: tuple[tuple[str, str], ...]
    procedures: int
    customers: int
    parts: dict[str, str]
    stocked: frozenset[str]
    instruments: frozenset[str]
    codes: frozenset[str]
    bottles: int
    jobs: int
    house: bool


def so_far(db: Connection) -> Beginning:
    def count(of: Any) -> int:
        return int(db.execute(select(func.count()).select_from(of)).scalar_one())

    people = db.execute(
        select(Person.initials, Person.role).where(Person.active).order_by(Person.id)
    )
    customers = select(func.count(Customer.id)).where(~Customer.house)
    return Beginning(
        documents=frozenset(db.execute(select(ShopDocument.kind).distinct()).scalars()),
        people=tuple((row.initials, row.role) for row in people),
        procedures=len(documents.newest(db)),
        customers=int(db.execute(customers).scalar_one()),
        parts={row.number: row.compound for row in db.execute(select(Part.number, Part.compound))},
        stocked=frozenset(db.execute(select(Part.number).where(Part.on_hand > 0)).scalars()),
        instruments=frozenset(db.execute(select(Instrument.kind).distinct()).scalars()),
        codes=frozenset(db.execute(select(Instrument.code)).scalars())
        | frozenset(db.execute(select(Customer.code)).scalars()),
        bottles=count(Bottle),
        jobs=count(Job),
        house=db.execute(select(Customer.id).where(Customer.house).limit(1)).first() is not None,
    )
