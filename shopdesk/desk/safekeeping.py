"""The shop's daily copy of its record: taken once a day, the old ones let go."""

import fcntl
import os
import re
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, datetime, timedelta
from pathlib import Path

from shopdesk.desk.shop import Shop
from shopdesk.errors import NotFound
from shopdesk.records import copies, filecopy
from shopdesk.records.copies import Copied
from shopdesk.records.filecopy import Progress
from shopdesk.rules.shop import Keeping
from shopdesk.views import documents


def daily(shop: Shop, folder: Path, progress: Progress) -> Copied | None:
    """Takes the day's copy where it is due, by the shop's own rules, and lets those go that are
    older than the shop keeps them. None: the day has its copy, another terminal is at it, or the
    shop's rules ask for none. Nothing is let go while the record's own chain is broken."""
    with shop.read() as db:
        try:
            keeping = documents.rules(db).keeping
        except NotFound:  # a record without a shop yet
            return None
    if keeping is None:
        return None
    day = due(keeping, shop.clock().astimezone())
    url = shop.record.url
    target = folder / f"{copies.stem(url)}-daily-{day}{copies.ending(url)}"
    if target.exists():
        return None
    with filecopy.kept_in(folder), _alone(folder) as alone:
        if not alone or target.exists():
            return None
        taken = copies.take(url, target, progress)
        if taken.chain_fault is None:
            for old in outdated(folder, url, day - timedelta(days=keeping.days)):
                old.unlink(missing_ok=True)
        return taken


def due(keeping: Keeping, now: datetime) -> date:
    """The last day whose copy should be there, by the shop's own clock."""
    return now.date() if now.hour >= keeping.hour else now.date() - timedelta(days=1)


def outdated(folder: Path, url: str, before: date) -> list[Path]:
    """Daily copies of this record from days before ``before``; nothing else in the folder."""
    named = re.compile(
        re.escape(copies.stem(url)) + r"-daily-(\d{4}-\d\d-\d\d)" + re.escape(copies.ending(url))
    )
    found = ((path, named.fullmatch(path.name)) for path in sorted(folder.iterdir()))
    return [path for path, name in found if name and date.fromisoformat(name[1]) < before]


@contextmanager
def _alone(folder: Path) -> Iterator[bool]:
    """Whether no other terminal of this computer is at it."""
    descriptor = os.open(folder / ".lock", os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o600)
    try:
        try:
            fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            yield False
        else:
            yield True
    finally:
        os.close(descriptor)
