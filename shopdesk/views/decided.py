"""Claims that were decided: who bears them, why they came back, what they cost."""

from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import Connection, select

from shopdesk.records.tables import Claim, Entry, Job
from shopdesk.rules import claims
from shopdesk.views import costs

NEWEST = 1000
AT_ONCE = 500


@dataclass(frozen=True, slots=True)
class Decided:
    """A closed claim; ``cents`` is what it cost the shop, nothing where it was not covered."""

    job: int
    cause: str
    cover: str
    cents: int


def covers(db: Connection, job_ids: Sequence[int]) -> dict[int, str]:
    """What was decided of each of these jobs that is a claim."""
    return _answered(db, job_ids, claims.COVER)


def newest(db: Connection, most: int = NEWEST) -> tuple[Decided, ...]:
    """The newest closed claims."""
    rows = db.execute(
        select(Claim.job_id, Job.number)
        .join(Job, Job.id == Claim.job_id)
        .where(Job.closed_at.is_not(None))
        .order_by(Claim.id.desc())
        .limit(most)
    ).all()
    ids = [row.job_id for row in rows]
    said, cover = _answered(db, ids, claims.CAUSE), covers(db, ids)
    borne = [job for job in ids if cover.get(job) in claims.BORNE]
    spent: dict[int, int] = {}
    for n in range(0, len(borne), AT_ONCE):
        for job, lines in costs.against_quotes(db, borne[n : n + AT_ONCE]).items():
            spent[job] = sum(line.actual_cents for line in lines)
    return tuple(
        Decided(row.number, said[row.job_id], cover[row.job_id], spent.get(row.job_id, 0))
        for row in rows
        if row.job_id in said and row.job_id in cover
    )


def _answered(db: Connection, job_ids: Sequence[int], line: str) -> dict[int, str]:
    """The newest answer to a decision's line; one corrected or reopened gives way to the next."""
    found: dict[int, str] = {}
    for n in range(0, len(job_ids), AT_ONCE):
        rows = db.execute(
            select(Entry.job_id, Entry.answer)
            .where(Entry.job_id.in_(job_ids[n : n + AT_ONCE]), Entry.line == line)
            .order_by(Entry.id)
        )
        found |= {row.job_id: row.answer for row in rows}
    return found
