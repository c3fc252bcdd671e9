"""What one shift hands to the next: every unit in the house, pressure first."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import Connection, select

from shopdesk.records.tables import ChainHead, Event, Job, Person
from shopdesk.views import board, documents
from shopdesk.views.board import JobRow

INCIDENTS_SINCE = timedelta(hours=24)


@dataclass(frozen=True, slots=True)
class Incident:
    """What was reported of a unit's safety: ``what`` "hiss", ``saw`` in the words typed."""

    job: int
    what: str
    saw: str
    by: str
    at: datetime


@dataclass(frozen=True, slots=True)
class Handover:
    """``units`` with what is to be treated as charged first; ``event`` and ``head`` the last event
    of the record's chain and its hash."""

    shop: str
    revision: str
    at: datetime
    units: Sequence[JobRow]
    incidents: Sequence[Incident]
    event: int
    head: str


def handover(db: Connection, now: datetime) -> Handover:
    """The house as it stands now, with the incidents of the last day."""
    rules = documents.rules(db)
    head = db.execute(select(ChainHead.event_id, ChainHead.hash)).one()
    rows = db.execute(
        select(Job.number, Event.payload, Person.initials, Event.at)
        .join(Job, Job.id == Event.job_id)
        .join(Person, Person.id == Event.person_id)
        .where(Event.kind == "incident", Event.at > now - INCIDENTS_SINCE)
        .order_by(Event.id)
    )
    return Handover(
        shop=rules.name,
        revision=rules.revision,
        at=now,
        units=board.house(db),
        incidents=tuple(
            Incident(number, said.get("what", ""), said.get("saw", ""), by, at)
            for number, said, by, at in rows
        ),
        event=head.event_id,
        head=head.hash,
    )
