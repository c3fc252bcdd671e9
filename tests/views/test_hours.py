"""What open jobs cost in hours nobody recorded, held against a plain walk through every answer."""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from datetime import datetime

import pytest
from sqlalchemy import Connection, select

from shopdesk.records.engine import Record, open_record
from shopdesk.records.tables import Entry, Job, JobCost, Reopening
from shopdesk.views import costs, documents


@pytest.fixture(scope="module", params=["sqlite", "postgresql"])
def grown(request: pytest.FixtureRequest) -> Iterator[Record]:
    record = open_record(request.getfixturevalue(f"grown_{request.param}"))
    yield record
    record.close()


def plain(db: Connection, longest_min: float) -> Mapping[int, Mapping[str, float]]:
    """Minutes by job and section: since the same person's last answer on any job of the shop."""
    rows = db.execute(
        select(Entry.person_id, Entry.at, Entry.job_id, Entry.line).order_by(Entry.at, Entry.id)
    )
    last: dict[int, datetime] = {}
    minutes: dict[int, dict[str, float]] = defaultdict(lambda: defaultdict(float))
    for person, at, job, line in rows:
        gap = (at - last[person]).total_seconds() / 60 if person in last else longest_min + 1
        last[person] = at
        if gap <= longest_min:
            minutes[job][line.split(".")[0]] += gap
    return minutes


def test_hours_nobody_recorded_are_since_the_same_persons_last_answer(grown: Record) -> None:
    with grown.read() as db:
        labour = documents.rules(db).labour
        found = {one.job: one.labour_cents for one in costs.in_work(db)}
        minutes = plain(db, labour.longest_gap_min)
        jobs = db.execute(select(Job.id, Job.number).where(Job.closed_at.is_(None))).all()
        other = {*db.execute(select(JobCost.job_id)).scalars()}
        other |= {*db.execute(select(Reopening.job_id)).scalars()}  # what is done over stands apart
    compared = [(row.id, found[f"J-{row.number}"]) for row in jobs if row.id not in other]
    assert len(compared) > 150
    assert sum(cents for _, cents in compared) > 0
    for job, cents in compared:
        expected = sum(spent / 60 * labour.cents_in(name) for name, spent in minutes[job].items())
        assert cents == pytest.approx(expected, abs=len(minutes[job]))  # each section is rounded
