"""Who works here, those who have left last."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, func, select

from shopdesk.records.tables import Person


@dataclass(frozen=True, slots=True)
class PersonRow:
    """``wrong_tries``: wrong PINs since the last right one, the newest at ``wrong_at``."""

    initials: str
    name: str
    role: str
    badge: str
    active: bool
    wrong_tries: int
    wrong_at: datetime | None


def people(db: Connection, text: str = "") -> Sequence[PersonRow]:
    """Those whose initials, name, role or badge hold the text."""
    rows = db.execute(
        select(
            Person.initials,
            Person.name,
            Person.role,
            func.coalesce(Person.badge, ""),
            Person.active,
            Person.wrong_tries,
            Person.wrong_at,
        ).order_by(Person.active.desc(), Person.initials)
    )
    found = (PersonRow(*row) for row in rows)
    key = text.strip().casefold()
    return tuple(
        one
        for one in found
        if key in f"{one.initials} {one.name} {one.role} {one.badge}".casefold()
    )
