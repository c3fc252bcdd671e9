"""Purchases: placed with a supplier, delivered in full or in part; prices by quantity."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from sqlalchemy import Row, delete, func, insert, select, update

from shopdesk.desk import stock
from shopdesk.desk.shop import Deed, Shop
from shopdesk.errors import BadInput, NotFound, Refused
from shopdesk.records.tables import (
    Part,
    PartSupplier,
    Person,
    PriceBreak,
    Purchase,
    PurchaseLine,
    Supplier,
)
from shopdesk.rules import prices as rules
from shopdesk.views.arrivals import DUE


@dataclass(frozen=True, slots=True)
class Delivery:
    """Pieces of one lot as they came in; ``cured`` "2Q2025" for rubber. Against ``purchase`` where
    it is known, else the oldest open one; ``surplus`` keeps more than was ordered. ``job``: its
    customer brought them for it. ``set_number``: the matched set that the lot is a mate of."""

    part: str
    lot: str
    pieces: int
    cured: str = ""
    certificate: str = ""
    unit_cost_cents: int | None = None
    purchase: int | None = None
    surplus: bool = False
    job: int | None = None
    set_number: str = ""


def order(
    shop: Shop,
    who: str,
    supplier: str,
    lines: tuple[tuple[str, int], ...],
    *,
    seen: int | None = None,
) -> int:
    """Places a purchase: (part number, pieces) each; gives back its number. ``seen``: the newest
    purchase when the order list was read; what was ordered since is not ordered twice."""

    def work(deed: Deed) -> int:
        person = deed.worker(who, "order")
        if not lines:
            raise BadInput("a purchase has at least one line")
        for _, pieces in lines:
            rules.check_pieces(pieces)
        if seen is not None:
            _not_ordered_since(deed, seen, [part for part, _ in lines])
        supplier_key = supplier_id(deed, supplier)
        lead = deed.db.execute(
            select(Supplier.lead_days).where(Supplier.id == supplier_key)
        ).scalar_one()
        number = deed.db.execute(
            select(func.coalesce(func.max(Purchase.number), 500) + 1)
        ).scalar_one()
        purchase_id = deed.db.execute(
            insert(Purchase)
            .values(
                number=number,
                supplier_id=supplier_key,
                at=deed.now,
                due_on=deed.today + timedelta(days=lead),
                person_id=person.id,
            )
            .returning(Purchase.id)
        ).scalar_one()
        for part, pieces in lines:
            _purchase_line(deed, purchase_id, supplier_key, part, pieces)
        deed.event(
            "purchase",
            person,
            {"number": number, "supplier": supplier, "lines": [list(line) for line in lines]},
        )
        return int(number)

    return shop.write(work)


def _not_ordered_since(deed: Deed, seen: int, parts: list[str]) -> None:
    row = deed.db.execute(
        select(Part.number, PurchaseLine.quantity, Purchase.number.label("by"), Person.initials)
        .select_from(PurchaseLine)
        .join(Purchase, Purchase.id == PurchaseLine.purchase_id)
        .join(Part, Part.id == PurchaseLine.part_id)
        .join(Person, Person.id == Purchase.person_id)
        .where(Purchase.number > seen, Part.number.in_(parts))
        .order_by(Purchase.number, Part.number)
        .limit(1)
    ).first()
    if row is not None:
        raise Refused(
            f"{row.initials} has ordered {row.quantity} of {row.number} since this list was made "
            f"(purchase {row.by}): nothing was ordered, go back and look at the list again",
            (),
            "stores",
        )


def put_off(shop: Shop, who: str, number: int, on: date, reason: str) -> date:
    """The day a supplier names now for what is still due of a purchase; gives back the day it was
    due until now. What waits for it is forecast from the new one."""

    def work(deed: Deed) -> date:
        person = deed.worker(who, "order")
        row = deed.db.execute(
            select(Purchase.id, Purchase.due_on, func.sum(DUE))
            .join(PurchaseLine, PurchaseLine.purchase_id == Purchase.id)
            .where(Purchase.number == number)
            .group_by(Purchase.id, Purchase.due_on)
        ).one_or_none()
        if row is None:
            raise NotFound(f"no purchase {number}")
        purchase, due, left = row
        if not left:
            raise Refused(f"nothing of purchase {number} is still to come")
        if on < deed.today:
            raise BadInput(f"due day: read {on.isoformat()}, which has passed")
        if on == due:
            raise BadInput(f"due day: {on.isoformat()} is the day it is due already")
        if not reason.strip():
            raise BadInput("who said so? give the reason")
        deed.db.execute(update(Purchase).where(Purchase.id == purchase).values(due_on=on))
        deed.event(
            "due day",
            person,
            {
                "purchase": number,
                "was": due.isoformat(),
                "is": on.isoformat(),
                "reason": reason.strip(),
            },
        )
        return due

    return shop.write(work)


def call_off(shop: Shop, who: str, number: int, part: str, reason: str) -> int:
    """What is still due of a part will not come by this purchase: ordered twice, or not made any
    more. Gives back how many pieces that is; what waits for them is on the order list again."""

    def work(deed: Deed) -> int:
        person = deed.worker(who, "order")
        part_id = stock.part_id_of(deed.db, part)
        lines = deed.db.execute(
            select(PurchaseLine.id, DUE.label("left"))
            .join(Purchase, Purchase.id == PurchaseLine.purchase_id)
            .where(Purchase.number == number, PurchaseLine.part_id == part_id, DUE > 0)
        ).all()
        name = part.strip().upper()
        if not lines:
            raise Refused(f"purchase {number} has none of {name} due", (), "stores")
        if not reason.strip():
            raise BadInput("why will they not come? give the reason")
        for line in lines:
            off = {"called_off": PurchaseLine.called_off + line.left}
            deed.db.execute(update(PurchaseLine).where(PurchaseLine.id == line.id).values(off))
        pieces = sum(int(line.left) for line in lines)
        told = {"purchase": number, "part": name, "pieces": pieces, "reason": reason.strip()}
        deed.event("called off", person, told)
        return pieces

    return shop.write(work)


def _purchase_line(deed: Deed, purchase_id: int, supplier: int, part: str, pieces: int) -> None:
    part_id = stock.part_id_of(deed.db, part)
    deed.db.execute(
        insert(PurchaseLine).values(
            purchase_id=purchase_id,
            part_id=part_id,
            quantity=pieces,
            received=0,
            unit_cost_cents=_price(deed, part_id, supplier, pieces),
        )
    )


def _price(deed: Deed, part_id: int, supplier: int, pieces: int) -> int:
    """Cents a piece at this quantity: by the highest break reached, else the plain price."""
    here = (PartSupplier.part_id == Part.id) & (PartSupplier.supplier_id == supplier)
    reached = (PriceBreak.part_supplier_id == PartSupplier.id) & (PriceBreak.from_pieces <= pieces)
    cents = deed.db.execute(
        select(
            func.coalesce(PriceBreak.price_cents, PartSupplier.price_cents, Part.unit_cost_cents)
        )
        .select_from(Part)
        .outerjoin(PartSupplier, here)
        .outerjoin(PriceBreak, reached)
        .where(Part.id == part_id)
        .order_by(func.coalesce(PriceBreak.from_pieces, 0).desc())
        .limit(1)
    ).scalar_one()
    return int(cents)


def deliver(deed: Deed, part_id: int, delivery: Delivery) -> int | None:
    """Counts a delivery against the part's open purchase lines; gives back what a piece of it
    costs by them, None for what nobody ordered, which is taken as it is. Raises Refused where
    more came than is due, unless the surplus is to be kept."""
    rows = _open_lines(deed, part_id, delivery)
    due = sum(row.left for row in rows)
    if rows and delivery.pieces > due and not delivery.surplus:
        ordered = ", ".join(f"purchase {row.number}" for row in rows)
        raise Refused(
            f"{delivery.pieces} of {delivery.part.strip().upper()} came, "
            f"{due} {'is' if due == 1 else 'are'} due "
            f"({ordered}): count again, or type {delivery.pieces} kept to keep them",
            (),
            "stores",
        )
    left, cents = delivery.pieces, 0
    for row in rows:
        taken = min(left, row.left)
        left -= taken
        cents += taken * row.unit_cost_cents
        received = row.received + taken
        if taken:
            deed.db.execute(
                update(PurchaseLine)
                .where(PurchaseLine.id == row.id)
                .values(
                    received=received,
                    received_at=deed.now if received == row.quantity else None,
                )
            )
    counted = delivery.pieces - left
    return round(cents / counted) if counted else None


def _open_lines(deed: Deed, part_id: int, delivery: Delivery) -> Sequence[Row[*tuple[Any, ...]]]:
    query = (
        select(
            PurchaseLine.id,
            Purchase.number,
            PurchaseLine.quantity,
            PurchaseLine.received,
            PurchaseLine.unit_cost_cents,
            DUE.label("left"),
        )
        .join(Purchase, Purchase.id == PurchaseLine.purchase_id)
        .where(PurchaseLine.part_id == part_id, DUE > 0)
        .order_by(PurchaseLine.id)
    )
    if delivery.purchase is None:
        return deed.db.execute(query).all()
    rows = deed.db.execute(query.where(Purchase.number == delivery.purchase)).all()
    if not rows:
        raise Refused(
            f"purchase {delivery.purchase} has none of {delivery.part.strip().upper()} due",
            (),
            "stores",
        )
    return rows


def set_prices(
    shop: Shop,
    who: str,
    part: str,
    supplier: str,
    prices: tuple[tuple[int, int], ...],
    least_pieces: int = 1,
    pack: int | None = None,
) -> None:
    """What the supplier asks for the part: (from pieces, cents a piece), the first from 1; the
    fewest pieces sold; the pieces of a pack where that is another now. Raises BadInput where
    quantities do not rise or prices do not fall."""

    def work(deed: Deed) -> None:
        person = deed.worker(who, "order")
        rules.check(prices, least_pieces)
        part_id, supplier_key = stock.part_id_of(deed.db, part), supplier_id(deed, supplier)
        if pack is not None:
            if not 1 <= pack <= rules.MOST_PIECES:
                raise BadInput(f"pack: read {pack}, expected 1 piece or more")
            deed.db.execute(update(Part).where(Part.id == part_id).values(pack=pack))
        offer = _offer(deed, part_id, supplier_key, prices[0][1], least_pieces)
        deed.db.execute(delete(PriceBreak).where(PriceBreak.part_supplier_id == offer))
        for start, cents in prices[1:]:
            deed.db.execute(
                insert(PriceBreak).values(
                    part_supplier_id=offer, from_pieces=start, price_cents=cents
                )
            )
        deed.event(
            "prices",
            person,
            {
                "part": part.strip().upper(),
                "supplier": supplier.strip().upper(),
                "prices": [list(price) for price in prices],
                "least_pieces": least_pieces,
                **({} if pack is None else {"pack": pack}),
            },
        )

    shop.write(work)


def _offer(deed: Deed, part_id: int, supplier: int, cents: int, least: int) -> int:
    found = deed.db.execute(
        select(PartSupplier.id).where(
            PartSupplier.part_id == part_id, PartSupplier.supplier_id == supplier
        )
    ).scalar()
    values = {"price_cents": cents, "least_pieces": least}
    if found is not None:
        deed.db.execute(update(PartSupplier).where(PartSupplier.id == found).values(**values))
        return int(found)
    made = insert(PartSupplier).values(part_id=part_id, supplier_id=supplier, **values)
    return int(deed.db.execute(made.returning(PartSupplier.id)).scalar_one())


def supplier_id(deed: Deed, code: str) -> int:
    """The supplier with this code. Raises NotFound."""
    found = deed.db.execute(
        select(Supplier.id).where(Supplier.code == code.strip().upper())
    ).scalar()
    if found is None:
        raise NotFound(f"no supplier with code {code.strip()[:20]!r}")
    return int(found)
