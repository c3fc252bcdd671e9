"""What to order: each part's demand, lead time and open needs, advised on by the rules."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

from sqlalchemy import Connection, func, select

from shopdesk.calc import shelf
from shopdesk.errors import BadInput
from shopdesk.records.tables import (
    Lot,
    Part,
    PartSupplier,
    PurchaseLine,
    StockMove,
    Supplier,
)
from shopdesk.rules import reorder
from shopdesk.rules.reorder import Advice, Lead, Missing, Stocked, Uses
from shopdesk.rules.shop import ShopRules
from shopdesk.views import arrivals, documents, interchange, offers, usable
from shopdesk.views.days import midnight
from shopdesk.views.interchange import StandIn
from shopdesk.views.needs import needs as asked


@dataclass(frozen=True, slots=True)
class OrderRow:
    """A part to order today: ``pieces`` in whole packs, and the sentence that says why."""

    supplier: str
    supplier_name: str
    part: str
    description: str
    pieces: int
    cents: int
    why: str
    lead_days: int
    fills_up: bool = False


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


@dataclass(frozen=True, slots=True)
class MissingRow:
    part: str
    description: str
    job: int
    promised: date
    pieces: int
    comes: date | None
    stands_in: str


def to_order(db: Connection, today: date) -> Sequence[OrderRow]:
    """Today's order list by supplier: parts below what is to be had, then those that are next due
    where a supplier's minimum is not met."""
    shop = documents.rules(db)
    due: dict[str, list[OrderRow]] = defaultdict(list)
    waiting: dict[str, list[Known]] = defaultdict(list)
    for known in _stock(db, shop, today):
        if not reorder.plenty(known.stocked, shop.reordering):
            advice = reorder.advise(known.stocked, today, shop.reordering)
            if advice.due:
                due[known.offer.supplier].append(_row(known, advice.pieces, advice.why))
                continue
        waiting[known.offer.supplier].append(known)
    rows = []
    for supplier in sorted(due):
        rows += sorted(due[supplier], key=lambda row: row.part)
        rows += _filled(due[supplier], waiting[supplier], today, shop)
    others = interchange.by_part(db, today)
    return tuple(replace(row, why=with_others(row.why, others.get(row.part, ()))) for row in rows)


def with_others(why: str, others: Sequence[StandIn]) -> str:
    """The sentence with what is free and may take the part's place."""
    return "; ".join((why, *(one.said for one in others)))


def advice_for(db: Connection, part: str, today: date) -> tuple[Known, Advice] | None:
    """The one part's advice; None where no supplier is known."""
    shop = documents.rules(db)
    found = next(iter(_stock(db, shop, today, part)), None)
    if found is None:
        return None
    advice = reorder.advise(found.stocked, today, shop.reordering, exact=True)
    others = interchange.by_part(db, today).get(found.number, ())
    return found, replace(advice, why=with_others(advice.why, others))


