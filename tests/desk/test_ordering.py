"""Today's order list from the shop's own history, purchases and their deliveries."""

from collections.abc import Callable
from datetime import date, timedelta

import pytest
from sqlalchemy import func, insert, select, update

from shopdesk.desk import counting, counts, purchases, stores
from shopdesk.errors import BadInput, Refused, ShopError
from shopdesk.records.tables import (
    Job,
    Lot,
    Part,
    PurchaseLine,
    StockMove,
    Supplier,
)
from shopdesk.rules import prices
from shopdesk.tui.stores import demand
from shopdesk.views import arrivals, courses, ordering
from shopdesk.views import purchases as placed
from shopdesk.views import stores as shelves
from tests.desk.floor import Floor, reconcile

At = Callable[..., Floor]


def today(floor: Floor) -> date:
    return floor.clock.now.date()


def rows(floor: Floor) -> dict[str, ordering.OrderRow]:
    with floor.shop.read() as db:
        return {row.part: row for row in ordering.to_order(db, today(floor))}


def drawn(floor: Floor, part: str, times: int, pieces: int, job: int | None = -1) -> None:
    """Pieces that a job drew over the last two years, the newest job or the one told."""
    with floor.shop.record.write() as db:
        part_id, person = db.execute(
            select(Part.id, func.min(StockMove.person_id))
            .join(StockMove, StockMove.part_id == Part.id)
            .where(Part.number == part)
            .group_by(Part.id)
        ).one()
        if job == -1:
            job = db.execute(select(func.max(Job.id))).scalar()
        for n in range(times):
            at = floor.clock.now - timedelta(days=700 - n)
            for kind, change in (("receive", pieces), ("issue", -pieces)):
                db.execute(
                    insert(StockMove).values(
                        kind=kind,
                        part_id=part_id,
                        job_id=None if kind == "receive" else job,
                        on_hand_change=change,
                        reserved_change=0,
                        person_id=person,
                        at=at,
                    )
                )


def test_a_part_that_goes_is_ordered_by_its_own_history(floor: Floor) -> None:
    assert "PISTON" not in rows(floor)
    drawn(floor, "PISTON", 12, 4)  # all for one job
    with floor.shop.read() as db:
        found = ordering.advice_for(db, "PISTON", today(floor))
        months = ordering.demand_by_month(db, "PISTON", today(floor), months=25)
    assert found is not None
    known, _ = found
    assert (known.stocked.uses.times, known.stocked.uses.pieces) == (1, 48)
    assert (sum(months), len(months)) == (48, 25)


def test_jobs_at_hand_are_needs_before_their_quote(at: At) -> None:
    """A job in its decision will ask for two seals and a washer (gas.toml, always replaced); the
    shelf has none of the washers left."""
    floor = at("decision")
    counting.count(floor.shop, "CC", "WASHER", "W-1", 0, "box was empty")
    assert f"J-{floor.number} will need it" in rows(floor)["WASHER"].why
    with floor.shop.read() as db:
        missing = ordering.will_be_missing(db, today(floor))
    assert [(row.part, row.job, row.pieces, row.comes) for row in missing] == [
        ("WASHER", floor.number, 1, None)
    ]
    purchases.order(floor.shop, "CC", "S01", (("WASHER", 5),))
    with floor.shop.read() as db:
        assert ordering.will_be_missing(db, today(floor)) == ()


def test_what_may_not_be_issued_is_not_free(floor: Floor) -> None:
    """S-GONE has passed its use-by day: 45 are on hand, 40 may be used."""
    with floor.shop.read() as db:
        found = ordering.advice_for(db, "SEAL-N90", today(floor))
    assert found is not None
    assert found[0].stocked.free == 40


def test_a_suppliers_minimum_is_filled_up(at: At) -> None:
    floor = at("decision")
    counting.count(floor.shop, "CC", "WASHER", "W-1", 0, "box was empty")
    with floor.shop.record.write() as db:
        db.execute(update(Supplier).values(minimum_order_cents=20_00))
        db.execute(update(Part).where(Part.number == "SEAL-V90").values(minimum=10))
    found = rows(floor)
    assert [(row.part, row.fills_up) for row in found.values()] == [("WASHER", False)]
    drawn(floor, "SEAL-N90", 1, 1)
    drawn(floor, "SEAL-N90", 1, 1, job=None)  # two uses: now it is known when they run out
    found = rows(floor)
    assert [(row.part, row.fills_up) for row in found.values()] == [
        ("WASHER", False),
        ("SEAL-N90", True),
    ]
    assert "next due" in found["SEAL-N90"].why
    assert sum(row.cents for row in found.values()) >= 20_00


