"""One part stands in for another: one way, approved, recorded wherever the piece goes.

That a substitute needs its own approval and does not hold the other way round is common practice
in repair shops with parts control.
"""

from collections.abc import Callable
from datetime import date

import pytest

from shopdesk.desk import counting, counts, interchange, office, purchases, stores
from shopdesk.errors import BadInput, NotFound, Question, ShopError
from shopdesk.records import witness
from shopdesk.records.tables import Entry, Event
from shopdesk.views import certificates, costs, ledger, ordering, picking, trace
from shopdesk.views import interchange as views
from tests.desk.floor import Floor, reconcile

At = Callable[..., Floor]
sqlite_only = pytest.mark.parametrize("database", ["sqlite"])


def allow(
    floor: Floor, part: str = "SEAL-N90", stand_in: str = "SEAL-V90", only_in: str = ""
) -> int:
    made = interchange.propose(
        floor.shop, "TT", part, stand_in, "same size, other rubber", only_in=only_in
    )
    interchange.approve(floor.shop, "MM 1111", made.number, "tried on the bench")
    return made.number


def no_seals(floor: Floor) -> None:
    """None of the part asked may be issued any more."""
    for lot in ("S-OLD", "S-NEW"):
        counts.put_aside(floor.shop, "CC", "SEAL-N90", lot, "maker calls it back")


def test_nothing_stands_in_before_a_manager_says_so(at: At) -> None:
    floor = at("parts")
    no_seals(floor)
    nothing = "expected SEAL-N90, scanned SEAL-V90 (lot V-1): nothing was issued"
    with floor.refused("parts.issue_seal", says=nothing):
        floor.say("parts.issue_seal", "V-1")
    made = interchange.propose(floor.shop, "TT", "SEAL-N90", "seal-v90", "same size")
    with floor.refused(says=f"{nothing}. SEAL-V90 in place of SEAL-N90 (interchange 1) is propose"):
        floor.say("parts.issue_seal", "V-1")
    assert "not the other way round" in interchange.approve(floor.shop, "MM 1111", made.number)
    done = floor.say("parts.issue_seal", "V-1")
    assert "2 SEAL-V90 from V-1; in place of SEAL-N90 (interchange 1, MM 2026-03-02)" in done.echo
    assert floor.shelf("SEAL-V90") == (8, 0)
    assert floor.shelf("SEAL-N90") == (45, 0)  # what was reserved of it is not needed
    reconcile(floor)


def test_it_does_not_hold_the_other_way_round(at: At) -> None:
    floor = at("parts")
    number = allow(floor, "SEAL-V90", "SEAL-N90")
    no_seals(floor)
    says = f"SEAL-N90 may stand in for SEAL-V90 (interchange {number}), not the other way round"
    with floor.refused("parts.issue_seal", says=says):
        floor.say("parts.issue_seal", "V-1")


def test_it_holds_only_where_it_was_approved(at: At) -> None:
    floor = at("parts")
    allow(floor, only_in="pt-1 seal")
    no_seals(floor)
    with floor.refused("parts.issue_seal", says="is approved in PT-1 seal only"):
        floor.say("parts.issue_seal", "V-1")
    allow(floor, only_in="PT-1, GT-1 seal")
    assert "2 SEAL-V90 from V-1" in floor.say("parts.issue_seal", "V-1").echo


def test_the_part_itself_goes_first_unless_somebody_says_otherwise(at: At) -> None:
    floor = at("parts")
    allow(floor)
    with floor.refused(kind=Question, says="SEAL-N90 itself is there, lot S-OLD. Is SEAL-V90 to"):
        floor.say("parts.issue_seal", "V-1")
    floor.say("parts.issue_seal", "V-1", confirmed=True)
    assert (floor.shelf("SEAL-N90"), floor.shelf("SEAL-V90")) == ((45, 0), (8, 0))
    with floor.refused(kind=NotFound, says="no lot of this shop"):
        floor.say("parts.issue_washer", "V-9")
    reconcile(floor)


