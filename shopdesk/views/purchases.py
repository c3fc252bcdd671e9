"""A purchase as it goes to the supplier."""

from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import Connection, func, select

from shopdesk.errors import NotFound
from shopdesk.records.tables import Part, Person, Purchase, PurchaseLine, Supplier
from shopdesk.views import documents


@dataclass(frozen=True, slots=True)
class Ordered:
    """``material`` is what else says which part it is: size, compound, thread, grade; ``cures``:
    its age counts from a cure date."""

    part: str
    description: str
    material: str
    pieces: int
    unit_cost_cents: int
    cures: bool

    @property
    def cents(self) -> int:
        return self.pieces * self.unit_cost_cents


@dataclass(frozen=True, slots=True)
class Order:
    shop: str
    number: int
    supplier: str
    supplier_code: str
    email: str
    at: datetime
    due_on: date
    by: str
    currency: str
    seal_standard: str
    lines: tuple[Ordered, ...]

    @property
    def cents(self) -> int:
        return sum(line.cents for line in self.lines)


def newest(db: Connection) -> int:
    """The number of the last purchase placed, 0 before the first."""
    return int(db.execute(select(func.coalesce(func.max(Purchase.number), 0))).scalar_one())


def order(db: Connection, number: int) -> Order:
    """The purchase with this number, as it was placed. Raises NotFound."""
    row = db.execute(
        select(
            Purchase.id,
            Purchase.number,
            Purchase.at,
            Purchase.due_on,
            Supplier.name,
            Supplier.code,
            Supplier.email,
            Person.name.label("by"),
        )
        .join(Supplier, Supplier.id == Purchase.supplier_id)
        .join(Person, Person.id == Purchase.person_id)
        .where(Purchase.number == number)
    ).one_or_none()
    if row is None:
        raise NotFound(f"no purchase {number} in this shop; look for it at the stores, F8")
    rules = documents.rules(db)
    lines = db.execute(
        select(
            Part.number,
            Part.description,
            Part.dash,
            Part.compound,
            Part.thread,
            Part.grade,
            PurchaseLine.quantity,
            PurchaseLine.unit_cost_cents,
        )
        .join(Part, Part.id == PurchaseLine.part_id)
        .where(PurchaseLine.purchase_id == row.id)
        .order_by(PurchaseLine.id)
    )
    return Order(
        shop=rules.name,
        number=row.number,
        supplier=row.name,
        supplier_code=row.code,
        email=row.email,
        at=row.at,
        due_on=row.due_on,
        by=row.by,
        currency=rules.currency,
        seal_standard=rules.seal_standard,
        lines=tuple(
            Ordered(
                part=line.number,
                description=line.description,
                material=", ".join(
                    word for word in (line.dash, line.compound, line.thread, line.grade) if word
                ),
                pieces=line.quantity,
                unit_cost_cents=line.unit_cost_cents,
                cures=bool(line.compound),
            )
            for line in lines
        ),
    )
