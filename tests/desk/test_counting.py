"""Counts: classes, tolerance, a second person, a manager; and what moves while somebody counts.

A tolerance by class, a recount beyond it and an approval are common practice of cycle counting.
"""

from collections.abc import Callable
from datetime import date, timedelta

import pytest

from shopdesk.desk import counting, keeping, stores
from shopdesk.desk.counting import Counted, Meanwhile
from shopdesk.errors import BadInput, Refused
from shopdesk.records import witness
from shopdesk.records.engine import open_record
from shopdesk.rules.counting import Outcome
from shopdesk.views import counting as views
from shopdesk.views import expiring
from tests.desk.floor import Floor, opened, reconcile
from tests.desk.stocked import DATA

At = Callable[..., Floor]
RULE = """
[counting]
a_percent = 80
b_percent = 95
critical = "B"
lots_a_day = 3
source = "test rule"
revision = "A"
[counting.A]
every_days = 30
tolerance_percent = 0
tolerance_pieces = 0
[counting.B]
every_days = 90
tolerance_percent = 5
tolerance_pieces = 1
[counting.C]
every_days = 365
tolerance_percent = 10
tolerance_pieces = 2
"""


@pytest.fixture
def counted(floor: Floor) -> Floor:
    """A shop with a rule for counts; nothing is drawn of anything, so every part is class C."""
    ruled(floor)
    return floor


def ruled(floor: Floor) -> None:
    text = (DATA / "shop.toml").read_text() + RULE
    keeping.adopt_document(floor.shop, "MM 1111", "shop", text.replace('"1"', '"2"', 1))


def count(floor: Floor, who: str, lot: str, pieces: int, reason: str = "") -> Counted:
    part = {"S": "SEAL-N90", "W": "WASHER"}[lot[0]]
    return counting.count(floor.shop, who, part, lot, pieces, reason)


def states(floor: Floor) -> dict[str, str]:
    with floor.shop.read() as db:
        return {lot.lot: lot.state for lot in views.due(db, floor.clock()).lots}


def test_within_the_tolerance_a_count_is_taken_with_its_reason(counted: Floor) -> None:
    """W-1 has 10: class C allows 2 pieces, or 10 %. S-NEW has 20: 2 pieces either way."""
    with counted.refused(kind=BadInput, says="Give the reason"):
        count(counted, "CC", "W-1", 8)
    assert count(counted, "CC", "W-1", 8, "two lost") == Counted(Outcome.ADJUSTED, -2)
    assert count(counted, "CC", "S-NEW", 20) == Counted(Outcome.AGREES)
    assert counted.shelf("WASHER") == (8, 0)
    assert states(counted) == {}
    reconcile(counted)


def test_beyond_it_somebody_else_counts_and_then_a_manager_approves(counted: Floor) -> None:
    done = count(counted, "CC", "W-1", 5)
    assert done.outcome is Outcome.RECOUNT
    assert counting.told(done, 5).endswith("somebody else counts it again (test rule rev A)")
    assert counted.shelf("WASHER") == (10, 0)  # nothing is changed by one person's word
    assert states(counted) == {"W-1": "to be recounted"}
    with counted.refused(says="somebody else counts it again", whose="a second person"):
        count(counted, "CC", "W-1", 5)
    assert count(counted, "TT", "W-1", 6).outcome is Outcome.APPROVAL
    with counted.refused(says="counted anew (test rule rev A)", whose="manager"):
        count(counted, "UU", "W-1", 6)
    stores.receive(counted.shop, "CC", stores.Delivery("WASHER", "W-1", 5))  # 15 by the ledger
    for sign in ("CC 2222", "MM 9999"):
        with counted.refused(kind=Refused):
            counting.approve(counted.shop, sign, "WASHER", "W-1", "lost in the move")
    with counted.refused(kind=BadInput, says="give the reason"):
        counting.approve(counted.shop, "MM 1111", "WASHER", "W-1", " ")
    assert counting.approve(counted.shop, "MM 1111", "WASHER", "W-1", "lost in the move") == -4
    assert counted.shelf("WASHER") == (11, 0)  # what came since stays
    assert states(counted) == {}
    with counted.shop.read() as db:
        rows = [(r.step, r.counted, r.expected, r.outcome, r.by) for r in views.counts(db)]
        assert witness.fault(db) is None
    assert rows == [
        ("answer", 11, 15, "adjusted", "MM"),
        ("recount", 6, 10, "to be approved", "TT"),
        ("count", 5, 10, "to be recounted", "CC"),
    ]
    with counted.refused(says="no count of lot W-1 waits"):
        counting.approve(counted.shop, "MM 1111", "WASHER", "W-1", "again")
    reconcile(counted)


