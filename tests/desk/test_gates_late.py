"""Attempts to leave with what was proved before it was done over: findings, joints, charges and
signatures put right late, when the lines behind them have long been answered.

The rules under test: no build with an unresolved reading, no release with a missing test, a running
hold or a signature for what was changed since, and the unit leaves in the state its sheet says.
"""

from collections.abc import Callable

import pytest

from shopdesk.desk import stores
from shopdesk.rules.answers import GasState
from shopdesk.rules.sheet import State
from tests.desk.floor import Floor, reconcile
from tests.desk.test_gates_leaving import hand_over, transport

At = Callable[..., Floor]
SQLITE = pytest.mark.parametrize("database", ["sqlite"], indirect=True)
PROVED = (
    "proof.held",
    "proof.relief",
    "charge.read_back",
    "hold.day",
    "hold.leak",
    "release.plate",
)


def left_open(floor: Floor, *keys: str) -> None:
    assert {floor.state(key).state for key in keys} == {State.OPEN}, {
        key: floor.state(key).state for key in keys
    }


@SQLITE
def test_rework_after_the_release_proves_and_charges_again(at: At) -> None:
    floor = at("shipment")
    floor.correct("proof.held", "90 bar", "read the wrong gauge")
    with floor.refused("vent.pressure"):
        floor.say("proof.held", "rework")  # charged: it is let down first
    floor.go("proof.held")
    floor.say("proof.held", "rework")
    left_open(floor, "build.seal", *PROVED, "release.signed")
    assert floor.stage == "vent"
    with floor.refused("vent.pressure"):
        hand_over(floor)
    floor.go("done")
    hand_over(floor)
    reconcile(floor)


@SQLITE
def test_a_unit_charged_again_stands_its_hold_again(at: At) -> None:
    floor = at("hold.leak")
    floor.say("hold.leak", "60 bar at 20 C")
    floor.say("hold.leak", "charge again")
    left_open(floor, "charge.set", "charge.read_back", "hold.day")
    floor.go("hold.day")
    floor.say("hold.day", "")
    with floor.refused("hold.day", says="not over"):
        floor.say("hold.day", "")


@SQLITE
@pytest.mark.parametrize(
    ("typed", "word"), [("300 in-lb", "open and replace"), ("100 in-lb", "pull again")]
)
def test_a_joint_made_over_after_the_proof_is_proved_again(at: At, typed: str, word: str) -> None:
    floor = at("charge")
    floor.correct("build.gland", typed, "the other wrench", confirmed=True)
    floor.say("build.gland", word)
    left_open(floor, "build.gland", "proof.held", "proof.relief")
    assert floor.gas() is GasState.UNKNOWN
    with floor.refused("vent.pressure"):
        floor.say("build.gland", "160 in-lb")
    floor.go("done")
    hand_over(floor)


@SQLITE
def test_a_part_found_bad_after_the_proof_is_built_in_and_proved_again(at: At) -> None:
    floor = at("charge")
    floor.correct("teardown.piston", "scored", "the photo shows it", slot="condition")
    floor.say("teardown.piston", "skirt", "heavy", "40 mm", "replace")
    left_open(floor, "parts.issue_piston", "build.piston_new", "proof.held", "proof.relief")
    assert floor.gas() is GasState.UNKNOWN


@SQLITE
def test_a_part_replaced_during_the_build_undoes_what_was_built_on_it(at: At) -> None:
    """The new piston runs through the bore before the seals and the washer go in: they come out."""
    floor = at("build.two_hands")
    floor.correct("teardown.piston", "scored", "the photo shows it", slot="condition")
    floor.say("teardown.piston", "skirt", "heavy", "40 mm", "replace")
    left_open(floor, "parts.issue_piston", "parts.issue_washer", "build.piston_new")
    left_open(floor, "build.seal", "build.washer", "build.gland", "build.screw")
    assert floor.state("parts.issue_seal").state is State.DONE
    floor.quote()
    floor.answer(cap_cents=10**6)
    floor.go("proof")
    reconcile(floor)


@SQLITE
def test_a_setting_made_over_is_seen_again_by_the_second_person(at: At) -> None:
    floor = at("proof")
    floor.correct("teardown.depth", "4.24 mm", "wrote the wrong one", slot="r1")
    left_open(floor, "build.screw", "build.two_hands")


@SQLITE
def test_it_leaves_in_the_state_its_sheet_says(at: At) -> None:
    floor = at("shipment")
    transport(floor, highest="80 bar")
    floor.say("shipment.ships_as", "charged")
    floor.go("done")
    floor.correct("shipment.ships_as", "vented", "they want it by air")
    left_open(floor, "vent.pressure", "vent.seen")
    with floor.refused("vent.pressure"):
        hand_over(floor)
    floor.go("done")
    assert floor.gas() is GasState.VENTED
    hand_over(floor)


@SQLITE
def test_what_is_fitted_does_not_go_back(at: At) -> None:
    floor = at("build.washer")
    with floor.refused("parts.issue_seal", says="it is fitted"):
        stores.give_back(floor.shop, "TT", floor.number, "S-OLD", 1, "left over")
    stores.give_back(floor.shop, "TT", floor.number, "W-1", 1, "wrong bag")
    left_open(floor, "parts.issue_washer")


@SQLITE
def test_a_concession_of_a_corrected_reading_counts(at: At) -> None:
    floor = at("teardown.bore")
    floor.say("teardown.bore", "40.065 mm", "40.065 mm", "40.065 mm", "40.065 mm")
    floor.say("teardown.bore", "ask customer")
    floor.correct("teardown.bore", "40.066 mm", slot="d1a1")
    floor.concede("teardown.bore")
    assert floor.state("teardown.bore").state is State.DONE
