"""Lots as the shelf has them, and what a scanned lot number is."""

from typing import Any

from sqlalchemy import Connection, Row, bindparam, select

from shopdesk.errors import NotFound
from shopdesk.records.tables import Lot, Part
from shopdesk.rules.kits import LotState

_LOT = select(
    Lot.id,
    Part.number.label("part"),
    Lot.number,
    Lot.on_hand,
    Lot.use_by,
    Lot.quarantined,
    Lot.received_at,
    Lot.cured,
).join(Part, Part.id == Lot.part_id)
_OF_PART = _LOT.where(Part.number == bindparam("part"), Lot.on_hand > 0).order_by(Lot.id)
_SCANNED = _LOT.where(Lot.number == bindparam("number"))


def of_part(db: Connection, part: str) -> tuple[LotState, ...]:
    """Every lot of the part with pieces left."""
    rows = db.execute(_OF_PART, {"part": part})
    return tuple(_state(row) for row in rows)


def scanned(db: Connection, code: str, expected: str) -> LotState:
    """The lot behind a scan, that of the expected part where two parts share a lot number.

    Raises NotFound, naming a part where a part label was scanned instead.
    """
    rows = [_state(row) for row in db.execute(_SCANNED, {"number": code.upper()})]
    rows.sort(key=lambda lot: lot.part != expected)
    if rows:
        return rows[0]
    part = db.execute(select(Part.number).where(Part.number == code.upper())).scalar()
    if part is not None and part != expected:
        raise NotFound(f"expected {expected}, scanned {part}: nothing was issued")
    what = "a part label; scan the lot on the bag" if part else "no lot of this shop"
    raise NotFound(f"read {code[:40]!r}: {what}; expected a lot of {expected}")


def _state(row: Row[*tuple[Any, ...]]) -> LotState:
    values = row._mapping
    return LotState(
        id=values["id"],
        part=values["part"],
        number=values["number"],
        on_hand=values["on_hand"],
        use_by=values["use_by"],
        quarantined=values["quarantined"],
        received=values["received_at"].date(),
        cured=values["cured"],
    )
