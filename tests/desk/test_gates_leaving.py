"""Attempts to get a unit out of the door, or off its road, that may not go.

The rules under test: no release with a failed or missing test, an open line or a running hold;
no unit ships charged or unknown unless the shop's transport rule allows it; the side roads.
"""

from collections.abc import Callable

import pytest
from sqlalchemy import select, update

from shopdesk.desk import bench, counter, keeping, office, stores
from shopdesk.errors import BadInput, NotFound
from shopdesk.records.tables import CoreDeposit, Customer, Job, Shipment, Unit
from shopdesk.rules.answers import GasState, Road
from shopdesk.views import quality
from tests.desk.floor import Floor, reconcile
from tests.desk.stocked import BAR, DATA

At = Callable[..., Floor]


def hand_over(floor: Floor, carrier: str = "Coast Haulage") -> None:
    counter.hand_over(floor.shop, "CC", floor.number, carrier)


def transport(floor: Floor, *, highest: str, charged: str = "true", revision: str = "2") -> None:
    """Puts another revision of the shop's transport rule in force."""
    text = (DATA / "shop.toml").read_text()
    for old, new in (
        ('revision = "1"', f'revision = "{revision}"'),
        ("ships_charged = false", f"ships_charged = {charged}"),
        ('highest = "2 bar"', f'highest = "{highest}"'),
    ):
        assert text.count(old) == 1
        text = text.replace(old, new)
    keeping.adopt_document(floor.shop.laying_out(), "MM", "shop", text)


# Release -----------------------------------------------------------------------------------------


def test_no_release_before_everything_is_done(at: At) -> None:
    floor = at("proof")
    for key in ("release.plate", "release.signed"):
        with floor.refused("proof.held"):
            floor.say(key, "TT 3333")
    with floor.refused("proof.held", "release.signed", says="lines are open"):
        hand_over(floor)


def test_a_failed_test_is_not_released(at: At) -> None:
    floor = at("proof.held")
    floor.say("proof.held", "90 bar")
    floor.go("proof.held")
    for word in ("ask customer", "scrap"):
        assert word in floor.state("proof.held").slots[-1].options
    floor.say("proof.held", "ask customer")
    for key in ("charge.bottle", "release.plate"):
        with floor.refused("proof.held"):
            floor.say(key, "N2-1")
    with floor.refused("proof.held"):
        hand_over(floor)


def test_a_test_corrected_to_a_failure_after_the_release(at: At) -> None:
    """Released, then the reading is put right to a failure and retested: signed again."""
    floor = at("shipment", "PT-1")
    floor.correct("proof.leak", "3 mL/min")
    with floor.refused("proof.leak"):
        hand_over(floor)
    floor.say("proof.leak", "test again")
    floor.say("proof.leak", "1 mL/min")
    assert floor.stage == "release"
    with floor.refused("release.signed"):
        hand_over(floor)
    floor.go("done")
    hand_over(floor)


def test_the_door_needs_counter_and_carrier(at: At) -> None:
    floor = at("shipment", "PT-1")
    floor.go("done")
    with floor.refused(kind=BadInput):
        hand_over(floor, "  ")
    with floor.refused(whose="counter"):
        counter.hand_over(floor.shop, "TT", floor.number, "Coast Haulage")
    hand_over(floor)
    reconcile(floor)


# Gas on the road ---------------------------------------------------------------------------------


def test_charged_is_not_chosen_where_the_rule_forbids_it(at: At) -> None:
    floor = at("shipment")
    with floor.refused(*("vent.pressure", "vent.seen"), says="test rule 9"):
        floor.say("shipment.ships_as", "charged")
    floor.say("shipment.ships_as", "vented")
    with floor.refused("vent.pressure", "vent.seen"):
        hand_over(floor)
    with floor.refused("vent.pressure"):
        floor.say("shipment.gas_port", "capped")
    floor.go("vent.seen")
    with floor.refused("vent.seen", whose="second person"):
        hand_over(floor)
    floor.go("done")
    with floor.refused(says="cannot leave charged"):
        floor.correct("shipment.ships_as", "charged")
    hand_over(floor)
    assert floor.value(Shipment.gas_state) == "vented"


def test_charged_leaves_where_the_rule_allows_its_pressure(at: At) -> None:
    floor = at("shipment")
    transport(floor, highest="60 bar")
    with floor.refused(says="above the 60"):
        floor.say("shipment.ships_as", "charged")
    transport(floor, highest="80 bar", revision="3")
    floor.say("shipment.ships_as", "charged")
    floor.go("done")
    transport(floor, highest="60 bar", revision="4")  # the rule changes before it is fetched
    with floor.refused("vent.pressure", says="above the 60"):
        hand_over(floor)
    transport(floor, highest="80 bar", charged="false", revision="5")
    with floor.refused("vent.pressure", says="ships no charged unit"):
        hand_over(floor)
    transport(floor, highest="80 bar", revision="6")
    hand_over(floor)
    assert floor.value(Shipment.gas_state) == "charged"
    assert floor.value(Shipment.charge_pa) == pytest.approx(69.8 * BAR, rel=1e-6)


