"""Matched parts stay together: received, issued, moved, given back, put aside and broken as a set.

That a lapped or ground part is never exchanged for another set's is common practice of hydraulics.
"""

from collections.abc import Callable

import pytest
from sqlalchemy import func, select

from shopdesk.desk import counter, counting, counts, keeping, mating, stores
from shopdesk.desk.stores import Delivery
from shopdesk.errors import BadInput, Refused
from shopdesk.paper import certificate
from shopdesk.records import witness
from shopdesk.records.tables import Lot, Part, SetRow
from shopdesk.rules.sheet import State
from shopdesk.views import certificates, ordering, picking, recalls, trace
from shopdesk.views import counting as counted
from shopdesk.views import stores as shelf
from tests.desk.floor import Floor, reconcile
from tests.desk.stocked import matched_set, variant

At = Callable[..., Floor]
PLUNGER, BORE = "parts.issue_plunger", "parts.issue_bore"


def receive(floor: Floor, part: str, lot: str, number: str, pieces: int = 1) -> None:
    stores.receive(floor.shop, "CC", Delivery(part, lot, pieces, set_number=number))


@pytest.fixture
def pump(at: At) -> Floor:
    """A job of a model with a matched set, its plunger found scored; two sets on the shelf."""
    floor = at("receipt", "PT-1")
    keeping.adopt_procedure(floor.shop.laying_out(), "MM", matched_set(), name="mt.toml")
    for n in ("7", "8"):
        receive(floor, "PISTON", f"P-{n}", f"M-{n}")
        receive(floor, "BARREL", f"B-{n}", f"M-{n}")
    floor.take_in("MT-1", serial="M-1")
    floor.go("teardown")
    floor.say("teardown.plunger", "scored", "middle", "light", "3 mm", "replace")
    floor.say("teardown.bore", "good")
    floor.go("parts")
    floor.go("parts")
    return floor


def mark(floor: Floor, number: str) -> tuple[str, bool, bool, int]:
    columns = (Lot.set_number, Lot.set_broken, Lot.quarantined, Lot.on_hand)
    return tuple(floor.value(column, Lot.number == number) for column in columns)


def whole(floor: Floor) -> None:
    """Ledger and figures agree, and every row is what its event told."""
    reconcile(floor)
    with floor.shop.read() as db:
        assert witness.fault(db) is None


def test_one_of_a_pair_replaced_asks_for_the_other_of_the_same_set(pump: Floor) -> None:
    assert pump.state(PLUNGER).state is not State.NOT_ASKED
    assert pump.state(BORE).state is not State.NOT_ASKED
    assert pump.state("parts.kept_bore").state is State.NOT_ASKED
    with pump.refused(PLUNGER, says="lot P-1 of PISTON is of no matched set: PISTON goes in with"):
        pump.say(PLUNGER, "P-1")
    assert "1 from P-7" in pump.say(PLUNGER, "P-7").echo
    says = "expected BARREL of set M-7, the mate of PISTON lot P-7 that this job has; scanned lot"
    with pump.refused(BORE, says=f"{says} B-8 of set M-8: nothing was issued"):
        pump.say(BORE, "B-8")
    with pump.refused(BORE, says="B-1 of no set"):
        pump.say(BORE, "B-1")
    with pump.shop.read() as db:
        picks = picking.pick_list(db, pump.number, pump.clock()).picks
    assert [(p.lot, p.set_number) for p in picks if p.part == "BARREL"] == [("B-7", "M-7")]
    assert "1 from B-7" in pump.say(BORE, "B-7").echo
    whole(pump)


def test_the_pick_list_takes_one_set_for_both_mates(pump: Floor) -> None:
    with pump.shop.read() as db:
        picks = picking.pick_list(db, pump.number, pump.clock()).picks
    sets = {p.part: p.set_number for p in picks if p.set_number}
    assert set(sets) == {"PISTON", "BARREL"}
    assert len(set(sets.values())) == 1


