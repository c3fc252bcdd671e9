"""All deeds in one transaction: a sample is there whole or not at all, and nobody else looks."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from typing import TypeVar

from sqlalchemy import Connection

from shopdesk.desk.shop import Deed, Known, Shop, Worker, find_worker, refuse
from shopdesk.records import chain
from shopdesk.records.engine import Record
from shopdesk.rules import people

Result = TypeVar("Result")

CACHE_KIB = 65536  # the whole record, so that nothing is written twice


class Together(Record):
    """The record of a shop under construction: ``building`` commits what was done in it."""

    def __init__(self, record: Record) -> None:
        super().__init__(record.url, record._backend)
        self._open: Connection | None = None
        self._tip: chain.Tip | None = None

    @contextmanager
    def read(self) -> Iterator[Connection]:
        yield self._connection()

    def run(self, work: Callable[[Connection], Result], *, keyed: bool = False) -> Result:
        return work(self._connection())

    def tip(self) -> chain.Tip:
        """The end of the chain, locked once."""
        if self._tip is None:
            self._tip = chain.Tip(*chain.lock(self._connection()))
        return self._tip

    @contextmanager
    def building(self) -> Iterator[None]:
        """Commits at the end; an exception undoes everything and passes on."""
        with super().write() as self._open:
            if self.dialect == "sqlite":
                self._open.exec_driver_sql(f"PRAGMA cache_size = -{CACHE_KIB}")
            try:
                yield
            finally:
                self._open = self._tip = None

    def _connection(self) -> Connection:
        if self._open is None:
            raise RuntimeError("outside building()")
        return self._open


@dataclass(frozen=True, slots=True)
class Routine(Known):
    """A deed of somebody who is known by sight."""

    known: dict[str, Worker]

    def worker(self, who: str, action: str) -> Worker:
        if who not in self.known:
            self.known[who] = find_worker(self.db, who)
        refuse(people.refused(self.known[who].role, action))
        return self.known[who]


class Yard(Shop):
    """The shop whose deeds are done together."""

    def __init__(self, together: Together, clock: Callable[[], datetime]) -> None:
        super().__init__(together, clock, "sample")
        object.__setattr__(self, "_together", together)
        object.__setattr__(self, "_known", {})

    _together: Together
    _known: dict[str, Worker]

    def laying_out(self) -> Shop:
        return self

    def write(self, work: Callable[[Deed], Result], *, keyed: bool = False) -> Result:
        def run(db: Connection) -> Result:
            tip = self._together.tip()
            return work(Routine(db, self.clock(), self.terminal, tip, self._known))

        return self.record.run(run, keyed=keyed)