def test_a_hiss_after_charged_was_chosen_still_leaves_by_the_rule(at: At) -> None:
    floor = at("shipment")
    transport(floor, highest="80 bar")
    floor.say("shipment.ships_as", "vented")
    floor.go("shipment.gas_port")
    floor.hiss()
    with floor.refused("vent.pressure"):
        hand_over(floor)


def test_declined_before_the_vent_leaves_vented_all_the_same(floor: Floor) -> None:
    floor.take_in()
    floor.go("decision")
    floor.quote()
    floor.answer(approved=False)
    floor.hiss()
    for key in ("declined.bagged", "declined.signed"):
        with floor.refused("vent.pressure"):
            floor.say(key, "TT 3333")
    with floor.refused("vent.pressure"):
        hand_over(floor)
    transport(floor, highest="80 bar")
    floor.go("shipment.ships_as")
    with floor.refused():
        floor.say("shipment.ships_as", "charged")
    floor.go("done")
    hand_over(floor)
    assert floor.value(Shipment.gas_state) == "vented"


# Declined and scrapped ---------------------------------------------------------------------------


def test_declined_gives_the_parts_back_and_stays_declined(at: At) -> None:
    floor = at("parts")
    assert floor.shelf("SEAL-N90")[1] == 2
    floor.quote()
    floor.answer(approved=False)
    assert floor.sheet.facts.road is Road.DECLINED
    assert floor.shelf("SEAL-N90")[1] == 0
    for attempt in (floor.quote, floor.answer):
        with floor.refused(says="under repair"):
            attempt()
    with floor.refused(kind=NotFound):
        floor.say("parts.issue_seal", "S-OLD")
    with floor.refused(says="under repair"):
        bench.quarantine(floor.shop, "TT", floor.number, "smells")
    with floor.refused("declined.signed"):
        hand_over(floor)
    floor.go("done")
    hand_over(floor)
    reconcile(floor)


def test_nothing_is_scrapped_without_consent(at: At) -> None:
    floor = at("teardown")
    for by, how in (("", "telephone"), ("Ole", ""), ("  ", "  ")):
        with floor.refused(kind=BadInput, says="consent"):
            office.scrap(floor.shop, "CC", floor.number, by, how, "bore cracked")


def test_a_charged_unit_is_not_scrapped(at: At) -> None:
    floor = at("vent")
    office.scrap(floor.shop, "CC", floor.number, "Ole", "telephone", "bore cracked")
    with floor.refused("vent.pressure"):
        floor.say("scrapped.gas_zero", "by its signed vent record")
    floor.go("scrapped")
    floor.say("scrapped.gas_zero", "not proved")
    with floor.refused("scrapped.gas_zero"):
        hand_over(floor)
    with floor.refused(says="not conceded"):
        floor.concede("scrapped.gas_zero")
    floor.say("scrapped.gas_zero", "measure again")
    floor.say("scrapped.gas_zero", "1")
    with floor.refused("scrapped.signed", whose="manager"):
        floor.sign("scrapped.signed", "TT")
    with floor.refused("scrapped.signed", whose="manager"):
        hand_over(floor)
    floor.go("done")
    hand_over(floor, "")
    with floor.refused(says="not under repair"):
        office.scrap(floor.shop, "CC", floor.number, "Ole", "telephone", "again")


def test_scrapping_a_charged_unit_late(at: At) -> None:
    floor = at("hold")
    office.scrap(floor.shop, "CC", floor.number, "Ole", "telephone", "not worth it")
    assert floor.gas() is GasState.CHARGED
    with floor.refused("vent.pressure"):
        floor.say("scrapped.gas_zero", "1")
    with floor.refused("vent.pressure"):
        hand_over(floor)


# Quarantine --------------------------------------------------------------------------------------


def test_in_quarantine_nothing_goes_on(at: At) -> None:
    floor = at("teardown")
    with floor.refused(kind=BadInput):
        bench.quarantine(floor.shop, "TT", floor.number, "")
    bench.quarantine(floor.shop, "TT", floor.number, "smells of brake fluid")
    for attempt in (
        lambda: floor.say("teardown.piston", "good"),
        floor.quote,
        lambda: hand_over(floor),
        lambda: office.scrap(floor.shop, "CC", floor.number, "Ole", "telephone", "worn"),
        lambda: bench.quarantine(floor.shop, "TT", floor.number, "again"),
    ):
        with floor.refused():
            attempt()
    with floor.refused("quarantined.fluid", "quarantined.signed"):
        floor.say("teardown.piston", "good")
    floor.go("quarantined.signed")
    with floor.refused("quarantined.signed", whose="manager"):
        floor.sign("quarantined.signed", "TT")
    floor.sign("quarantined.signed", "MM")
    assert not floor.state("quarantined.fluid").open  # what it was stays to be read
    assert floor.sheet.facts.road is Road.REPAIR
    floor.say("teardown.piston", "good")