def test_the_fewest_a_supplier_sells_are_ordered_and_said(floor: Floor) -> None:
    """Twelve at least, in packs of five: fifteen, on the list and where the part says why."""
    purchases.set_prices(floor.shop, "CC", "WASHER", "S01", ((1, 150),), 12, 5)
    counts.scrap(floor.shop, "CC", "WASHER", "W-1", 10, "all corroded")
    with floor.shop.record.write() as db:
        db.execute(update(Part).where(Part.number == "WASHER").values(minimum=1))
    assert rows(floor)["WASHER"].pieces == 15
    with floor.shop.read() as db:
        known = ordering.advice_for(db, "WASHER", today(floor))
    assert known is not None
    assert demand.explained(*known)[0].startswith("ORDER 15 from S01")


def test_prices_by_quantity_reach_the_purchase(floor: Floor) -> None:
    purchases.set_prices(floor.shop, "CC", "WASHER", "S01", ((1, 150), (50, 120), (200, 90)), 10)
    for pieces, cents in ((5, 150), (50, 120), (199, 120), (200, 90)):
        purchases.order(floor.shop, "CC", "S01", (("WASHER", pieces),))
        assert floor.value(PurchaseLine.unit_cost_cents, PurchaseLine.quantity == pieces) == cents


def test_a_lot_costs_what_its_purchases_said(floor: Floor) -> None:
    """Two purchases at other prices a piece, 30 at 1.20 and 20 at 1.50: a delivery of 40 takes the
    older first and costs (30 x 1.20 + 10 x 1.50) / 40 a piece; what nobody ordered, the part's."""
    purchases.set_prices(floor.shop, "CC", "WASHER", "S01", ((1, 150), (30, 120)))
    for pieces in (30, 20):
        purchases.order(floor.shop, "CC", "S01", (("WASHER", pieces),))
    stores.receive(floor.shop, "CC", stores.Delivery("WASHER", "W-40", 40))
    assert floor.value(Lot.unit_cost_cents, Lot.number == "W-40") == 128  # 127.5
    stores.receive(floor.shop, "CC", stores.Delivery("WASHER", "W-10", 10, unit_cost_cents=99))
    assert floor.value(Lot.unit_cost_cents, Lot.number == "W-10") == 99
    stores.receive(floor.shop, "CC", stores.Delivery("WASHER", "W-1", 1))
    own = floor.value(Part.unit_cost_cents, Part.number == "WASHER")
    assert floor.value(Lot.unit_cost_cents, Lot.number == "W-1") == own


def test_what_is_called_off_is_waited_for_no_more(floor: Floor) -> None:
    """Two of five came: the other three are neither on order, due nor received any more."""
    number = purchases.order(floor.shop, "CC", "S01", (("WASHER", 5), ("PISTON", 1)))
    stores.receive(floor.shop, "CC", stores.Delivery("WASHER", "W-2", 2, purchase=number))
    with floor.refused(kind=BadInput, says="give the reason"):
        purchases.call_off(floor.shop, "CC", number, "WASHER", " ")
    assert purchases.call_off(floor.shop, "CC", number, "washer", "not made any more") == 3
    with floor.shop.read() as db:
        washer = shelves.part(db, today(floor), "WASHER")
        coming = [(row[3], row[5]) for row in shelves.purchases_open(db)]
        due = [arrival.part for arrival in arrivals.arrivals(db, today(floor))]
        advised = ordering.advice_for(db, "WASHER", today(floor))
    assert washer is not None
    assert washer.on_order == 0
    assert coming == [("PISTON", 1)]
    assert due == ["PISTON"]
    assert advised is not None
    assert advised[0].stocked.on_order == 0
    for deed in (
        lambda: purchases.call_off(floor.shop, "CC", number, "WASHER", "again"),
        lambda: stores.receive(
            floor.shop, "CC", stores.Delivery("WASHER", "W-3", 3, purchase=number)
        ),
    ):
        with floor.refused(kind=Refused, says=f"purchase {number} has none of WASHER due"):
            deed()
    purchases.call_off(floor.shop, "CC", number, "PISTON", "ordered twice")
    with floor.refused(kind=Refused, says="nothing of purchase"):
        purchases.put_off(floor.shop, "CC", number, today(floor), "late")
    reconcile(floor)


def test_prices_of_a_thousand_and_more_are_read_as_they_are_said() -> None:
    asked = ((1, 125_000), (5, 110_050))
    assert prices.breaks(prices.said(asked)) == asked


def test_no_amount_is_read_that_a_column_has_no_room_for() -> None:
    """PostgreSQL's integer ends at 2,147,483,647 (its manual, numeric types)."""
    assert prices.breaks("1: 20000000.00") == ((1, 2_000_000_000),)
    with pytest.raises(BadInput, match=r"the most is 20,000,000\.00"):
        prices.breaks("1: 20000000.01")


