"""The stock ledger: every move is one row, and the shelf's figures change with it."""

from collections.abc import Sequence
from typing import Any

from sqlalchemy import Connection, Integer, Row, bindparam, func, insert, select, update

from shopdesk.desk.shop import Deed, Worker
from shopdesk.errors import NotFound, Refused
from shopdesk.records.tables import Job, Lot, Part, StockMove
from shopdesk.rules import kits, ledger
from shopdesk.rules.kits import LotState
from shopdesk.rules.sheet import Sheet
from shopdesk.views import held, usable
from shopdesk.views.held import BY, Held

_ADD = insert(StockMove).returning(StockMove.id)
_HAND = Part.on_hand + bindparam("hand", type_=Integer)
_PROMISED = Part.reserved + bindparam("promised", type_=Integer)
_PART = (
    update(Part)
    .where(Part.id == bindparam("part_id"), _HAND >= 0, _PROMISED >= 0, _PROMISED <= _HAND)
    .values(on_hand=_HAND, reserved=_PROMISED)
)
_LOT_HAND = Lot.on_hand + bindparam("hand", type_=Integer)
_LOT = (
    update(Lot)
    .where(Lot.id == bindparam("lot_id"), _LOT_HAND >= 0)
    .values(on_hand=_LOT_HAND)
    .returning(Lot.origin)
)
_ON_SHELF = select(Part.id, usable.FREE).where(Part.number == bindparam("number"))
_PART_ID = select(Part.id).where(Part.number == bindparam("number"))
LOTS = select(
    Lot.id,
    Lot.part_id,
    Lot.number,
    Lot.on_hand,
    Lot.quarantined,
    Lot.origin,
    Lot.job_id,
    Lot.bin,
    Lot.set_number,
    Lot.set_broken,
    Part.number.label("part"),
    Part.bin.label("home"),
).join(Part, Part.id == Lot.part_id)
"""Lots as they stand; ``home`` is their part's bin."""
_RESERVED = select(func.coalesce(func.sum(StockMove.reserved_change), 0)).where(
    StockMove.job_id == bindparam("job_id"), StockMove.kit_line == bindparam("kit_line")
)

_own = func.sum(StockMove.reserved_change)
_HELD = (
    select(Job.number, StockMove.job_id, StockMove.kit_line, _own.label("own"), BY)
    .join(Job, Job.id == StockMove.job_id)
    .where(StockMove.part_id == bindparam("part_id"))
    .group_by(Job.number, Job.promised_on, StockMove.job_id, StockMove.kit_line)
    .having(_own > 0)
    .order_by(Job.promised_on.desc(), Job.number.desc(), StockMove.kit_line)
)


def lot_of(deed: Deed, part: str, lot: str) -> Row[*tuple[Any, ...]]:
    """The part's lot as it stands. Raises NotFound."""
    part_id = part_id_of(deed.db, part)
    named = LOTS.where(Lot.part_id == part_id, Lot.number == lot.strip().upper())
    row = deed.db.execute(named).one_or_none()
    if row is None:
        raise NotFound(f"{part}: no lot {lot.strip()[:40]!r}")
    return row


def move(
    deed: Deed,
    kind: str,
    part_id: int,
    who: Worker,
    *,
    on_hand: int = 0,
    reserved: int = 0,
    lot_id: int | None = None,
    job_id: int | None = None,
    kit_line: str = "",
    interchange_id: int | None = None,
    reason: str = "",
) -> None:
    """Writes one ledger row and the figures it changes; the database refuses negative stock. For a
    lot that does not lie on the shelf the kind is the one beside it."""
    kind = _shelf(deed, kind, part_id, lot_id, on_hand, reserved)
    values = {
        "kind": kind,
        "part_id": part_id,
        "lot_id": lot_id,
        "job_id": job_id,
        "kit_line": kit_line,
        "on_hand_change": on_hand,
        "reserved_change": reserved,
        "reason": reason,
        "interchange_id": interchange_id,
    }
    _row(deed, values, who)


def transfer(
    deed: Deed, part_id: int, lot_id: int, pieces: int, bins: tuple[str, str], who: Worker
) -> None:
    """Two ledger rows: the pieces leave one bin and come into the other; no figure changes."""
    reason = f"{bins[0] or 'no bin'} to {bins[1]}"
    _from_to(deed, part_id, ((lot_id, bins[0]), (lot_id, bins[1])), pieces, reason, who)


def split(
    deed: Deed,
    part_id: int,
    lots: tuple[int, int],
    pieces: int,
    place: str,
    reason: str,
    who: Worker,
) -> None:
    """Pieces leave one lot for another of the same part, in the same bin: two ledger rows."""
    for lot_id, change in zip(lots, (-pieces, pieces), strict=True):
        if deed.db.execute(_LOT, {"lot_id": lot_id, "hand": change}).first() is None:
            raise Refused("not that many in the lot any more", (), "stores")
    _from_to(deed, part_id, ((lots[0], place), (lots[1], place)), pieces, reason, who)


