"""The shelf put right: lots scrapped, put aside, parts moved to another bin."""

from collections.abc import Sequence
from typing import Any

from sqlalchemy import Row, select, update

from shopdesk.desk import matched, standing, stock, stores
from shopdesk.desk.shop import Deed, Shop, Worker
from shopdesk.errors import BadInput, Refused
from shopdesk.records.tables import Job, Lot, Part
from shopdesk.views import sheets


def scrap(shop: Shop, who: str, part: str, lot: str, pieces: int, reason: str) -> tuple[str, ...]:
    """Takes pieces nobody may fit any more off the shelf, with the reason. What is of a matched
    set breaks it. Gives back the tags of jobs that lose what was promised to them."""

    def work(deed: Deed) -> tuple[str, ...]:
        person = deed.worker(who, "count stock")
        if not reason.strip():
            raise BadInput("why are they scrapped? give the reason")
        row = stock.lot_of(deed, part, lot)
        if not 1 <= pieces <= row.on_hand:
            raise BadInput(f"read {pieces} pieces; lot {row.number} has {row.on_hand}")
        matched.may_break(deed, row)
        return put_right(deed, row, "scrap", -pieces, person, reason.strip())

    return shop.write(work)


def put_aside(shop: Shop, who: str, part: str, lot: str, reason: str) -> bool:
    """Puts a lot in quarantine, or a lot in quarantine back to use, which takes a manager; its
    mates of a matched set go with it. Gives back whether it is in quarantine now."""

    def work(deed: Deed) -> bool:
        row = stock.lot_of(deed, part, lot)
        person = deed.worker(who, "count stock")
        if row.quarantined and person.role != "manager":
            raise Refused(
                f"lot {row.number} is in quarantine: a manager lets it out", (), "manager"
            )
        if not reason.strip():
            raise BadInput("why? give the reason")
        for one in (row, *matched.along(deed, row)):
            if one.quarantined == row.quarantined:
                _turn(deed, one, reason.strip(), person)
        return not row.quarantined

    return shop.write(work)


def _turn(deed: Deed, lot: Row[*tuple[Any, ...]], reason: str, who: Worker) -> None:
    """One lot into quarantine, or out of it."""
    aside = not lot.quarantined
    deed.db.execute(update(Lot).where(Lot.id == lot.id).values(quarantined=aside))
    deed.event("lot", who, {"lot": lot.id, "quarantined": aside, "reason": reason})
    if lot.origin == "bought":
        shelf_changed(deed, lot.part_id, not aside, who)
    else:
        _own_changed(deed, lot, who)


def move_bin(shop: Shop, who: str, part: str, to: str) -> str:
    """Transfers a part with all its lots on the shelf to another bin, matched sets whole; gives
    back where it lay."""

    def work(deed: Deed) -> str:
        person = deed.worker(who, "count stock")
        part_id = stock.part_id_of(deed.db, part)
        came = deed.db.execute(select(Part.bin).where(Part.id == part_id)).scalar_one()
        new = _other_bin(to, came)
        shelf = (Lot.part_id == part_id, Lot.origin == "bought")
        rows = deed.db.execute(
            select(Lot.id, Lot.on_hand, Lot.bin, Lot.set_number, Lot.set_broken)
            .where(*shelf, Lot.on_hand > 0)
            .order_by(Lot.id)
        ).all()
        for row in rows:
            if (row.bin or came) != new:
                bins = (row.bin or came, new)
                stock.transfer(deed, part_id, row.id, row.on_hand, bins, person)
            for mate in matched.along(deed, row):
                _carry(deed, mate, new, person)
        deed.db.execute(update(Lot).where(*shelf).values(bin=""))
        deed.db.execute(update(Part).where(Part.id == part_id).values(bin=new))
        deed.event("bin", person, {"part": part_id, "was": came, "is": new})
        return str(came)

    return shop.write(work)