def test_two_terminals_do_not_order_the_same_twice(floor: Floor) -> None:
    """Both have read the order list before either orders; the second is told of the first."""
    with floor.shop.read() as db:
        seen = placed.newest(db)
    first = purchases.order(floor.shop, "CC", "S01", (("WASHER", 5),), seen=seen)
    with floor.refused(kind=Refused, says="CC has ordered 5 of WASHER since"):
        purchases.order(floor.shop, "MM", "S01", (("PISTON", 1), ("WASHER", 5)), seen=seen)
    purchases.order(floor.shop, "MM", "S01", (("PISTON", 1),), seen=seen)
    purchases.order(floor.shop, "MM", "S01", (("WASHER", 5),), seen=first + 1)
    assert floor.value(func.count(PurchaseLine.id)) == 3


@pytest.mark.parametrize(
    ("asked", "least"),
    [
        ((), 1),
        (((2, 10),), 1),
        (((1, 10), (1, 9)), 1),
        (((1, 10), (5, 11)), 1),
        (((1, 10), (5, -1)), 1),
        (((1, 10),), 0),
    ],
)
def test_prices_that_cannot_be(
    floor: Floor, asked: tuple[tuple[int, int], ...], least: int
) -> None:
    with floor.refused(kind=BadInput):
        purchases.set_prices(floor.shop, "CC", "WASHER", "S01", asked, least)


def test_more_than_ordered_is_asked_about(floor: Floor) -> None:
    number = purchases.order(floor.shop, "CC", "S01", (("WASHER", 5),))
    stores.receive(floor.shop, "CC", stores.Delivery("WASHER", "W-2", 2))
    assert floor.value(PurchaseLine.received_at) is None
    with floor.refused(kind=Refused, says="3 are due"):
        stores.receive(floor.shop, "CC", stores.Delivery("WASHER", "W-2", 4))
    with floor.refused(kind=Refused, says="none of PISTON due"):
        stores.receive(floor.shop, "CC", stores.Delivery("PISTON", "P-2", 1, purchase=number))
    stores.receive(
        floor.shop, "CC", stores.Delivery("WASHER", "W-2", 4, purchase=number, surplus=True)
    )
    assert floor.value(PurchaseLine.received) == 5
    assert floor.value(PurchaseLine.received_at) == floor.clock.now
    assert floor.shelf("WASHER") == (16, 0)
    reconcile(floor)


def test_a_late_delivery_moves_the_forecast_of_who_waits_for_it(at: At) -> None:
    """Where the day has passed: the supplier's past deliveries took 2, 9 and 11 days, and this one
    is out for 7; those that took longer took 9 and 11, 3 days more on average."""
    floor = at("decision")
    for days in (2, 9, 11):
        purchases.order(floor.shop, "CC", "S01", (("WASHER", 5),))
        floor.clock.on(days=days)
        stores.receive(floor.shop, "CC", stores.Delivery("WASHER", f"W-{days}", 5))
    for lot, pieces in (("W-1", 10), ("W-2", 5), ("W-9", 5), ("W-11", 5)):
        counts.scrap(floor.shop, "CC", "WASHER", lot, pieces, "all corroded")
    number = purchases.order(floor.shop, "CC", "S01", (("WASHER", 5),))
    floor.go("parts")
    ordered = floor.clock()

    def held_up_until() -> date:
        with floor.shop.read() as db:
            seen = courses.floor(db, floor.clock())
        work = next(work for work in seen.works if work.number == floor.number)
        return seen.axis.day(work.not_before_h["parts"])

    due = ordered.date() + timedelta(days=6)
    first = held_up_until()
    assert first == due
    later = due + timedelta(days=4)
    assert purchases.put_off(floor.shop, "CC", number, later, "their furnace is down") == due
    assert held_up_until() == later
    with floor.refused(kind=BadInput, says="is the day it is due already"):
        purchases.put_off(floor.shop, "CC", number, later, "the same")
    purchases.put_off(floor.shop, "CC", number, due, "it runs again")
    floor.clock.on(days=7)
    assert held_up_until() == (ordered + timedelta(days=7 + 3)).date()
    with floor.shop.read() as db:
        (missing,) = ordering.will_be_missing(db, floor.clock().date())
    assert missing.comes == (ordered + timedelta(days=10)).date()
    for on, reason, says in (
        (due, "later", "has passed"),
        (later, " ", "give the reason"),
    ):
        with floor.refused(kind=ShopError, says=says):
            purchases.put_off(floor.shop, "CC", number, on, reason)
    with floor.refused(kind=ShopError, says="nothing of purchase 501 is still to come"):
        purchases.put_off(floor.shop, "CC", 501, later, "later")
