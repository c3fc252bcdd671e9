"""Stock: reserved on approval, issued by scan, counted by a ledger, ordered when short."""

from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest
from sqlalchemy import select

from shopdesk.desk import counting, counts, office, purchases, stores
from shopdesk.desk.trade import files, incoming
from shopdesk.errors import BadInput, NotFound, Refused, ShopError
from shopdesk.records.tables import Lot, StockMove
from shopdesk.views import ordering
from shopdesk.views import stores as shelves
from tests.desk.floor import Floor, reconcile

At = Callable[..., Floor]


def lot(floor: Floor, number: str) -> int:
    return int(floor.value(Lot.on_hand, Lot.number == number))


def test_approval_reserves_the_kit(at: At) -> None:
    floor = at("decision")
    floor.quote()
    assert floor.shelf("SEAL-N90") == (45, 0)
    floor.answer()
    assert floor.shelf("SEAL-N90") == (45, 2)
    assert floor.shelf("WASHER") == (10, 1)
    assert floor.shelf("PISTON") == (2, 0)  # kept, so not needed
    reconcile(floor)


def test_issue_takes_the_earliest_lot_first(at: At) -> None:
    floor = at("parts")
    with floor.refused("parts.issue_seal", says="S-OLD"):
        floor.say("parts.issue_seal", "S-NEW")
    done = floor.say("parts.issue_seal", "s-old")
    assert "2 from S-OLD" in done.echo
    assert (lot(floor, "S-OLD"), lot(floor, "S-NEW")) == (18, 20)
    assert floor.shelf("SEAL-N90") == (43, 0)
    reconcile(floor)


def test_use_by_follows_the_cure_date(floor: Floor) -> None:
    """NBR is ISO 2230 group A, unassembled: 7 years from cure; 2Q2021 ends 30 June 2028."""
    use_by = floor.value(Lot.use_by, Lot.number == "S-OLD")
    assert use_by == date(2028, 6, 30)


def test_the_wrong_bag_is_refused(at: At) -> None:
    floor = at("parts")
    bags: tuple[tuple[str, type[ShopError], str], ...] = (
        ("V-1", Refused, "expected SEAL-N90, scanned SEAL-V90"),
        ("SEAL-V90", NotFound, "expected SEAL-N90, scanned SEAL-V90"),
        ("SEAL-N90", NotFound, "scan the lot"),
        ("S-GONE", Refused, "was to be used by"),
        ("", BadInput, "expected a lot of SEAL-N90"),
        ("S-???", NotFound, "no lot"),
    )
    for scan, kind, says in bags:
        with floor.refused(kind=kind, says=says):
            floor.say("parts.issue_seal", scan)


def test_two_lots_fill_one_line(at: At) -> None:
    floor = at("parts")
    counting.count(floor.shop, "CC", "SEAL-N90", "S-OLD", 1, "counted")
    done = floor.say("parts.issue_seal", "S-OLD")
    assert "1 from S-OLD" in done.echo
    with floor.refused(says="used up"):
        floor.say("parts.issue_seal", "S-OLD")
    floor.say("parts.issue_seal", "S-NEW")
    assert floor.shelf("SEAL-N90") == (24, 0)
    reconcile(floor)


def test_the_last_kit_goes_to_who_holds_it(at: At) -> None:
    floor = at("parts")
    first = floor.number
    counting.count(floor.shop, "CC", "WASHER", "W-1", 1, "counted")
    floor.take_in(serial="K-2")
    floor.go("parts")
    view = floor.look()
    assert view.heading.waiting_for == "part short: WASHER"
    assert view.heading.waiting_on == "stores"
    with floor.refused(says=f"promised to J-{first}", whose="stores"):
        floor.say("parts.issue_washer", "W-1")
    reconcile(floor)


