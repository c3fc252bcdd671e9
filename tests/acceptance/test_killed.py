"""The app as a process of its own in a terminal of its own, killed in the middle of a reading."""

import signal
import sys

import pytest
from sqlalchemy import select

from shopdesk.desk import drafts
from shopdesk.desk.shop import Shop
from shopdesk.records import chain
from shopdesk.records.engine import Record, open_record
from shopdesk.records.tables import Entry
from tests.acceptance.bore_job import job_at_the_bore
from tests.acceptance.own_terminal import OwnTerminal
from tests.acceptance.processes import open_sheet, opened, sign_in

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="needs a pseudo-terminal")

TERMINAL = "bench-1"


@pytest.fixture
def job(database_url: str) -> tuple[str, int]:
    return database_url, job_at_the_bore(database_url)


def entries(record: Record) -> list[tuple[str, str, str]]:
    with record.read() as db:
        rows = db.execute(
            select(Entry.line, Entry.slot, Entry.typed)
            .where(Entry.line == "teardown.bore")
            .order_by(Entry.id)
        )
        return [(row.line, row.slot, row.typed) for row in rows]


def first_two_and_a_half(t: OwnTerminal, number: int) -> None:
    """Signs in, opens the sheet, records two bore readings and types half of the third."""
    sign_in(t, "RT", "9046")
    open_sheet(t, number, "Bore, from the gas end", "Asks: at 20 mm, 0-180")
    t.type("K-01\r")
    t.until("K-01 in hand")
    t.type("40.012 mm\r")
    t.until("Asks: at 20 mm, 90-270")
    t.type("40.018 mm\r")
    t.until("Asks: at 65 mm, 0-180", "2 of 6")
    t.type("40.01")
    t.until("> 40.01")


def test_the_power_goes_between_two_readings(job: tuple[str, int]) -> None:
    url, number = job
    with opened(url, TERMINAL) as t:
        first_two_and_a_half(t, number)
        t.rest(0.6)  # a person looks up at the light
        t.kill(signal.SIGKILL)
    record = open_record(url)
    two = [("teardown.bore", "d1a1", "40.012 mm"), ("teardown.bore", "d1a2", "40.018 mm")]
    assert entries(record) == two
    with record.read() as db:
        assert chain.verify(db).broken is None
    with opened(url, TERMINAL) as t:
        t.type(f"J-{number}\r")
        t.until("2 of 6, last 40.018 mm", "Asks: at 65 mm, 0-180", "> 40.01")
        t.until("typed here and not recorded: 40.01. Enter records it")
        assert entries(record) == two  # offered, not guessed
        t.type("0 mm\r")
        t.until("Who stands at this terminal?")
        t.type("RT 9046\r")
        t.until("40.010 mm; WITHIN", "3 of 6")
        t.kill(signal.SIGKILL)
    assert entries(record) == [*two, ("teardown.bore", "d2a1", "40.010 mm")]
    with record.read() as db:
        assert chain.verify(db).broken is None
    shop = Shop(record=record, terminal=TERMINAL)
    assert drafts.kept_places(shop) == ()
    record.close()


@pytest.mark.parametrize("database_url", ["sqlite"], indirect=True)
def test_a_line_that_hangs_up_loses_nothing(job: tuple[str, int]) -> None:
    url, number = job
    with opened(url, TERMINAL) as t:
        first_two_and_a_half(t, number)
        t.rest(0.6)
        t.kill(signal.SIGHUP)
    with opened(url, TERMINAL) as t:
        t.type(f"J-{number}\r")
        t.until("2 of 6, last 40.018 mm", "> 40.01")
    with opened(url, "bench-2") as t:
        t.type(f"J-{number}\r")
        t.until("2 of 6, last 40.018 mm", "Asks: at 65 mm, 0-180")
        t.rest(0.5)
        assert ">" in t.text().splitlines()  # another terminal's half word is not offered
