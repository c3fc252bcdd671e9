"""Who sells a part, and at what prices by quantity."""

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from sqlalchemy import Connection, select

from shopdesk.records.tables import Part, PartSupplier, PriceBreak, Supplier
from shopdesk.rules.prices import Prices


@dataclass(frozen=True, slots=True)
class OfferRow:
    """``prices`` begins with that of one piece; ``least_pieces`` are the fewest sold."""

    supplier: str
    name: str
    prices: Prices
    least_pieces: int


@dataclass(frozen=True, slots=True)
class Offers:
    pack: int
    rows: Sequence[OfferRow]
    suppliers: Sequence[tuple[str, str]]


def breaks(db: Connection, offers: Collection[int] | None = None) -> Mapping[int, Prices]:
    """The price breaks of these offers, or of all, by the offer's id; those without are left
    out."""
    asked = select(PriceBreak.part_supplier_id, PriceBreak.from_pieces, PriceBreak.price_cents)
    if offers is not None:
        asked = asked.where(PriceBreak.part_supplier_id.in_(offers))
    found: dict[int, list[tuple[int, int]]] = defaultdict(list)
    for offer, start, cents in db.execute(asked.order_by(PriceBreak.from_pieces)):
        found[offer].append((start, cents))
    return {offer: tuple(prices) for offer, prices in found.items()}


def of_part(db: Connection, part: str) -> Offers:
    """The part's pack, its offers, the cheapest first, and every supplier there is."""
    found = db.execute(
        select(
            PartSupplier.id,
            Supplier.code,
            Supplier.name,
            PartSupplier.price_cents,
            PartSupplier.least_pieces,
        )
        .join(Supplier, Supplier.id == PartSupplier.supplier_id)
        .join(Part, Part.id == PartSupplier.part_id)
        .where(Part.number == part)
        .order_by(PartSupplier.price_cents, Supplier.lead_days, Supplier.code)
    ).all()
    lower = breaks(db, [row.id for row in found])
    return Offers(
        db.execute(select(Part.pack).where(Part.number == part)).scalar_one(),
        tuple(
            OfferRow(
                row.code, row.name, ((1, row.price_cents), *lower.get(row.id, ())), row.least_pieces
            )
            for row in found
        ),
        tuple(
            (row.code, row.name)
            for row in db.execute(select(Supplier.code, Supplier.name).order_by(Supplier.code))
        ),
    )
