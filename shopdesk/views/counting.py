"""What a count sheet asks: each lot at its place. How many there should be is not said."""

from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import Connection, select

from shopdesk.errors import NotFound
from shopdesk.records.tables import Lot, Part
from shopdesk.views import documents


@dataclass(frozen=True, slots=True)
class ToCount:
    bin: str
    part: str
    description: str
    lot: str
    use_by: date | None
    quarantined: bool


@dataclass(frozen=True, slots=True)
class CountSheet:
    """``bins`` is what the bins begin with, "" for the whole shelf."""

    shop: str
    bins: str
    at: datetime
    lots: tuple[ToCount, ...]


def count_sheet(db: Connection, bins: str, now: datetime) -> CountSheet:
    """Lots the ledger has pieces of, in the order of the bins. Raises NotFound where the bins
    hold none."""
    begins = bins.strip().upper()
    rows = db.execute(
        select(Part.bin, Part.number, Part.description, Lot.number, Lot.use_by, Lot.quarantined)
        .join(Part, Part.id == Lot.part_id)
        .where(Lot.on_hand > 0, Part.bin.startswith(begins, autoescape=True))
        .order_by(Part.bin, Part.number, Lot.id)
    )
    found = tuple(ToCount(*row) for row in rows)
    if not found:
        raise NotFound(f"no bin that begins with {bins.strip()[:30]!r} holds anything")
    return CountSheet(documents.rules(db).name, begins, now, found)
