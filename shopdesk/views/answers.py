"""Every entry of a job, with what became of it."""

from collections.abc import Sequence
from typing import Any

from sqlalchemy import Connection, Row, and_, bindparam, func, select
from sqlalchemy.orm import aliased

from shopdesk.records.tables import Calibration, Entry, Instrument, Person, Reopening
from shopdesk.rules.answers import Answer, Verdict
from shopdesk.rules.doubts import read_wrong
from shopdesk.views import moves
from shopdesk.views.moves import Move

_witness = aliased(Person)
_NEXT_CHECK = (
    select(Calibration.id)
    .where(Calibration.instrument_id == Entry.instrument_id, Calibration.at >= Entry.at)
    .order_by(Calibration.at, Calibration.id)
    .limit(1)
    .correlate(Entry)
    .scalar_subquery()
)
_ANSWERS = (
    select(
        Entry.id,
        Entry.line,
        Entry.slot,
        Entry.typed,
        Entry.answer,
        Entry.verdict,
        Entry.at,
        Entry.value_si,
        Entry.unit,
        Entry.limit_text,
        Entry.limit_source,
        Entry.supersedes,
        Entry.reason,
        Person.initials.label("person"),
        func.coalesce(_witness.initials, "").label("witness"),
        func.coalesce(Instrument.code, "").label("instrument"),
        Calibration.id.label("failed"),
        Calibration.error_share,
    )
    .join(Person, Person.id == Entry.person_id)
    .outerjoin(_witness, _witness.id == Entry.witness_id)
    .outerjoin(Instrument, Instrument.id == Entry.instrument_id)
    .outerjoin(
        Calibration,
        and_(
            Calibration.instrument_id == Entry.instrument_id,
            ~Calibration.passed,
            Calibration.id == _NEXT_CHECK,
        ),
    )
    .where(Entry.job_id == bindparam("job_id"))
    .order_by(Entry.id)
)
_REOPENED = (
    select(
        Reopening.cause,
        Reopening.lines,
        Reopening.up_to_entry,
        Reopening.reason,
        Person.initials,
    )
    .join(Person, Person.id == Reopening.person_id)
    .where(Reopening.job_id == bindparam("job_id"))
    .order_by(Reopening.id)
)


def answers(db: Connection, job_id: int, moved: Sequence[Move] | None = None) -> tuple[Answer, ...]:
    """Every entry of the job in the order made, marked where it no longer counts; seen through
    its moves to other revisions, those ``moved`` or all."""
    rows = db.execute(_ANSWERS, {"job_id": job_id}).all()
    reopened = db.execute(_REOPENED, {"job_id": job_id}).all()
    superseded = {row.supersedes for row in rows if row.supersedes is not None}
    found = tuple(
        Answer(
            id=row.id,
            line=row.line,
            slot=row.slot,
            typed=row.typed,
            answer=row.answer,
            verdict=Verdict(row.verdict),
            person=row.person,
            at=row.at,
            value_si=row.value_si,
            unit=row.unit,
            limit_text=row.limit_text,
            limit_source=row.limit_source,
            instrument=row.instrument,
            witness=row.witness,
            supersedes=row.supersedes,
            reason=row.reason,
            superseded=row.id in superseded,
            doubt="" if row.failed is None else read_wrong(row.error_share),
            set_aside=aside.cause if aside is not None else "",
            aside_for=f"{aside.reason}, {aside.initials}" if aside is not None else "",
        )
        for row in rows
        for aside in [_aside(reopened, row.line, row.id)]
    )
    return moves.seen_through(found, moves.of_job(db, job_id) if moved is None else moved)


def _aside(
    reopened: Sequence[Row[*tuple[Any, ...]]], line: str, entry_id: int
) -> Row[*tuple[Any, ...]] | None:
    """The reopening that set an entry aside first."""
    return next((r for r in reopened if line in r.lines and entry_id <= r.up_to_entry), None)
