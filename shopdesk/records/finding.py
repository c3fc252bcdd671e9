"""Serials by a part of them, by what each database is quick at."""

from collections.abc import Sequence

from sqlalchemy import ColumnElement, Connection

from shopdesk.records.tables import Unit

PIECE = 3
"""Shorter than this only the beginning of a serial is looked for."""


def serial_starts(db: Connection, key: str) -> ColumnElement[bool]:
    """The condition that a unit's serial key begins with ``key`` (capital letters and digits)."""
    if db.dialect.name == "sqlite":
        from shopdesk.records import sqlite

        return sqlite.starts(Unit.serial_key.expression, key)
    from shopdesk.records import postgresql

    return postgresql.starts(Unit.serial_key.expression, key)


def units_with(db: Connection, key: str, limit: int) -> Sequence[int]:
    """Ids of units, the newest first, whose serial key holds ``key``, ``PIECE`` signs or more."""
    if db.dialect.name == "sqlite":
        from shopdesk.records import sqlite

        return db.execute(sqlite.units_with(key, limit)).scalars().all()
    from shopdesk.records import postgresql

    return db.execute(postgresql.units_with(key, limit)).scalars().all()


def holds(db: Connection, column: ColumnElement[str], text: str) -> ColumnElement[bool]:
    """The condition that the text stands in the column, small letters and capitals alike (on
    SQLite those of ASCII, which its LIKE takes as one without being asked)."""
    if db.dialect.name == "sqlite":
        return column.contains(text, autoescape=True)
    return column.icontains(text, autoescape=True)