def test_a_stand_in_is_held_by_somebody_and_never_by_itself(at: At) -> None:
    floor = at("parts")
    allow(floor)
    with floor.refused(says=f"J-{floor.number} is not short of SEAL-N90"):
        interchange.hold(floor.shop, "CC", floor.number, "SEAL-N90", "SEAL-V90")
    no_seals(floor)
    number = floor.number
    assert floor.look().heading.waiting_for == "part short: SEAL-N90"
    assert floor.shelf("SEAL-V90") == (10, 0)
    with floor.shop.read() as db:
        offered = picking.pick_list(db, number, floor.clock()).offers
    assert offered == ("for SEAL-N90 SEAL-V90 may stand in, 10 free (interchange 1)",)
    for part, other, says in (
        ("SEAL-N90", "WASHER", "nothing says that WASHER may stand in for SEAL-N90"),
        ("PISTON", "SEAL-V90", "is not short of PISTON"),
        ("SEAL-N90", "NOPE", "no part 'NOPE'"),
    ):
        with floor.refused(kind=ShopError, says=says):
            interchange.hold(floor.shop, "CC", number, part, other)
    # two of the part asked stay promised to the job: they lie there, and may be let out again
    stores_say = interchange.hold(floor.shop, "CC", number, "SEAL-N90", "SEAL-V90")
    assert stores_say == f"2 SEAL-V90 held for J-{number}, in place of SEAL-N90"
    reconcile(floor)


def emptied(floor: Floor) -> None:
    """Everything of the part asked is gone from the shelf."""
    for lot, pieces in (("S-OLD", 20), ("S-NEW", 20), ("S-GONE", 5)):
        counts.scrap(floor.shop, "CC", "SEAL-N90", lot, pieces, "swollen")


def test_what_is_held_waits_no_more_and_is_picked(at: At) -> None:
    floor = at("parts")
    allow(floor)
    emptied(floor)
    number = floor.number
    interchange.hold(floor.shop, "TT", number, "SEAL-N90", "SEAL-V90")
    assert floor.look().heading.waiting_for == "parts to issue"
    assert floor.shelf("SEAL-V90") == (10, 2)
    with floor.shop.read() as db:
        picks = picking.pick_list(db, number, floor.clock()).picks
        due = {row.part: row for row in ordering.to_order(db, floor.clock().date())}
        moves = ledger.moves(db, job=number, kind="reserve")
    seals = [(p.part, p.lot, p.pieces, p.stands_in_for) for p in picks if "SEAL" in p.part]
    assert seals == [("SEAL-V90", "V-1", 2, "SEAL-N90")]
    assert "SEAL-N90" not in due
    assert [(m.part, m.stands_in_for) for m in moves][:1] == [("SEAL-V90", "SEAL-N90")]
    floor.say("parts.issue_seal", "V-1")
    assert floor.shelf("SEAL-V90") == (8, 0)
    reconcile(floor)


def test_what_is_withdrawn_goes_back_and_what_was_issued_is_named(at: At) -> None:
    floor = at("parts")
    first, made = floor.number, allow(floor)
    emptied(floor)
    floor.say("parts.issue_seal", "V-1")
    second = floor.take_in(serial="K-2")
    floor.go("parts")
    interchange.hold(floor.shop, "CC", second, "SEAL-N90", "SEAL-V90")
    assert floor.shelf("SEAL-V90") == (8, 2)
    with floor.refused(kind=BadInput, says="why is it withdrawn"):
        interchange.withdraw(floor.shop, "MM 1111", made, " ")
    said = interchange.withdraw(floor.shop, "MM 1111", made, "two leaked")
    assert said.endswith(f"no more; J-{first} has it fitted or issued")
    assert floor.shelf("SEAL-V90") == (8, 0)
    assert floor.look(second).heading.waiting_for == "part short: SEAL-N90"
    with floor.refused("parts.issue_seal", says="was withdrawn by MM: two leaked"):
        floor.say("parts.issue_seal", "V-1")
    with floor.refused(says="interchange 1 is withdrawn"):
        interchange.withdraw(floor.shop, "MM 1111", made, "again")
    with floor.shop.read() as db:
        assert witness.fault(db) is None
        assert [one.stands for one in views.listed(db, gone=True)] == ["withdrawn"]
        assert views.listed(db) == ()
    reconcile(floor)


def test_a_withdrawn_hold_serves_who_waits_for_the_part_as_its_own(at: At) -> None:
    floor = at("parts")
    made = allow(floor, "WASHER", "BARREL")
    counts.scrap(floor.shop, "CC", "WASHER", "W-1", 10, "corroded")
    interchange.hold(floor.shop, "CC", floor.number, "WASHER", "BARREL")
    assert floor.shelf("BARREL") == (1, 1)
    second = floor.take_in(serial="K-2")
    floor.go("teardown.bore")
    floor.say("teardown.bore", *["40.30 mm"] * 4, "replace")
    floor.go("parts")
    assert "BARREL" in floor.look(second).heading.waiting_for
    interchange.withdraw(floor.shop, "MM 1111", made, "no")
    assert "BARREL" not in floor.look(second).heading.waiting_for
    assert floor.shelf("BARREL") == (1, 1)
    reconcile(floor)