def test_half_a_set_is_not_issued(pump: Floor) -> None:
    receive(pump, "PISTON", "P-9", "M-9")
    with pump.refused(PLUNGER, says="set M-9: BARREL is not in it"):
        pump.say(PLUNGER, "P-9")
    counts.put_aside(pump.shop, "MM", "BARREL", "B-8", "rust in the bore")
    assert (mark(pump, "P-8"), mark(pump, "B-8")) == (
        ("M-8", False, True, 1),
        ("M-8", False, True, 1),
    )
    with pump.refused(says="lot P-8 of PISTON is in quarantine"):
        pump.say(PLUNGER, "P-8")
    counts.put_aside(pump.shop, "MM", "PISTON", "P-8", "polished")
    assert mark(pump, "B-8") == ("M-8", False, False, 1)
    whole(pump)


def test_a_mate_goes_into_no_line_that_asks_for_the_part_alone(at: At) -> None:
    floor = at("parts")
    receive(floor, "PISTON", "P-7", "M-7")
    receive(floor, "WASHER", "W-7", "M-7")
    says = "is one of matched set M-7 with PISTON lot P-7"
    with floor.refused("parts.issue_washer", says=says):
        floor.say("parts.issue_washer", "W-7")
    assert "1 from W-1" in floor.say("parts.issue_washer", "W-1").echo


def test_mates_move_and_come_back_together(pump: Floor) -> None:
    counts.transfer(pump.shop, "CC", "PISTON", "P-7", "k-4")
    assert pump.value(Lot.bin, Lot.number == "B-7") == "K-4"
    counts.move_bin(pump.shop, "CC", "BARREL", "K-5")
    assert pump.value(Lot.bin, Lot.number == "P-7") == "K-5"
    assert pump.value(Lot.bin, Lot.number == "P-8") == "K-5"
    pump.say(PLUNGER, "P-7")
    pump.say(BORE, "B-7")
    stores.give_back(pump.shop, "TT", pump.number, "B-7", 1, "another unit first")
    assert (mark(pump, "P-7")[3], mark(pump, "B-7")[3]) == (1, 1)
    assert pump.state(PLUNGER).open
    pump.say(BORE, "B-8")
    pump.say(PLUNGER, "P-8")
    whole(pump)


def test_a_mate_scrapped_breaks_its_set(pump: Floor) -> None:
    counts.scrap(pump.shop, "CC", "BARREL", "B-8", 1, "dropped")
    assert mark(pump, "B-8") == ("M-8", True, False, 0)
    assert mark(pump, "P-8") == ("M-8", True, True, 1)
    counts.put_aside(pump.shop, "MM", "PISTON", "P-8", "good by itself")
    with pump.refused(PLUNGER, says="set M-8 is not whole any more, and it is mate to nothing"):
        pump.say(PLUNGER, "P-8")
    with pytest.raises(Refused, match="matched set M-8 was broken"):
        receive(pump, "BARREL", "B-80", "M-8")
    mating.make_up(
        pump.shop, "CC", "m-81", (("PISTON", "P-8", 1), ("BARREL", "B-1", 1)), "lapped here"
    )
    assert mark(pump, "M-81")[:2] == ("M-81", False)
    assert "1 from M-81" in pump.say(PLUNGER, "M-81").echo
    assert "1 from M-81" in pump.say(BORE, "M-81").echo
    whole(pump)


def test_a_mate_whose_other_is_with_a_job_is_not_scrapped(pump: Floor) -> None:
    pump.say(PLUNGER, "P-7")
    with pytest.raises(
        Refused, match=f"its mate, PISTON lot P-7 of set M-7, is with J-{pump.number}"
    ):
        counts.scrap(pump.shop, "CC", "BARREL", "B-7", 1, "dropped")
    whole(pump)