def test_a_short_part_is_on_the_order_list_and_its_delivery_serves_the_job(at: At) -> None:
    floor = at("decision")
    counting.count(floor.shop, "CC", "WASHER", "W-1", 0, "box was empty")
    floor.go("parts")
    assert floor.look().heading.waiting_for == "part short: WASHER"
    with floor.shop.read() as db:
        rows = {row.part: row for row in ordering.to_order(db, floor.clock.now.date())}
    assert rows["WASHER"].pieces == 5  # a pack
    assert f"J-{floor.number}" in rows["WASHER"].why
    purchases.order(floor.shop, "CC", "S01", (("WASHER", 5),))
    with floor.shop.read() as db:
        assert "WASHER" not in {row.part for row in ordering.to_order(db, floor.clock.now.date())}
    served = stores.receive(floor.shop, "CC", stores.Delivery("WASHER", "W-2", 5))
    assert served == (f"J-{floor.number}",)
    assert floor.shelf("WASHER") == (5, 1)
    assert floor.look().heading.waiting_for == "parts to issue"
    floor.say("parts.issue_washer", "W-2")
    reconcile(floor)


def test_lots_of_a_file_serve_who_waits_for_them(at: At, tmp_path: Path) -> None:
    floor = at("decision")
    counting.count(floor.shop, "CC", "WASHER", "W-1", 0, "box was empty")
    floor.go("parts")
    file = tmp_path / "lots.csv"
    file.write_text("part,lot,pieces\nWASHER,W-2,5\n")
    table = files.read(file)
    of = {name: name for name in table.headers}
    incoming.take_in(floor.shop, "CC", "lots", table, of, name=file.name, sha256="0" * 64)
    assert floor.shelf("WASHER") == (5, 1)
    assert floor.look().heading.waiting_for == "parts to issue"
    reconcile(floor)


def test_the_oldest_promise_is_served_first(at: At) -> None:
    floor = at("decision")
    counting.count(floor.shop, "CC", "WASHER", "W-1", 0, "box was empty")
    first = floor.number
    floor.go("parts")
    second = floor.take_in(serial="K-2")
    floor.go("parts")
    earlier = floor.clock().date()
    office.change_promise(floor.shop, "MM 1111", second, earlier, "they lie idle")
    stores.receive(floor.shop, "CC", stores.Delivery("WASHER", "W-2", 1))
    assert floor.look(second).heading.waiting_for == "parts to issue"
    assert floor.look(first).heading.waiting_for == "part short: WASHER"
    reconcile(floor)


def test_deliveries_that_cannot_be(floor: Floor) -> None:
    for delivery, says in (
        (stores.Delivery("WASHER", "W-9", 0), "expected 1 to"),
        (stores.Delivery("WASHER", "W-9", -3), "expected 1 to"),
        (stores.Delivery("WASHER", "W-9", 10_000_000), "expected 1 to"),
        (stores.Delivery("WASHER", "W-9", 3, "1Q2026"), "leave its cure date out"),
        (stores.Delivery("WASHER", " ", 3), "lot number"),
        (stores.Delivery("NOPE", "N-1", 3), "no part"),
        (stores.Delivery("SEAL-N90", "S-OLD", 3, "1Q2022"), "check the bag"),
        (stores.Delivery("SEAL-N90", "S-F", 3, "1Q2031"), "future"),
        (stores.Delivery("SEAL-N90", "S-F", 3), "give the cure quarter"),
    ):
        with floor.refused(kind=ShopError, says=says):
            stores.receive(floor.shop, "CC", delivery)


def test_a_count_gives_its_reason_and_moves_the_ledger(floor: Floor) -> None:
    with floor.refused(kind=BadInput, says="reason"):
        counting.count(floor.shop, "CC", "WASHER", "W-1", 8, " ")
    with floor.refused(kind=BadInput):
        counting.count(floor.shop, "CC", "WASHER", "W-1", -1, "counted")
    with floor.refused(kind=NotFound):
        counting.count(floor.shop, "CC", "WASHER", "S-OLD", 1, "counted")
    assert counting.count(floor.shop, "CC", "WASHER", "W-1", 10).difference == 0
    assert counting.count(floor.shop, "CC", "WASHER", "W-1", 8, "two lost").difference == -2
    reconcile(floor)


def test_more_than_was_issued_does_not_come_back(at: At) -> None:
    floor = at("build")
    for pieces in (0, -1, 3, 10**6):
        with floor.refused(says="S-OLD"):
            stores.give_back(floor.shop, "TT", floor.number, "S-OLD", pieces, "left over")
    with floor.refused(says="has 0 pieces"):
        stores.give_back(floor.shop, "TT", floor.number, "V-1", 1, "left over")


