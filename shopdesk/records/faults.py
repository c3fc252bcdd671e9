"""What a database's error means, in one sentence: what is wrong, what was not done, what to do."""

import errno
import re
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import urlsplit

from sqlalchemy import make_url
from sqlalchemy.exc import DBAPIError, SQLAlchemyError
from sqlalchemy.exc import TimeoutError as PoolTimeout

from shopdesk import settings
from shopdesk.errors import BadInput, RecordFault, ShopError, Unreachable

_NEARLY_FULL_BYTES = 256 * 1024

_SQLITE = {
    sqlite3.SQLITE_BUSY: "{where} is locked by another program and nothing was written; close "
    "what holds it (a backup, a database browser, a stopped terminal), then try again.",
    sqlite3.SQLITE_READONLY: "{where} may be read but not written, so nothing was recorded; give "
    "this account permission to write the file and its folder.",
    sqlite3.SQLITE_FULL: "The disk that holds {where} is full, so nothing was recorded; free some "
    "space, then try again.",
    sqlite3.SQLITE_CORRUPT: "{where} is damaged ({detail}) and nothing was written; keep the file "
    "as it is and go back to the last backup.",
    sqlite3.SQLITE_NOTADB: "{where} is not a SQLite database; name the shop's own file.",
    sqlite3.SQLITE_CANTOPEN: "{where} cannot be opened ({detail}); see that it and its folder are "
    "there and open to this account.",
    sqlite3.SQLITE_IOERR: "The disk failed while {where} was in use ({detail}), and nothing was "
    "recorded; look after the disk before going on.",
}
_SQLITE[sqlite3.SQLITE_LOCKED] = _SQLITE[sqlite3.SQLITE_BUSY]
_SQLITE[sqlite3.SQLITE_PERM] = _SQLITE[sqlite3.SQLITE_READONLY]

_POSTGRESQL = {  # by SQLSTATE, or its class of two letters; PostgreSQL manual, appendix A
    "08": "The connection to {where} was lost and nothing was recorded; try again.",
    "25006": "{where} may be read but not written (a standby or a read-only database), so nothing "
    "was recorded; name the main server.",
    "25P03": "{where} ended a transaction that stood open too long; nothing was recorded.",
    "28": "{where} does not let this user in: the name or the password is wrong.",
    "3D000": "{where} does not exist on that server; create it there (createdb), then "
    "`shopdesk db create`.",
    "40": "Other terminals kept changing the same rows of {where}; nothing was recorded, try "
    "again.",
    "42501": "This user may not do that in {where} ({detail}); let the database's owner grant it.",
    "42P01": "{where} lacks a table of the record ({detail}); it is no whole shopdesk record.",
    "53100": "The disk of {where} is full, so nothing was recorded; free some space, then try "
    "again.",
    "53300": "{where} has no connection left for another terminal; close one, then try again.",
    "55P03": "Another terminal holds the same rows of {where} for too long; nothing was recorded, "
    "try again.",
    "57P": "{where} is stopping or starting; nothing was recorded, try again in a moment.",
    "XX001": "{where} is damaged ({detail}) and nothing was written; go back to the last backup.",
    "XX002": "{where} is damaged ({detail}) and nothing was written; go back to the last backup.",
}

_REFUSED_AT_THE_DOOR = (  # a connection that never stood has no SQLSTATE, only the server's words
    (r"authentication failed|no password supplied|no pg_hba\.conf entry", "28"),
    (r'role ".*" (does not exist|is not permitted)', "28"),
    (r'database ".*" does not exist', "3D000"),
    (r"too many (clients|connections)|remaining connection slots", "53300"),
    (r"starting up|shutting down|recovery mode|not currently accepting connections", "57P"),
)
MOVED = "it was moved to "
"""How a record that was moved away refuses an event (``closing``)."""
_MOVED = (
    "{where} is not the shop any more: {detail}. Nothing was recorded; open that one at this "
    "terminal."
)
_OTHER = "{where} could not be used ({detail}); nothing was recorded."
_NO_ANSWER = "{where} does not answer ({detail}); see that the server runs and can be reached."

_FAILURES = ("OperationalError", "InterfaceError", "InternalError")
_RETRIED = ("40001", "40P01", "55P03", "57P")


class Unsettled(RecordFault):
    """The connection broke while COMMIT was on its way: it may or may not have been recorded."""


@contextmanager
def guarded(url: str, *, files: bool = False) -> Iterator[None]:
    """Turns what the database raises inside into one sentence. A broken constraint and a mistake
    in a statement are not the database's fault and pass as they are. With ``files`` the system's
    own errors count too: nothing but the database's files is touched inside."""
    try:
        yield
    except (SQLAlchemyError, sqlite3.Error, OSError, UnicodeEncodeError, OverflowError) as error:
        if not (files if isinstance(error, OSError) else _is_fault(error)):
            raise
        raise translate(error, url) from error


def translate(error: Exception, url: str) -> ShopError:
    """``error`` as a sentence about the database at ``url``, whose password is never shown."""
    found = _driver_error(error)
    if _is_typed_too_long(found):
        return BadInput(
            "Something typed is too long, too large or holds a character that cannot be recorded; "
            "nothing was recorded."
        )
    pattern = _pattern(found, url)
    kind = Unreachable if lost(error) else RecordFault
    return kind(pattern.format(where=where(url), detail=_detail(found, url)))