def demand_by_month(db: Connection, part: str, today: date, months: int = 24) -> Sequence[int]:
    """Pieces jobs drew in each of the last months, the oldest first, this month last."""
    first = today.year * 12 + today.month - months
    begins = midnight(date(first // 12, first % 12 + 1, 1))
    rows = db.execute(
        select(StockMove.at, StockMove.on_hand_change)
        .join(Part, Part.id == StockMove.part_id)
        .where(
            Part.number == part,
            StockMove.kind.in_(("issue", "return")),
            StockMove.at >= begins,
        )
    )
    found = [0] * months
    for at, change in ((at.astimezone(), change) for at, change in rows):
        index = at.year * 12 + at.month - 1 - first
        if 0 <= index < months:
            found[index] -= change
    return tuple(found)


def will_be_missing(db: Connection, today: date) -> Sequence[MissingRow]:
    """What open jobs will not find on the day they are promised for, oldest promise first."""
    found = []
    needs = asked(db, today)
    coming = _arrivals(db, today)
    spoiled = _spoiled(db, today)
    others = interchange.by_part(db, today)
    parts = db.execute(
        select(Part.id, Part.number, Part.description, Part.on_hand - Part.reserved).where(
            Part.number.in_(list(needs) or [""])
        )
    )
    for part_id, number, description, free in parts:
        free -= spoiled.get(part_id, 0)
        for one in reorder.missing(free, needs[number], coming.get(part_id, ())):
            found.append(_missing(number, description, one, others.get(number, ())))
    return tuple(sorted(found, key=lambda row: (row.promised, row.job, row.part)))


def _missing(number: str, description: str, one: Missing, others: Sequence[StandIn]) -> MissingRow:
    return MissingRow(
        number,
        description,
        one.need.job,
        one.need.on,
        one.pieces,
        one.comes,
        "; ".join(other.said for other in others if other.interchange.in_model(one.need.model)),
    )


def _row(known: Known, pieces: int, why: str, *, fills_up: bool = False) -> OrderRow:
    offer = known.offer
    pieces = max(pieces, -(-offer.least_pieces // known.stocked.pack) * known.stocked.pack)
    return OrderRow(
        offer.supplier,
        offer.name,
        known.number,
        known.description,
        pieces,
        pieces * offer.price(pieces),
        why,
        round(known.stocked.lead.days),
        fills_up,
    )


def _filled(
    due: Sequence[OrderRow], waiting: Sequence[Known], today: date, shop: ShopRules
) -> list[OrderRow]:
    """What goes with a supplier's order to meet his minimum; most orders meet it by themselves."""
    total = sum(row.cents for row in due)
    if not waiting or total >= waiting[0].offer.minimum_cents:
        return []
    rows: dict[str, OrderRow] = {}
    next_due = []
    for known in waiting:
        advice = reorder.advise(known.stocked, today, shop.reordering)
        if advice.lasts_until is not None:
            rows[known.number] = _fill_row(known, advice)
            next_due.append((advice.lasts_until, known.number, rows[known.number].cents))
    taken = reorder.fill_up(total, waiting[0].offer.minimum_cents, next_due)
    return [rows[part] for part in taken]


def _fill_row(known: Known, advice: Advice) -> OrderRow:
    return _row(known, advice.usual, f"next due, meets the minimum; {advice.why}", fills_up=True)


def _stock(db: Connection, shop: ShopRules, today: date, part: str = "") -> Iterable[Known]:
    """Every part somebody sells (or the one), with its history, needs and supplier."""
    days = shop.reordering.history_days
    begins = midnight(today - timedelta(days=days))
    begun = db.execute(select(StockMove.at).order_by(StockMove.id).limit(1)).scalar()
    if begun is not None and begun > begins:
        days = max((today - begun.astimezone().date()).days, 30)
    uses, needs, leads = _uses(db, begins, days, part), asked(db, today), _leads(db, begins)
    coming, spoiled = _on_order(db), _spoiled(db, today)
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
    open_ = PurchaseLine.quantity - PurchaseLine.received
    rows = db.execute(
        select(PurchaseLine.part_id, func.sum(open_))
        .where(PurchaseLine.received < PurchaseLine.quantity)
        .group_by(PurchaseLine.part_id)
    )
    return {part_id: int(pieces) for part_id, pieces in rows}


def _spoiled(db: Connection, today: date) -> Mapping[int, int]:
    """Pieces on the shelf that may not be issued: past their use-by day, or in quarantine."""
    spoiled: dict[int, int] = defaultdict(int)
    rows = db.execute(  # summed here: grouped there, SQLite would fetch every lot through an index
        select(Lot.part_id, Lot.on_hand).where(Lot.on_hand > 0, usable.NOT_ISSUED),
        {usable.TODAY: today},
    )
    for part_id, pieces in rows:
        spoiled[part_id] += pieces
    return spoiled


def _arrivals(db: Connection, today: date) -> Mapping[int, Sequence[tuple[date, int]]]:
    found: dict[int, list[tuple[date, int]]] = defaultdict(list)
    for one in arrivals.arrivals(db, today):
        found[one.part_id].append((one.on, one.pieces))
    return found


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
