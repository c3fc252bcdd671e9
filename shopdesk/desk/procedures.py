"""Procedures under control: a revision is brought in, then a manager approves it or turns it down.

What is brought in waits: no job opens or runs on it. Nothing on record is ever changed.
"""

from dataclasses import dataclass

from sqlalchemy import insert, select

from shopdesk import procedure
from shopdesk.desk import reasons
from shopdesk.desk.shop import Deed, Shop, Worker
from shopdesk.errors import Refused
from shopdesk.procedure import Procedure
from shopdesk.procedure.comparing import compare, summary
from shopdesk.records.tables import ProcedureApproval, ProcedureRevision, UnitModel
from shopdesk.rules import revisions
from shopdesk.views import documents
from shopdesk.views import procedures as views
from shopdesk.views.procedures import Answered, Incoming, Looked


@dataclass(frozen=True, slots=True)
class Brought:
    """``name`` "PA-016 rev E"; ``new`` False where it was on record with this very text;
    ``waits`` for a manager's approval."""

    name: str
    new: bool
    waits: bool


def look(shop: Shop, text: str, *, name: str) -> Looked:
    """The document checked and compared with what is on record; nothing is written. Raises
    BadProcedure with every fault, Refused where it cannot follow what is on record."""
    doc = procedure.loads(text, name=name)
    with shop.read() as db:
        return views.looked(db, views.beside(db, doc, text))


def bring_in(
    shop: Shop, signs: str, text: str, why: str, *, name: str, approve: bool = False
) -> Brought:
    """Puts a checked document on record as a proposal; ``approve``: in force at once, which takes
    a manager. ``signs``: initials and PIN. ``why``: what changed and why; "" takes the document's
    own word where that is new. The same text again changes nothing."""
    doc = procedure.loads(text, name=name)

    def work(deed: Deed) -> Brought:
        who = deed.signed(signs, "keep procedures" if approve else "bring in a procedure")
        return put_on_record(deed, who, doc, text, why, proposed=not approve)

    return shop.write(work)


def put_on_record(
    deed: Deed, who: Worker | None, doc: Procedure, text: str, why: str, *, proposed: bool
) -> Brought:
    """As ``bring_in``, in the caller's transaction."""
    found = views.beside(deed.db, doc, text)
    name = f"{doc.model} rev {doc.revision}"
    if found.stands == "same":
        return Brought(name, False, False)
    values = {
        "revision": doc.revision,
        "sha256": procedure.digest(text),
        "proposed": proposed,
        "why": said_why(found, why),
    }
    deed.db.execute(
        insert(ProcedureRevision).values(
            unit_model_id=_model_id(deed, doc),
            document=text,
            at=deed.now,
            person_id=None if who is None else who.id,
            **values,
        )
    )
    deed.event("procedure", who, {"model": doc.model, "changed": doc.changed, **values})
    return Brought(name, True, proposed)


def said_why(found: Incoming, why: str) -> str:
    """What changed and why, as it is recorded. Raises BadInput where nobody has said it."""
    before = found.before.revision if found.before else ""
    own = " ".join(found.doc.changed.split())[: reasons.LONGEST] if found.written else ""
    return reasons.said(
        why if why.strip() else own,
        f"what changed and why? The document still says what rev {before} changed",
    )


def look_at_proposal(shop: Shop, model: str, revision: str) -> tuple[str, ...]:
    """What a manager is told before answering a proposal: its changes counted, and every job that
    has answered what it drops."""
    with shop.read() as db:
        doc = views.find(db, model, revision)[1]
        model_id = views.model_of(db, model)[0]
        in_force = db.execute(documents.newest_of(model_id)).scalar()
        if in_force is None:
            return ("the first revision of its model",)
        before = documents.revision(db, in_force)
        gone = views.answered_but_gone(db, doc)
    return (f"against rev {before.revision}: {summary(compare(before, doc))}", *said(gone))


