"""The audit chain: every event carries the hash of the one before, the head stands in one row.

``hash`` is SHA-256 (FIPS 180-4), in hexadecimal, of the UTF-8 text
``{"at":...,"commit_key":...,"id":...,"job_id":...,"kind":...,"payload":...,"person_id":...,
"previous":...}``: JSON without spaces and with sorted keys, the time as
``2026-01-31T08:00:00.000000Z``, the payload as the very text stored. It is the same on both
databases, so a shop carried from one to the other keeps its chain.
"""

import hashlib
import sqlite3
from collections.abc import Generator
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Connection, Row, Text, bindparam, insert, select, type_coerce, update
from sqlalchemy.exc import DBAPIError

from shopdesk.errors import BadInput, RecordFault
from shopdesk.records.tables import ChainHead, Event, canonical

GENESIS = "0" * 64
"""The hash before the first event."""

_PAGE_ROWS = 1000

Fields = Row[*tuple[Any, ...]]

_HEAD = select(ChainHead.event_id, ChainHead.hash).where(ChainHead.id == 1)
_LOCKED_HEAD = _HEAD.with_for_update()
_ADD = insert(Event).values(payload=bindparam("text", type_=Text))
_MOVE_HEAD = update(ChainHead).where(ChainHead.id == 1)


@dataclass(frozen=True, slots=True)
class ChainReport:
    """``broken`` names the first row that does not stand, and why; None: the chain is whole."""

    rows: int
    head: str
    broken: str | None


@dataclass(slots=True)
class Tip:
    """The end of the chain as the transaction that holds its lock has it."""

    event_id: int
    hash: str


def lock(db: Connection) -> tuple[int, str]:
    """The last event's id and hash, locked until the transaction ends. Taken first in a
    transaction it lets writers queue in one order, so that no two wait for each other."""
    head = db.execute(_LOCKED_HEAD).one_or_none()
    if head is None:
        raise RecordFault(
            "The record has lost the head of its event chain, so nothing can be added to it; go "
            "back to the last backup."
        )
    return head.event_id, head.hash


def append(
    db: Connection,
    *,
    at: datetime,
    kind: str,
    job_id: int | None,
    person_id: int | None,
    payload: Any,
    commit_key: str | None = None,
    tip: Tip | None = None,
) -> int:
    """Adds an event at the end of the chain and returns its id. ``payload`` is plain JSON;
    ``tip``, where the transaction has locked the chain already, is moved on."""
    last, previous = lock(db) if tip is None else (tip.event_id, tip.hash)
    try:
        text = canonical(payload)
        text.encode()
    except ValueError as error:  # NaN, or half of a character pair
        raise BadInput(f"An event cannot be recorded: {error}; nothing was recorded.") from error
    fields = {
        "id": last + 1,
        "at": _moment(at),
        "kind": kind,
        "job_id": job_id,
        "person_id": person_id,
        "payload": text,
        "commit_key": commit_key,
        "previous": previous,
    }
    hashed = _hash(fields)
    row = {**fields, "at": at, "text": text, "hash": hashed}
    del row["payload"]
    db.execute(_ADD, row)
    db.execute(_MOVE_HEAD, {"event_id": last + 1, "hash": hashed})
    if tip is not None:
        tip.event_id, tip.hash = last + 1, hashed
    return last + 1


def verify(db: Connection, *, printed: str | None = None) -> ChainReport:
    """Walks the chain from its first event, a thousand rows at a time, to the first that does not
    stand. ``printed``, a head from a certificate, must be the hash of one of the events."""
    head = db.execute(_HEAD).one_or_none()
    last, previous, seen = 0, GENESIS, printed is None or printed == GENESIS
    try:
        with closing(_rows(db)) as rows:
            for row in rows:
                fault = _fault(row, last, previous)
                if fault is not None:
                    return ChainReport(last, previous, fault)
                last, previous = row.id, row.hash
                seen = seen or row.hash == printed
    except DBAPIError as error:
        if not isinstance(error.orig, sqlite3.OperationalError) or "decode" not in str(error.orig):
            raise
        return ChainReport(last, previous, f"an event after {last} holds text that is not UTF-8")
    return ChainReport(last, previous, _head_fault(head, last, previous) or _unseen(printed, seen))


def _rows(db: Connection) -> Generator[Fields, None, None]:
    """The fields as they are stored, so that not one byte can differ unnoticed."""
    raw_time = type_coerce(Event.at, Text) if db.dialect.name == "sqlite" else Event.at
    stored = select(
        Event.id,
        raw_time.label("at"),
        Event.kind,
        Event.job_id,
        Event.person_id,
        type_coerce(Event.payload, Text).label("payload"),
        Event.commit_key,
        Event.previous,
        Event.hash,
    ).order_by(Event.id)
    with db.execute(stored, execution_options={"yield_per": _PAGE_ROWS}) as rows:
        yield from rows


def _fault(row: Fields, last: int, previous: str) -> str | None:
    if row.id != last + 1:
        return f"event {last + 1} is missing" if row.id > last else f"event {row.id} is inserted"
    if row.previous != previous:
        before = f"event {last}'s" if last else "the chain's first"
        return f"event {row.id} does not carry {before} hash: one of the two was altered"
    fields = {name: value for name, value in row._mapping.items() if name != "hash"}
    try:
        stands = _hash({**fields, "at": _moment(row.at)}) == row.hash
    except (TypeError, ValueError):  # a type the column never holds
        stands = False
    return None if stands else f"event {row.id} was altered: it does not give its own hash"


def _head_fault(head: Fields | None, last: int, previous: str) -> str | None:
    if head is None:
        return "the head of the chain is missing"
    if head.event_id > last:
        return f"event {last + 1} is missing: the head names event {head.event_id} as the last"
    if head.event_id < last:
        return f"event {head.event_id + 1} was added past the head of the chain"
    return None if head.hash == previous else f"the head does not carry event {last}'s hash"


def _unseen(printed: str | None, seen: bool) -> str | None:
    if seen:
        return None
    return f"no event has the printed hash {printed}: events were lost or recomputed since"


def _hash(fields: dict[str, Any]) -> str:
    return hashlib.sha256(canonical(fields).encode()).hexdigest()


def _moment(at: datetime | str) -> str:
    """The time as hashed; SQLite gives it as the text it stores, in UTC without a zone."""
    if isinstance(at, str):
        return at.replace(" ", "T", 1) + "Z"
    return at.astimezone(UTC).replace(tzinfo=None).isoformat("T", "microseconds") + "Z"
