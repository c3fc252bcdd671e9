"""The issues of a certificate: the event up to which each reads the record, and the sheet as it
stood then."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Row, select

from shopdesk.errors import NotFound, Refused
from shopdesk.procedure import types as doc
from shopdesk.records.tables import Concession, Event, Reopening
from shopdesk.rules.answers import Answer, GasState, Road
from shopdesk.rules.sheet import Sheet, lay_out
from shopdesk.views import documents, moves, sheets
from shopdesk.views.sheets import SheetView

RELEASE, SHIPMENT = "release", "shipment"
LEFT = ("shipped", "exchange", "to the exchange shelf")


def released(view: SheetView) -> Answer:
    """The release signature that counts. Raises Refused without one."""
    sheet, name = view.sheet, sheets.tag(view.heading.number)
    if sheet.facts.road is not Road.REPAIR:
        raise Refused(f"{name} is {sheet.facts.road.value}: no work was done to certify")
    lines = sheet.section("release")
    if not lines or not sheet.complete("release"):
        raise Refused(
            f"{name} is not released: its certificate comes with the release signature",
            tuple(state.line.key for state in lines if state.open),
            "technician",
        )
    return max(
        (a for s in lines if isinstance(s.line, doc.Signature) for a in s.given.values()),
        key=lambda answer: answer.id,
    )


@dataclass(frozen=True, slots=True)
class Cut:
    """Up to where the record is read, and how much of it that is. ``head`` is the hash of
    ``event``; ``gas_state`` None where the record has said nothing of it yet."""

    event: int
    head: str
    at: datetime
    shipped: bool
    last_entry: int
    reopenings: int
    concessions: int
    moves: int
    gas_state: str | None


def cut_of(db: Connection, view: SheetView, signed: Answer, issue: str | None) -> Cut:
    events = db.execute(
        select(Event.id, Event.kind, Event.at, Event.hash, Event.payload)
        .where(Event.job_id == view.heading.job_id)
        .order_by(Event.id)
    ).all()
    left = [event for event in events if event.kind in LEFT]
    if issue == SHIPMENT and not left:
        raise Refused(f"{sheets.tag(view.heading.number)} has not left yet; it has no such issue")
    shipped = bool(left) and issue != RELEASE
    last = left[-1] if shipped else _release_event(events, signed)
    seen = [event for event in events if event.id <= last.id]
    states = [event.payload["is"] for event in seen if event.kind == "gas state"]
    return Cut(
        event=last.id,
        head=last.hash,
        at=last.at,
        shipped=shipped,
        last_entry=max(_entry(event) for event in seen),
        reopenings=sum(event.kind == "reopening" for event in seen),
        concessions=sum(event.kind == "concession" for event in seen),
        moves=sum(event.kind == "procedure moved" for event in seen),
        gas_state=states[-1] if states else None,
    )


def _release_event(
    events: Sequence[Row[*tuple[Any, ...]]], signed: Answer
) -> Row[*tuple[Any, ...]]:
    found = next((event for event in events if _entry(event) == signed.id), None)
    if found is None:
        raise NotFound(f"the event of release entry {signed.id} is missing: verify the record")
    return found


def _entry(event: Row[*tuple[Any, ...]]) -> int:
    return int(event.payload.get("entry", 0)) if event.kind == "entry" else 0


def as_it_stood(db: Connection, view: SheetView, cut: Cut) -> Sheet:
    """The sheet laid out again from the record up to the cut, by the shop's rules of then."""
    job_id, now = view.heading.job_id, view.sheet
    reopened = db.execute(
        select(Reopening.cause, Reopening.lines, Reopening.up_to_entry)
        .where(Reopening.job_id == job_id)
        .order_by(Reopening.id)
        .limit(cut.reopenings)
    ).all()
    conceded = db.execute(
        select(Concession.entry_id)
        .where(Concession.job_id == job_id)
        .order_by(Concession.id)
        .limit(cut.concessions)
    ).scalars()
    every = moves.of_job(db, job_id)
    moved, procedure = every[: cut.moves], now.procedure
    if cut.moves < len(every):
        procedure = documents.revision(db, every[cut.moves].from_id)
    start = GasState.UNKNOWN if procedure.gas_charged else GasState.NONE
    facts = replace(
        now.facts,
        now=cut.at,
        gas_state=GasState(cut.gas_state) if cut.gas_state else start,
        conceded=frozenset(conceded),
    )
    entries = [a for a in sheets.answers(db, job_id, ()) if a.id <= cut.last_entry]
    superseded = {answer.supersedes for answer in entries}
    answers = moves.seen_through(
        [replace(a, superseded=a.id in superseded, set_aside=_aside(a, reopened)) for a in entries],
        moved,
    )
    put_by = moves.kept_by(db, moved, procedure, answers)
    return lay_out(procedure, {}, documents.rules_at(db, cut.at), facts, answers, put_by)


def _aside(answer: Answer, reopened: Sequence[Row[*tuple[Any, ...]]]) -> str:
    return next(
        (r.cause for r in reopened if answer.line in r.lines and answer.id <= r.up_to_entry), ""
    )