def test_a_piece_is_not_issued_twice(at: At) -> None:
    floor = at("parts")
    floor.say("parts.issue_seal", "S-OLD")
    with floor.refused("parts.issue_seal", says="answered already"):
        floor.say("parts.issue_seal", "S-OLD")
    with floor.refused("parts.issue_seal", says="not corrected"):
        floor.correct("parts.issue_seal", "S-NEW")


def test_every_piece_of_a_whole_job_is_in_the_ledger(at: At) -> None:
    floor = at("charge")
    with floor.shop.read() as db:
        job_id = floor.look().heading.job_id
        kinds = db.execute(
            select(StockMove.kind, StockMove.on_hand_change, StockMove.reserved_change)
            .where(StockMove.job_id == job_id)
            .order_by(StockMove.id)
        ).all()
    assert [tuple(row) for row in kinds] == [
        ("reserve", 0, 2),
        ("reserve", 0, 1),
        ("issue", -2, -2),
        ("issue", -1, -1),
    ]
    reconcile(floor)


def test_a_count_that_empties_the_shelf_tells_the_jobs_that_need_it(at: At) -> None:
    floor = at("parts")
    second = floor.take_in(serial="K-2")
    floor.go("parts")
    office.change_promise(floor.shop, "MM 1111", second, floor.clock().date(), "they lie idle")
    done = counting.count(floor.shop, "CC", "WASHER", "W-1", 1, "the rest is corroded")
    lost = f"J-{second - 1} gives up what was promised to it"
    assert counting.told(done, 1) == f"1 now, -9 by count; {lost}"
    assert floor.shelf("WASHER") == (1, 1)  # who was promised last gave his up
    assert floor.look(second).heading.waiting_for == "parts to issue"
    assert floor.look(second - 1).heading.waiting_for == "part short: WASHER"
    assert counts.scrap(floor.shop, "CC", "WASHER", "W-1", 1, "corroded too") == (f"J-{second}",)
    assert floor.look(second).heading.waiting_for == "part short: WASHER"
    counting.count(floor.shop, "CC", "WASHER", "W-1", 1, "one lay beside the bin")
    assert floor.shelf("WASHER") == (1, 1)
    assert floor.look(second).heading.waiting_for == "parts to issue"
    reconcile(floor)


def test_what_may_not_be_issued_is_not_free(at: At) -> None:
    """45 seals lie there, 5 of them over their day."""
    floor = at("parts")
    today = floor.clock().date()

    def free() -> int:
        with floor.shop.read() as db:
            part = shelves.part(db, today, "SEAL-N90")
        assert part is not None
        return part.available

    assert free() == 45 - 5 - 2
    assert counts.put_aside(floor.shop, "CC", "SEAL-N90", "S-NEW", "maker calls it back")
    assert free() == 45 - 5 - 20 - 2
    counts.put_aside(floor.shop, "CC", "SEAL-N90", "S-OLD", "maker calls it back")
    assert free() == -2  # promised, and nothing may be issued
    assert floor.look().heading.waiting_for == "part short: SEAL-N90"
    second = floor.take_in(serial="K-2")
    floor.go("parts")
    assert floor.look(second).heading.waiting_for == "part short: SEAL-N90"
    assert floor.shelf("SEAL-N90") == (45, 2)  # no old seal is promised to the second job
    with floor.shop.read() as db:
        row = next(row for row in ordering.to_order(db, today) if row.part == "SEAL-N90")
    assert "-2 free" in row.why
    counts.put_aside(floor.shop, "MM", "SEAL-N90", "S-NEW", "the maker's letter meant another")
    assert [floor.look(job).heading.waiting_for for job in (second - 1, second)] == [
        "parts to issue"
    ] * 2
    assert floor.shelf("SEAL-N90") == (45, 4)
    reconcile(floor)


@pytest.mark.parametrize("lot", ["L-1\nL-2", "L\x00"])
def test_a_lots_number_can_be_printed(floor: Floor, lot: str) -> None:
    with pytest.raises(BadInput, match="expected signs that can be printed"):
        stores.receive(floor.shop, "CC", stores.Delivery("WASHER", lot, 1, ""))
