"""A record that was moved away takes no more events: what a terminal left open there recorded on
would be in neither shop's future."""

import re
from datetime import date

from sqlalchemy import Connection

from shopdesk.errors import RecordFault
from shopdesk.records import faults

_NAME = "event_moved"
_SAID = re.compile(rf"{faults.MOVED}.* on [0-9]{{4}}-[0-9]{{2}}-[0-9]{{2}}")


def close(db: Connection, moved_to: str, on: date) -> None:
    """From the commit on the database itself refuses events, saying where the shop is."""
    said = f"{faults.MOVED}{moved_to} on {on.isoformat()}".replace("'", "''")
    if db.dialect.name == "sqlite":
        deed = f"SELECT RAISE(ABORT, '{said}')"
        db.exec_driver_sql(f"CREATE TRIGGER {_NAME} BEFORE INSERT ON event BEGIN {deed}; END")
        return
    told = said.replace("%", "%%")  # the driver halves them
    raised = f"RAISE EXCEPTION USING ERRCODE = 'read_only_sql_transaction', MESSAGE = '{told}'"
    db.exec_driver_sql(
        f"CREATE FUNCTION {_NAME}() RETURNS trigger LANGUAGE plpgsql"
        f" AS $moved$BEGIN {raised}; END$moved$"
    )
    db.exec_driver_sql(f"CREATE TRIGGER {_NAME} BEFORE INSERT ON event EXECUTE FUNCTION {_NAME}()")


def moved(db: Connection) -> str:
    """Where it went and when, as the database says it; "" for a record that takes events."""
    asked = {
        "sqlite": "SELECT sql FROM sqlite_master WHERE type = 'trigger' AND name = ",
        "postgresql": "SELECT p.prosrc FROM pg_trigger t JOIN pg_proc p ON p.oid = t.tgfoid"
        " WHERE t.tgrelid = 'event'::regclass AND t.tgname = ",
    }[db.dialect.name]
    text = db.exec_driver_sql(f"{asked}'{_NAME}'").scalar()
    said = None if text is None else _SAID.search(text)
    return said[0].replace("''", "'") if said else ""


def require_open(db: Connection, url: str) -> None:
    """Raises RecordFault for a record that was moved away."""
    if said := moved(db):
        raise RecordFault(
            f"{faults.where(url)} is not the shop any more: {said}. Open that one; only where it "
            "is given up, `shopdesk db reopen` takes entries here again."
        )


def reopen(db: Connection) -> bool:
    """Takes events again; False where it never was closed."""
    if not moved(db):
        return False
    on = "" if db.dialect.name == "sqlite" else " ON event"
    db.exec_driver_sql(f"DROP TRIGGER {_NAME}{on}")
    if db.dialect.name == "postgresql":
        db.exec_driver_sql(f"DROP FUNCTION {_NAME}()")
    return True
