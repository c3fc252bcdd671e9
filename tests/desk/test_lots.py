"""Lots that are not of the shelf: what customers bring, what cores yield; bins by lot."""

from collections.abc import Callable

import pytest
from sqlalchemy import func, select

from shopdesk.desk import counter, counting, counts, lots, office, stores
from shopdesk.desk.stores import Delivery
from shopdesk.errors import BadInput, Refused, ShopError
from shopdesk.records import witness
from shopdesk.records.tables import Lot, StockMove
from shopdesk.views import certificates, costs, ordering, picking, slips, trace
from shopdesk.views import stores as shelves
from tests.desk.floor import Floor, reconcile

At = Callable[..., Floor]
sqlite_only = pytest.mark.parametrize("database", ["sqlite"])


def lot(floor: Floor, number: str) -> int:
    return int(floor.value(Lot.on_hand, Lot.number == number))


def bring(floor: Floor, part: str, number: str, pieces: int, cured: str = "") -> tuple[str, ...]:
    delivery = Delivery(part, number, pieces, cured, job=floor.number)
    return stores.receive(floor.shop, "CC", delivery)


def worth(floor: Floor) -> int:
    with floor.shop.read() as db:
        found = {one.what: one.cents for one in costs.position(db, floor.clock().date())}
    return found["stock to be used"] + found["used parts from cores"]


def test_what_a_customer_brings_is_for_his_job_alone(at: At) -> None:
    floor = at("parts")
    before = worth(floor)
    bring(floor, "SEAL-N90", "K-9", 3, "1Q2024")
    assert floor.shelf("SEAL-N90") == (45, 0)  # what was reserved is free again
    assert (lot(floor, "K-9"), worth(floor)) == (3, before)
    with floor.refused("parts.issue_seal", says="lot K-9 of SEAL-N90 is the customer's own"):
        floor.say("parts.issue_seal", "S-OLD")
    with floor.shop.read() as db:
        picked = picking.pick_list(db, floor.number, floor.clock()).picks
    assert [(pick.lot, pick.pieces) for pick in picked if pick.part == "SEAL-N90"] == [("K-9", 2)]
    assert "2 from K-9" in floor.say("parts.issue_seal", "k-9").echo
    assert floor.shelf("SEAL-N90") == (45, 0)
    reconcile(floor)
    first, _ = floor.number, floor.take_in(serial="K-2")
    floor.go("parts")
    with floor.refused("parts.issue_seal", says=f"belongs to the customer of J-{first}"):
        floor.say("parts.issue_seal", "K-9")
    stores.give_back(floor.shop, "TT", first, "K-9", 1, "too long")
    assert (lot(floor, "K-9"), floor.shelf("SEAL-N90")) == (2, (45, 2))
    reconcile(floor)


def test_what_is_brought_is_not_short_and_not_ordered(at: At) -> None:
    floor = at("decision")
    counting.count(floor.shop, "CC", "WASHER", "W-1", 0, "box was empty")
    floor.go("parts")
    assert floor.look().heading.waiting_for == "part short: WASHER"
    bring(floor, "WASHER", "", 1)
    assert floor.look().heading.waiting_for == "parts to issue"
    with floor.shop.read() as db:
        assert "WASHER" not in {row.part for row in ordering.to_order(db, floor.clock().date())}
        [row] = shelves.lots_of(db, "WASHER")
    assert (row.number, row.bin) == (f"OWN-{floor.number}", f"with J-{floor.number}")
    assert row.origin == f"brought by the customer of J-{floor.number}"
    counts.scrap(floor.shop, "CC", "WASHER", row.number, 1, "thread gone")
    assert floor.shelf("WASHER") == (0, 0)
    reconcile(floor)


def test_what_cannot_be_brought(at: At) -> None:
    floor = at("parts")
    for delivery, says in (
        (Delivery("SEAL-V90", "K-9", 1, job=floor.number), "no kit line of GT-1"),
        (Delivery("SEAL-N90", "S-OLD", 1, "2Q2021", job=floor.number), "a lot of other pieces"),
        (Delivery("WASHER", "K-9", 0, job=floor.number), "expected 1 to"),
        (Delivery("WASHER", "K-9", 1, job=999), "no job J-999"),
        (Delivery("WASHER", "K-9", 1, purchase=501, job=floor.number), "against no purchase"),
    ):
        with floor.refused(kind=ShopError, says=says):
            stores.receive(floor.shop, "CC", delivery)


@sqlite_only
def test_what_is_left_over_goes_with_the_unit(at: At) -> None:
    floor = at("parts")
    bring(floor, "WASHER", "K-9", 3)
    floor.go("done", parts__issue_washer="K-9")
    with floor.shop.read() as db:
        before = slips.slip(db, floor.number, floor.clock())
    counter.hand_over(floor.shop, "CC", floor.number, "Coast Haulage")
    with floor.shop.read() as db:
        after = slips.slip(db, floor.number, floor.clock())
        certificate = certificates.certificate(db, floor.number, floor.clock())
    assert before.left_over == after.left_over
    assert [(own.part, own.lot, own.pieces) for own in after.left_over] == [("WASHER", "K-9", 2)]
    said = [one.not_as_asked for one in certificate.fitted if one.not_as_asked]
    with floor.shop.read() as db:
        assert witness.fault(db) is None
    assert said == [f"1 x WASHER of lot K-9: brought by the customer of J-{floor.number}"]
    assert lot(floor, "K-9") == 0
    reconcile(floor)


