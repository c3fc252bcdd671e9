"""PostgreSQL's own tools: pg_dump's custom format out, pg_restore back.

The password goes to them in their environment, never in their arguments, which everybody on the
computer can see.
"""

import os
import subprocess
import tempfile
from collections.abc import Callable
from pathlib import Path

from sqlalchemy import make_url

from shopdesk.errors import RecordFault
from shopdesk.records import faults, filecopy
from shopdesk.records.filecopy import Progress

_LOOK_S = 0.2
_OURS = ("--no-owner", "--no-privileges")  # whoever puts it back owns it


def dump(url: str, target: Path, snapshot: str | None, progress: Progress) -> None:
    """The database into ``target``: as a transaction's exported ``snapshot`` sees it, or as it
    stands now. There whole, read through once, or not at all."""
    if target.exists():
        raise RecordFault(f"{target} is there already; name another file.")
    unfinished = target.with_name(target.name + ".unfinished")
    try:
        unfinished.unlink(missing_ok=True)
        os.close(os.open(unfinished, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
        seen = () if snapshot is None else (f"--snapshot={snapshot}",)
        words = ("pg_dump", "--format=custom", *_OURS, *seen, f"--file={unfinished}", _named(url))
        _run(words, url, lambda: progress(f"Dumping, {_megabytes(unfinished)}", 0.0))
        read_through(unfinished, url, progress)
        filecopy.put_in_place(unfinished, target)
    except BaseException:
        unfinished.unlink(missing_ok=True)
        raise


def read_through(path: Path, url: str, progress: Progress) -> None:
    """Unpacks every byte of a dump and throws it away: a torn file does not pass."""
    with path.open("rb") as file:
        if file.read(5) != b"PGDMP":  # pg_restore takes an empty file for an empty script
            raise RecordFault(f"{path} is no PostgreSQL dump; name a copy of this shop's record.")
    words = ("pg_restore", f"--file={os.devnull}", str(path))
    _run(words, url, lambda: progress("Checking the dump", 0.8), f"the copy {path}")


def load(path: Path, url: str, progress: Progress) -> None:
    """A dump into the empty database at ``url``, all of it or nothing."""
    words = ("pg_restore", "--single-transaction", "--exit-on-error", *_OURS, "--dbname")
    on = f"the copy {path}, into {faults.where(url)}"
    _run((*words, _named(url), str(path)), url, lambda: progress("Putting it back", 0.3), on)


def _run(words: tuple[str, ...], url: str, waiting: Callable[[], None], on: str = "") -> None:
    with tempfile.TemporaryFile() as said:
        try:
            tool = subprocess.Popen(words, env=_surroundings(url), stdout=said, stderr=said)
        except FileNotFoundError as error:
            raise RecordFault(
                f"{words[0]} is not on this computer; install PostgreSQL's client programs, of the "
                "server's version or newer."
            ) from error
        try:
            while not _ended(tool):
                waiting()
        except BaseException:
            tool.terminate()
            tool.wait()
            raise
        said.seek(0)
        lines = said.read().decode(errors="replace").strip().splitlines()
    if tool.returncode:
        first = faults.without_secrets(next(iter(lines), "no word"), url)
        where = on or faults.where(url)
        raise RecordFault(f"{words[0]} failed on {where}: {first[:300].rstrip('.')}.")


def _ended(tool: subprocess.Popen[bytes]) -> bool:
    try:
        tool.wait(_LOOK_S)
    except subprocess.TimeoutExpired:
        return False
    return True


def _named(url: str) -> str:
    """The address for libpq, without its password."""
    bare = make_url(url).set(drivername="postgresql").difference_update_query(["password"])
    return bare._replace(password=None).render_as_string(hide_password=False)


def _surroundings(url: str) -> dict[str, str]:
    read = make_url(url)
    secret = read.password or read.query.get("password")
    return {**os.environ, **({"PGPASSWORD": str(secret)} if secret else {})}


def _megabytes(path: Path) -> str:
    return f"{path.stat().st_size / 1e6:.1f} MB"