def where(url: str) -> str:
    """The database's name in a sentence: the file's path, or the database and its host."""
    if url.startswith("sqlite"):
        return url.removeprefix("sqlite:///")
    parts = urlsplit(settings.redacted(url))
    name, host = parts.path.lstrip("/") or "(unnamed)", parts.hostname or "this computer"
    return f'the PostgreSQL database "{name}" on {host}'


def lost(error: BaseException) -> bool:
    """Whether the connection is gone, or could not be made for now."""
    found = _driver_error(error)
    if isinstance(error, DBAPIError) and error.connection_invalidated:
        return True
    if not _is_postgresql(found) or not _is_any(found, *_FAILURES):
        return False
    state = _sqlstate(found)
    return state == "" or state[:2] == "08" or state[:3] == "57P"


def transient(error: BaseException) -> bool:
    """Whether the same work, run again from its beginning, may succeed."""
    found = _driver_error(error)
    if isinstance(found, sqlite3.OperationalError):
        return _sqlite_code(found) == sqlite3.SQLITE_BUSY
    return lost(error) or (_is_postgresql(found) and _sqlstate(found).startswith(_RETRIED))


def _driver_error(error: BaseException) -> BaseException:
    return error.orig if isinstance(error, DBAPIError) and error.orig else error


def _is_postgresql(found: BaseException) -> bool:
    return type(found).__module__.partition(".")[0] == "psycopg" and hasattr(found, "sqlstate")


def _sqlstate(found: BaseException) -> str:
    state = getattr(found, "sqlstate", None)
    if state:
        return str(state)
    return next((code for sign, code in _REFUSED_AT_THE_DOOR if re.search(sign, str(found))), "")


def _sqlite_code(found: BaseException) -> int:
    return int(getattr(found, "sqlite_errorcode", 0)) & 0xFF


def _is_typed_too_long(found: BaseException) -> bool:
    if isinstance(found, UnicodeEncodeError):
        return True
    if isinstance(found, OverflowError):
        return "Python int too large" in str(found)
    return _is_postgresql(found) and _is_any(found, "DataError")


def _is_any(found: BaseException, *names: str) -> bool:
    """By name, so that the driver of the other database is not imported."""
    return any(kind.__name__ in names for kind in type(found).__mro__)


def _is_fault(error: Exception) -> bool:
    found = _driver_error(error)
    if isinstance(found, PoolTimeout) or _is_typed_too_long(found):
        return True
    if MOVED in str(found):
        return True
    if isinstance(found, sqlite3.Error):
        if _sqlite_code(found) == sqlite3.SQLITE_ERROR:
            return "no such table" in str(found)
        return _sqlite_code(found) in _SQLITE or isinstance(found, sqlite3.OperationalError)
    if not _is_postgresql(found):
        return False
    state = _sqlstate(found)
    if state == "25P02":  # going on after a failed statement is a mistake in a program
        return False
    return _by_state(state) is not None or _is_any(found, *_FAILURES)


def _by_state(state: str) -> str | None:
    return next(
        (_POSTGRESQL[key] for key in (state, state[:3], state[:2]) if key in _POSTGRESQL), None
    )


def _pattern(found: BaseException, url: str) -> str:
    if isinstance(found, TimeoutError):
        return _SQLITE[sqlite3.SQLITE_BUSY]
    if isinstance(found, PoolTimeout):
        return "Too much is being done in {where} at once; nothing was recorded, try again."
    if isinstance(found, OSError):
        return _system_pattern(found)
    if MOVED in str(found):
        return _MOVED
    if isinstance(found, sqlite3.Error):
        code = _sqlite_code(found)
        if code == sqlite3.SQLITE_IOERR and _disk_is_full(url):
            code = sqlite3.SQLITE_FULL
        return _SQLITE.get(code, _OTHER)
    return _by_state(_sqlstate(found)) or (_NO_ANSWER if lost(found) else _OTHER)


def _system_pattern(error: OSError) -> str:
    if error.errno in (errno.ENOSPC, errno.EDQUOT):
        return _SQLITE[sqlite3.SQLITE_FULL]
    if error.errno in (errno.EACCES, errno.EPERM, errno.EROFS):
        return _SQLITE[sqlite3.SQLITE_READONLY]
    return _SQLITE[sqlite3.SQLITE_CANTOPEN]


def _disk_is_full(url: str) -> bool:
    try:
        return shutil.disk_usage(Path(where(url)).parent).free < _NEARLY_FULL_BYTES
    except OSError:
        return False


def _detail(found: BaseException, url: str) -> str:
    if isinstance(found, OSError) and found.strerror:
        return found.strerror
    first = next(iter(str(found).strip().splitlines()), type(found).__name__)
    return without_secrets(first, url)[:200].rstrip(".")


def without_secrets(said: str, url: str) -> str:
    """What a database or its tools said, fit for a screen."""
    for secret in _secrets(url):
        said = said.replace(secret, "***")
    return said


def _secrets(url: str) -> tuple[str, ...]:
    if url.startswith("sqlite"):
        return ()
    read = make_url(url)
    given = (read.password, read.query.get("password"))
    return tuple(str(secret) for secret in given if secret)
