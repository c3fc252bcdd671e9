"""What stands in the sample shop today: a job in every section, and the awkward ones."""

from collections.abc import Iterator, Sequence
from datetime import UTC, datetime, timedelta

import pytest
from sqlalchemy import Connection, select

from shopdesk.procedure import SECTIONS, Wait
from shopdesk.records.engine import Record
from shopdesk.records.tables import Customer, Job, WorkOrder
from shopdesk.rules.waiting import waiting
from shopdesk.views import board, ordering, sheets, stores
from tests.fixtures_sample import SAMPLE_DAY

NOW = datetime(SAMPLE_DAY.year, SAMPLE_DAY.month, SAMPLE_DAY.day, 8, tzinfo=UTC)


@pytest.fixture
def db(sample_to_read: Record) -> Iterator[Connection]:
    with sample_to_read.read() as connection:
        yield connection


@pytest.fixture
def floor(db: Connection) -> Sequence[board.JobRow]:
    return board.floor(db)


def test_a_job_stands_in_every_section(floor: Sequence[board.JobRow]) -> None:
    assert set(SECTIONS) <= {job.stage for job in floor}


def test_the_row_of_each_open_job_says_what_its_sheet_says(
    db: Connection, floor: Sequence[board.JobRow]
) -> None:
    for job in floor:
        view = sheets.load(db, job.number, NOW)
        says = waiting(view.sheet)
        assert (job.stage, job.waiting_for, job.waiting_on) == (
            view.sheet.stage,
            says.reason,
            says.owner,
        )


def test_one_waits_for_its_quote_and_one_for_the_answer(
    db: Connection, floor: Sequence[board.JobRow]
) -> None:
    decision = {job.waiting_for: job.waiting_on for job in floor if job.stage == "decision"}
    assert decision["quote to make"] == "office"
    assert decision["customer's answer to the quote"] == "customer"
    assert len(board.quotes_open(db)) == 1


def test_one_is_overdue(floor: Sequence[board.JobRow]) -> None:
    assert any(job.promised_on < SAMPLE_DAY for job in floor)


def test_one_waits_for_a_part_that_is_on_the_order_list(
    db: Connection, floor: Sequence[board.JobRow]
) -> None:
    short = [job for job in floor if job.waiting_for.startswith("part short: ")]
    assert [job.waiting_on for job in short] == ["stores"]
    part = short[0].waiting_for.removeprefix("part short: ")
    to_order = {row.part: row for row in ordering.to_order(db, SAMPLE_DAY)}
    assert f"J-{short[0].number}" in to_order[part].why
    assert stores.parts(db, SAMPLE_DAY, part)[0].on_hand == 0


def test_gas_nobody_has_measured_stands_on_top_of_the_floor(
    floor: Sequence[board.JobRow],
) -> None:
    unknown = [job for job in floor if job.gas_state == "unknown"]
    assert {job.stage for job in unknown} >= {"receipt", "vent"}
    assert floor[0].gas_state in ("unknown", "charged")


def test_one_is_in_quarantine_and_one_on_its_way_home_declined(
    floor: Sequence[board.JobRow],
) -> None:
    roads = {job.road: job for job in floor}
    assert roads["quarantined"].stage == "quarantined"
    assert roads["declined"].stage == "declined"


def test_a_hold_is_running(db: Connection, floor: Sequence[board.JobRow]) -> None:
    job = next(job for job in floor if job.stage == "hold")
    cursor = sheets.load(db, job.number, NOW).sheet.cursor
    assert cursor is not None
    assert isinstance(cursor.line, Wait)
    over = cursor.given["started"].at + timedelta(seconds=cursor.line.duration.value_si)
    assert cursor.given["started"].at < NOW < over
    assert job.gas_state == "charged"


def test_of_one_order_one_unit_has_left_and_the_other_is_here(db: Connection) -> None:
    rows = db.execute(
        select(WorkOrder.reference, Customer.code, Job.closed_at)
        .join(Job, Job.work_order_id == WorkOrder.id)
        .join(Customer, Customer.id == WorkOrder.customer_id)
    ).all()
    assert len({(row.reference, row.code) for row in rows}) == 1
    assert sorted(row.closed_at is None for row in rows) == [False, True]


def test_nothing_is_dated_after_the_day_begins(db: Connection) -> None:
    midnight = NOW.replace(hour=0)
    opened = db.execute(select(Job.opened_at, Job.waiting_since)).all()
    assert all(row.opened_at < midnight and row.waiting_since < midnight for row in opened)
