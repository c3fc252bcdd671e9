"""Work done over: which lines of a job were opened again, and what that drew from the shelf."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, func, select

from shopdesk.records.tables import Interchange, Reopening, StockMove
from shopdesk.rules import ledger
from shopdesk.rules.answers import DONE_OVER
from shopdesk.rules.generated import issue_key
from shopdesk.views.asked import ASKED_ID


@dataclass(frozen=True, slots=True)
class Opened:
    """Lines a rework, or a joint pulled too far, opened again: up to which entry, and when."""

    lines: frozenset[str]
    up_to_entry: int
    at: datetime


Rework = Mapping[int, Sequence[Opened]]


def opened(db: Connection, ids: Sequence[int]) -> Rework:
    """What was opened again on these jobs."""
    found: dict[int, list[Opened]] = defaultdict(list)
    for row in db.execute(
        select(Reopening.job_id, Reopening.lines, Reopening.up_to_entry, Reopening.at).where(
            Reopening.job_id.in_(ids), Reopening.cause.in_(DONE_OVER)
        )
    ):
        found[row.job_id].append(Opened(frozenset(row.lines), row.up_to_entry, row.at))
    return found


def answered_again(rework: Rework, job_id: int, line: str, entry_id: int) -> bool:
    """Whether this entry answers a line that was opened again before it."""
    return any(line in one.lines and entry_id > one.up_to_entry for one in rework.get(job_id, ()))


def drawn_again(rework: Rework, job_id: int, kit_line: str, at: datetime) -> bool:
    """Whether pieces that moved at this moment replace some that the work done over has spent."""
    key = issue_key(kit_line)
    return any(key in one.lines and at >= one.at for one in rework.get(job_id, ()))


def pieces_again(db: Connection, job_id: int) -> Mapping[int, int]:
    """Pieces that the job took in place of those spent, by the id of the part asked."""
    rework = opened(db, (job_id,))
    found: dict[int, int] = defaultdict(int)
    if not rework:
        return found
    for row in db.execute(
        select(
            ASKED_ID.label("part_id"),
            StockMove.kit_line,
            StockMove.at,
            func.sum(-StockMove.on_hand_change).label("pieces"),
        )
        .outerjoin(Interchange, Interchange.id == StockMove.interchange_id)
        .where(StockMove.job_id == job_id, StockMove.kind.in_(ledger.DRAWN))
        .group_by(ASKED_ID, StockMove.kit_line, StockMove.at)
    ):
        if drawn_again(rework, job_id, row.kit_line, row.at):
            found[row.part_id] += int(row.pieces)
    return found
