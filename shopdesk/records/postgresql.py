"""What only PostgreSQL has: its sessions' settings, and how a dead connection is noticed.

Writing is READ COMMITTED with row locks taken by the statements; reading is REPEATABLE READ and
read only, so that one screen's statements see one state, as a read of SQLite does.
"""

import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, Literal

from sqlalchemy import ColumnElement, Engine, Select, create_engine, event, make_url, select
from sqlalchemy.exc import DisconnectionError, OperationalError, SQLAlchemyError

from shopdesk.errors import RecordFault
from shopdesk.records.tables import Unit

_IDLE_S = 5.0
_SESSION = {  # libpq's, unless the address says otherwise
    "connect_timeout": "5",
    "application_name": "shopdesk",
    "keepalives_idle": "10",
    "keepalives_interval": "3",
    "keepalives_count": "3",
    "tcp_user_timeout": "15000",
    "options": "-c timezone=UTC -c lock_timeout=10s -c idle_in_transaction_session_timeout=60s",
}
_DURABLE = (  # an acknowledged entry survives a power cut, whatever the server's own setting
    "SELECT set_config('synchronous_commit', 'on', false)"
    " WHERE current_setting('synchronous_commit') = 'off'"
)


class PostgresServer:
    """One PostgreSQL database that holds a record."""

    dialect: Literal["postgresql"] = "postgresql"

    def __init__(self, url: str) -> None:
        self._url = url
        self.writing = engine_for(url)
        self.reading = self.writing.execution_options(
            isolation_level="REPEATABLE READ", postgresql_readonly=True
        )
        self._ear: Any = None
        self._listening = threading.Lock()
        self._told = 0

    @contextmanager
    def turn(self, patience_s: float) -> Iterator[None]:
        """Writers queue at the rows they lock."""
        yield

    def ready(self, patience_s: float) -> None:
        asked = (
            "SELECT pg_is_in_recovery() OR current_setting('default_transaction_read_only')::bool"
        )
        with self.reading.connect() as db:
            if db.exec_driver_sql(asked).scalar_one():
                raise RecordFault(
                    f'The PostgreSQL database "{make_url(self._url).database}" may be read but not '
                    "written (a standby or a read-only database); name the main server."
                )

    def revision(self) -> str | None:
        with self.reading.connect() as db:
            if db.exec_driver_sql("SELECT to_regclass('alembic_version')").scalar_one() is None:
                return None
            rows = db.exec_driver_sql("SELECT version_num FROM alembic_version")
            return str(found) if (found := rows.scalar()) is not None else None

    def mark(self) -> int:
        """Counts what the server has told of: deeds, and each time listening began anew. Asking
        costs no statement, only a look at what has arrived."""
        with self._listening:
            try:
                if self._ear is None:
                    self._ear = self._listen()
                    self._told += 1
                self._told += len(list(self._ear.notifies(timeout=0)))
            except Exception as error:
                self._stop_listening()
                if isinstance(error, SQLAlchemyError):
                    raise
                raise OperationalError("LISTEN", None, error) from error
            return self._told

    def _listen(self) -> Any:
        """A connection outside the pool."""
        taken = self.writing.raw_connection()
        ear: Any = taken.driver_connection
        taken.detach()
        ear.autocommit = True
        ear.execute("LISTEN record_changed")
        return ear

    def _stop_listening(self) -> None:
        if self._ear is not None:
            self._ear.close()
            self._ear = None

    def close(self) -> None:
        with self._listening:
            self._stop_listening()
        self.writing.dispose()


def engine_for(url: str) -> Engine:
    """An engine whose connections are durable and notice when they are dead."""
    given = make_url(url).query
    engine = create_engine(
        url,
        isolation_level="READ COMMITTED",
        connect_args={name: value for name, value in _SESSION.items() if name not in given},
        pool_timeout=_IDLE_S,
    )
    event.listen(engine, "connect", _connected)
    event.listen(engine, "checkin", _returned)
    event.listen(engine, "checkout", _taken)
    return engine


def _connected(connection: Any, entry: Any) -> None:
    autocommit, connection.autocommit = connection.autocommit, True
    connection.execute(_DURABLE)
    connection.autocommit = autocommit
    entry.info["returned"] = time.monotonic()


def _returned(_connection: Any, entry: Any) -> None:
    entry.info["returned"] = time.monotonic()


def _taken(connection: Any, entry: Any, _proxy: Any) -> None:
    """A connection that lay idle is asked whether it lives; a busy one is spared the question."""
    if time.monotonic() - entry.info.get("returned", 0.0) < _IDLE_S:
        return
    try:
        connection.execute("SELECT 1")
        connection.rollback()
    except Exception as error:
        raise DisconnectionError("the connection died while it lay idle") from error


def starts(column: ColumnElement[str], key: str) -> ColumnElement[bool]:
    return column.like(f"{key}%")


def units_with(key: str, limit: int) -> Select[Any]:
    """Ids of units, the newest first, whose serial key holds ``key`` (three letters or digits up).
    MATERIALIZED: else the limit lures the planner into walking all units from the newest."""
    found = (
        select(Unit.id)
        .where(Unit.serial_key.like(f"%{key}%"))
        .cte("found")
        .prefix_with("MATERIALIZED", dialect="postgresql")
    )
    return select(found.c.id).order_by(found.c.id.desc()).limit(limit)
