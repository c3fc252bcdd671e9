"""Two terminals, a repeated commit, a closed job, somebody else's role: attempts between people."""

from collections.abc import Callable

from shopdesk.desk import bench, counter, counting, keeping, office, purchases, stores
from shopdesk.errors import Stale
from tests.desk.floor import Floor
from tests.desk.stocked import DATA, variant

At = Callable[..., Floor]


def test_one_unit_has_one_open_job(at: At) -> None:
    floor = at("vent")
    for serial in ("K-1", "k1", " K 1 ", "K--1"):
        with floor.refused(says=f"J-{floor.number}"):
            floor.take_in(serial=serial)


def test_a_commit_repeated_is_written_once(at: At) -> None:
    floor = at("teardown.oil")
    first = floor.say("teardown.oil", "6 mL", commit_key="k-1")
    before = floor.written()
    again = floor.say("teardown.oil", "6 mL", commit_key="k-1")
    assert (again.entry_id, floor.written()) == (first.entry_id, before)
    core = counter.Core("K-7", "GT-1", "C01", "sags")
    job = counter.receive_core(floor.shop, "CC", core, commit_key="k-2")
    before = floor.written()
    assert counter.receive_core(floor.shop, "CC", core, commit_key="k-2").heading == job.heading
    assert floor.written() == before


def test_a_commit_repeated_after_its_line_was_opened_again(at: At) -> None:
    floor = at("teardown.oil")
    floor.say("teardown.oil", "16 mL")
    first = floor.say("teardown.oil", "measure again", commit_key="k-1")
    again = floor.say("teardown.oil", "measure again", commit_key="k-1")
    assert again.entry_id == first.entry_id


def test_a_slot_somebody_answered_meanwhile(at: At) -> None:
    floor = at("teardown.bore")
    floor.say("teardown.bore", "40.02 mm", slot="d1a1")
    with floor.refused(kind=Stale, says="TT answered 40.020 mm"):
        floor.say("teardown.bore", "40.03 mm", slot="d1a1", who="UU")
    with floor.refused(kind=Stale, says="now asks"):
        floor.say("teardown.bore", "40.03 mm", slot="d2a1", who="UU")


def test_a_reading_for_a_line_that_was_opened_again_meanwhile(at: At) -> None:
    """UU sees the second cell asked; the hiss voids what TT entered; UU's goes nowhere."""
    floor = at("vent.pressure")
    floor.say("vent.pressure", "62 bar")
    floor.hiss()
    with floor.refused(kind=Stale):
        floor.say("vent.pressure", "21 C", slot="temperature", who="UU")


def test_a_closed_job_stays_as_it_is(at: At) -> None:
    floor = at("shipment", "PT-1")
    floor.go("done")
    counter.hand_over(floor.shop, "CC", floor.number, "Coast Haulage")
    shop, number = floor.shop, floor.number
    attempts: tuple[Callable[[], object], ...] = (
        lambda: floor.say("shipment.port", "plugged"),
        lambda: floor.correct("proof.leak", "0.1 mL/min"),
        lambda: floor.concede("proof.leak"),
        floor.quote,
        lambda: floor.answer(),
        lambda: bench.take_job(shop, "TT", number, "TT"),
        lambda: bench.quarantine(shop, "TT", number, "smells"),
        lambda: office.scrap(shop, "CC", number, "Ole", "telephone", "worn"),
        lambda: stores.give_back(shop, "TT", number, "S-OLD", 1, "left over"),
        lambda: counter.hand_over(shop, "CC", number, "Coast Haulage"),
        lambda: office.change_promise(
            shop, "MM 1111", number, floor.clock().date(), "customer asked"
        ),
    )
    for attempt in attempts:
        with floor.refused():
            attempt()


def test_each_role_does_its_own(at: At) -> None:
    floor = at("decision")
    shop, number = floor.shop, floor.number
    plain = variant("GT-9")
    deeds: tuple[Callable[[], object], ...] = (
        lambda: office.make_quote(shop, "TT", number),
        lambda: bench.take_job(shop, "CC", number, "CC"),
        lambda: stores.receive(shop, "TT", stores.Delivery("WASHER", "W-2", 1)),
        lambda: counting.count(shop, "TT", "WASHER", "W-1", 1, "lost"),
        lambda: counter.hand_over(shop, "TT", number, "me"),
        lambda: purchases.order(shop, "TT", "S01", (("WASHER", 5),)),
        lambda: keeping.adopt_procedure(shop, "CC 2222", plain),
        lambda: keeping.adopt_document(shop, "TT 3333", "shop", (DATA / "shop.toml").read_text()),
        lambda: keeping.add_person(
            shop, "TT 3333", initials="ZZ", name="Zed", role="technician", pin="5555", pin_cost=2**4
        ),
        lambda: keeping.add_instrument(
            shop, "TT", keeping.NewInstrument("W-9", "torque wrench", "own")
        ),
    )
    for deed in deeds:
        with floor.refused(says="this is a", whose="manager"):
            deed()
