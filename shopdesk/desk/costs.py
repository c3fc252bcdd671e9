"""Costs of a job that stock does not know: hours, outside work, freight."""

import re

from sqlalchemy import insert, select

from shopdesk.desk.shop import Deed, Shop
from shopdesk.errors import BadInput, NotFound
from shopdesk.procedure import SECTIONS
from shopdesk.records.tables import Job, JobCost

_HOURS = re.compile(r"(-?)(?:(\d{1,3})(?:[.,](\d{1,2}))?\s*h?|(\d{1,3}):([0-5]\d)|(\d{1,4})\s*min)")


def record_hours(
    shop: Shop, who: str, number: int, section: str, hours: str, *, rework: bool = False
) -> str:
    """Hours worked in a section ("1.5", "1:30", "90 min"); they stand above the answers' times.
    A negative entry takes back a wrong one. Gives back what to say."""
    minutes = minutes_of(hours)
    if section not in SECTIONS:
        raise BadInput(f"read {section[:20]!r}, expected a section: {', '.join(SECTIONS)}")
    _record(shop, who, number, kind="labour", section=section, minutes=minutes, rework=rework)
    return f"J-{number}: {minutes} min recorded in {section}"


def record_bill(
    shop: Shop, who: str, number: int, kind: str, cents: int, note: str, *, rework: bool = False
) -> str:
    """Money paid for the job: ``kind`` is outside or freight. Negative takes a wrong one back."""
    if kind not in ("outside", "freight"):
        raise BadInput(f"read {kind[:20]!r}, expected outside or freight")
    if not cents:
        raise BadInput("a bill of nothing is none")
    if not note.strip():
        raise BadInput("whose bill is it, and for what?")
    _record(shop, who, number, kind=kind, cents=cents, note=note.strip(), rework=rework)
    return f"J-{number}: {kind} recorded"


def minutes_of(text: str) -> int:
    """ "1.5", "1.5 h", "1:30" and "90 min" are 90. Raises BadInput."""
    found = _HOURS.fullmatch(text.strip())
    if found is None:
        raise BadInput(f"read {text.strip()[:20]!r}, expected hours such as 1.5, 1:30 or 90 min")
    sign, hours, part, whole, rest, minutes = found.groups()
    if minutes is not None:
        total = int(minutes)
    elif whole is not None:
        total = int(whole) * 60 + int(rest)
    else:
        total = round(float(f"{hours}.{part or 0}") * 60)
    if not total:
        raise BadInput("no time is nothing to record")
    return -total if sign else total


def _record(
    shop: Shop,
    who: str,
    number: int,
    *,
    kind: str,
    rework: bool,
    section: str = "",
    minutes: int = 0,
    cents: int = 0,
    note: str = "",
) -> None:
    def work(deed: Deed) -> None:
        person = deed.worker(who, "record a cost")
        job_id = deed.db.execute(select(Job.id).where(Job.number == number)).scalar()
        if job_id is None:
            raise NotFound(f"no job J-{number}")
        values = {
            "kind": kind,
            "section": section,
            "minutes": minutes,
            "cents": cents,
            "rework": rework,
            "note": note,
        }
        deed.db.execute(
            insert(JobCost).values(job_id=job_id, person_id=person.id, at=deed.now, **values)
        )
        deed.event("cost", person, dict(values), job_id=job_id)

    shop.write(work)