def approve(shop: Shop, signs: str, model: str, revision: str) -> str:
    """A manager puts a proposal in force: new jobs open on it, running ones stay where they are.
    Gives back the sentence to say. ``signs``: initials and PIN, in place."""

    def work(deed: Deed) -> str:
        who = deed.signed(signs, "keep procedures")
        revision_id, doc = _waiting(deed, model, revision)
        in_force = deed.db.execute(
            select(ProcedureRevision.revision).where(
                ProcedureRevision.id == documents.newest_of(_model_id(deed, doc)).scalar_subquery()
            )
        ).scalar()
        if in_force is not None and revisions.order(in_force) > revisions.order(doc.revision):
            raise Refused(
                f"{doc.model} rev {in_force} is in force already and newer; turn rev "
                f"{doc.revision} down"
            )
        _answer(deed, who, revision_id, doc, "approved", "")
        gone = views.answered_but_gone(deed.db, doc)
        return " ".join((f"{doc.model} rev {doc.revision} is in force for new jobs.", *said(gone)))

    return shop.write(work)


def turn_down(shop: Shop, signs: str, model: str, revision: str, reason: str) -> str:
    """A manager refuses a proposal, with the reason; it stays on record and is never in force."""

    def work(deed: Deed) -> str:
        who = deed.signed(signs, "keep procedures")
        revision_id, doc = _waiting(deed, model, revision)
        why = reasons.said(reason, "why is it turned down? give the reason")
        _answer(deed, who, revision_id, doc, "turned down", why)
        return f"{doc.model} rev {doc.revision} is turned down; nothing runs on it"

    return shop.write(work)


def said(gone: tuple[Answered, ...]) -> tuple[str, ...]:
    """What open jobs have answered that a revision drops, jobs with the same lines in one
    sentence."""
    by_job: dict[int, list[Answered]] = {}
    for each in gone:
        by_job.setdefault(each.job, []).append(each)
    alike: dict[tuple[str, tuple[str, ...]], list[int]] = {}
    for job, lines in by_job.items():
        named = tuple(f"{each.line} ({each.text})" for each in lines)
        alike.setdefault((lines[0].revision, named), []).append(job)
    return tuple(_sentence(jobs, *said) for said, jobs in alike.items())


def _sentence(jobs: list[int], revision: str, lines: tuple[str, ...]) -> str:
    tags = [f"J-{job}" for job in jobs]
    one = len(tags) == 1
    who = tags[0] if one else f"{', '.join(tags[:-1])} and {tags[-1]}"
    stays = "it stays" if one else "they stay"
    return (
        f"{who} {'has' if one else 'have'} answered {' and '.join(lines)}, which this revision "
        f"drops: {stays} on rev {revision} until moved over, and the answers stand."
    )


def what_changes(found: Looked) -> str:
    """One line: what a document would be beside what is on record."""
    name = f"{found.doc.model} rev {found.doc.revision}"
    if found.stands == "same":
        return f"{name} is on record with this very text; nothing was changed"
    if found.before is None:
        return f"{name} is the first of its model"
    return f"{name} against rev {found.before.revision}: {summary(found.changes)}"


def _waiting(deed: Deed, model: str, revision: str) -> tuple[int, Procedure]:
    """A proposal nobody has answered. Raises NotFound, Refused."""
    revision_id, doc = views.find(deed.db, model, revision)
    row = next(
        row
        for row in views.revisions_of(deed.db)
        if (row.model, row.revision) == (doc.model, doc.revision)
    )
    if row.stands == views.TURNED_DOWN:
        raise Refused(
            f"{doc.model} rev {doc.revision} was turned down by {row.answered_by}: {row.reason}"
        )
    if row.stands != views.WAITS:
        when = f" since {row.answered_at.astimezone():%d %b %Y}" if row.answered_at else ""
        raise Refused(f"{doc.model} rev {doc.revision} is approved{when}; nothing was changed")
    return revision_id, doc


def _answer(
    deed: Deed, who: Worker, revision_id: int, doc: Procedure, answer: str, reason: str
) -> None:
    values = {"answer": answer, "reason": reason}
    deed.db.execute(
        insert(ProcedureApproval).values(
            procedure_revision_id=revision_id, person_id=who.id, at=deed.now, **values
        )
    )
    deed.event(
        "procedure answered",
        who,
        {"procedure": revision_id, "model": doc.model, "revision": doc.revision, **values},
    )


def _model_id(deed: Deed, doc: Procedure) -> int:
    found = deed.db.execute(select(UnitModel.id).where(UnitModel.code == doc.model)).scalar()
    if found is not None:
        return int(found)
    made = deed.db.execute(
        insert(UnitModel).values(code=doc.model, name=doc.name).returning(UnitModel.id)
    ).scalar_one()
    return int(made)
