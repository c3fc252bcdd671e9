"""A unit back under warranty: measured as it came, before it is vented or opened, then decided."""

from collections.abc import Callable
from dataclasses import replace

import pytest

from shopdesk.desk import calibrating, counter, office
from shopdesk.errors import BadInput
from shopdesk.records.tables import Entry
from shopdesk.rules.answers import Verdict
from shopdesk.rules.sheet import State
from shopdesk.views import instruments
from tests.desk.floor import Floor, reconcile

At = Callable[..., Floor]

LEAK = "claim.proof.leak"


@pytest.fixture
def database() -> str:
    """One table and no other SQL than its own: what the databases could differ in is tested with
    the migrations and the witness."""
    return "sqlite"


def back(floor: Floor, **answers: str) -> Floor:
    """The unit of the job in hand leaves, and comes back after five months as a claim."""
    floor.go("done", **answers)
    serial, model = floor.look().heading.serial, floor.sheet.procedure.model
    counter.hand_over(floor.shop, "CC", floor.number, "Coast Haulage")
    floor.clock.on(days=152)
    floor.take_in(model, serial, kind="warranty", complaint="drips again")
    return floor


@pytest.fixture
def dry(at: At) -> Floor:
    """A unit without gas, its receipt done."""
    floor = back(at("shipment", "PT-1"))
    floor.go("claim")
    return floor


@pytest.fixture
def gas(at: At) -> Floor:
    """A gas unit, proved before it was charged, its receipt done."""
    floor = back(at("shipment"))
    floor.go("claim")
    return floor


def test_nothing_is_opened_before_its_fault_is_measured(dry: Floor) -> None:
    claim = dry.sheet.facts.claim
    assert claim is not None
    assert [each.label for each in claim.lines] == ["Leakage over the seal"]
    with dry.refused("claim.about", says="claim on J-1001", whose="technician"):
        dry.say("teardown.rod", "19.98 mm")
    with dry.refused(says="expected numbers from 1 to 1", kind=BadInput):
        dry.say("claim.about", "2")
    dry.say("claim.about", "all")
    with dry.refused(LEAK, says="missing: Leakage over the seal", whose="technician"):
        dry.say("teardown.rod", "19.98 mm")
    done = dry.say(LEAK, "3.1 mL/min")
    assert done.verdict is Verdict.OUTSIDE
    assert "J-1001 0.5 mL/min: 520 % above it" in done.echo
    assert dry.state(LEAK).state is State.DONE  # a confirmed fault asks for no disposition
    dry.say("teardown.rod", "19.98 mm")
    reconcile(dry)


def test_what_cannot_be_measured_is_signed_by_a_manager(dry: Floor) -> None:
    dry.say("claim.about", "1")
    with dry.refused(says="say why", kind=BadInput):
        dry.say(LEAK, "cannot")
    dry.say(LEAK, "cannot: seized, the rod does not move")
    with dry.refused(LEAK, says="missing: Leakage", whose="manager"):
        dry.say("teardown.rod", "19.98 mm")
    with dry.refused(LEAK, says="takes a manager's signature", whose="manager"):
        dry.say(LEAK, "TT 3333")
    dry.say(LEAK, "MM 1111")
    assert dry.stage == "teardown"
    dry.correct(LEAK, "cannot: seized, and the port is sheared")
    assert dry.stage == "claim"  # another reason, another signature
    dry.say(LEAK, "MM 1111")
    dry.correct(LEAK, "1.9 mL/min", slot="value")
    assert dry.stage == "teardown"


def test_a_unit_nothing_can_be_measured_on_goes_on_with_one_signature(gas: Floor) -> None:
    gas.say("claim.about", "cannot: barrel bulged, made safe at once")
    with gas.refused("claim.about", says="made safe first", whose="manager"):
        gas.say("vent.oil_open", "")
    gas.say("claim.about", "MM 1111")
    assert gas.stage == "vent"
    asked = [s for n in ("claim", "fault") for s in gas.sheet.section(n) if s.open]
    assert not asked


