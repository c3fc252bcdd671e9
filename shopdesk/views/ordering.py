"""What to order: each part's demand, lead time and open needs, advised on by the rules."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from sqlalchemy import Connection, select

from shopdesk.records.tables import (
    Part,
    StockMove,
)
from shopdesk.rules import reorder
from shopdesk.rules.reorder import Advice, Mate, Missing
from shopdesk.rules.shop import ShopRules
from shopdesk.views import arrivals, documents, interchange, matched, stocked
from shopdesk.views.days import midnight
from shopdesk.views.interchange import StandIn
from shopdesk.views.needs import needs as asked
from shopdesk.views.stocked import Known


@dataclass(frozen=True, slots=True)
class OrderRow:
    """A part to order today: ``pieces`` in whole packs, and the sentence that says why;
    ``minimum_cents`` what its supplier wants an order to come to at least."""

    supplier: str
    supplier_name: str
    part: str
    description: str
    pieces: int
    cents: int
    why: str
    lead_days: int
    minimum_cents: int
    fills_up: bool = False


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
    sets, mates = matched.sets(db), {}
    for known in stocked.stock(db, shop, today):
        if known.number in sets:
            mates[known.number] = known
            continue
        if not reorder.plenty(known.stocked, shop.reordering):
            advice = reorder.advise(known.stocked, today, shop.reordering)
            if advice.due:
                due[known.offer.supplier].append(_row(known, advice.pieces, advice.why))
                continue
        waiting[known.offer.supplier].append(known)
    for known, advice in _as_sets(mates, sets, today, shop):
        if advice.due:
            due[known.offer.supplier].append(_row(known, advice.pieces, advice.why))
    rows = []
    for supplier in sorted(due):
        rows += sorted(due[supplier], key=lambda row: row.part)
        rows += _filled(due[supplier], waiting[supplier], today, shop)
    others = interchange.by_part(db, today)
    return tuple(replace(row, why=with_others(row.why, others.get(row.part, ()))) for row in rows)


def _as_sets(
    mates: Mapping[str, Known], sets: Mapping[str, matched.OneSet], today: date, shop: ShopRules
) -> Iterable[tuple[Known, Advice]]:
    """Mates that one supplier sells are ordered as sets; where another sells the mate they are
    matched here, and each is ordered for itself."""
    advised = {
        number: reorder.advise(known.stocked, today, shop.reordering, exact=True)
        for number, known in mates.items()
    }
    for number, known in mates.items():
        together = [
            Mate(
                part, each, mates[part].stocked.pack, mates[part].offer.least_pieces, advised[part]
            )
            for part, each in sets[number]
            if part in mates and mates[part].offer.supplier == known.offer.supplier
        ]
        at = next(n for n, mate in enumerate(together) if mate.part == number)
        yield known, reorder.as_sets(together)[at] if len(together) > 1 else advised[number]


def with_others(why: str, others: Sequence[StandIn]) -> str:
    """The sentence with what is free and may take the part's place."""
    return "; ".join((why, *(one.said for one in others)))


def advice_for(db: Connection, part: str, today: date) -> tuple[Known, Advice] | None:
    """The one part's advice; None where no supplier is known."""
    shop = documents.rules(db)
    found = next(iter(stocked.stock(db, shop, today, part)), None)
    if found is None:
        return None
    sets = matched.sets(db)
    if part in sets:
        members = [mate for mate, _ in sets[part]]
        mates = {k.number: k for mate in members for k in stocked.stock(db, shop, today, mate)}
        advice = next(a for k, a in _as_sets(mates, sets, today, shop) if k.number == part)
    else:
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
    spoiled = stocked.spoiled_by_part(db, today)
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
    offer, pieces = known.offer, known.sold(pieces)
    return OrderRow(
        offer.supplier,
        offer.name,
        known.number,
        known.description,
        pieces,
        pieces * offer.price(pieces),
        why,
        round(known.stocked.lead.days),
        offer.minimum_cents,
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


def _arrivals(db: Connection, today: date) -> Mapping[int, Sequence[tuple[date, int]]]:
    found: dict[int, list[tuple[date, int]]] = defaultdict(list)
    for one in arrivals.arrivals(db, today):
        found[one.part_id].append((one.on, one.pieces))
    return found
