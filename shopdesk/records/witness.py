"""Whether the rows stand as the chain's events say: what ``chain`` cannot see, a changed row.

Every entry, stock or gas move, count, interchange, customer's answer, concession, reopening and
adopted document is written in the transaction of its own event, under the chain's lock. So the
rows of such a table and the events of its kind are two lists in one order, and are walked side by
side.
"""

import hashlib
import json
from collections.abc import Iterator, Mapping
from contextlib import ExitStack
from dataclasses import dataclass, field
from itertools import zip_longest
from typing import Any

from sqlalchemy import Connection, Row, Table, Text, case, func, select, type_coerce
from sqlalchemy import false as sql_false

from shopdesk.records.tables import (
    Approval,
    Base,
    Claim,
    Concession,
    CoreGrade,
    Entry,
    Event,
    GasMove,
    Interchange,
    InterchangeAnswer,
    JobCost,
    Lot,
    Part,
    ProcedureApproval,
    ProcedureMove,
    ProcedureRevision,
    Reopening,
    SetRow,
    ShopDocument,
    StockCount,
    StockMove,
)
from shopdesk.rules import ledger

_PAGE_ROWS = 1000


@dataclass(frozen=True, slots=True)
class Told:
    """Events of a ``kind`` and the table they tell of. ``named`` are payload keys with another
    name than their column, ``besides`` payload keys that are no column, ``person`` the column of
    the event's person."""

    kind: str
    rows: type[Base]
    named: Mapping[str, str] = field(default_factory=dict)
    besides: frozenset[str] = frozenset()
    person: str | None = "person_id"


TOLD = (
    Told("entry", Entry, {"entry": "id"}),
    Told("stock", StockMove, {"move": "id"}),
    Told("count", StockCount, {"count": "id"}),
    Told("interchange", Interchange, {"interchange": "id"}),
    Told("interchange answered", InterchangeAnswer, {"interchange": "interchange_id"}),
    Told("matched set", SetRow),
    Told("answer", Approval, {"quote": "quote_id"}),
    Told("concession", Concession, person="manager_id"),
    Told("reopening", Reopening),
    Told("claim", Claim),
    Told("cost", JobCost),
    Told("gas", GasMove, {"move": "id"}),
    Told("core judged", CoreGrade, {"deposit": "deposit_id"}),
    Told("document", ShopDocument, person=None),
    Told("procedure", ProcedureRevision, besides=frozenset({"model", "changed"})),
    Told(
        "procedure answered",
        ProcedureApproval,
        {"procedure": "procedure_revision_id"},
        frozenset({"model", "revision"}),
    ),
    Told(
        "procedure moved",
        ProcedureMove,
        {"from": "from_revision_id", "to": "to_revision_id"},
        frozenset({"was", "is"}),
    ),
)


def fault(db: Connection) -> str | None:
    """The first row that is not what its event says, or a figure that is not the ledger's sum, in
    words; None: all stand."""
    for told in TOLD:
        found = _first(db, told)
        if found is not None:
            return found
    return _figure(db, Part, StockMove.part_id) or _figure(db, Lot, StockMove.lot_id) or _mate(db)


def _first(db: Connection, told: Told) -> str | None:
    table = Base.metadata.tables[told.rows.__tablename__]
    with ExitStack() as stack:
        events = _walk(db, stack, _events(told.kind))
        rows = _walk(db, stack, select(*table.columns).order_by(table.c.id))
        for event, row in zip_longest(events, rows):
            if row is None:
                return f"the row of {table.name} that event {event.id} recorded is missing"
            if event is None:
                return f"row {row.id} of {table.name} was never recorded by an event"
            differs = _difference(told, table, event, row)
            if differs is not None:
                return (
                    f"row {row.id} of {table.name} is not what event {event.id} recorded: {differs}"
                )
    return None


def _events(kind: str) -> Any:
    payload = type_coerce(Event.payload, Text).label("payload")
    asked = select(Event.id, Event.at, Event.person_id, Event.job_id, payload)
    return asked.where(Event.kind == kind).order_by(Event.id)


def _walk(db: Connection, stack: ExitStack, asked: Any) -> Iterator[Row[Any]]:
    return iter(stack.enter_context(db.execute(asked, execution_options={"yield_per": _PAGE_ROWS})))


def _difference(told: Told, table: Table, event: Row[Any], row: Row[Any]) -> str | None:
    """The first column that differs."""
    said = {
        told.named.get(key, key): value
        for key, value in json.loads(event.payload).items()
        if key not in told.besides
    }
    said["at"] = event.at
    if "job_id" in table.c:
        said.setdefault("job_id", event.job_id)
    if told.person is not None:
        said[told.person] = event.person_id
    for name, value in said.items():
        if name not in table.c or getattr(row, name) != value:
            return str(name)
    if "document" in table.c and hashlib.sha256(row.document.encode()).hexdigest() != row.sha256:
        return "document"
    return None


def _figure(db: Connection, shelf: type[Part] | type[Lot], key: Any) -> str | None:
    """Parts and lots whose figures are not what the ledger's moves add up to."""
    beside = ledger.BESIDE if shelf is Part else ()
    change = case((StockMove.kind.in_(beside), 0), else_=StockMove.on_hand_change)
    hand = func.coalesce(func.sum(change), 0)
    promised = func.coalesce(func.sum(StockMove.reserved_change), 0)
    wrong = shelf.on_hand != hand
    if shelf is Part:
        wrong = wrong | (Part.reserved != promised)
    asked = (
        select(shelf.id, shelf.number)
        .outerjoin(StockMove, key == shelf.id)
        .group_by(shelf.id)
        .having(wrong)
        .order_by(shelf.id)
        .limit(1)
    )
    row = db.execute(asked).first()
    if row is None:
        return None
    return f"{shelf.__tablename__} {row.number} does not have what the ledger's moves add up to"


def _mate(db: Connection) -> str | None:
    """A lot that is marked otherwise than its newest row of a matched set says."""
    newest = select(func.max(SetRow.id)).group_by(SetRow.lot_id)
    asked = (
        select(Lot.number)
        .outerjoin(SetRow, (SetRow.lot_id == Lot.id) & SetRow.id.in_(newest))
        .where(
            (func.coalesce(SetRow.number, "") != Lot.set_number)
            | (func.coalesce(SetRow.broken, sql_false()) != Lot.set_broken)
        )
        .order_by(Lot.id)
        .limit(1)
    )
    number = db.execute(asked).scalar()
    return None if number is None else f"lot {number} is not of the matched set its events tell of"
