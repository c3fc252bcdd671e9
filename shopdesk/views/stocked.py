"""Every part somebody sells as it stands today: its demand, lead time, open needs and supplier."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from sqlalchemy import Connection, func, select

from shopdesk.calc import shelf, stores
from shopdesk.errors import BadInput
from shopdesk.records.tables import Lot, Part, PartSupplier, PurchaseLine, StockMove, Supplier
from shopdesk.rules import reorder
from shopdesk.rules.reorder import Lead, Stocked, Uses
from shopdesk.rules.shop import ShopRules
from shopdesk.views import arrivals, documents, offers, usable
from shopdesk.views.days import midnight
from shopdesk.views.needs import needs as asked


@dataclass(frozen=True, slots=True)
class Offer:
    """Where a part is bought: ``breaks`` as (from pieces, cents a piece), the plain price first."""

    supplier: str
    name: str
    minimum_cents: int
    lead_days: int
    least_pieces: int
    breaks: tuple[tuple[int, int], ...]

    def price(self, pieces: int) -> int:
        return next(cents for start, cents in reversed(self.breaks) if pieces >= start)


@dataclass(frozen=True, slots=True)
class Known:
    """A part with all that its advice is made from."""

    part_id: int
    number: str
    description: str
    compound: str
    stocked: Stocked
    offer: Offer

    def sold(self, pieces: int) -> int:
        """What is ordered for so many: in whole packs, no fewer than the supplier sells."""
        return stores.packed(pieces, self.stocked.pack, self.offer.least_pieces)


def stock(db: Connection, shop: ShopRules, today: date, part: str = "") -> Iterable[Known]:
    """Every part somebody sells (or the one), with its history, needs and supplier."""
    days = shop.reordering.history_days
    begins = midnight(today - timedelta(days=days))
    begun = db.execute(select(StockMove.at).order_by(StockMove.id).limit(1)).scalar()
    if begun is not None and begun > begins:
        days = max((today - begun.astimezone().date()).days, 30)
    uses, needs, leads = _uses(db, begins, days, part), asked(db, today), _leads(db, begins)
    coming, spoiled = _on_order(db), spoiled_by_part(db, today)
    sold = _offers(db, part)
    lives: dict[str, int | None] = {}
    none = Uses(days)
    query = select(
        Part.id,
        Part.number,
        Part.description,
        Part.compound,
        Part.on_hand - Part.reserved,
        Part.minimum,
        Part.critical,
        Part.pack,
    )
    for part_id, number, description, compound, free, minimum, critical, pack in db.execute(
        query.where(Part.number == part) if part else query
    ).all():
        offer = sold.get(part_id)
        if offer is None:
            continue
        if compound not in lives:
            lives[compound] = _shelf_days(compound, shop.seal_standard)
        stocked = Stocked(
            free=free - spoiled.get(part_id, 0),
            on_order=coming.get(part_id, 0),
            minimum=minimum,
            critical=critical,
            pack=pack,
            prices=offer.breaks,
            shelf_days=lives[compound],
            uses=uses.get(part_id, none),
            lead=leads.get(offer.supplier) or reorder.lead_of((), offer.lead_days),
            needs=needs.get(number, ()),
        )
        yield Known(part_id, number, description, compound, stocked, offer)


def _shelf_days(compound: str, standard: str) -> int | None:
    """Days of storage of a compound; None without a limit or for one the standard has not."""
    if not compound:
        return None
    try:
        years = shelf.life(compound, standard).initial_years
    except BadInput:
        return None
    return None if years is None else round(years * reorder.YEAR_DAYS)


def _uses(db: Connection, begins: datetime, days: int, part: str) -> Mapping[int, Uses]:
    """What each job drew, what it gave back taken off."""
    drawn = func.sum(-StockMove.on_hand_change)
    by_job = (
        select(StockMove.part_id, drawn.label("pieces"))
        .where(StockMove.kind.in_(("issue", "return")), StockMove.at >= begins)
        .group_by(StockMove.part_id, StockMove.job_id)
        .having(drawn > 0)
    )
    if part:
        by_job = by_job.where(
            StockMove.part_id == select(Part.id).where(Part.number == part).scalar_subquery()
        )
    job = by_job.subquery()
    rows = db.execute(
        select(
            job.c.part_id,
            func.count(),
            func.sum(job.c.pieces),
            func.sum(job.c.pieces * job.c.pieces),
        ).group_by(job.c.part_id)
    )
    return {
        part_id: Uses(days, times, int(total), int(squares))
        for part_id, times, total, squares in rows.all()
    }


def _leads(db: Connection, begins: datetime) -> Mapping[str, Lead]:
    """Each supplier's lead time as deliveries showed it: days from order to the last piece."""
    quoted = dict(db.execute(select(Supplier.code, Supplier.lead_days)).all())
    taken = arrivals.lead_days(db, begins)
    return {code: reorder.lead_of(days, quoted[code]) for code, days in taken.items()}


def _on_order(db: Connection) -> Mapping[int, int]:
    rows = db.execute(
        select(PurchaseLine.part_id, func.sum(arrivals.DUE))
        .where(arrivals.DUE > 0)
        .group_by(PurchaseLine.part_id)
    )
    return {part_id: int(pieces) for part_id, pieces in rows}


def spoiled_by_part(db: Connection, today: date) -> Mapping[int, int]:
    """Pieces on the shelf that may not be issued: past their use-by day, or in quarantine."""
    spoiled: dict[int, int] = defaultdict(int)
    rows = db.execute(  # summed here: grouped there, SQLite would fetch every lot through an index
        select(Lot.part_id, Lot.on_hand).where(Lot.on_hand > 0, usable.NOT_ISSUED),
        usable.on(today, documents.asked(db)),
    )
    for part_id, pieces in rows:
        spoiled[part_id] += pieces
    return spoiled


def _offers(db: Connection, part: str) -> Mapping[int, Offer]:
    """Who sells each part cheapest, and at what prices."""
    breaks = offers.breaks(db)
    query = (
        select(
            PartSupplier.id,
            PartSupplier.part_id,
            PartSupplier.price_cents,
            PartSupplier.least_pieces,
            Supplier.code,
            Supplier.name,
            Supplier.minimum_order_cents,
            Supplier.lead_days,
        )
        .join(Supplier, Supplier.id == PartSupplier.supplier_id)
        .order_by(PartSupplier.price_cents.desc(), Supplier.lead_days.desc(), Supplier.code.desc())
    )
    if part:
        query = query.join(Part, Part.id == PartSupplier.part_id).where(Part.number == part)
    return {  # the cheapest comes last and stays
        part_id: Offer(code, name, minimum, lead, least, ((0, cents), *breaks.get(offer_id, ())))
        for offer_id, part_id, cents, least, code, name, minimum, lead in db.execute(query).all()
    }
