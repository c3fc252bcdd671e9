"""Many deeds in one transaction: the sample is laid out by the thousand, and nobody else looks."""

from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from typing import TypeVar

from sqlalchemy import Connection

from shopdesk.records.engine import Record

Result = TypeVar("Result")

DEEDS = 500


class Together(Record):
    """The record of a shop under construction. What goes wrong in one deed undoes those since the
    last commit; every ``DEEDS`` deeds, and at the end, all is committed."""

    def __init__(self, record: Record) -> None:
        super().__init__(record.url, record._backend)
        self._open: Connection | None = None
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

    def commit(self) -> None:
        self._open = None
        self._stack.close()

    @contextmanager
    def building(self) -> Iterator[None]:
        """Commits at the end; an exception undoes what is not committed and passes on."""
        try:
            yield
        except BaseException as fault:
            self._open = None
            self._stack.__exit__(type(fault), fault, fault.__traceback__)
            raise
        self.commit()

    def _connection(self) -> Connection:
        if self._open is None:
            self._open = self._stack.enter_context(super().write())
        return self._open
