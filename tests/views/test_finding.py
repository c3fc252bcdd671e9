"""Finding in a grown shop, held against a plain look through all of its rows in Python."""

from collections.abc import Iterator

import pytest
from sqlalchemy import insert, update

from shopdesk.records.engine import Record, open_record
from shopdesk.records.finding import units_with
from shopdesk.records.tables import Customer, Unit, UnitModel
from shopdesk.views import finding
from shopdesk.views.board import JOBS, JobRow, job_rows

LIMIT = 50


@pytest.fixture(scope="module", params=["sqlite", "postgresql"])
def grown(request: pytest.FixtureRequest) -> Iterator[Record]:
    record = open_record(request.getfixturevalue(f"grown_{request.param}"))
    yield record
    record.close()


def plain(record: Record) -> list[JobRow]:
    with record.read() as db:
        return sorted(job_rows(db, JOBS), key=lambda job: -job.number)


def fits(job: JobRow, text: str) -> bool:
    """Three signs up anywhere in the serial, fewer at its beginning; a tag from its beginning."""
    words = text.strip().casefold()
    key = "".join(sign for sign in text.upper() if sign.isalnum())
    serial = "".join(sign for sign in job.serial.upper() if sign.isalnum())
    tag = words.removeprefix("j-")
    return (
        words in job.customer.casefold()
        or words in job.model.casefold()
        or (bool(key) and (key in serial if len(key) >= 3 else serial.startswith(key)))
        or (tag.isdigit() and not tag.startswith("0") and str(job.number).startswith(tag))
    )


@pytest.mark.parametrize(
    "text", ["007", "K0-0", "2-0", "K", "K1", "dredg", "dredging 00", "PA-0", "j-12", "1", "%", "_"]
)
def test_what_fits_is_found_open_ones_first(grown: Record, text: str) -> None:
    every = plain(grown)
    fitting = [job for job in every if fits(job, text)]
    fitting.sort(key=lambda job: (job.closed_at is not None, -job.number))
    with grown.read() as db:
        found = finding.find(db, text, LIMIT)
    assert [job.number for job in found] == [job.number for job in fitting[:LIMIT]]


def test_nothing_finds_nothing(grown: Record) -> None:
    with grown.read() as db:
        assert list(finding.find(db, "  ")) == []
        assert list(finding.find(db, 'no such "thing"')) == []


def test_a_changed_serial_is_found_by_its_new_pieces(record: Record) -> None:
    """SQLite's trigrams follow the unit by triggers."""
    with record.write() as db:
        db.execute(insert(UnitModel).values(id=1, code="M-1", name="M"))
        db.execute(insert(Customer).values(id=1, code="C", name="C", name_key="c"))
        db.execute(
            insert(Unit).values(
                id=5, unit_model_id=1, serial="AB-123", serial_key="AB123", customer_id=1
            )
        )
    with record.write() as db:
        assert list(units_with(db, "B12", 9)) == [5]
        db.execute(update(Unit).values(serial="AB-129", serial_key="AB129"))
    with record.read() as db:
        assert list(units_with(db, "123", 9)) == []
        assert list(units_with(db, "129", 9)) == [5]