def test_a_mate_not_found_by_a_count_breaks_its_set(pump: Floor) -> None:
    pump.say(PLUNGER, "P-7")
    first = counting.count(pump.shop, "CC", "BARREL", "B-7", 0, "not in its bin")
    if first.difference is None or first.difference == 0:
        counting.count(pump.shop, "TT", "BARREL", "B-7", 0, "not in its bin")
    if not mark(pump, "B-7")[1]:
        counting.approve(pump.shop, "MM 1111", "BARREL", "B-7", "lost")
    assert mark(pump, "P-7")[:2] == ("M-7", True)
    with pump.refused(BORE, says="set M-7 is not whole any more: give PISTON lot P-7 back, then"):
        pump.say(BORE, "B-8")
    stores.give_back(pump.shop, "TT", pump.number, "P-7", 1, "its bore is lost")
    pump.say(PLUNGER, "P-8")
    pump.say(BORE, "B-8")
    whole(pump)


def test_made_up_pieces_leave_their_lots_and_no_figure_changes(pump: Floor) -> None:
    before = (pump.shelf("PISTON"), pump.shelf("BARREL"))
    mating.make_up(
        pump.shop, "CC", "M-20", (("PISTON", "P-1", 1), ("BARREL", "B-1", 1)), "lapped, TT"
    )
    assert (pump.shelf("PISTON"), pump.shelf("BARREL")) == before
    assert mark(pump, "P-1")[3] == 1
    with pump.shop.read() as db:
        rows = db.execute(
            select(Part.number, Lot.on_hand)
            .join(Lot, Lot.part_id == Part.id)
            .where(Lot.set_number == "M-20")
            .order_by(Part.number)
        ).all()
    assert [tuple(row) for row in rows] == [("BARREL", 1), ("PISTON", 1)]
    whole(pump)


@pytest.mark.parametrize(
    ("number", "picks", "says"),
    [
        ("M-7", (("PISTON", "P-1", 1), ("BARREL", "B-1", 1)), "set number M-7 is in use"),
        ("M-9", (("PISTON", "P-1", 1),), "two or more parts"),
        ("M-9", (("PISTON", "P-7", 1), ("BARREL", "B-1", 1)), "is a mate of matched set M-7"),
        ("M-9", (("PISTON", "P-1", 3), ("BARREL", "B-1", 1)), "read 3 pieces; lot P-1 of PISTON"),
        ("M-9", (("PISTON", "P-1", 1), ("WASHER", "W-1", 1)), "takes PISTON and WASHER out of one"),
        ("P-1", (("PISTON", "P-1", 1), ("BARREL", "B-1", 1)), "lot P-1 of PISTON has 2 pieces"),
        ("  ", (("PISTON", "P-1", 1), ("BARREL", "B-1", 1)), "expected its number"),
    ],
)
def test_no_set_is_made_of_what_does_not_fit(
    pump: Floor, number: str, picks: tuple[tuple[str, str, int], ...], says: str
) -> None:
    before = pump.written()
    with pytest.raises((BadInput, Refused), match=says):
        mating.make_up(pump.shop, "CC", number, picks, "lapped")
    assert pump.written() == before


def test_a_set_is_added_to_only_while_it_is_whole_and_there(pump: Floor) -> None:
    with pytest.raises(Refused, match="has its PISTON already, lot P-7"):
        receive(pump, "PISTON", "P-77", "M-7")
    with pytest.raises(Refused, match="a mate of a set has a lot of its own"):
        receive(pump, "PISTON", "P-7", "")
    pump.say(PLUNGER, "P-7")
    pump.say(BORE, "B-7")
    with pytest.raises(Refused, match="nothing is added to a set that has gone out"):
        receive(pump, "WASHER", "W-7", "M-7")
    with pump.shop.read() as db:
        assert db.execute(select(func.count(SetRow.id))).scalar_one() == 4
    whole(pump)


