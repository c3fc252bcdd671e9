"""Every row of a record carried into an empty one, keys and bytes as they are.

What it brings is verified before it is committed; cut off in the middle, it leaves the target as
empty as it was, and may simply be begun again.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import islice
from typing import Any

from sqlalchemy import (
    Column,
    Connection,
    Table,
    Text,
    bindparam,
    func,
    insert,
    select,
    type_coerce,
    update,
)

from shopdesk import settings
from shopdesk.errors import RecordFault
from shopdesk.records import chain, closing, faults, migrate, witness
from shopdesk.records.engine import open_record
from shopdesk.records.filecopy import Progress
from shopdesk.records.tables import Base, ChainHead
from shopdesk.records.tables.base import JsonText

TABLES: Sequence[Table] = Base.metadata.sorted_tables
"""Parents before their children."""

_BATCH = 1000
Values = Sequence[Any]
Giving = Callable[[Table], Iterable[Values]]


@dataclass(frozen=True, slots=True)
class Carried:
    """``rows`` in all tables; ``head`` is the hash of the last of ``events``."""

    rows: int
    events: int
    head: str


def move(
    source_url: str, target_url: str, progress: Progress, *, keep_open: bool = False
) -> Carried:
    """The whole record at ``source_url`` into the one at ``target_url``, which is made where there
    is none and must be empty. Deeds at the source wait meanwhile, and are refused from then on:
    what it holds stays as it is. ``keep_open``: it goes on as a shop of its own."""
    source_url, target_url = settings.database_url(source_url), settings.database_url(target_url)
    if source_url == target_url:
        raise RecordFault("The record cannot be moved onto itself; name another place for it.")
    source = open_record(source_url)
    try:
        with source.write() as old:
            if source.dialect == "postgresql":
                old.exec_driver_sql("SET LOCAL idle_in_transaction_session_timeout = 0")
            _, head = chain.lock(old)
            counted = counts(old)
            done = bring(target_url, lambda table: rows(old, table), counted, head, progress)
            if not keep_open and not closing.moved(old):
                closing.close(old, faults.where(target_url), datetime.now().date())
            return done
    finally:
        source.close()


def bring(
    url: str, giving: Giving, counted: Mapping[str, int], head: str, progress: Progress
) -> Carried:
    """Fills the empty record at ``url`` and commits only what is whole: as many rows as
    ``counted`` says, a chain that stands and ends in ``head``, rows as it tells them."""
    migrate.create(url, exist_ok=True)
    open_record(url).close()  # refuses another revision
    with faults.guarded(url), migrate.connection(url) as db, db.begin():
        _require_empty(db, url)
        _pour(db, giving, counted, progress)
        progress("Verifying", 0.95)
        migrate.check_foreign_keys(db)
        _compare(counts(db), counted)
        report = chain.verify(db)
        if report.broken is not None or report.head != head:
            why = report.broken or "it ends in another hash"
            raise RecordFault(f"The chain of events does not stand: {why}; nothing was carried.")
        if (changed := witness.fault(db)) is not None:
            raise RecordFault(f"The chain of events stands, but {changed}; nothing was carried.")
        progress("Verified", 1.0)
        return Carried(sum(counted.values()), report.rows, report.head)


def rows(db: Connection, table: Table) -> Iterator[Values]:
    """In the order of their keys; JSON as the text it is stored as."""
    stored = [_stored(column) for column in table.columns]
    asked = select(*stored).order_by(*table.primary_key)
    with db.execute(asked, execution_options={"yield_per": _BATCH}) as found:
        yield from found


def counts(db: Connection) -> dict[str, int]:
    return {
        table.name: db.execute(select(func.count()).select_from(table)).scalar_one()
        for table in TABLES
    }


def _stored(column: Column[Any]) -> Any:
    if isinstance(column.type, JsonText):
        return type_coerce(column, Text).label(column.name)
    return column


def _require_empty(db: Connection, url: str) -> None:
    for name, found in counts(db).items():
        if found and name != ChainHead.__tablename__:
            raise RecordFault(
                f'{faults.where(url)} is not empty ({found} rows in "{name}"); name an empty '
                "database or a new file."
            )


def _pour(db: Connection, giving: Giving, counted: Mapping[str, int], progress: Progress) -> None:
    done, total = 0, sum(counted.values()) or 1
    for table in TABLES:
        names = [column.name for column in table.columns]
        for batch in _batches(giving(table)):
            values = [dict(zip(names, row, strict=True)) for row in batch]
            if table is ChainHead.__table__:
                db.execute(update(table), values)
            else:
                db.execute(_adding(table), values)
            done += len(batch)
            progress(f"Carrying {table.name}", 0.9 * done / total)
    if db.dialect.name == "postgresql":
        _number_on(db)


def _adding(table: Table) -> Any:
    raw = [column.name for column in table.columns if isinstance(column.type, JsonText)]
    return insert(table).values({name: bindparam(name, type_=Text) for name in raw})


def _batches(given: Iterable[Values]) -> Iterator[Sequence[Values]]:
    walking = iter(given)
    while batch := list(islice(walking, _BATCH)):
        yield batch


def _number_on(db: Connection) -> None:
    """PostgreSQL's counters go on after the highest key."""
    for table in TABLES:
        named = db.execute(select(func.pg_get_serial_sequence(f'"{table.name}"', "id"))).scalar()
        if named is not None:
            last = db.execute(select(func.coalesce(func.max(table.c.id), 0))).scalar_one()
            db.execute(select(func.setval(named, last + 1, False)))


def _compare(found: Mapping[str, int], expected: Mapping[str, int]) -> None:
    for name, count in expected.items():
        if found.get(name) != count:
            raise RecordFault(
                f'{found.get(name, 0)} rows of "{name}" arrived, {count} were expected; nothing '
                "was carried."
            )
