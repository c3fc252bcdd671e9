"""Lots: the batch behind a number, those that customers bring, those harvested from cores."""

from dataclasses import replace
from datetime import date

from sqlalchemy import func, insert, select

from shopdesk.calc import shelf
from shopdesk.desk import matched, stock
from shopdesk.desk.purchases import Delivery
from shopdesk.desk.shop import Deed, Shop, Worker, refuse
from shopdesk.errors import BadInput, Refused
from shopdesk.records.tables import Lot, Part, StockMove
from shopdesk.rules import harvesting, prices
from shopdesk.rules.answers import Road
from shopdesk.views import documents, sheets
from shopdesk.views.sheets import SheetView


def batch(
    deed: Deed,
    part_id: int,
    delivery: Delivery,
    who: Worker,
    *,
    origin: str = "bought",
    job_id: int | None = None,
    grade: str = "",
    place: str = "",
) -> int:
    """The lot of a delivery, made where it is new; gives back its id. Raises BadInput,
    Refused where the number stands for another batch."""
    number = delivery.lot.strip().upper()
    if not number:
        raise BadInput("a delivery needs its lot number; give it one if the maker has none")
    for name, typed in (("lot number", number), ("certificate", delivery.certificate.strip())):
        if not typed.isprintable():
            raise BadInput(f"{name}: read {typed[:40]!r}, expected signs that can be printed")
    part = deed.db.execute(
        select(Part.compound, Part.unit_cost_cents).where(Part.id == part_id)
    ).one()
    use_by, source = _use_by(deed, part.compound, delivery.cured)
    cured = str(shelf.cure_quarter(delivery.cured)) if delivery.cured else ""
    known = deed.db.execute(
        select(Lot.id, Lot.cured, Lot.origin, Lot.job_id, Lot.grade, Lot.set_number).where(
            Lot.part_id == part_id, Lot.number == number
        )
    ).one_or_none()
    if known is not None:
        if known.cured != cured:
            raise Refused(
                f"lot {number} is on the shelf with cure date {known.cured or 'none'}, "
                f"not {cured or 'none'}; check the bag"
            )
        if (known.origin, known.job_id, known.grade) != (origin, job_id, grade):
            raise Refused(
                f"lot {number} of {delivery.part.strip().upper()} is a lot of other pieces "
                "already: give these a number of their own"
            )
        if known.set_number or delivery.set_number.strip():
            raise Refused(
                f"lot {number} of {delivery.part.strip().upper()} is there already"
                + (f", a mate of matched set {known.set_number}" if known.set_number else "")
                + ": a mate of a set has a lot of its own; give these another number"
            )
        return int(known.id)
    made = deed.db.execute(
        insert(Lot)
        .values(
            part_id=part_id,
            number=number,
            cured=cured,
            use_by=use_by,
            use_by_source=source,
            unit_cost_cents=part.unit_cost_cents
            if delivery.unit_cost_cents is None
            else delivery.unit_cost_cents,
            certificate=delivery.certificate.strip(),
            received_at=deed.now,
            quarantined=False,
            on_hand=0,
            origin=origin,
            job_id=job_id,
            grade=grade,
            bin=place,
        )
        .returning(Lot.id)
    ).scalar_one()
    if delivery.set_number.strip():
        matched.join(deed, who, int(made), delivery.set_number)
    return int(made)


def _use_by(deed: Deed, compound: str, cured: str) -> tuple[date | None, str]:
    """When a rubber part may last be fitted, by the shop's standard; None for no limit."""
    standard = documents.rules(deed.db).seal_standard
    said = cure_fault(cured, compound, standard, deed.today)
    if said:
        raise BadInput(said)
    if not cured:
        return None, ""
    life = shelf.use_by(compound, shelf.cure_quarter(cured), standard)
    return life.use_by, f"{life.life.standard}:{life.life.edition}"


def cure_fault(cured: str, compound: str, standard: str, today: date) -> str:
    """Why a lot of the compound is not taken with this cure date, or without one; "" if it is."""
    if not cured:
        return _undated(compound, standard)
    quarter = shelf.cure_quarter(cured)
    if quarter > shelf.quarter_of(today):
        return f"cure date {cured} lies in the future; read the bag again"
    if not compound:
        return "the part has no compound in stores, so it is no rubber: leave its cure date out"
    try:
        shelf.use_by(compound, quarter, standard)
    except BadInput as fault:
        return str(fault)
    return ""


