"""One terminal's day under torture: real deeds, told to the parent once they are acknowledged.

Shared with the parent is one byte a worker: what it wants (``GO``, to stop inside the next
transaction, to take the day's copy) and what the worker does (``STANDS``: inside one, everything
written, nothing committed; ``COPYING``). The parent kills while it stands there: such a kill is no
matter of luck.
"""

import json
import mmap
import os
import random
import sqlite3
import time
import traceback
import uuid
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, TypeVar

from sqlalchemy.exc import DBAPIError

from shopdesk.desk import counter, entries, safekeeping, stores
from shopdesk.desk.sample import reading
from shopdesk.desk.sample.clock import Clock
from shopdesk.desk.sample.crew import Crew
from shopdesk.desk.sample.plans import Plan
from shopdesk.desk.sample.walker import Hands, Walker
from shopdesk.desk.shop import Deed, Shop
from shopdesk.errors import ShopError
from shopdesk.records.engine import Record, open_record
from shopdesk.records.sqlite import file_of

Result = TypeVar("Result")

GO, STOP_INSIDE, STANDS, COPY, COPYING = range(5)
MODELS = ("CC-040", "RC-012", "PA-016")
MOST_PAGES = 1073741823  # SQLite's own limit
PARTS = ("OR-014-N90", "OR-010-N90")


class Told(Shop):
    """A shop whose transactions can be stopped in. A fault that the torture has to find: ``early``
    tells of deeds before they are committed."""

    state: "State"

    def write(self, work: Callable[[Deed], Result], *, keyed: bool = False) -> Result:
        state = self.state

        def stopping(deed: Deed) -> Result:
            result = work(deed)
            if state.fault == "early":
                state.tell_pending()
            if state.board[state.index] == STOP_INSIDE:
                state.board[state.index] = STANDS
                time.sleep(30)
            return result

        return super().write(stopping, keyed=keyed)


class State:
    """What one worker and the parent know of each other."""

    def __init__(
        self, index: int, board: mmap.mmap, pipe: int, copies: Path, *, fault: str
    ) -> None:
        self.index, self.board, self.pipe, self.copies = index, board, pipe, copies
        self.fault = fault
        self.pending: dict[str, Any] | None = None

    def tell(self, **what: Any) -> None:
        """One line, written whole (shorter than PIPE_BUF)."""
        os.write(self.pipe, (json.dumps(what) + "\n").encode())

    def tell_pending(self) -> None:
        if self.pending is not None:
            self.tell(**self.pending)
            self.pending = None

    def acknowledged(self, deed: Callable[[], Result], **what: Any) -> Result:
        """Does the deed and, when it has come back, tells of it."""
        self.pending = what
        result = deed()
        self.tell_pending()
        return result


def run(url: str, state: State, seed: int) -> None:
    """Works until it is killed."""
    draw = random.Random(seed)
    record = _opened(url, state)
    record.patience_s = 60.0
    clock = Clock(datetime.now(UTC))
    shop = Told(record=record, clock=clock, terminal=f"torture-{state.index}")
    object.__setattr__(shop, "state", state)
    crew = reading.read(reading.folder(), clock.now.date()).crew
    real = entries.record_entry

    def told_entry(*given: Any, **named: Any) -> entries.Recorded:
        key = uuid.uuid4().hex
        return state.acknowledged(
            lambda: real(*given, **{**named, "commit_key": key}), kind="entry", key=key
        )

    entries.record_entry = told_entry
    while True:
        try:
            _turn(shop, crew, state, draw, clock)
        except (ShopError, DBAPIError, sqlite3.Error) as fault:
            state.pending = None
            state.tell(kind="fault", said=type(fault).__name__, text=str(fault)[:200])
            if not isinstance(fault, ShopError):
                state.tell(kind="raw", said=traceback.format_exc()[-2000:])


def _opened(url: str, state: State) -> Record:
    """Opens again where its connection was cut over it, as a person would."""
    while True:
        try:
            return open_record(url)
        except ShopError as fault:
            state.tell(kind="fault", said=type(fault).__name__, text=str(fault)[:200])


def _turn(shop: Told, crew: Crew, state: State, draw: random.Random, clock: Clock) -> None:
    """A core through the shop, with deliveries and counts between its lines."""
    model, key = draw.choice(MODELS), uuid.uuid4().hex
    core = counter.Core(f"T{key[:10]}", model, "C02", "torture")
    number = state.acknowledged(
        lambda: counter.receive_core(shop, "SK", core, commit_key=key), kind="core", key=key
    ).heading.number
    walker = Walker(shop, clock, crew, draw.randrange(1 << 30))
    hands = Hands(crew.one("RT"), crew.one("SK"))
    for wait in walker.steps(number, hands, Plan(defects=0.0)):
        clock.minutes(wait)
        if state.board[state.index] == COPY:
            _copy(shop, state)
        if draw.random() < 0.2:
            _stock(shop, state, draw)
        if draw.random() < 0.05:
            _full_disk(shop.record, state, lambda: _stock(shop, state, draw))


def _stock(shop: Told, state: State, draw: random.Random) -> None:
    part, lot, pieces = (
        draw.choice(PARTS),
        f"T-{uuid.uuid4().hex[:10]}".upper(),
        draw.randint(1, 20),
    )
    delivery = stores.Delivery(part, lot, pieces, "1Q2026")
    state.acknowledged(
        lambda: stores.receive(shop, "SK", delivery), kind="lot", key=lot, pieces=pieces
    )


def _copy(shop: Told, state: State) -> None:
    """The day's copy, as the open app takes it: each time for a day that has none yet. Another
    fault to find: ``beside`` opens the file and closes it, which ends SQLite's locks on it in this
    process (https://sqlite.org/howtocorrupt.html, 2.2)."""
    state.board[state.index] = COPYING
    try:
        folder = state.copies / uuid.uuid4().hex
        taken = safekeeping.daily(shop, folder, lambda what, share: None)
        if taken is None or taken.chain_fault is not None:
            state.tell(kind="raw", said=f"no whole copy: {taken}")
        else:
            state.tell(kind="copy", path=taken.where)
        if state.fault == "beside":
            file_of(shop.record.url).read_bytes()
    finally:
        state.board[state.index] = GO


def _full_disk(record: Record, state: State, work: Callable[[], None]) -> None:
    """SQLite has no page more to give while the work is done."""
    if record.dialect != "sqlite":
        return
    _pages(record, full=True)
    try:
        for _ in range(5):
            work()
    except ShopError as fault:
        state.pending = None
        state.tell(kind="full", said=type(fault).__name__, text=str(fault)[:200])
    finally:
        _pages(record, full=False)


def _pages(record: Record, *, full: bool) -> None:
    backend = record._backend
    with backend.turn(record.patience_s), backend.writing.connect() as db:
        count = db.exec_driver_sql("PRAGMA page_count").scalar_one()
        db.exec_driver_sql(f"PRAGMA max_page_count = {count if full else MOST_PAGES}")
        db.rollback()
