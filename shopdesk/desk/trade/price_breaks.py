"""Price breaks of a file: a column of its own, rows of their own in the record."""

from typing import Any

from sqlalchemy import Connection, Integer, bindparam, delete, insert, select

from shopdesk.records.tables import PartSupplier, PriceBreak
from shopdesk.rules.prices import Prices

_OFFER = bindparam("offer", type_=Integer)
Told = list[tuple[int, int, Prices]]


def taken_out(rows: list[dict[str, Any]]) -> Told:
    """Takes the breaks out of rows that are to be written: (part, supplier, breaks)."""
    return [
        (row["part_id"], row["supplier_id"], row.pop("breaks")) for row in rows if "breaks" in row
    ]


def put(db: Connection, told: Told) -> None:
    """Puts breaks in the place of what stood there."""
    if not told:
        return
    offers: dict[tuple[int, int], int] = {
        (row.part_id, row.supplier_id): row.id
        for row in db.execute(
            select(PartSupplier.id, PartSupplier.part_id, PartSupplier.supplier_id)
        )
    }
    named = [(offers[part, supplier], breaks) for part, supplier, breaks in told]
    gone = delete(PriceBreak).where(PriceBreak.part_supplier_id == _OFFER)
    db.execute(gone, [{"offer": offer} for offer, _ in named])
    rows = [
        {"part_supplier_id": offer, "from_pieces": start, "price_cents": cents}
        for offer, breaks in named
        for start, cents in breaks
    ]
    if rows:
        db.execute(insert(PriceBreak), rows)