def _from_to(
    deed: Deed,
    part_id: int,
    ends: tuple[tuple[int, str], tuple[int, str]],
    pieces: int,
    reason: str,
    who: Worker,
) -> None:
    """Pieces leave one lot and bin and come into another."""
    for (lot_id, place), change in zip(ends, (-pieces, pieces), strict=True):
        values = {
            "kind": "transfer",
            "part_id": part_id,
            "lot_id": lot_id,
            "job_id": None,
            "kit_line": "",
            "on_hand_change": change,
            "reserved_change": 0,
            "reason": reason,
            "bin": place,
        }
        _row(deed, values, who)


def _row(deed: Deed, values: dict[str, object], who: Worker) -> None:
    job_id = values["job_id"]
    assert job_id is None or isinstance(job_id, int)
    move_id = deed.db.execute(_ADD, {"person_id": who.id, "at": deed.now, **values}).scalar_one()
    deed.event("stock", who, {"move": move_id, **values}, job_id=job_id)


def _shelf(
    deed: Deed, kind: str, part_id: int, lot_id: int | None, on_hand: int, reserved: int
) -> str:
    """Changes the figures only where the shelf stands for it, checked and done in one statement
    each; gives back the kind of move it is for this lot."""
    origin: str | None = "bought"
    if lot_id is not None:
        origin = deed.db.execute(_LOT, {"lot_id": lot_id, "hand": on_hand}).scalar_one_or_none()
    if origin != "bought" and on_hand:
        kind = ledger.beside(kind)
    on_shelf = 0 if kind in ledger.BESIDE else on_hand
    changes = {"part_id": part_id, "hand": on_shelf, "promised": reserved}
    if origin is None or not deed.db.execute(_PART, changes).rowcount:
        number = deed.db.execute(select(Part.number).where(Part.id == part_id)).scalar()
        raise Refused(f"{number}: not that many on the shelf and free", (), "stores")
    return kind


def issue(
    deed: Deed,
    job_id: int,
    kit_line: str,
    lot: LotState,
    pieces: int,
    who: Worker,
    *,
    left: int = 0,
    interchange_id: int | None = None,
) -> tuple[int, ...]:
    """Takes pieces from the lot for the job, out of what is reserved of its part for the kit line
    first. What is reserved beyond the ``left`` pieces still to come is given back; gives back the
    ids of other parts that are free again by it."""
    part_id, free = on_shelf(deed, lot.part, mate=lot.matched)
    kept = held.of_job(deed.db, job_id, kit_line)
    own = sum(one.pieces for one in kept if one.part_id == part_id)
    whole = sum(one.pieces for one in kept)
    taken = min(own, pieces) if lot.on_shelf else min(own, max(0, whole - left))
    if lot.on_shelf and pieces - taken > max(0, free):
        raise Refused(
            f"{lot.part}: the last are promised to {holders(deed.db, part_id, job_id)}",
            (),
            "stores",
        )
    move(
        deed,
        "issue",
        part_id,
        who,
        on_hand=-pieces,
        reserved=-taken,
        lot_id=lot.id,
        job_id=job_id,
        kit_line=kit_line,
        interchange_id=interchange_id,
    )
    others = [one for one in kept if one.part_id != part_id]
    return _release(deed, job_id, others, whole - taken - left, who, "not needed: another stood in")


def release(deed: Deed, job_id: int, kept: Held, who: Worker, reason: str) -> None:
    """Gives one reservation of the job back to the shelf."""
    _release(deed, job_id, (kept,), kept.pieces, who, reason)


def _release(
    deed: Deed, job_id: int, kept: Sequence[Held], surplus: int, who: Worker, reason: str
) -> tuple[int, ...]:
    """Gives so many reserved pieces back to the shelf, in this order; gives back whose part ids."""
    freed = []
    for one in kept:
        back = min(surplus, one.pieces)
        if back <= 0:
            break
        surplus -= back
        freed.append(one.part_id)
        move(
            deed,
            "release",
            one.part_id,
            who,
            reserved=-back,
            job_id=job_id,
            kit_line=one.kit_line,
            interchange_id=one.by,
            reason=reason,
        )
    return tuple(freed)


def _on_shelf(deed: Deed, part: str, mate: bool) -> tuple[int, int] | None:
    """The part's id, and what could be issued of it (as a ``mate``) and is promised to nobody."""
    asked = usable.on(deed.today, [(part, mate)])
    row = deed.db.execute(_ON_SHELF, {"number": part, **asked}).one_or_none()
    return None if row is None else (int(row[0]), int(row[1]))


