"""Many deeds in one transaction: the sample is laid out by the thousand, and nobody else looks."""

from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from datetime import datetime
from typing import TypeVar

from sqlalchemy import Connection

from shopdesk.desk.shop import Deed, Shop, Worker, find_worker, refuse
from shopdesk.records import chain
from shopdesk.records.engine import Record
from shopdesk.rules import people

Result = TypeVar("Result")

DEEDS = 500


class Together(Record):
    """The record of a shop under construction. What goes wrong in one deed undoes those since the
    last commit; every ``DEEDS`` deeds, and at the end, all is committed."""

    def __init__(self, record: Record) -> None:
        super().__init__(record.url, record._backend)
        self._open: Connection | None = None
        self._tip: chain.Tip | None = None
        self._stack = ExitStack()
        self._deeds = 0

    @contextmanager
    def read(self) -> Iterator[Connection]:
        yield self._connection()

    def run(self, work: Callable[[Connection], Result], *, keyed: bool = False) -> Result:
        result = work(self._connection())
        self._deeds += 1
        if self._deeds % DEEDS == 0:
            self.commit()
        return result

    def tip(self) -> chain.Tip:
        """The end of the chain, locked once a transaction."""
        if self._tip is None:
            self._tip = chain.Tip(*chain.lock(self._connection()))
        return self._tip

    def commit(self) -> None:
        self._open = self._tip = None
        self._stack.close()

    @contextmanager
    def building(self) -> Iterator[None]:
        """Commits at the end; an exception undoes what is not committed and passes on."""
        try:
            yield
        except BaseException as fault:
            self._open = self._tip = None
            self._stack.__exit__(type(fault), fault, fault.__traceback__)
            raise
        self.commit()

    def _connection(self) -> Connection:
        if self._open is None:
            self._open = self._stack.enter_context(super().write())
        return self._open


@dataclass(frozen=True, slots=True)
class Routine(Deed):
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

    def write(self, work: Callable[[Deed], Result], *, keyed: bool = False) -> Result:
        def run(db: Connection) -> Result:
            tip = self._together.tip()
            return work(Routine(db, self.clock(), self.terminal, tip, self._known))

        return self.record.run(run, keyed=keyed)