def test_what_cannot_be_proposed(floor: Floor) -> None:
    allow(floor, only_in="GT-1")
    interchange.propose(floor.shop, "CC", "WASHER", "PISTON", "turned down to it")
    for part, other, reason, only_in, says in (
        ("SEAL-N90", "seal-n90", "same", "", "needs nothing to stand in for itself"),
        ("SEAL-N90", "NOPE", "same", "", "no part 'NOPE'"),
        ("SEAL-N90", "SEAL-V90", " ", "", "why may it stand in"),
        ("SEAL-N90", "SEAL-V90", "x" * 401, "", "at most 400"),
        ("SEAL-N90", "SEAL-V90", "same", "GT-1 seal", "approved already (interchange 1, GT-1)"),
        ("WASHER", "PISTON", "same", "", "is proposed already (interchange 2, everywhere), and"),
        ("SEAL-N90", "SEAL-V90", "same", "GT-7", "GT-1: seal; PT-1: seal"),
        ("SEAL-N90", "SEAL-V90", "same", "PT-1 washer", "read 'PT-1 washer'"),
        ("SEAL-V90", "SEAL-N90", "same", "PT-1", "no procedure in force asks for it"),
    ):
        with floor.refused(kind=ShopError, says=says):
            interchange.propose(floor.shop, "TT", part, other, reason, only_in=only_in)
    wider = interchange.propose(floor.shop, "TT", "SEAL-N90", "SEAL-V90", "same", only_in="PT-1")
    assert wider.where == "PT-1"


def test_an_answer_is_given_once(floor: Floor) -> None:
    made = interchange.propose(floor.shop, "TT", "SEAL-N90", "SEAL-V90", "same size").number
    with floor.refused(says="there is nothing to withdraw"):
        interchange.withdraw(floor.shop, "MM 1111", made, "no")
    with floor.refused(kind=BadInput, says="why is it turned down"):
        interchange.turn_down(floor.shop, "MM 1111", made, "")
    interchange.turn_down(floor.shop, "MM 1111", made, "the oil eats it")
    for answer in (interchange.approve, interchange.turn_down):
        with floor.refused(says="interchange 1 is turned down by MM"):
            answer(floor.shop, "MM 1111", made, "after all")
    with floor.refused(kind=NotFound, says="no interchange 9"):
        interchange.approve(floor.shop, "MM 1111", 9)
    interchange.propose(floor.shop, "TT", "SEAL-N90", "SEAL-V90", "another oil now")
    with floor.shop.read() as db:
        said = [(one.number, one.stands, one.answer_reason) for one in views.every(db, "SEAL-V90")]
        kinds = db.execute(
            Event.__table__.select().where(Event.kind.like("interchange%")).order_by(Event.id)
        ).all()
        assert witness.fault(db) is None
    assert said == [(1, "turned down", "the oil eats it"), (2, "proposed", "")]
    assert [row.kind for row in kinds] == ["interchange", "interchange answered", "interchange"]


@sqlite_only
def test_every_paper_says_what_stands_in(at: At) -> None:
    floor = at("parts")
    allow(floor)
    emptied(floor)
    number = floor.number
    floor.go("done", parts__issue_seal="V-1")
    limit = floor.value(Entry.limit_text, Entry.line == "parts.issue_seal")
    with floor.shop.read() as db:
        certificate = certificates.certificate(db, number, floor.clock())
        [seal] = [one for one in trace.of(db, f"J-{number}").fitted if one.part == "SEAL-V90"]
        [use] = trace.of(db, "V-1").uses
        [move] = ledger.moves(db, job=number, kind="issue", part="SEAL-V90")
        money = costs.job(db, number)
    assert limit == "in place of SEAL-N90"
    said = [one.not_as_asked for one in certificate.fitted if one.not_as_asked]
    assert said == ["2 x SEAL-V90 of lot V-1: in place of SEAL-N90 by interchange 1, MM 2026-03-02"]
    assert (seal.stands_in_for, use.stands_in_for, move.stands_in_for) == ("SEAL-N90",) * 3
    [line] = [line for line in money.lines if line.name == "SEAL-N90"]
    assert (line.cause, line.why) == ("interchange", "2 SEAL-V90 stood in")
    assert not [line for line in money.lines if line.name == "SEAL-V90"]
    assert sum(cents for _, cents in money.causes) == sum(one.more_cents for one in money.lines)


