"""Who is at hand: initials or badge with PIN, for one signature at a time.

Wrong PINs are events of the chain, and after some in a row the next one has to wait, longer each
time. A name nobody has takes as long to refuse as a wrong PIN.
"""

import math
from datetime import datetime, timedelta
from functools import cache
from typing import Any

from sqlalchemy import Connection, Row, or_, select, update

from shopdesk.desk import pins
from shopdesk.desk.shop import Deed, Shop, Worker
from shopdesk.errors import BadInput, NotFound, Refused
from shopdesk.records.tables import Person
from shopdesk.rules.shop import Signing
from shopdesk.views import documents

Found = Row[*tuple[Any, ...]]

_PERSON = select(
    Person.id,
    Person.initials,
    Person.name,
    Person.role,
    Person.pin_hash,
    Person.wrong_tries,
    Person.wrong_at,
).where(Person.active)


class WrongPin(Refused):
    """``said`` is who it was meant to be, ``person_id`` who that is, None for nobody."""

    def __init__(self, said: str, person_id: int | None) -> None:
        super().__init__(f"{said}: initials and PIN do not fit; nothing was signed")
        self.said, self.person_id = said, person_id


def identify(db: Connection, typed: str, now: datetime) -> Worker:
    """The person behind "RT 4711" or "B-1207 4711": initials or badge, then PIN.

    Raises BadInput when it is not of that form, WrongPin when it does not fit, Refused while that
    person has to wait.
    """
    return _worker(_fitting(db, typed, now))


@cache
def _nobodys() -> str:
    return pins.hashed("0000")


def _worker(row: Found) -> Worker:
    return Worker(row.id, row.initials, row.name, row.role)


def _fitting(db: Connection, typed: str, now: datetime) -> Found:
    words = typed.split()
    if len(words) != 2:
        raise BadInput("a signature is initials or badge, a space, and the PIN: RT 1234")
    said = words[0].upper()
    rows = db.execute(_PERSON.where(or_(Person.initials == said, Person.badge == said))).all()
    for row in rows:
        if row.wrong_tries:
            _not_yet(row, now, rules(db))
    fitting = [row for row in rows if pins.matches(words[1], row.pin_hash)]
    if not rows:
        pins.matches(words[1], _nobodys())
    if len(fitting) != 1:
        raise WrongPin(words[0][:20], rows[0].id if len(rows) == 1 else None)
    return fitting[0]


def sign(deed: Deed, typed: str) -> Worker:
    """As ``identify``, inside a deed; a right PIN ends the count of wrong ones."""
    row = _fitting(deed.db, typed, deed.now)
    if row.wrong_tries:
        deed.db.execute(_right(row.id))
    return _worker(row)


def sign_in(shop: Shop, typed: str) -> Worker:
    """As ``identify``, for somebody who steps up to the terminal; a wrong PIN is recorded."""
    try:
        with shop.read() as db:
            row = _fitting(db, typed, shop.clock())
    except WrongPin as wrong:
        note(shop, wrong)
        raise
    worker = _worker(row)
    if row.wrong_tries:
        shop.write(lambda deed: _forgive(deed, worker, row.wrong_tries))
    return worker


def _forgive(deed: Deed, who: Worker, wrong: int) -> None:
    deed.db.execute(_right(who.id))
    deed.event("right PIN", who, {"after_wrong": wrong, "terminal": deed.terminal})


def note(shop: Shop, wrong: WrongPin) -> None:
    """Records a wrong PIN, after what it should have signed was undone."""

    def work(deed: Deed) -> None:
        if wrong.person_id is not None:
            deed.db.execute(
                update(Person)
                .where(Person.id == wrong.person_id)
                .values(wrong_tries=Person.wrong_tries + 1, wrong_at=deed.now)
            )
        deed.event("wrong PIN", None, {"said": wrong.said, "terminal": deed.terminal})

    shop.write(work)


def _right(person_id: int) -> Any:
    return update(Person).where(Person.id == person_id).values(wrong_tries=0, wrong_at=None)


def _not_yet(row: Found, now: datetime, said: Signing) -> None:
    """Raises Refused while the person has to wait. The wait doubles with every wrong PIN."""
    beyond = row.wrong_tries - said.free_tries
    if beyond < 0 or row.wrong_at is None:
        return
    wait_s = min(said.first_wait_s * 2.0 ** min(beyond, 30), said.longest_wait_s)
    left_s = (row.wrong_at + timedelta(seconds=wait_s) - now).total_seconds()
    if left_s > 0:
        raise Refused(
            f"{row.initials}: {row.wrong_tries} wrong PINs in a row; the next can be tried in "
            f"{math.ceil(left_s)} s"
        )


def rules(db: Connection) -> Signing:
    """What the shop says of signing, else what holds without a word."""
    try:
        return documents.rules(db).signing
    except NotFound:  # the first manager of a shop without rules yet
        return Signing()