def test_a_second_quarantine_is_not_over_by_the_first_ones_lines(at: At) -> None:
    floor = at("teardown")
    for _ in range(2):
        bench.quarantine(floor.shop, "TT", floor.number, "smells")
        assert floor.sheet.facts.road is Road.QUARANTINED
        with floor.refused("quarantined.fluid"):
            floor.say("teardown.piston", "good")
        floor.go("teardown")


# Exchange and partial shipment -------------------------------------------------------------------


def _exchange(floor: Floor, serial: str = "X-1", **given: object) -> int:
    options = {"customer": "C02", "deposit_cents": 45000, "carrier": "collected", **given}
    return office.exchange(
        floor.shop,
        "CC",
        serial,
        str(options["customer"]),
        deposit_cents=int(str(options["deposit_cents"])),
        carrier=str(options["carrier"]),
    )


def test_an_exchange_unit_comes_off_the_shelf_once_and_the_core_is_owed(floor: Floor) -> None:
    with floor.refused(kind=NotFound):
        _exchange(floor)
    floor.take_in("PT-1", "X-1", customer="HOUSE", kind="exchange")
    with floor.refused(kind=NotFound):  # in work, not on the shelf
        _exchange(floor)
    floor.go("done")
    hand_over(floor, "shelf")
    for wrong in ({"customer": "C99"}, {"carrier": " "}, {"deposit_cents": -1}):
        with floor.refused(kind=NotFound if "customer" in wrong else BadInput):
            _exchange(floor, **wrong)
    deposit = _exchange(floor)
    with floor.refused(kind=NotFound):
        _exchange(floor)
    assert floor.value(CoreDeposit.settled_job_id, CoreDeposit.id == deposit) is None
    floor.take_in("PT-1", "OLD-7", customer="C02")
    assert floor.value(CoreDeposit.settled_job_id, CoreDeposit.id == deposit) is not None


def test_a_charged_unit_leaves_the_shelf_by_the_transport_rule_of_the_day(at: At) -> None:
    floor = at("shipment")
    transport(floor, highest="80 bar")
    floor.say("shipment.ships_as", "charged")
    floor.go("done")
    with floor.shop.record.write() as db:  # the shop buys the unit while it stands ready
        house = db.execute(select(Customer.id).where(Customer.house)).scalar_one()
        db.execute(update(Job).values(customer_id=house))
    hand_over(floor, "shelf")
    assert floor.value(Unit.pool, Unit.serial == "K-1")
    transport(floor, highest="80 bar", charged="false", revision="3")
    with floor.refused(says="leaves vented"):
        _exchange(floor, "K-1")
    assert floor.value(Unit.pool, Unit.serial == "K-1")
    transport(floor, highest="80 bar", revision="4")
    _exchange(floor, "K-1")
    assert floor.value(Shipment.charge_pa) == pytest.approx(69.8 * BAR, rel=1e-6)


def test_units_of_one_order_leave_one_by_one(floor: Floor) -> None:
    first = floor.take_in("PT-1", "A-1", reference="PO 7")
    floor.take_in("PT-1", "A-2", reference="PO 7")
    floor.number = first
    floor.go("done")
    hand_over(floor)
    floor.number = first + 1
    with floor.refused("receipt.plate", whose="counter"):
        hand_over(floor)
    assert not floor.sheet.facts.closed


def built_in(floor: Floor) -> list[tuple[str, bool]]:
    """The lots that return rates hold the job's unit against."""
    with floor.shop.read() as db:
        job = db.execute(select(Job.id).where(Job.number == floor.number)).scalar_one()
        now = floor.shop.clock()
        left = quality.Left(job, floor.number, "M", "C", "TT", 1, now, now, False, None)
        return quality.by_lot(db, [left])


def test_parts_issued_stay_with_a_declined_job_until_given_back(at: At) -> None:
    floor = at("build")
    floor.quote()
    floor.answer(approved=False)
    on_hand = floor.shelf("SEAL-N90")[0]
    assert ("SEAL-N90 S-OLD", False) in built_in(floor)
    stores.give_back(floor.shop, "TT", floor.number, "S-OLD", 2, "declined, packs unopened")
    assert floor.shelf("SEAL-N90")[0] == on_hand + 2
    assert ("SEAL-N90 S-OLD", False) not in built_in(floor), "no piece of it is in the unit"
    with floor.refused(says="has 0 pieces"):
        stores.give_back(floor.shop, "TT", floor.number, "S-OLD", 1, "more")
    reconcile(floor)