def test_a_stand_in_is_no_piece_beyond_the_quote(at: At) -> None:
    """The customer's cap counts pieces beyond those quoted: two were quoted, two are issued."""
    floor = at("decision")
    floor.quote()
    floor.answer()
    allow(floor)
    emptied(floor)
    floor.say("parts.issue_seal", "V-1")
    assert floor.sheet.facts.extra_cents == 0


def test_what_comes_back_comes_back_under_its_own_part(at: At) -> None:
    floor = at("parts")
    made = allow(floor)
    emptied(floor)
    floor.say("parts.issue_seal", "V-1")
    stores.give_back(floor.shop, "TT", floor.number, "V-1", 2, "another was found")
    assert floor.shelf("SEAL-V90") == (10, 0)
    with floor.shop.read() as db:
        assert views.jobs_with(db, made) == ()
        assert trace.of(db, "V-1").uses == ()
    reconcile(floor)


def test_the_order_list_says_what_is_free_instead(at: At) -> None:
    floor = at("parts")
    allow(floor, only_in="GT-1")
    emptied(floor)
    today = floor.clock().date()
    with floor.shop.read() as db:
        [row] = [row for row in ordering.to_order(db, today) if row.part == "SEAL-N90"]
        [short] = [row for row in ordering.will_be_missing(db, today) if row.part == "SEAL-N90"]
        found = ordering.advice_for(db, "SEAL-N90", today)
    offered = "SEAL-V90 may stand in, 10 free (interchange 1, only in GT-1)"
    assert row.why.endswith(f"; {offered}")
    assert short.stands_in == offered
    assert found is not None
    assert found[1].why == row.why
    counting.count(floor.shop, "CC", "SEAL-V90", "V-1", 0, "box was empty")
    with floor.shop.read() as db:
        [row] = [row for row in ordering.to_order(db, today) if row.part == "SEAL-N90"]
    assert "stand in" not in row.why


def test_a_job_moved_over_keeps_what_stands_in(at: At) -> None:
    from shopdesk.desk import keeping, moving
    from tests.desk.stocked import variant

    floor = at("parts")
    allow(floor)
    emptied(floor)
    interchange.hold(floor.shop, "CC", floor.number, "SEAL-N90", "SEAL-V90")
    newer = variant(
        "GT-1",
        ('revision = "A"\neffective', 'revision = "B"\neffective'),
        ('part = "WASHER"\nquantity = 1', 'part = "WASHER"\nquantity = 2'),
        ("first issue", "two washers"),
    )
    keeping.adopt_procedure(floor.shop, "MM 1111", newer)
    moving.move_over(
        floor.shop, "MM 1111", floor.number, "the newer one", dropped_reason="", to="B"
    )
    assert floor.shelf("SEAL-V90") == (10, 2)
    assert floor.shelf("WASHER") == (10, 2)
    assert floor.look().heading.waiting_for == "parts to issue"
    reconcile(floor)


def test_a_promise_changed_lets_the_later_job_give_its_stand_in_up(at: At) -> None:
    """Fewer stand-ins than are promised: who is promised last gives them up, as for any part."""
    floor = at("parts")
    allow(floor)
    emptied(floor)
    first = floor.number
    interchange.hold(floor.shop, "CC", first, "SEAL-N90", "SEAL-V90")
    counting.count(floor.shop, "CC", "SEAL-V90", "V-1", 1, "nine were missing")
    assert floor.shelf("SEAL-V90") == (1, 1)
    assert floor.look().heading.waiting_for == "part short: SEAL-N90"
    office.change_promise(floor.shop, "MM 1111", first, date(2026, 9, 9), "asked")
    purchases.order(floor.shop, "CC", "S01", (("SEAL-N90", 5),))
    stores.receive(floor.shop, "CC", stores.Delivery("SEAL-N90", "S-9", 5, "1Q2026", purchase=501))
    assert floor.look().heading.waiting_for == "parts to issue"
    assert (floor.shelf("SEAL-N90"), floor.shelf("SEAL-V90")) == ((5, 1), (1, 1))
    reconcile(floor)