def advised(floor: Floor) -> dict[str, tuple[int, str]]:
    with floor.shop.read() as db:
        rows = ordering.to_order(db, floor.clock().date())
    return {row.part: (row.pieces, row.why) for row in rows if row.part in ("PISTON", "BARREL")}


def test_what_is_of_no_whole_set_is_not_free_for_a_line_of_mates(pump: Floor) -> None:
    """The two loose pieces of each part are on the shelf and no help."""
    assert "short" not in pump.look().heading.waiting_for
    for lot in ("B-7", "B-8"):
        counts.put_aside(pump.shop, "MM", "BARREL", lot, "rust in the bore")
    assert pump.shelf("BARREL") == (3, 1)  # of it one is promised, and is in quarantine
    assert "BARREL" in pump.look().heading.waiting_for
    assert "PISTON" in pump.look().heading.waiting_for
    mating.make_up(
        pump.shop, "CC", "M-20", (("PISTON", "P-1", 1), ("BARREL", "B-1", 1)), "lapped, TT"
    )
    assert "BARREL" not in pump.look().heading.waiting_for
    assert "PISTON" not in pump.look().heading.waiting_for
    whole(pump)


def test_a_lot_leads_to_what_its_pieces_became(pump: Floor) -> None:
    """What the maker calls back by his own number is found under the number of the set too, and
    nothing that only lay in the same bin or went to another with it."""
    stores.receive(pump.shop, "CC", Delivery("PISTON", "P-2", 2))
    counts.move_bin(pump.shop, "CC", "PISTON", "K-9")
    picks = (("PISTON", "P-1", 1), ("BARREL", "B-1", 1))
    mating.make_up(pump.shop, "CC", "M-20", picks, "lapped, TT")
    pump.say(PLUNGER, "M-20")
    pump.say(BORE, "M-20")
    with pump.shop.read() as db:
        by_lot = {lot: trace.of(db, lot) for lot in ("P-1", "B-1", "P-2", "M-20")}
        recalled = recalls.units(db, "lot", "P-1")
        both = recalls.units(db, "lot", "M-20")
    used = {lot: [(use.part, use.lot) for use in found.uses] for lot, found in by_lot.items()}
    assert used["P-1"] == [("PISTON", "M-20")]
    assert used["B-1"] == [("BARREL", "M-20")]
    assert used["P-2"] == []
    assert used["M-20"] == [("BARREL", "M-20"), ("PISTON", "M-20")]
    assert by_lot["P-1"].said.endswith("pieces of it became lot M-20")
    assert [(one.job, one.why) for one in recalled] == [(pump.number, "1 x PISTON")]
    assert [one.why for one in both] == ["1 x BARREL, 1 x PISTON"]


def test_a_count_is_told_of_pieces_that_became_a_set(pump: Floor) -> None:
    """And not of the lot carried to another bin, which changes nothing that is counted."""
    with pump.shop.read() as db:
        seen = counted.newest_move(db, "PISTON", "P-1")
    counts.transfer(pump.shop, "CC", "PISTON", "P-1", "K-9")
    with pump.shop.read() as db:
        (lot,) = db.execute(select(Lot.id).where(Lot.number == "P-1")).scalars()
        assert counted.moved_since(db, lot, seen, None) == ()
    picks = (("PISTON", "P-1", 1), ("BARREL", "B-1", 1))
    mating.make_up(pump.shop, "CC", "M-20", picks, "lapped, TT")
    with pytest.raises(counting.Meanwhile, match="CC put 1 under another lot number"):
        counting.count(pump.shop, "CC", "PISTON", "P-1", 2, seen=seen)
    whole(pump)