def test_a_recount_may_settle_it_and_a_manager_may_have_it_counted_anew(counted: Floor) -> None:
    count(counted, "CC", "W-1", 5)
    assert count(counted, "MM", "W-1", 10).outcome is Outcome.AGREES
    count(counted, "CC", "W-1", 5)
    count(counted, "MM", "W-1", 4)
    with counted.refused(says="who counts does not approve", whose="another manager"):
        counting.approve(counted.shop, "MM 1111", "WASHER", "W-1", "gone")
    assert counting.approve(counted.shop, "NN 1112", "WASHER", "W-1", "look again", yes=False) == 0
    assert counted.shelf("WASHER") == (10, 0)
    assert states(counted) == {"W-1": "to be counted anew"}
    assert count(counted, "CC", "W-1", 9, "one bent").outcome is Outcome.ADJUSTED


def test_a_count_during_an_issue(at: At) -> None:
    """One counts from the open form, another terminal issues from the same lot meanwhile."""
    floor = at("parts")
    ruled(floor)
    record = open_record(floor.shop.record.url)
    other = opened(record, floor.clock)
    with other.read() as db:
        seen = views.newest_move(db, "SEAL-N90", "S-OLD")
    began = floor.clock()
    floor.clock.on(minutes=4)
    floor.say("parts.issue_seal", "S-OLD")  # two of twenty
    for since in ({"seen": seen}, {"at": began}):
        with pytest.raises(Meanwhile, match="TT issued 2 for J-") as told:
            counting.count(other, "CC", "SEAL-N90", "S-OLD", 18, **since)
    done = counting.count(other, "CC", "SEAL-N90", "S-OLD", 18, seen=told.value.newest)
    assert done == Counted(Outcome.AGREES)  # held against what the ledger says now
    record.close()
    reconcile(floor)


def test_what_is_due_follows_value_criticality_and_the_last_count(at: At) -> None:
    """The job drew 2 seals at 4.00 and a washer at 1.50: 84 % and 16 % of the year's value. The
    seal is A by Pareto's 80 %; the washer begins there, so B; all else was not drawn, so C."""
    floor = at("build")
    ruled(floor)
    with floor.shop.read() as db:
        found = {
            part: views.class_of(db, part, floor.clock())
            for part in ("SEAL-N90", "WASHER", "PISTON")
        }
        assert {part: one and one.name for part, one in found.items()} == {
            "SEAL-N90": "A",
            "WASHER": "B",
            "PISTON": "C",
        }
    assert states(floor) == {}
    floor.clock.on(days=40)
    assert set(states(floor)) == {"S-OLD", "S-NEW", "S-GONE"}
    count(floor, "CC", "S-NEW", 20)
    assert set(states(floor)) == {"S-OLD", "S-GONE"}
    floor.clock.on(days=60)
    with floor.shop.read() as db:
        due = views.due(db, floor.clock())
    assert ([lot.count_class for lot in due.lots], due.more) == (["A", "A", "A"], 1)
    assert [lot.last for lot in due.lots if lot.lot == "S-NEW"] == [
        (floor.clock() - timedelta(days=60)).date()
    ]


def test_use_by_days_name_the_jobs_that_hold_pieces(at: At) -> None:
    """S-OLD is to be used by 30 June 2028 (7 years from 2Q2021); S-GONE is over; the job's kit is
    as old as its earliest lot."""
    floor = at("parts")
    day = date(2028, 5, 1)

    def rows() -> list[tuple[str, int, str, tuple[str, ...]]]:
        with floor.shop.read() as db:
            found = expiring.expiring(db, day)
        return [(row.lot, row.days, row.where, row.jobs) for row in found]

    tag = f"J-{floor.number}"
    assert [(lot, days, jobs) for lot, days, _, jobs in rows()] == [
        ("S-GONE", (date(2012, 3, 31) - day).days, (tag,)),
        ("S-OLD", 60, (tag,)),
    ]
    floor.say("parts.issue_seal", "S-OLD")
    assert [(lot, where, jobs) for lot, _, where, jobs in rows()] == [
        ("S-GONE", "", ()),
        ("S-OLD", "", ()),
        ("S-OLD", f"kit of {tag}", (tag,)),
    ]
