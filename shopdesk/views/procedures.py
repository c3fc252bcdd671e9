"""Procedures by revision: what is in force, what waits, what a new document would change."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from difflib import get_close_matches
from itertools import pairwise
from typing import Any

from sqlalchemy import Connection, Row, Select, func, select
from sqlalchemy.orm import aliased

from shopdesk import procedure
from shopdesk.errors import NotFound, Refused
from shopdesk.procedure import Procedure
from shopdesk.procedure.comparing import Compared, compare
from shopdesk.records.tables import (
    Entry,
    Job,
    Person,
    ProcedureApproval,
    ProcedureRevision,
    UnitModel,
)
from shopdesk.rules import revisions
from shopdesk.rules.generated import laid_out
from shopdesk.views import documents

IN_FORCE, EARLIER, WAITS, TURNED_DOWN = "in force", "earlier", "awaits approval", "turned down"


@dataclass(frozen=True, slots=True)
class RevisionRow:
    """One revision of one model. ``by`` brought it in, ``answered_by`` approved it or turned it
    down; ``before`` is the revision before it, "" for the first; ``jobs`` run on it now."""

    model: str
    name: str
    revision: str
    stands: str
    at: datetime
    by: str
    why: str
    answered_at: datetime | None
    answered_by: str
    reason: str
    before: str
    jobs: int


@dataclass(frozen=True, slots=True)
class Answered:
    """An open job that has answered a line which a revision no longer has."""

    job: int
    revision: str
    line: str
    text: str


@dataclass(frozen=True, slots=True)
class Incoming:
    """A document beside what is on record. ``stands`` is "same", "new model" or "new revision";
    ``before`` the revision it comes after, ``written`` whether its own word on what changed is not
    still the one of that revision."""

    doc: Procedure
    stands: str
    before: Procedure | None
    written: bool = True


@dataclass(frozen=True, slots=True)
class Looked(Incoming):
    """The same with what it changes, and what open jobs have answered that it drops."""

    changes: tuple[Compared, ...] = ()
    dropped: tuple[Answered, ...] = ()


def revisions_of(db: Connection, text: str = "") -> Sequence[RevisionRow]:
    """Every revision, by model, the newest first; ``text`` finds model, name, revision, initials,
    how it stands or a word of why."""
    words = text.casefold().split()
    force = _in_force(db)
    jobs = dict(
        db.execute(
            select(Job.procedure_revision_id, func.count())
            .where(Job.closed_at.is_(None))
            .group_by(Job.procedure_revision_id)
        ).all()
    )
    rows = db.execute(_rows()).all()
    before = {
        newer.id: older.revision
        for newer, older in pairwise(rows)
        if newer.unit_model_id == older.unit_model_id
    }
    found = (_row(row, force, before.get(row.id, ""), jobs.get(row.id, 0)) for row in rows)
    return tuple(row for row in found if all(word in _said(row) for word in words))


def _in_force(db: Connection) -> dict[int, int]:
    rows = db.execute(
        select(ProcedureRevision.unit_model_id, func.max(ProcedureRevision.id))
        .where(documents.APPROVED)
        .group_by(ProcedureRevision.unit_model_id)
    )
    return {row[0]: row[1] for row in rows}


def _said(row: RevisionRow) -> str:
    cells = (row.model, row.name, f"rev {row.revision}", row.stands, row.by, row.why)
    return " ".join(cells).casefold()


_other = aliased(Person)


def _rows() -> Select[*tuple[Any, ...]]:
    return (
        select(
            ProcedureRevision.id,
            ProcedureRevision.unit_model_id,
            UnitModel.code.label("model"),
            UnitModel.name,
            ProcedureRevision.revision,
            ProcedureRevision.at,
            ProcedureRevision.proposed,
            ProcedureRevision.why,
            func.coalesce(Person.initials, "").label("by"),
            ProcedureApproval.answer,
            ProcedureApproval.reason,
            ProcedureApproval.at.label("answered_at"),
            func.coalesce(_other.initials, "").label("answered_by"),
        )
        .join(UnitModel, UnitModel.id == ProcedureRevision.unit_model_id)
        .outerjoin(Person, Person.id == ProcedureRevision.person_id)
        .outerjoin(
            ProcedureApproval, ProcedureApproval.procedure_revision_id == ProcedureRevision.id
        )
        .outerjoin(_other, _other.id == ProcedureApproval.person_id)
        .order_by(UnitModel.code, ProcedureRevision.id.desc())
    )


def _row(row: Row[*tuple[Any, ...]], force: dict[int, int], before: str, jobs: int) -> RevisionRow:
    approved = not row.proposed or row.answer == "approved"
    stands = EARLIER
    if force.get(row.unit_model_id) == row.id:
        stands = IN_FORCE
    elif not approved:
        stands = TURNED_DOWN if row.answer else WAITS
    at_once = not row.proposed
    return RevisionRow(
        row.model,
        row.name,
        row.revision,
        stands,
        row.at,
        row.by,
        row.why,
        row.at if at_once else row.answered_at,
        row.by if at_once else row.answered_by,
        row.reason or "",
        before,
        jobs,
    )


def waiting(db: Connection) -> int:
    """How many revisions wait for a manager's word."""
    answered = select(ProcedureApproval.procedure_revision_id)
    asked = select(func.count(ProcedureRevision.id)).where(
        ProcedureRevision.proposed, ProcedureRevision.id.not_in(answered)
    )
    return int(db.execute(asked).scalar_one())


