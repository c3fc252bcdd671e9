"""A matched set made up in stores, of pieces that were of none, and taken apart again."""

from typing import Any

from sqlalchemy import Row, insert, select

from shopdesk.desk import counts, stock
from shopdesk.desk.matched import apart, join, number_of, whole
from shopdesk.desk.shop import Deed, Shop, Worker
from shopdesk.errors import BadInput, Refused
from shopdesk.records.tables import Lot, SetRow
from shopdesk.views import matched


def make_up(
    shop: Shop, who: str, typed: str, picks: tuple[tuple[str, str, int], ...], reason: str
) -> tuple[str, ...]:
    """Pieces of several lots, (part, lot, pieces) each, become one matched set: lapped to one
    another here, or found to be mates. They leave their lots for lots of their own, of the set's
    number, and jobs that wait for one are served. Gives back what is in it."""

    def work(deed: Deed) -> tuple[str, ...]:
        person = deed.worker(who, "count stock")
        number = number_of(typed)
        if len({part.strip().upper() for part, _, _ in picks}) != len(picks) or len(picks) < 2:
            raise BadInput("a matched set has two or more parts, each of them once")
        if not reason.strip():
            raise BadInput("who matched them, or how? give the reason")
        if deed.db.execute(select(SetRow.id).where(SetRow.number == number)).first():
            raise Refused(f"set number {number} is in use; give this set another")
        rows = [(stock.lot_of(deed, part, lot), pieces) for part, lot, pieces in picks]
        _taken_together(deed, [row.part for row, _ in rows])
        made, parts = [], []
        for row, pieces in rows:
            _loose(row, pieces)
            own = _split(deed, person, row, number, pieces)
            join(deed, person, own, number, reason.strip())
            made.append(f"{pieces} {row.part} of lot {row.number}")
            parts.append(int(row.part_id))
        for part_id in parts:
            counts.shelf_changed(deed, part_id, True, person)
        return tuple(made)

    return shop.write(work)


def take_apart(shop: Shop, who: str, typed: str, reason: str) -> None:
    """A set made up by mistake, or found to be none, is one no more: its pieces go where their
    parts are asked for alone, and may become mates of a new set."""

    def work(deed: Deed) -> None:
        person = deed.worker(who, "count stock")
        if not reason.strip():
            raise BadInput("why are they no set? give the reason")
        for part_id in apart(deed, person, typed, reason.strip()):
            counts.shelf_changed(deed, part_id, True, person)

    shop.write(work)


def _taken_together(deed: Deed, parts: list[str]) -> None:
    if not matched.together(deed.db, parts):
        raise Refused(
            f"no procedure in force takes {' and '.join(parts)} out of one set: they could be "
            "issued to nobody; read the parts again"
        )


def _loose(row: Row[*tuple[Any, ...]], pieces: int) -> None:
    if whole(row):
        raise Refused(
            f"lot {row.number} of {row.part} is a mate of matched set {row.set_number} already"
        )
    if row.quarantined:
        raise Refused(
            f"lot {row.number} of {row.part} is in quarantine: a manager lets it out first",
            (),
            "manager",
        )
    if not 1 <= pieces <= row.on_hand:
        raise BadInput(f"read {pieces} pieces; lot {row.number} of {row.part} has {row.on_hand}")


def _split(deed: Deed, who: Worker, row: Row[*tuple[Any, ...]], number: str, pieces: int) -> int:
    """The lot of the pieces taken out of another, with all that was known of that one; no figure
    of the part changes."""
    taken = deed.db.execute(
        select(Lot.id).where(Lot.part_id == row.part_id, Lot.number == number)
    ).scalar()
    if taken is not None and taken != row.id:
        raise Refused(f"lot {number} of {row.part} is there already; give the set another number")
    if taken is not None:
        if pieces == row.on_hand:
            return int(row.id)
        raise Refused(
            f"lot {number} of {row.part} has {row.on_hand} pieces, and only {pieces} "
            f"{'goes' if pieces == 1 else 'go'} into the set: give the set a number of its own"
        )
    known = deed.db.execute(select(Lot).where(Lot.id == row.id)).one()._mapping
    copied = {
        name: known[name]
        for name in (
            "part_id",
            "cured",
            "use_by",
            "use_by_source",
            "unit_cost_cents",
            "certificate",
            "received_at",
            "quarantined",
            "origin",
            "job_id",
            "grade",
            "bin",
        )
    }
    made = deed.db.execute(
        insert(Lot).values(number=number, on_hand=0, **copied).returning(Lot.id)
    ).scalar_one()
    lies = row.bin or row.home
    said = f"lot {row.number} to {number}, matched set {number}"
    stock.split(deed, row.part_id, (row.id, int(made)), pieces, lies, said, who)
    return int(made)