def transfer(shop: Shop, who: str, part: str, lot: str, to: str) -> str:
    """Transfers one lot with all its pieces to a bin of its own, and its mates of a matched set
    with it; gives back where it lay."""

    def work(deed: Deed) -> str:
        person = deed.worker(who, "count stock")
        row = stock.lot_of(deed, part, lot)
        came = row.bin or row.home
        new = _other_bin(to, came)
        if row.on_hand < 1:
            raise Refused(f"lot {row.number} is used up: there is nothing to move")
        for one in (row, *matched.along(deed, row)):
            _carry(deed, one, new, person)
        return str(came)

    return shop.write(work)


def _carry(deed: Deed, lot: Row[*tuple[Any, ...]], new: str, who: Worker) -> None:
    """The lot goes into the bin, where it does not lie there already."""
    came = lot.bin or lot.home
    if came != new:
        stock.transfer(deed, lot.part_id, lot.id, lot.on_hand, (came, new), who)
        own = "" if new == lot.home and lot.origin == "bought" else new
        deed.db.execute(update(Lot).where(Lot.id == lot.id).values(bin=own))


def _other_bin(typed: str, came: str) -> str:
    new = typed.strip().upper()
    if not new or len(new) > 30 or new == came:
        raise BadInput(f"bin: read {typed.strip()[:40]!r}, expected another bin than {came!r}")
    return new


def put_right(
    deed: Deed, lot: Row[*tuple[Any, ...]], kind: str, difference: int, who: Worker, reason: str
) -> tuple[str, ...]:
    """The lot's pieces changed. What is not there cannot stay promised, and whoever is promised
    none of it now, or could have some of it, is told; gives back the tags of who loses some. A lot
    beside the shelf is promised to nobody, but the job of a customer's own may be short now."""
    if difference > 0 and matched.whole(lot):
        raise Refused(
            f"lot {lot.number} is a mate of matched set {lot.set_number}, which has its "
            f"{lot.on_hand} and no more: receive the others under a lot of their own"
        )
    aside = matched.broken(deed, lot, f"{kind}: {reason}", who) if difference < 0 else ()
    if lot.origin != "bought":
        stock.move(deed, kind, lot.part_id, who, on_hand=difference, lot_id=lot.id, reason=reason)
        _own_changed(deed, lot, who)
        return ()
    hand = deed.db.execute(select(Part.on_hand).where(Part.id == lot.part_id)).scalar_one()
    losers = stock.give_up(deed, lot.part_id, hand + difference, who, f"{kind}: {reason}")
    stock.move(deed, kind, lot.part_id, who, on_hand=difference, lot_id=lot.id, reason=reason)
    for number in losers:
        standing.settle(deed, number, who)
    shelf_changed(deed, lot.part_id, difference > 0, who)
    for part_id in aside:
        shelf_changed(deed, part_id, False, who)
    return tuple(sheets.tag(number) for number in losers)


def given_up(losers: Sequence[str]) -> str:
    """ "; J-1047 gives up what was promised to it"; "" where nobody does."""
    if not losers:
        return ""
    one = len(losers) == 1
    verb, whom = ("gives", "it") if one else ("give", "them")
    return f"; {', '.join(losers)} {verb} up what was promised to {whom}"


def _own_changed(deed: Deed, lot: Row[*tuple[Any, ...]], who: Worker) -> None:
    number = deed.db.execute(
        select(Job.number).where(Job.id == lot.job_id, Job.closed_at.is_(None))
    ).scalar()
    if lot.origin == "customer" and number is not None:
        stores.reserve_again(deed, number, who)


def shelf_changed(deed: Deed, part_id: int, more: bool, who: Worker) -> None:
    """Who waits for the part is served where there is ``more`` of it, told where none is left."""
    if more:
        stores.serve_waiting(deed, part_id, who)
    standing.shelf_empty(deed, part_id, 0, who)
