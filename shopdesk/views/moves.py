"""Jobs moved over to another revision: what each move did to the answers, and what one would do."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from sqlalchemy import Connection, bindparam, select
from sqlalchemy.orm import aliased

from shopdesk.procedure import Line, Procedure
from shopdesk.records.tables import Person, ProcedureMove, ProcedureRevision
from shopdesk.rules.answers import Answer, Verdict
from shopdesk.rules.generated import laid_out
from shopdesk.rules.moving import MOVED, put_by
from shopdesk.views import documents


@dataclass(frozen=True, slots=True)
class Move:
    """One move of one job, as recorded."""

    from_id: int
    was: str
    now: str
    up_to_entry: int
    again: tuple[str, ...]
    judged: tuple[tuple[int, Verdict, str, str], ...]
    reason: str
    by: str
    at: datetime


_was, _now = aliased(ProcedureRevision), aliased(ProcedureRevision)
_MOVES = (
    select(
        ProcedureMove.from_revision_id,
        _was.revision.label("was"),
        _now.revision.label("now"),
        ProcedureMove.up_to_entry,
        ProcedureMove.again,
        ProcedureMove.judged,
        ProcedureMove.reason,
        Person.initials,
        ProcedureMove.at,
    )
    .join(_was, _was.id == ProcedureMove.from_revision_id)
    .join(_now, _now.id == ProcedureMove.to_revision_id)
    .join(Person, Person.id == ProcedureMove.person_id)
    .where(ProcedureMove.job_id == bindparam("job_id"))
    .order_by(ProcedureMove.id)
)


def of_job(db: Connection, job_id: int) -> tuple[Move, ...]:
    """The job's moves, the first one first."""
    return tuple(
        Move(
            row.from_revision_id,
            row.was,
            row.now,
            row.up_to_entry,
            tuple(row.again),
            tuple((entry, Verdict(verdict), *said) for entry, verdict, *said in row.judged),
            row.reason,
            row.initials,
            row.at,
        )
        for row in db.execute(_MOVES, {"job_id": job_id})
    )


def seen_through(answers: Sequence[Answer], moves: Sequence[Move]) -> tuple[Answer, ...]:
    """The answers as the moves left them: judged by the revision moved to, or set aside. What is
    recorded of each stays as it was."""
    if not moves:
        return tuple(answers)
    found = {answer.id: answer for answer in answers}
    for move in moves:
        for entry, verdict, limit_text, source in move.judged:
            if entry in found:
                found[entry] = replace(
                    found[entry], verdict=verdict, limit_text=limit_text, limit_source=source
                )
        for answer in answers:
            now = found[answer.id]
            if answer.line in move.again and answer.id <= move.up_to_entry and not now.set_aside:
                why = f"rev {move.was} to {move.now}: {move.reason}, {move.by}"
                found[answer.id] = replace(now, set_aside=MOVED, aside_for=why)
    return tuple(found.values())


def kept_by(
    db: Connection, moves: Sequence[Move], procedure: Procedure, answers: Sequence[Answer]
) -> tuple[Line, ...]:
    """Answered lines of the revisions a job was moved from that the one it is on does not have."""
    if not moves:
        return ()
    answered = {answer.line for answer in answers}
    has = {line.key for line in laid_out(procedure)}
    found: list[Line] = []
    for move in reversed(moves):
        for line in laid_out(documents.revision(db, move.from_id)):
            if line.key in answered - has:
                has.add(line.key)
                found.append(put_by(line, move.was))
    return tuple(found)


def line_of(db: Connection, job_id: int, procedure: Procedure, key: str) -> Line | None:
    """A line of the procedure a job runs on, or of one it was moved from."""
    if procedure.has(key):
        return procedure.line(key)
    for move in reversed(of_job(db, job_id)):
        before = documents.revision(db, move.from_id)
        if before.has(key):
            return before.line(key)
    return None


def dropped_lines(db: Connection, job_ids: Sequence[int]) -> dict[int, dict[str, Line]]:
    """Of jobs that were moved, every line they were asked before, by key."""
    found: dict[int, dict[str, Line]] = {}
    asked = select(ProcedureMove.job_id, ProcedureMove.from_revision_id).order_by(ProcedureMove.id)
    among = set(job_ids)
    for row in db.execute(asked):
        if row.job_id in among:
            before = documents.revision(db, row.from_revision_id)
            found.setdefault(row.job_id, {}).update({line.key: line for line in before.lines})
    return found


def named(moves: Sequence[Move], revision: str) -> str:
    """ "E", or "E (begun on D, moved over 2026-03-05)"."""
    if not moves:
        return revision
    said = [f"begun on {moves[0].was}"]
    for move in moves:
        to = f" to {move.now}" if len(moves) > 1 else ""
        said.append(f"moved over{to} {move.at:%Y-%m-%d}")
    return f"{revision} ({', '.join(said)})"