def find(db: Connection, model: str, revision: str = "") -> tuple[int, Procedure]:
    """Id and document of a revision; without one, of the one in force. Raises NotFound."""
    model_id, code = model_of(db, model)
    wanted = revision.strip()
    if not wanted:
        in_force = db.execute(documents.newest_of(model_id)).scalar()
        if in_force is None:
            raise NotFound(f"no revision of {code} is approved yet; name one: {_those(db, code)}")
        return int(in_force), documents.revision(db, in_force)
    found = db.execute(
        select(ProcedureRevision.id).where(
            ProcedureRevision.unit_model_id == model_id,
            func.upper(ProcedureRevision.revision) == wanted.upper(),
        )
    ).scalar()
    if found is None:
        raise NotFound(f"{code} has no rev {wanted[:20]} here; it has {_those(db, code)}")
    return int(found), documents.revision(db, found)


def text_of(db: Connection, revision_id: int) -> str:
    """The document as it was brought in."""
    asked = select(ProcedureRevision.document).where(ProcedureRevision.id == revision_id)
    return str(db.execute(asked).scalar_one())


def model_of(db: Connection, model: str) -> tuple[int, str]:
    """Id and code of a unit model that has a procedure. Raises NotFound."""
    key = model.strip().upper()
    asked = select(UnitModel.code, UnitModel.id).where(
        UnitModel.id.in_(select(ProcedureRevision.unit_model_id))
    )
    rows = {row.code: row.id for row in db.execute(asked)}
    if key in rows:
        return rows[key], key
    near = get_close_matches(key, rows, 3, 0.5) or sorted(rows)[:8]
    there = f"known here: {', '.join(near)}" if near else "there is none yet"
    raise NotFound(f"no procedure of a model {model.strip()[:40]!r} in this shop; {there}")


def _those(db: Connection, code: str) -> str:
    rows = [row for row in revisions_of(db) if row.model == code]
    return ", ".join(f"{row.revision} ({row.stands})" for row in rows)


def looked(db: Connection, found: Incoming) -> Looked:
    """What a document would change. Longer than ``beside``: not to be asked under the lock."""
    kept = (found.doc, found.stands, found.before, found.written)
    if found.stands != "new revision" or found.before is None:
        return Looked(*kept)
    return Looked(*kept, compare(found.before, found.doc), answered_but_gone(db, found.doc))


def beside(db: Connection, doc: Procedure, text: str) -> Incoming:
    """What a document would be beside those on record. Raises Refused for one that cannot follow
    them."""
    refusal = revisions.named_rightly(doc.model, doc.revision, doc.name)
    if refusal is not None:
        raise Refused(refusal.sentence)
    rows = db.execute(
        select(
            ProcedureRevision.id,
            ProcedureRevision.revision,
            ProcedureRevision.sha256,
            documents.APPROVED.label("approved"),
        )
        .join(UnitModel, UnitModel.id == ProcedureRevision.unit_model_id)
        .where(UnitModel.code == doc.model)
        .order_by(ProcedureRevision.id)
    ).all()
    if not rows:
        return Incoming(doc, "new model", None)
    if any(row.sha256 == procedure.digest(text) for row in rows):
        return Incoming(doc, "same", doc)
    _follows(doc, rows)
    before = documents.revision(db, next((r.id for r in rows[::-1] if r.approved), rows[-1].id))
    return Incoming(doc, "new revision", before, doc.changed.strip() != before.changed.strip())


def _follows(doc: Procedure, rows: Sequence[Row[*tuple[Any, ...]]]) -> None:
    if any(row.revision.upper() == doc.revision.upper() for row in rows):
        raise Refused(
            f"{doc.model} rev {doc.revision} is on record with other text, and what is on record "
            "is never changed; give the change a new revision"
        )
    newest = max((row.revision for row in rows), key=revisions.order)
    refusal = revisions.not_newer(doc.model, doc.revision, newest)
    if refusal is not None:
        raise Refused(refusal.sentence)


def answered_but_gone(db: Connection, doc: Procedure) -> tuple[Answered, ...]:
    """Lines that open jobs of the model have answered and this document no longer has."""
    has = {line.key for line in laid_out(doc)}
    rows = db.execute(
        select(Job.number, Job.procedure_revision_id, Entry.line)
        .join(Entry, Entry.job_id == Job.id)
        .join(ProcedureRevision, ProcedureRevision.id == Job.procedure_revision_id)
        .join(UnitModel, UnitModel.id == ProcedureRevision.unit_model_id)
        .where(UnitModel.code == doc.model, Job.closed_at.is_(None))
        .group_by(Job.number, Job.procedure_revision_id, Entry.line)
        .order_by(Job.number, func.min(Entry.id))
    ).all()
    found = []
    for row in rows:
        if row.line in has:
            continue
        runs_on = documents.revision(db, row.procedure_revision_id)
        line = next((each for each in laid_out(runs_on) if each.key == row.line), None)
        if line is not None:
            found.append(Answered(row.number, runs_on.revision, line.key, line.text))
    return tuple(found)
