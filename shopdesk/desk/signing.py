"""Who is at hand: initials or badge with PIN, for one signature at a time."""

from sqlalchemy import Connection, or_, select

from shopdesk.desk import pins
from shopdesk.desk.shop import Worker
from shopdesk.errors import BadInput, Refused
from shopdesk.records.tables import Person


def identify(db: Connection, typed: str) -> Worker:
    """The person behind "RT 4711" or "B-1207 4711": initials or badge, then PIN.

    Raises BadInput when it is not of that form, Refused when it does not fit.
    """
    words = typed.split()
    if len(words) != 2:
        raise BadInput("a signature is initials or badge, a space, and the PIN: RT 1234")
    rows = db.execute(
        select(Person.id, Person.initials, Person.name, Person.role, Person.pin_hash).where(
            or_(Person.initials == words[0].upper(), Person.badge == words[0].upper()),
            Person.active,
        )
    ).all()
    fitting = [row for row in rows if pins.matches(words[1], row.pin_hash)]
    if len(fitting) != 1:
        raise Refused(f"{words[0][:20]}: initials and PIN do not fit; nothing was signed")
    row = fitting[0]
    return Worker(row.id, row.initials, row.name, row.role)


def badge(db: Connection, code: str) -> Worker | None:
    """The person this badge belongs to, None for an unknown one."""
    row = db.execute(
        select(Person.id, Person.initials, Person.name, Person.role).where(
            Person.badge == code.strip().upper(), Person.active
        )
    ).one_or_none()
    return None if row is None else Worker(row.id, row.initials, row.name, row.role)
