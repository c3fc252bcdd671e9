"""Indexes in the words of one database, for making and comparing tables.

Not loaded with the mapped classes: each such word loads SQLAlchemy's whole part for PostgreSQL,
which somebody who opens a shop would wait for.
"""

from sqlalchemy import Index, text

from shopdesk.records.tables.jobs import Job, Unit

_OPEN = text("closed_at IS NULL")

Index("uq_job_open_unit", Job.unit_id, unique=True, sqlite_where=_OPEN, postgresql_where=_OPEN)
Index("ix_job_open_promised", Job.promised_on, sqlite_where=_OPEN, postgresql_where=_OPEN)
Index(  # SQLite's counterpart, the FTS5 table unit_pieces, stands in the migrations alone
    "ix_unit_serial_pieces",
    Unit.serial_key,
    postgresql_using="gin",
    postgresql_ops={"serial_key": "gin_trgm_ops"},
).ddl_if(dialect="postgresql")