def test_the_charge_is_measured_before_the_vent_and_the_bench_tests_before_the_spanner(
    gas: Floor,
) -> None:
    claim = gas.sheet.facts.claim
    assert claim is not None
    labels = [each.label for each in claim.lines]
    assert labels[:3] == [
        "Pressure at the end of the hold",
        "Relief opens at",
        "Outside at rated pressure",
    ]
    with gas.refused("claim.about", says="before it is vented", whose="technician"):
        gas.say("vent.pressure", "62 bar")
    numbers = [labels.index(name) + 1 for name in ("Relief opens at", "Charge read back, rig off")]
    gas.say("claim.about", ", ".join(map(str, numbers)))
    with gas.refused("claim.charge.read_back", says="before it is vented"):
        gas.say("vent.pressure", "62 bar")
    read = gas.say("claim.charge.read_back", "55 bar", "20 C")
    assert read.verdict is Verdict.OUTSIDE
    assert gas.stage == "vent"
    gas.go("fault")
    with gas.refused("fault.proof.relief", says="before it is opened; missing: Relief opens at"):
        gas.say("teardown.piston", "good")
    assert gas.say("fault.proof.relief", "97 bar").verdict is Verdict.OUTSIDE
    gas.say("teardown.piston", "good")
    with gas.refused(says="Pressure at the end of the hold: not asked on this job as it stands"):
        gas.say("fault.proof.held", "118 bar")  # not on the sheet: it has no number there
    calibrating.record_calibration(gas.shop, "MM", "G-01", passed=False, error_share=0.05)
    with gas.shop.read() as db:
        doubts = [doubt.joint for doubt in instruments.suspect(db, "G-01").doubts]
    assert "Relief opens at, as it came on the claim" in doubts
    assert not [name for name in doubts if name.startswith(("claim.", "fault."))]


def test_a_loss_of_charge_is_measured_with_its_hold(gas: Floor) -> None:
    claim = gas.sheet.facts.claim
    assert claim is not None
    leak = [each.label for each in claim.lines].index("Charge after the hold") + 1
    gas.say("claim.about", str(leak))
    asked = [s.line.key for s in gas.sheet.section("claim") if s.open]
    assert asked == ["claim.charge.read_back", "claim.hold.day", "claim.hold.leak"]
    gas.say("claim.charge.read_back", "66 bar", "20 C")
    with gas.refused(says="have to pass first"):
        gas.say("claim.hold.leak", "65 bar")
    gas.say("claim.hold.day", "")
    gas.clock.on(days=1, minutes=1)
    gas.say("claim.hold.day", "")
    done = gas.say("claim.hold.leak", "65 bar", "20 C")
    assert "lost 1.0 bar" in done.echo
    assert gas.stage == "vent"


@pytest.mark.parametrize("cover", ["covered", "goodwill", "not covered"])
def test_the_decision_says_who_pays(dry: Floor, cover: str) -> None:
    dry.say("claim.about", "1")
    dry.say(LEAK, "1.1 mL/min")
    dry.go("decision")
    with dry.refused("decision.cause", says="done in order"):
        dry.say("decision.cover", cover)
    with dry.refused(says="expected one of", kind=BadInput):
        dry.say("decision.cause", "gremlins")
    dry.say("decision.cause", "wear in use")
    dry.say("decision.cover", cover)
    dry.say("decision.cover_why", "seal rubbed by dirt in the oil")
    with dry.refused("decision.cover_signed", says="takes a manager's signature"):
        dry.say("decision.cover_signed", "TT 3333")
    assert dry.sheet.get("decision.quoted").state is State.NOT_ASKED  # type: ignore[union-attr]
    dry.say("decision.cover_signed", "MM 1111")
    if cover == "not covered":
        with dry.refused("decision.quoted"):
            dry.say("parts.issue_seal", "S-OLD")
        dry.quote()
        dry.answer()
    assert dry.stage == "parts"
    dry.correct("decision.cover", "goodwill" if cover == "covered" else "covered")
    assert dry.stage == "decision"  # what was signed over changed


def test_a_shop_s_causes_are_its_own(dry: Floor) -> None:
    rules = dry.sheet.shop
    assert rules.causes[0] == "our work"
    assert replace(rules, causes=("X1 a",)).causes == ("X1 a",)


def test_a_declined_claim_still_gets_its_decision(dry: Floor) -> None:
    dry.say("claim.about", "1")
    dry.say(LEAK, "1.1 mL/min")
    dry.go("decision")
    for line, said in (
        ("cause", "misuse"),
        ("cover", "not covered"),
        ("cover_why", "opened by others"),
        ("cover_signed", "MM 1111"),
    ):
        dry.say(f"decision.{line}", said)
    dry.quote()
    dry.answer(approved=False)
    assert dry.stage == "declined"
    assert dry.state("decision.cover").state is State.DONE


def test_a_claim_scrapped_before_it_is_decided_waits_for_the_decision(dry: Floor) -> None:
    office.scrap(dry.shop, "CC", dry.number, "Ole Yard", "by letter", "crushed in transport")
    assert dry.stage == "decision"
    assert dry.look().heading.waiting_on == "manager"


def test_the_claim_is_on_the_chain(dry: Floor) -> None:
    from shopdesk.records import chain, witness

    with dry.shop.read() as db:
        assert chain.verify(db).broken is None
        assert witness.fault(db) is None
    assert dry.value(Entry.id, Entry.line == "claim.about") is None
