"""Matched sets in stores: joined, taken along whole, broken."""

from typing import Any

from sqlalchemy import Row, func, insert, select, update

from shopdesk.desk import stock
from shopdesk.desk.shop import Deed, Worker
from shopdesk.errors import BadInput, Refused
from shopdesk.records.tables import Job, Lot, Part, SetRow, StockMove
from shopdesk.rules import ledger
from shopdesk.rules.matched import LONGEST_SET

_MATES = stock.LOTS.order_by(Lot.id)


def number_of(typed: str) -> str:
    """A set's number as typed. Raises BadInput."""
    number = typed.strip().upper()
    if not number or len(number) > LONGEST_SET:
        raise BadInput(
            f"set: read {typed.strip()[:40]!r}, expected its number, up to {LONGEST_SET} characters"
        )
    return number


def whole(lot: Row[*tuple[Any, ...]]) -> bool:
    """Whether the lot is a mate of a set that stays together."""
    return bool(lot.set_number) and not lot.set_broken


def join(deed: Deed, who: Worker, lot_id: int, typed: str, reason: str = "") -> None:
    """Makes a lot a mate of the set; the set begins with its first. Raises Refused where the set
    is not to be added to."""
    number = number_of(typed)
    own = deed.db.execute(_MATES.where(Lot.id == lot_id)).one()
    for mate in deed.db.execute(_MATES.where(Lot.set_number == number)).all():
        if mate.set_broken:
            raise Refused(f"matched set {number} was broken; a new set takes a new number")
        if mate.part_id == own.part_id:
            raise Refused(
                f"matched set {number} has its {mate.part} already, lot {mate.number}: read the "
                "set number again"
            )
        if not mate.on_hand:
            raise Refused(
                f"{mate.part} of matched set {number} is not in stores any more: nothing is added "
                "to a set that has gone out"
            )
        if (mate.origin, mate.job_id) != (own.origin, own.job_id):
            raise Refused(
                f"matched set {number} is of other pieces: lot {mate.number} of {mate.part} is "
                "not of the same owner and source"
            )
    _row(deed, who, lot_id, number, broken=False, reason=reason)


def _row(deed: Deed, who: Worker, lot_id: int, number: str, *, broken: bool, reason: str) -> None:
    values = {"lot_id": lot_id, "number": number, "broken": broken, "reason": reason}
    deed.db.execute(insert(SetRow).values(person_id=who.id, at=deed.now, **values))
    deed.db.execute(
        update(Lot).where(Lot.id == lot_id).values(set_number=number, set_broken=broken)
    )
    deed.event("matched set", who, values)


def along(deed: Deed, lot: Row[*tuple[Any, ...]]) -> tuple[Row[*tuple[Any, ...]], ...]:
    """The mates of a lot that lie in stores and go where it goes; none where its set is broken."""
    if not whole(lot):
        return ()
    asked = _MATES.where(Lot.set_number == lot.set_number, Lot.id != lot.id, Lot.on_hand > 0)
    return tuple(deed.db.execute(asked).all())


def may_break(deed: Deed, lot: Row[*tuple[Any, ...]]) -> None:
    """Raises Refused where a mate is with a job, which could then never be given the other."""
    if not whole(lot):
        return
    row = deed.db.execute(
        select(Part.number.label("part"), Lot.number, Job.number.label("job"))
        .select_from(StockMove)
        .join(Lot, Lot.id == StockMove.lot_id)
        .join(Part, Part.id == Lot.part_id)
        .join(Job, Job.id == StockMove.job_id)
        .where(
            Lot.set_number == lot.set_number,
            Lot.id != lot.id,
            StockMove.kind.in_(ledger.DRAWN),
            Job.closed_at.is_(None),
        )
        .group_by(Part.number, Lot.number, Job.number)
        .having(func.sum(StockMove.on_hand_change) < 0)
    ).first()
    if row is not None:
        raise Refused(
            f"its mate, {row.part} lot {row.number} of set {lot.set_number}, is with J-{row.job}: "
            "give that back first, it cannot be used without this one",
            (),
            "stores",
        )


def apart(deed: Deed, who: Worker, typed: str, reason: str) -> tuple[int, ...]:
    """The set is one no more, and its lots lie on the shelf as what they are alone. Raises Refused
    where it is none, or not all of it is here. Gives back the ids of its parts."""
    number = number_of(typed)
    mates = [lot for lot in deed.db.execute(_MATES.where(Lot.set_number == number)) if whole(lot)]
    if not mates:
        raise Refused(f"no matched set {number} is in stores", (), "stores")
    for mate in mates:
        if not mate.on_hand:
            raise Refused(
                f"{mate.part} lot {mate.number} of set {number} is not in stores: give it back "
                "first, a set is taken apart where all of it lies",
                (),
                "stores",
            )
    for mate in mates:
        _row(deed, who, mate.id, number, broken=True, reason=f"taken apart: {reason}")
    return tuple(int(mate.part_id) for mate in mates)


def broken(deed: Deed, lot: Row[*tuple[Any, ...]], reason: str, who: Worker) -> tuple[int, ...]:
    """The set of the lot is whole no more: no lot of it is issued as a mate again, and what is
    left of it is put aside for a manager to judge. Gives back the ids of those parts."""
    if not whole(lot):
        return ()
    said = f"set {lot.set_number} broken, lot {lot.number}: {reason}"
    changed = []
    for mate in deed.db.execute(_MATES.where(Lot.set_number == lot.set_number)).all():
        _row(deed, who, mate.id, lot.set_number, broken=True, reason=said)
        if mate.id == lot.id or mate.quarantined or not mate.on_hand:
            continue
        deed.db.execute(update(Lot).where(Lot.id == mate.id).values(quarantined=True))
        deed.event("lot", who, {"lot": mate.id, "quarantined": True, "reason": said})
        changed.append(int(mate.part_id))
    return tuple(changed)
