"""What somebody had before them when they decided: a deed on a screen gone stale is not done.

Not asked where it would keep a unit dangerous: a hiss and a quarantine are recorded whatever else
happened. An entry is held against its own slot, a correction against the entry it supersedes.
"""

from dataclasses import dataclass

from sqlalchemy import func, select

from shopdesk.desk.shop import Deed
from shopdesk.errors import Stale
from shopdesk.records.tables import Event, Person
from shopdesk.views.sheets import SheetView, tag


@dataclass(slots=True)
class AsSeen:
    """The job's ``version`` as it stood on the screen. Who is told of a change knows it: the same
    deed again goes through."""

    version: int


def require_seen(deed: Deed, view: SheetView, seen: AsSeen | None) -> None:
    """Raises Stale, naming the last change, when the job was changed since it was looked at."""
    found = view.sheet.facts.version
    if seen is None or seen.version == found:
        return
    seen.version = found
    last = deed.db.execute(
        select(Event.kind, Event.at, func.coalesce(Person.initials, "").label("who"))
        .outerjoin(Person, Person.id == Event.person_id)
        .where(Event.job_id == view.heading.job_id)
        .order_by(Event.id.desc())
        .limit(1)
    ).one()
    raise Stale(
        f"{tag(view.heading.number)} was changed since you looked: {last.kind}, {last.who} at "
        f"{last.at.astimezone():%H:%M}; nothing was recorded. Look again, then repeat"
    )