def _undated(compound: str, standard: str) -> str:
    """Rubber of a known storage life without its cure date would never be over its day."""
    try:
        life = shelf.life(compound, standard)
    except BadInput:  # nothing rubber, or a compound the standard does not know
        return ""
    if life.initial_years is None:
        return ""
    return (
        f"{compound} is kept {life.initial_years:g} years at most by {life.standard}: give the "
        "cure quarter from the bag, such as 2Q2025; without one it cannot be fitted"
    )


def bring(deed: Deed, who: Worker, number: int, delivery: Delivery) -> SheetView:
    """Parts the customer of this job brought: a lot of their own, for this job alone. Gives back
    the sheet as it is with them."""
    view = sheets.load(deed.db, number, deed.now)
    tag, part = sheets.tag(number), delivery.part.strip().upper()
    if view.sheet.facts.closed or view.sheet.facts.road in (Road.DECLINED, Road.SCRAPPED):
        raise Refused(f"{tag} takes no parts any more")
    if view.sheet.facts.kind == "exchange":
        raise Refused(f"{tag} is the shop's own unit: it has no customer who brings parts")
    if delivery.purchase is not None:
        raise BadInput("parts a customer brings come against no purchase")
    if part not in {kit.part for kit in view.sheet.procedure.kit}:
        raise Refused(
            f"{part} is in no kit line of {view.heading.model}; leave it with the customer"
        )
    prices.check_pieces(delivery.pieces)
    part_id = stock.part_id_of(deed.db, part)
    own = replace(delivery, lot=delivery.lot.strip() or f"OWN-{number}", unit_cost_cents=0)
    job_id = view.heading.job_id
    lot_id = batch(deed, part_id, own, who, origin="customer", job_id=job_id, place=f"with {tag}")
    stock.move(
        deed,
        "bring",
        part_id,
        who,
        on_hand=delivery.pieces,
        lot_id=lot_id,
        job_id=job_id,
    )
    return sheets.load(deed.db, number, deed.now)


def hand_back(deed: Deed, job_id: int, who: Worker) -> None:
    """What is left of the customer's own parts goes with the unit."""
    rows = deed.db.execute(
        select(Lot.id, Lot.part_id, Lot.on_hand)
        .where(Lot.job_id == job_id, Lot.origin == "customer", Lot.on_hand > 0)
        .order_by(Lot.id)
    ).all()
    for row in rows:
        stock.move(
            deed,
            "hand back",
            row.part_id,
            who,
            on_hand=-row.on_hand,
            lot_id=row.id,
            job_id=job_id,
            reason="left over, goes with the unit",
        )


def harvest(
    shop: Shop,
    who: str,
    number: int,
    part: str,
    pieces: int,
    grade: str,
    *,
    lot: str = "",
    left_by: str = "",
) -> str:
    """A part taken out of this job's scrapped or exchange core, graded by the shop's own words; it
    is never new. ``left_by``: who of the customer leaves it to the shop, where the core is not the
    shop's own. Gives back the lot's number."""

    def work(deed: Deed) -> str:
        person = deed.worker(who, "judge a core")
        view = sheets.load(deed.db, number, deed.now)
        word, percent = harvesting.grade(documents.rules(deed.db).harvest, grade)
        wanted = part.strip().upper()
        part_id = stock.part_id_of(deed.db, wanted)
        row = deed.db.execute(
            select(Part.compound, Part.unit_cost_cents).where(Part.id == part_id)
        ).one()
        taken = _taken(deed, part_id, view.heading.job_id)
        refuse(harvesting.refused(view.sheet, wanted, pieces, taken, rubber=bool(row.compound)))
        if view.sheet.facts.kind != "exchange" and not left_by.strip():
            raise BadInput("the core is the customer's: who of them leaves the part to the shop?")
        delivery = Delivery(
            wanted,
            lot.strip() or f"USED-{number}",
            pieces,
            unit_cost_cents=round(row.unit_cost_cents * percent / 100),
        )
        job_id = view.heading.job_id
        lot_id = batch(
            deed, part_id, delivery, person, origin="harvested", job_id=job_id, grade=word
        )
        said = f"left to the shop by {left_by.strip()}" if left_by.strip() else ""
        stock.move(
            deed,
            "harvest",
            part_id,
            person,
            on_hand=pieces,
            lot_id=lot_id,
            job_id=job_id,
            reason=said,
        )
        return delivery.lot.upper()

    return shop.write(work)


def _taken(deed: Deed, part_id: int, job_id: int) -> int:
    """Pieces of the part harvested from the job's unit before."""
    total = deed.db.execute(
        select(func.coalesce(func.sum(StockMove.on_hand_change), 0)).where(
            StockMove.job_id == job_id, StockMove.part_id == part_id, StockMove.kind == "harvest"
        )
    ).scalar_one()
    return int(total)
