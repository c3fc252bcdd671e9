"""Hours of an ugly Friday at two terminals that are processes of their own, on one record: what is
seen on the other's screen, and what is recorded. The power cut of 11:40 is test_killed.py."""

import signal
import sys
import time
from collections.abc import Iterator

import pytest
from sqlalchemy import Connection, func, select

from shopdesk.records import chain, witness
from shopdesk.records.engine import open_record
from shopdesk.records.tables import Entry, Event, Job, Part, Reopening, StockMove
from tests.acceptance import friday
from tests.acceptance.own_terminal import OwnTerminal
from tests.acceptance.processes import (
    ENTER,
    ESCAPE,
    F4,
    F5,
    F8,
    F9,
    go_down,
    open_sheet,
    opened,
    sign_in,
)

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="needs a pseudo-terminal")

HISS_S = 2.0


@pytest.fixture
def day(database_url: str) -> friday.Friday:
    return friday.laid_out(database_url)


@pytest.fixture
def two(day: friday.Friday) -> Iterator[tuple[OwnTerminal, OwnTerminal]]:
    with opened(day.url, "bench-1") as rein, opened(day.url, "bench-2") as jorunn:
        sign_in(rein, "RT", "9046")
        sign_in(jorunn, "JV", "3178")
        yield rein, jorunn


def test_the_hours_of_an_ugly_friday(
    day: friday.Friday, two: tuple[OwnTerminal, OwnTerminal]
) -> None:
    """One start of both terminals for all hours: none of them needs another."""
    rein, jorunn = two
    _0810(day, rein, jorunn)
    _1015(day, rein, jorunn)
    _1330(day, rein)
    rein.kill(signal.SIGKILL)
    jorunn.kill(signal.SIGHUP)
    record = open_record(day.url)
    with record.read() as db:
        _hiss_recorded(db, day)
        _seal_recorded(db, day)
        _joint_recorded(db, day)
        assert chain.verify(db).broken is None
        assert witness.fault(db) is None
        _stock_is_the_ledger(db)
    record.close()


def _0810(day: friday.Friday, rein: OwnTerminal, jorunn: OwnTerminal) -> None:
    """It hisses at the first turn of the ring: one key."""
    open_sheet(rein, day.hisses, "gas vented", "Retaining ring")
    jorunn.until(f"J-{day.hisses} PA-016 K31004", "vented")
    assert "CHARGED" not in jorunn.text()
    rein.type("at the first turn of the ring")
    rein.until("> at the first turn of the ring")
    begun = time.monotonic()
    rein.type(F9)
    jorunn.until("CHARGED", every_s=0.02)
    assert time.monotonic() - begun < HISS_S
    rein.until("GAS CHARGED", "VENT 10 open", "vent record is void", "Stand clear")
    rein.until(
        "Second person has seen both gauges at zero was signed"
    )  # void, and still to be seen
    go_down(rein, "Retaining ring")
    rein.type(f"{ESCAPE}good{ENTER}")
    rein.until("first open: line 1, Gas pressure before venting")
    rein.until("Move: technician and a second person.")
    rein.type(ESCAPE)


def _1015(day: friday.Friday, rein: OwnTerminal, jorunn: OwnTerminal) -> None:
    """Both scan the last seal at one moment: it is promised to the earlier job."""
    first, second = day.seals
    open_sheet(jorunn, first, f"Asks: scan a lot of {friday.SEAL}")
    open_sheet(rein, second, f"Asks: scan a lot of {friday.SEAL}")
    for t in (rein, jorunn):
        t.type(day.lot)
        t.until(f"> {day.lot}")
    for t in (rein, jorunn):
        t.type(ENTER)
    jorunn.until(f"1 from {day.lot}", "Asks: scan a lot of BU-013-PTFE")
    rein.until(f"to J-{first}. Move: stores.", f"> {day.lot}")  # promised or gone to it
    rein.type(F5)
    rein.until("Stores' move: 1 waiting", f"J-{second} PA-016", f"part short: {friday.SEAL} today")
    rein.type(F4)
    rein.until("Stores: ")
    rein.type(F8)
    rein.until("what has to be ordered", friday.SEAL, f"J-{second} waits for it")


def _1330(day: friday.Friday, rein: OwnTerminal) -> None:
    """Thirty-five what? Twelve times too much, and it really was."""
    open_sheet(rein, day.joint, "Bleed screw into the oil head")
    rein.type(f"35{ENTER}")
    rein.until("35 ", "in-lb", "ft-lb")
    rein.type(ESCAPE)
    rein.type(f"W-04{ENTER}")
    rein.until("W-04 in hand")
    rein.type(f"35 ft-lb{ENTER}")
    rein.until("is 12 times the 35.0 in-lb of this line", "Was it really pulled to 420.0 in-lb?")
    rein.type(f"y{ENTER}")
    rein.until("35 ft-lb = 420.0 in-lb", "OUTSIDE 35 in-lb", "1 open and replace")
    rein.type(f"1{ENTER}")
    rein.until("Asks: scan a lot of GS-1618, 1 to issue", "was 1 from")


def _hiss_recorded(db: Connection, day: friday.Friday) -> None:
    said = db.execute(
        select(Event.payload)
        .join(Job, Job.id == Event.job_id)
        .where(Event.kind == "incident", Job.number == day.hisses)
    ).scalars()
    assert list(said) == [{"what": "hiss", "saw": "at the first turn of the ring"}]
    assert _causes(db, day.hisses) == ["vent void"]


def _seal_recorded(db: Connection, day: friday.Friday) -> None:
    issued = db.execute(
        select(Job.number, func.sum(StockMove.on_hand_change))
        .join(StockMove, StockMove.job_id == Job.id)
        .join(Part, Part.id == StockMove.part_id)
        .where(Part.number == friday.SEAL, StockMove.kind == "issue")
        .group_by(Job.number)
    ).all()
    first, second = day.seals
    assert {number: pieces for number, pieces in issued if number in day.seals} == {first: -1}
    waits = db.execute(
        select(Job.waiting_for, Job.waiting_on, Job.waiting_since).where(Job.number == second)
    ).one()
    assert waits[:2] == (f"part short: {friday.SEAL}", "stores")
    assert waits.waiting_since is not None


def _joint_recorded(db: Connection, day: friday.Friday) -> None:
    """The reading as it was typed, outside; the consequence; the lines to be done again."""
    rows = db.execute(
        select(Entry.slot, Entry.typed, Entry.verdict)
        .join(Job, Job.id == Entry.job_id)
        .where(Job.number == day.joint, Entry.line == "build.bleed_screw")
        .order_by(Entry.id)
    ).all()
    assert ("p1", "35 ft-lb", "outside") in [tuple(row) for row in rows]
    assert "35" not in [row.typed for row in rows]
    assert _causes(db, day.joint) == ["consequence"]


def _causes(db: Connection, number: int) -> list[str]:
    found = select(Reopening.cause).join(Job, Job.id == Reopening.job_id)
    return list(db.execute(found.where(Job.number == number)).scalars())


def _stock_is_the_ledger(db: Connection) -> None:
    sums = select(StockMove.part_id, func.sum(StockMove.on_hand_change))
    moved = dict(db.execute(sums.group_by(StockMove.part_id)).all())
    for part, on_hand in db.execute(select(Part.id, Part.on_hand)):
        assert on_hand == moved.get(part, 0)
