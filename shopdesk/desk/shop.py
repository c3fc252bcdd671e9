"""The open shop: its record, its clock, and the transaction every deed runs in."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import TypeVar

from sqlalchemy import Connection, bindparam, select

from shopdesk.errors import NotFound, Refused
from shopdesk.records import chain
from shopdesk.records.engine import Record
from shopdesk.records.tables import Event, Person
from shopdesk.rules import people
from shopdesk.rules.refusals import Refusal

Result = TypeVar("Result")


def utc_now() -> datetime:
    return datetime.now(UTC)


@dataclass(frozen=True, slots=True)
class Worker:
    """The person a deed is recorded under."""

    id: int
    initials: str
    name: str
    role: str


@dataclass(frozen=True)
class Shop:
    """``clock`` gives the moment in UTC; ``terminal`` names where drafts are kept for."""

    record: Record
    clock: Callable[[], datetime] = utc_now
    terminal: str = "terminal"

    def write(self, work: Callable[["Deed"], Result], *, keyed: bool = False) -> Result:
        """Runs ``work`` in one write transaction, repeated by the record's rule where the
        database asks for it. All of it is recorded, or none. ``keyed``: it knows its own earlier
        commit by a key, and may run again when a connection broke at the commit."""

        def run(db: Connection) -> Result:
            tip = chain.Tip(*chain.lock(db))
            return work(self._deed(db, tip))

        try:
            return self.record.run(run, keyed=keyed)
        except Refused as refused:
            self._note(refused)
            raise

    def _deed(self, db: Connection, tip: chain.Tip) -> "Deed":
        return Deed(db, self.clock(), self.terminal, tip)

    def laying_out(self) -> "Shop":
        """The shop as it is laid out from its files: those named in them need no PIN for it."""
        return LayingOut(self.record, self.clock, self.terminal)

    def _note(self, refused: Refused) -> None:
        """A wrong PIN is recorded though what it should have signed is not."""
        from shopdesk.desk import signing

        if isinstance(refused, signing.WrongPin):
            signing.note(self, refused)

    @contextmanager
    def read(self) -> Iterator[Connection]:
        with self.record.read() as db:
            yield db


@dataclass(frozen=True, slots=True)
class Deed:
    """One transaction at one moment: what the desk's functions write through."""

    db: Connection
    now: datetime
    terminal: str
    tip: chain.Tip

    @property
    def today(self) -> date:
        """The day by the shop's clock on the wall."""
        return self.now.astimezone().date()

    def event(
        self,
        kind: str,
        who: Worker | None,
        payload: dict[str, object],
        *,
        job_id: int | None = None,
        commit_key: str | None = None,
    ) -> int:
        """Appends to the audit chain."""
        return chain.append(
            self.db,
            at=self.now,
            kind=kind,
            job_id=job_id,
            person_id=None if who is None else who.id,
            payload=payload,
            commit_key=commit_key,
            tip=self.tip,
        )

    def first_time(self, commit_key: str | None) -> bool:
        """Whether no commit with this key has been recorded yet."""
        if commit_key is None:
            return True
        return self.db.execute(_COMMITTED, {"commit_key": commit_key}).scalar() is None

    def worker(self, who: str, action: str) -> Worker:
        """The person with these initials, if their role may do ``action``. Raises Refused."""
        person = find_worker(self.db, who)
        refuse(people.refused(person.role, action))
        return person

    def signed(self, typed: str, action: str) -> Worker:
        """The person who signs with initials and PIN, if their role may do ``action``. Raises
        BadInput, Refused."""
        from shopdesk.desk import signing

        person = signing.sign(self, typed)
        refuse(people.refused(person.role, action))
        return person


@dataclass(frozen=True, slots=True)
class Known(Deed):
    """A deed of somebody whose word is enough."""

    def signed(self, typed: str, action: str) -> Worker:
        return self.worker(typed.partition(" ")[0], action)


class LayingOut(Shop):
    def _deed(self, db: Connection, tip: chain.Tip) -> Deed:
        return Known(db, self.clock(), self.terminal, tip)


_COMMITTED = select(Event.id).where(Event.commit_key == bindparam("commit_key"))
_WORKER = select(Person.id, Person.initials, Person.name, Person.role).where(
    Person.initials == bindparam("initials"), Person.active
)


def find_worker(db: Connection, who: str) -> Worker:
    """The active person with these initials. Raises NotFound."""
    row = db.execute(_WORKER, {"initials": who.strip().upper()}).one_or_none()
    if row is None:
        raise NotFound(f"nobody here signs as {who.strip()[:20]!r}; check the initials")
    return Worker(row.id, row.initials, row.name, row.role)


def refuse(refusal: Refusal | None) -> None:
    """Raises the rules' refusal, if there is one."""
    if refusal is not None:
        raise Refused(refusal.sentence, refusal.missing, refusal.whose_move)