def test_a_set_that_is_none_is_taken_apart(pump: Floor) -> None:
    picks = (("PISTON", "P-1", 1), ("BARREL", "B-1", 1))
    mating.make_up(pump.shop, "CC", "M-20", picks, "lapped, TT")
    with pytest.raises(Refused, match="no matched set M-99"):
        mating.take_apart(pump.shop, "CC", "M-99", "typed wrong")
    pump.say(PLUNGER, "M-20")
    with pytest.raises(Refused, match="lot M-20 of set M-20 is not in stores: give it back first"):
        mating.take_apart(pump.shop, "CC", "M-20", "not lapped")
    stores.give_back(pump.shop, "TT", pump.number, "M-20", 1, "not lapped")
    mating.take_apart(pump.shop, "CC", "m-20", "not lapped")
    with pump.shop.read() as db:
        lots_ = db.execute(
            select(Lot.set_broken, Lot.quarantined, Lot.on_hand).where(Lot.number == "M-20")
        ).all()
    assert [tuple(lot) for lot in lots_] == [(True, False, 1), (True, False, 1)]
    with pump.refused(PLUNGER, says="set M-20 is not whole any more"):
        pump.say(PLUNGER, "M-20")
    again = (("PISTON", "M-20", 1), ("BARREL", "M-20", 1))
    mating.make_up(pump.shop, "CC", "M-21", again, "lapped now")
    pump.say(PLUNGER, "M-21")
    whole(pump)


def test_half_a_set_is_free_for_nobody_until_its_mate_has_come(pump: Floor) -> None:
    for lot in ("B-7", "B-8"):
        counts.scrap(pump.shop, "CC", "BARREL", lot, 1, "rust in the bore")
    receive(pump, "PISTON", "P-9", "M-9")
    with pump.shop.read() as db:
        row = shelf.part(db, pump.clock().date(), "PISTON")
        picks = picking.pick_list(db, pump.number, pump.clock()).picks
    assert row is not None
    assert row.spoiled == 3  # two of broken sets, and P-9 without its barrel
    assert "P-9" not in {pick.lot for pick in picks}
    assert "short" in pump.look().heading.waiting_for
    receive(pump, "BARREL", "B-9", "M-9")
    assert "short" not in pump.look().heading.waiting_for
    whole(pump)


def test_mates_of_one_supplier_are_ordered_as_sets(pump: Floor) -> None:
    gas = variant(
        "GT-1",
        ('revision = "A"\neffective', 'revision = "B"\neffective'),
        ('changed = "first issue"', 'changed = "washers alone"'),
        ('part = "PISTON"', 'part = "WASHER"'),
        ('part = "BARREL"', 'part = "WASHER"'),
    )
    keeping.adopt_procedure(pump.shop.laying_out(), "MM", gas, name="gas.toml")  # asks for neither
    for lot in ("B-7", "B-8"):
        counts.scrap(pump.shop, "CC", "BARREL", lot, 1, "rust in the bore")
    found = advised(pump)
    assert set(found) == {"PISTON", "BARREL"}
    assert len({pieces for pieces, _ in found.values()}) == 1
    pieces, why = found["BARREL"]
    assert "more is promised than may be issued" in why
    assert why.endswith(
        f"{pieces} set with PISTON" if pieces == 1 else f"{pieces} sets with PISTON"
    )
    with pump.shop.read() as db:
        one = ordering.advice_for(db, "PISTON", pump.clock().date())
    assert one is not None
    assert (one[1].pieces, one[1].why) == found["PISTON"]


def test_the_certificate_names_the_set(pump: Floor) -> None:
    pump.say(PLUNGER, "P-7")
    pump.say(BORE, "B-7")
    pump.go("done", build__gland="2.5 Nm")
    counter.hand_over(pump.shop, "CC", pump.number, "Coast Freight")
    with pump.shop.read() as db:
        facts = certificates.certificate(db, pump.number, pump.clock(), None)
    assert {(lot.lot, lot.set_number) for lot in facts.fitted if lot.set_number} == {
        ("P-7", "M-7"),
        ("B-7", "M-7"),
    }
    said = " ".join(certificate.text(facts).split())
    assert "P-7, matched set" in said
    assert "B-7, matched set" in said
    assert said.count("M-7") == 2
