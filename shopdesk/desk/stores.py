"""Stores deeds: parts and suppliers made known, lots received, pieces given back."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from sqlalchemy import ColumnElement, Row, func, insert, select

from shopdesk.desk import lots, matched, purchases, standing, stock
from shopdesk.desk.purchases import Delivery as Delivery
from shopdesk.desk.shop import Deed, Shop, Worker
from shopdesk.errors import BadInput, Refused
from shopdesk.procedure import Fit
from shopdesk.records.tables import (
    Job,
    Lot,
    Part,
    PartSupplier,
    StockMove,
    Supplier,
)
from shopdesk.rules import kits, ledger, prices
from shopdesk.rules.generated import issue_key
from shopdesk.rules.sheet import State
from shopdesk.rules.waiting import parts_waited_for
from shopdesk.views import sheets
from shopdesk.views.sheets import SheetView


@dataclass(frozen=True, slots=True)
class NewPart:
    """A part number as stores knows it; cost in cents a piece, ``minimum`` pieces to hold."""

    number: str
    description: str
    unit_cost_cents: int
    dash: str = ""
    compound: str = ""
    thread: str = ""
    grade: str = ""
    pack: int = 1
    minimum: int = 0
    bin: str = ""
    critical: bool = False
    supplier: str = ""
    supplier_price_cents: int = 0


def add_supplier(
    shop: Shop,
    who: str,
    *,
    code: str,
    name: str,
    email: str,
    lead_days: int,
    minimum_order_cents: int,
) -> None:
    """A supplier with its quoted lead time."""

    def work(deed: Deed) -> None:
        person = deed.worker(who, "order")
        values = {
            "code": code.strip().upper(),
            "name": name.strip(),
            "email": email.strip(),
            "lead_days": lead_days,
            "minimum_order_cents": minimum_order_cents,
        }
        if deed.db.execute(select(Supplier.id).where(Supplier.code == values["code"])).first():
            raise Refused(f"supplier code {values['code']} is in use")
        deed.db.execute(insert(Supplier).values(**values))
        deed.event("supplier", person, dict(values))

    shop.write(work)


def add_part(shop: Shop, who: str, new: NewPart) -> None:
    """Makes a part number known. Raises Refused for one in use."""

    def work(deed: Deed) -> None:
        person = deed.worker(who, "order")
        number = new.number.strip().upper()
        if not number or new.unit_cost_cents < 0 or new.pack < 1 or new.minimum < 0:
            raise BadInput(f"part {number!r}: needs a number, a cost, a pack of at least 1")
        if deed.db.execute(select(Part.id).where(Part.number == number)).first():
            raise Refused(f"part number {number} is in use")
        values = {
            "number": number,
            "description": new.description.strip()[:200],
            "dash": new.dash,
            "compound": new.compound,
            "thread": new.thread,
            "grade": new.grade,
            "unit_cost_cents": new.unit_cost_cents,
            "pack": new.pack,
            "minimum": new.minimum,
            "bin": new.bin,
            "critical": new.critical,
        }
        part_id = deed.db.execute(insert(Part).values(**values).returning(Part.id)).scalar_one()
        if new.supplier:
            supplier_id = purchases.supplier_id(deed, new.supplier)
            deed.db.execute(
                insert(PartSupplier).values(
                    part_id=part_id,
                    supplier_id=supplier_id,
                    price_cents=new.supplier_price_cents or new.unit_cost_cents,
                )
            )
        deed.event("part", person, dict(values))

    shop.write(work)


def receive(shop: Shop, who: str, delivery: Delivery) -> tuple[str, ...]:
    """Puts a delivery on the shelf, against the open purchase lines of the part. Jobs that wait for
    it are reserved their pieces, oldest promise first; gives back their tags. A customer's own
    parts go to their job and never on the shelf."""

    def work(deed: Deed) -> tuple[str, ...]:
        if delivery.job is not None:
            return _brought(deed, who, delivery.job, delivery)
        person = deed.worker(who, "receive stock")
        paid = purchases.deliver(deed, stock.part_id_of(deed.db, delivery.part), delivery)
        told = delivery.unit_cost_cents
        lot_id = shelve(
            deed, person, replace(delivery, unit_cost_cents=paid if told is None else told)
        )
        return serve_all(deed, (lot_id,), person)

    return shop.write(work)


def _brought(deed: Deed, who: str, number: int, delivery: Delivery) -> tuple[str, ...]:
    """What was reserved for the job and its customer has brought is free for others."""
    person = deed.worker(who, "receive a core")
    view = lots.bring(deed, person, number, delivery)
    stock.release_surplus(deed, view.sheet, person, "the customer brought them")
    standing.settle(deed, number, person)
    return serve_waiting(deed, stock.part_id_of(deed.db, delivery.part), person)


def shelve(deed: Deed, who: Worker, delivery: Delivery) -> int:
    """Puts the pieces on the shelf under their lot; gives back the lot's id."""
    prices.check_pieces(delivery.pieces)
    part_id = stock.part_id_of(deed.db, delivery.part)
    lot_id = lots.batch(deed, part_id, delivery, who)
    stock.move(deed, "receive", part_id, who, on_hand=delivery.pieces, lot_id=lot_id)
    return lot_id


