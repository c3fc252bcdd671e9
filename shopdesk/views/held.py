"""What is reserved for a job, by kit line and part."""

from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import Connection, bindparam, func, select

from shopdesk.records.tables import StockMove

_own = func.sum(StockMove.reserved_change)
BY = func.max(StockMove.interchange_id).label("by")
"""By what the pieces of a reservation stand in; None where they are of the part asked."""
_HELD = (
    select(StockMove.part_id, StockMove.kit_line, _own.label("pieces"), BY)
    .where(StockMove.job_id == bindparam("job_id"))
    .group_by(StockMove.part_id, StockMove.kit_line)
    .having(_own > 0)
    .order_by(BY.is_(None), StockMove.part_id, StockMove.kit_line)
)


@dataclass(frozen=True, slots=True)
class Held:
    """Pieces of a part reserved for a job's kit line; ``by`` the interchange they stand in by."""

    part_id: int
    kit_line: str
    pieces: int
    by: int | None


def of_job(db: Connection, job_id: int, kit_line: str | None = None) -> Sequence[Held]:
    """What the job holds, on one kit line or all; what stands in for another part first."""
    rows = db.execute(_HELD, {"job_id": job_id})
    return [
        Held(row.part_id, row.kit_line, int(row.pieces), row.by)
        for row in rows
        if kit_line in (None, row.kit_line)
    ]
