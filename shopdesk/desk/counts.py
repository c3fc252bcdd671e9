"""The shelf put right: lots counted, scrapped, put aside."""

from sqlalchemy import select

from shopdesk.desk import stock
from shopdesk.desk.shop import Deed, Shop
from shopdesk.errors import BadInput, NotFound
from shopdesk.records.tables import Lot


def count(shop: Shop, who: str, part: str, lot: str, pieces: int, reason: str) -> int:
    """Sets a lot to what was counted; the difference is a ledger row with its reason."""

    def work(deed: Deed) -> int:
        person = deed.worker(who, "count stock")
        if pieces < 0:
            raise BadInput(f"read {pieces} pieces; a count is 0 or more")
        part_id = stock.part_id_of(deed.db, part)
        row = deed.db.execute(
            select(Lot.id, Lot.on_hand).where(
                Lot.part_id == part_id, Lot.number == lot.strip().upper()
            )
        ).one_or_none()
        if row is None:
            raise NotFound(f"{part}: no lot {lot.strip()[:40]!r}")
        difference = pieces - row.on_hand
        if difference:
            if not reason.strip():
                raise BadInput(f"counted {pieces}, the ledger says {row.on_hand}: give the reason")
            stock.move(
                deed,
                "count",
                part_id,
                person,
                on_hand=difference,
                lot_id=row.id,
                reason=reason.strip(),
            )
        return int(difference)

    return shop.write(work)