def serve_all(deed: Deed, came: Sequence[int], who: Worker) -> tuple[str, ...]:
    """Jobs that wait for what ``came`` (lots) are served, and those that wait for its mates, whose
    set it may have made whole; gives back their tags."""
    parts: dict[int, None] = {}
    for lot_id in came:
        lot = deed.db.execute(stock.LOTS.where(Lot.id == lot_id)).one()
        parts |= dict.fromkeys(one.part_id for one in (lot, *matched.along(deed, lot)))
    return tuple(dict.fromkeys(tag for part in parts for tag in serve_waiting(deed, part, who)))


def reserve_again(deed: Deed, number: int, who: Worker) -> None:
    """What the job's customer brought has changed: it holds what it needs of the shelf now."""
    view = sheets.load(deed.db, number, deed.now)
    if kits.may_reserve(view.sheet):
        stock.release_surplus(deed, view.sheet, who, "the customer's own")
        standing.promise_kit(deed, view, who)
    standing.settle(deed, number, who)


def serve_waiting(
    deed: Deed, part_id: int, who: Worker, *, but: int | None = None
) -> tuple[str, ...]:
    """Jobs (``but`` one) that wait for the part are reserved what the shelf has of it now, oldest
    promise first; gives back their tags."""
    part = deed.db.execute(select(Part.number).where(Part.id == part_id)).scalar_one()
    waiting = deed.db.execute(
        select(Job.number, Job.waiting_for)
        .where(Job.closed_at.is_(None), Job.stage == "parts", Job.waiting_for.like("part short%"))
        .order_by(Job.promised_on, Job.number)
    ).all()
    served = []
    for number, reason in waiting:
        cut = len(reason) == standing.LONGEST_REASON  # and the part may have been beyond it
        if number == but or (not cut and part not in parts_waited_for(reason)):
            continue
        view = sheets.load(deed.db, number, deed.now)
        if cut and all(kit.part != part for kit, _ in kits.to_reserve(view.sheet)):
            continue
        stock.reserve_kit(deed, view.sheet, who)
        standing.settle(deed, number, who)
        served.append(sheets.tag(number))
    return tuple(served)