def on_shelf(deed: Deed, part: str, *, mate: bool) -> tuple[int, int]:
    """The part's id, and what is free of it (as a ``mate`` of a matched set). Raises NotFound."""
    return _on_shelf(deed, part, mate) or (part_id_of(deed.db, part), 0)


def reserve_kit(deed: Deed, sheet: Sheet, who: Worker) -> tuple[str, ...]:
    """Reserves what the job's kit still needs as far as the shelf goes; gives back the part
    numbers that are short."""
    short = []
    for kit, pieces in kits.to_reserve(sheet):
        own = reserved_for(deed.db, sheet.facts.id, kit.id)
        row = _on_shelf(deed, kit.part, bool(kit.matched))
        if row is None:
            short.append(kit.part)
            continue
        wanted = pieces - own
        take = min(wanted, row[1])
        if take > 0:
            move(
                deed, "reserve", row[0], who, reserved=take, job_id=sheet.facts.id, kit_line=kit.id
            )
        if take < wanted:
            short.append(kit.part)
    return tuple(short)


def release_surplus(deed: Deed, sheet: Sheet, who: Worker, reason: str) -> None:
    """Gives back to the shelf what is reserved beyond what the job still needs of it."""
    wanted = {kit.id: pieces for kit, pieces in kits.to_reserve(sheet)}
    holds = held.of_job(deed.db, sheet.facts.id)
    for kit in sheet.procedure.kit:
        kept = [one for one in holds if one.kit_line == kit.id]
        surplus = sum(one.pieces for one in kept) - wanted.get(kit.id, 0)
        _release(deed, sheet.facts.id, kept, surplus, who, reason)


def parts_of(deed: Deed, sheet: Sheet) -> tuple[int, ...]:
    """Ids of the parts the job's kit still needs."""
    numbers = {kit.part for kit, _ in kits.needs(sheet)}
    return tuple(
        deed.db.execute(select(Part.id).where(Part.number.in_(numbers)).order_by(Part.id)).scalars()
    )


def release_kit(deed: Deed, job_id: int, who: Worker, reason: str) -> None:
    """Gives everything reserved for the job back to the shelf."""
    kept = held.of_job(deed.db, job_id)
    _release(deed, job_id, kept, sum(one.pieces for one in kept), who, reason)


def give_up(deed: Deed, part_id: int, left: int, who: Worker, reason: str) -> tuple[int, ...]:
    """Where fewer pieces are left than are promised, the jobs promised last give theirs up; gives
    back their numbers."""
    over = deed.db.execute(select(Part.reserved).where(Part.id == part_id)).scalar_one() - left
    losers = []
    for row in deed.db.execute(_HELD, {"part_id": part_id}).all() if over > 0 else ():
        taken = min(over, int(row.own))
        if taken <= 0:
            break
        over -= taken
        losers.append(int(row.number))
        move(
            deed,
            "release",
            part_id,
            who,
            reserved=-taken,
            job_id=row.job_id,
            kit_line=row.kit_line,
            interchange_id=row.by,
            reason=reason,
        )
    return tuple(dict.fromkeys(losers))


def reserved_for(db: Connection, job_id: int, kit_line: str) -> int:
    total = db.execute(_RESERVED, {"job_id": job_id, "kit_line": kit_line}).scalar_one()
    return int(total)


def holders(db: Connection, part_id: int, but_job: int) -> str:
    """Tags of the jobs that hold reserved pieces of the part."""
    rows = db.execute(
        select(Job.number)
        .join(StockMove, StockMove.job_id == Job.id)
        .where(StockMove.part_id == part_id, Job.id != but_job)
        .group_by(Job.number)
        .having(func.sum(StockMove.reserved_change) > 0)
        .order_by(Job.number)
    ).scalars()
    return ", ".join(f"J-{number}" for number in rows) or "nobody: the shelf is empty"


def went_to(db: Connection, lot_id: int) -> str:
    """ "; the last went to J-1047", the job that emptied the lot; "" if none did."""
    number = db.execute(
        select(Job.number)
        .join(StockMove, StockMove.job_id == Job.id)
        .where(StockMove.lot_id == lot_id, StockMove.kind.in_(("issue", "fit")))
        .order_by(StockMove.id.desc())
        .limit(1)
    ).scalar()
    return "" if number is None else f"; the last went to J-{number}"


def part_id_of(db: Connection, number: str) -> int:
    found = db.execute(_PART_ID, {"number": number.strip().upper()}).scalar()
    if found is None:
        raise NotFound(f"no part {number.strip()[:40]!r} in stores")
    return int(found)