def scrapped(floor: Floor) -> int:
    office.scrap(floor.shop, "CC", floor.number, "Ole", "telephone", "bore cracked")
    return floor.number


def needs_piston(floor: Floor, serial: str) -> None:
    """Another job, whose piston is to be replaced, at its washer."""
    floor.take_in(serial=serial)
    floor.go("teardown.piston")
    floor.say("teardown.piston", "scored", "skirt", "heavy", "all round", "replace")
    floor.go("parts.issue_washer")


def test_a_used_part_is_graded_and_never_new(at: At) -> None:
    floor = at("teardown")
    core, before = scrapped(floor), worth(floor)
    number = lots.harvest(floor.shop, "TT", core, "piston", 1, "b", left_by="Ole Yard")
    assert (number, floor.shelf("PISTON")) == (f"USED-{core}", (2, 0))
    assert worth(floor) - before == 3000  # a quarter of a new one, by the shop's rule
    lots.harvest(floor.shop, "TT", core, "WASHER", 1, "A", lot="W-USED", left_by="Ole Yard")
    needs_piston(floor, "K-2")
    with floor.refused("parts.issue_washer", says="a one-time part; lot W-USED is used, grade A"):
        floor.say("parts.issue_washer", "W-USED")
    floor.go("parts.issue_piston")
    assert floor.shelf("PISTON") == (2, 1)
    floor.say("parts.issue_piston", number)
    assert floor.shelf("PISTON") == (2, 0)  # what was reserved for it is free
    floor.go("charge")
    with floor.shop.read() as db:
        said = trace.of(db, number).said
        [used] = [one for one in trace.of(db, f"J-{floor.number}").fitted if one.lot == number]
    assert f"0 of PISTON used, grade B, out of GT-1 serial K-1, J-{core}" in said
    assert used.origin == f"used, grade B, out of GT-1 serial K-1, J-{core}"
    reconcile(floor)


def test_what_is_not_taken_out_of_a_core(at: At) -> None:
    floor = at("teardown")
    tries: list[tuple[tuple[str, int, str, str], str]] = [
        (("PISTON", 1, "B", "Ole"), "neither scrapped nor an exchange core")
    ]
    for (part, pieces, grade, left), says in tries:
        with floor.refused(says=says):
            lots.harvest(floor.shop, "TT", floor.number, part, pieces, grade, left_by=left)
    scrapped(floor)
    for part, pieces, grade, left, says in (
        ("PISTON", 1, "Z", "Ole", "expected one of A, B (test rule 12)"),
        ("PISTON", 2, "A", "Ole", "a GT-1 has 1"),
        ("PISTON", 0, "A", "Ole", "a GT-1 has 1"),
        ("SEAL-N90", 1, "A", "Ole", "is rubber"),
        ("SEAL-V90", 1, "A", "Ole", "no kit line"),
        ("PISTON", 1, "A", " ", "who of them leaves"),
    ):
        with floor.refused(kind=ShopError, says=says):
            lots.harvest(floor.shop, "TT", floor.number, part, pieces, grade, left_by=left)
    lots.harvest(floor.shop, "TT", floor.number, "PISTON", 1, "A", left_by="Ole")
    with floor.refused(says="1 of them taken before"):
        lots.harvest(floor.shop, "TT", floor.number, "PISTON", 1, "A", left_by="Ole")


@sqlite_only
def test_nothing_is_taken_out_of_a_charged_core(at: At) -> None:
    floor = at("vent")
    scrapped(floor)
    with floor.refused(says="before the vent record is signed"):
        lots.harvest(floor.shop, "TT", floor.number, "PISTON", 1, "A", left_by="Ole")


def test_a_transfer_moves_the_pieces_and_no_sum(floor: Floor) -> None:
    assert counts.move_bin(floor.shop, "CC", "SEAL-N90", "a1") == ""
    assert counts.transfer(floor.shop, "CC", "SEAL-N90", "S-OLD", "b2") == "A1"
    for to in ("B2", " ", "x" * 31):
        with floor.refused(kind=BadInput, says="expected another bin than 'B2'"):
            counts.transfer(floor.shop, "CC", "SEAL-N90", "S-OLD", to)
    with floor.shop.read() as db:
        rows = db.execute(
            select(StockMove.bin, func.sum(StockMove.on_hand_change))
            .where(StockMove.kind == "transfer")
            .group_by(StockMove.bin)
        ).all()
        bins = {row.number: row.bin for row in shelves.lots_of(db, "SEAL-N90")}
        moved = trace.of(db, "S-OLD").moved
    assert dict(rows) == {"": -45, "A1": 45 - 20, "B2": 20}
    assert bins == {"S-GONE": "A1", "S-OLD": "B2", "S-NEW": "A1"}
    assert moved == (
        "2026-03-02 20 of SEAL-N90: no bin to A1, CC",
        "2026-03-02 20 of SEAL-N90: A1 to B2, CC",
    )
    assert floor.shelf("SEAL-N90") == (45, 0)
    counts.move_bin(floor.shop, "CC", "SEAL-N90", "C3")
    with floor.shop.read() as db:
        assert {row.bin for row in shelves.lots_of(db, "SEAL-N90")} == {"C3"}
    counts.scrap(floor.shop, "CC", "SEAL-N90", "S-GONE", 5, "expired")
    with pytest.raises(Refused, match="used up"):
        counts.transfer(floor.shop, "CC", "SEAL-N90", "S-GONE", "Z9")
    reconcile(floor)