def give_back(shop: Shop, who: str, number: int, lot: str, pieces: int, reason: str) -> None:
    """Pieces issued to a job and not used go back to their lot; what is of a matched set takes its
    mates along. Where mates share a lot number, the lot names the set."""

    def work(deed: Deed) -> None:
        person = deed.worker(who, "record an entry")
        view = sheets.load(deed.db, number, deed.now)
        named = Lot.number == lot.strip().upper()
        row = next(iter(_issued(deed, view.heading.job_id, named)), None)
        if row is None or not 1 <= pieces <= row.out:
            raise Refused(
                f"J-{number} has {row.out if row else 0} pieces of lot {lot.strip()[:40]}"
            )
        if view.sheet.facts.closed:
            raise Refused("the job is closed: what it was issued left with it")
        if not reason.strip():
            raise BadInput("why does it go back? give the reason")
        _back(deed, view, row, pieces, reason.strip(), person)
        of_set = (Lot.set_number == row.set_number) & (Lot.id != row.lot_id)
        if matched.whole(row):
            for mate in _issued(deed, view.heading.job_id, of_set):
                again = sheets.load(deed.db, number, deed.now)
                said = f"with its mate, lot {lot.strip().upper()}: {reason.strip()}"
                _back(deed, again, mate, int(mate.out), said, person)
        standing.settle(deed, number, person)

    shop.write(work)


def _issued(deed: Deed, job_id: int, which: ColumnElement[bool]) -> Sequence[Row[*tuple[Any, ...]]]:
    """The lots of which the job has pieces, by kit line."""
    return deed.db.execute(
        select(
            StockMove.part_id,
            StockMove.lot_id,
            StockMove.kit_line,
            Lot.set_number,
            Lot.set_broken,
            func.max(StockMove.interchange_id).label("by"),
            func.sum(-StockMove.on_hand_change).label("out"),
        )
        .join(Lot, Lot.id == StockMove.lot_id)
        .where(StockMove.job_id == job_id, StockMove.kind.in_(ledger.DRAWN), which)
        .group_by(
            StockMove.part_id,
            StockMove.lot_id,
            StockMove.kit_line,
            Lot.set_number,
            Lot.set_broken,
        )
        .having(func.sum(-StockMove.on_hand_change) > 0)
        .order_by(StockMove.lot_id)
    ).all()


def _back(
    deed: Deed,
    view: SheetView,
    row: Row[*tuple[Any, ...]],
    pieces: int,
    reason: str,
    who: Worker,
) -> None:
    if matched.whole(row) and pieces != row.out:
        raise Refused(
            f"it is a mate of matched set {row.set_number}: all {row.out} pieces go back, or none"
        )
    _not_spent(view, row.kit_line, pieces)
    _asked_again(deed, view, row.kit_line, pieces, who)
    stock.move(
        deed,
        "return",
        row.part_id,
        who,
        on_hand=pieces,
        lot_id=row.lot_id,
        job_id=view.heading.job_id,
        kit_line=row.kit_line,
        interchange_id=row.by,
        reason=reason,
    )


def _not_spent(view: SheetView, kit_line: str, pieces: int) -> None:
    """Raises Refused for pieces that work done over has spent: they are no stock any more."""
    state = view.sheet.get(issue_key(kit_line))
    if state is None:
        return
    spent = sum(round(answer.value_si or 0) for answer in state.past if answer.done_over)
    out = next(kit.issued for kit in view.sheet.facts.kit if kit.id == kit_line)
    fitted = [
        line.line.text
        for line in view.sheet.lines
        if isinstance(line.line, Fit) and line.line.kit == kit_line and line.given
    ]
    if fitted and state.state is not State.NOT_ASKED and out - spent - pieces < kits.issued(state):
        raise Refused(
            f"{state.line.text}: it is fitted ({fitted[0]}); what is in the unit does not go back",
            (state.line.key,),
        )
    if pieces > out - spent:
        raise Refused(
            f"{state.line.text}: of {out} issued {spent} were spent when the work was done over; "
            f"{max(0, out - spent)} can go back",
            (state.line.key,),
        )


def _asked_again(deed: Deed, view: SheetView, kit_line: str, pieces: int, who: Worker) -> None:
    """A line that counts on pieces given back asks for its lots anew."""
    state = view.sheet.get(issue_key(kit_line))
    if state is None or state.state is State.NOT_ASKED:
        return
    out = next(kit.issued for kit in view.sheet.facts.kit if kit.id == kit_line)
    if out - pieces < kits.issued(state):
        standing.reopen(
            deed, view, "remeasure", (state.line.key,), f"{pieces} given back to stores", who
        )
