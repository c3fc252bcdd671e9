"""Attempts to open a gas unit that is not proved vented, and to sign for what one did oneself.

The rules under test: no teardown of a gas unit before a complete vent record with a second
person's signature; any re-pressurising or hiss voids it; unknown counts as charged.
"""

from collections.abc import Callable

import pytest

from shopdesk.desk import bench, counter, entries, keeping, signing
from shopdesk.errors import BadInput, NotFound, Refused, ShopError
from shopdesk.rules.answers import GasState
from tests.desk.floor import Floor, reconcile
from tests.desk.stocked import variant

At = Callable[..., Floor]
VENT = ("vent.pressure", "vent.oil_open", "vent.gas_open", "vent.zero", "vent.seen")


def test_a_core_comes_in_with_its_gas_unknown(floor: Floor) -> None:
    floor.take_in()
    assert floor.gas() is GasState.UNKNOWN
    assert floor.gas().counts_as_charged
    floor.take_in("PT-1", "C-1")
    assert floor.gas() is GasState.NONE


def test_nothing_later_is_answered_while_the_vent_is_open(at: At) -> None:
    floor = at("vent")
    for key in (
        "teardown.piston",
        "parts.issue_seal",
        "build.seal",
        "proof.held",
        "charge.set",
        "hold.day",
        "release.signed",
        "shipment.ships_as",
        "decision.approval",
    ):
        with floor.refused(VENT[0]):
            floor.say(key, "")
    with floor.refused(*VENT, says="second person", whose="second person"):
        floor.say("teardown.piston", "good")
    with floor.refused(says="teardown"):
        floor.quote()


def test_vent_lines_are_not_done_out_of_order(at: At) -> None:
    floor = at("vent")
    for key, typed in (
        ("vent.oil_open", ""),
        ("vent.gas_open", ""),
        ("vent.zero", "0 bar"),
        ("vent.seen", "UU 4444"),
    ):
        with floor.refused("vent.pressure", says="Gas pressure on arrival"):
            floor.say(key, typed)


def test_the_second_person_comes_before_teardown(at: At) -> None:
    floor = at("vent.seen")
    assert floor.gas() is GasState.CHARGED  # 62 bar on arrival
    with floor.refused("vent.seen", whose="second person"):
        floor.say("teardown.piston", "good")
    assert floor.look().heading.waiting_on == "a second person"
    floor.sign("vent.seen", "UU")
    assert floor.gas() is GasState.VENTED
    floor.say("teardown.piston", "good")


def test_who_cannot_witness(at: At) -> None:
    floor = at("vent.seen")
    attempts: tuple[tuple[str, type[ShopError]], ...] = (
        ("TT 3333", Refused),  # did the work
        ("UU 3333", Refused),  # the other's PIN
        ("UU 9999", Refused),
        ("UU", BadInput),
        ("4444", BadInput),
        ("UU 4444 1", BadInput),
        ("done", BadInput),
        ("", BadInput),
        ("ZZ 4444", Refused),
        ("B-TT1 3333", Refused),  # by badge, still the same person
        ("tt 3333", Refused),
    )
    for typed, kind in attempts:
        with floor.refused(kind=kind):
            floor.say("vent.seen", typed)
    assert floor.gas() is GasState.CHARGED


def test_the_pin_is_not_recorded(at: At) -> None:
    floor = at("vent.seen")
    floor.say("vent.seen", "B-UU1 4444")
    answer = floor.state("vent.seen").given["signed"]
    assert (answer.typed, answer.answer, answer.witness) == ("UU", "signed UU", "UU")


def test_one_line_of_the_work_is_enough_to_be_no_witness(at: At) -> None:
    floor = at("vent.zero")
    floor.say("vent.zero", "0 bar", who="UU")
    for who in ("TT", "UU"):
        with floor.refused("vent.seen", says=who):
            floor.sign("vent.seen", who)
    floor.sign("vent.seen", "CC")
    assert floor.gas() is GasState.VENTED


def test_work_corrected_by_another_is_still_the_first_ones_work(at: At) -> None:
    """TT does it all, UU corrects each entry to the same, TT signs as the second person."""
    floor = at("vent.seen")
    for key, slot, typed in (
        ("vent.pressure", "value", "62 bar"),
        ("vent.pressure", "temperature", "21 C"),
        ("vent.oil_open", "done", ""),
        ("vent.gas_open", "done", ""),
        ("vent.zero", "value", "0 bar"),
    ):
        floor.correct(key, typed, slot=slot, who="UU")
    with floor.refused("vent.seen"):
        floor.sign("vent.seen", "TT")


def test_two_signatures_in_a_row_take_two_people(floor: Floor) -> None:
    before = '[[vent]]\nkey = "seen"'
    twice = f'[[vent]]\nkey = "did"\nkind = "signature"\ntext = "Vented by"\n\n{before}'
    _adopt(floor, variant("GT-2", (before, twice)))
    floor.take_in("GT-2", "K-2")
    floor.go("vent.did")
    floor.sign("vent.did", "UU")
    for who in ("UU", "TT"):
        with floor.refused("vent.seen"):
            floor.sign("vent.seen", who)
    floor.sign("vent.seen", "CC")
    assert floor.gas() is GasState.VENTED


def test_a_signature_is_not_superseded(at: At) -> None:
    floor = at("teardown")
    with floor.refused("vent.seen"):
        floor.correct("vent.seen", "MM 1111")
    with floor.refused("vent.seen", says="answered already"):
        floor.sign("vent.seen", "MM")


def test_a_vent_line_with_a_condition_may_be_asked_or_not(floor: Floor) -> None:
    floor.take_in()
    floor.go("teardown", receipt__told="charged")
    assert floor.gas() is GasState.VENTED
    floor.take_in(serial="K-2")
    floor.go("teardown", receipt__told="vented")
    assert floor.gas() is GasState.VENTED


@pytest.mark.parametrize("typed", ["40 bar", "3.1 psi"])
def test_pressure_at_zero_keeps_the_vent_open(at: At, typed: str) -> None:
    floor = at("vent.zero")
    floor.say("vent.zero", typed)
    assert floor.gas() is GasState.CHARGED
    with floor.refused("vent.zero"):
        floor.sign("vent.seen", "UU")
    with floor.refused(says="not conceded"):
        floor.concede("vent.zero")
    with floor.refused(says="expected one of", kind=BadInput):
        floor.say("vent.zero", "replace")
    floor.say("vent.zero", "ask customer")
    with floor.refused("vent.zero"):
        floor.sign("vent.seen", "UU")
    with floor.refused(says="not conceded"):
        floor.concede("vent.zero")
    assert floor.gas() is GasState.CHARGED


def test_a_disposition_in_the_document_does_not_settle_pressure(floor: Floor) -> None:
    limit = 'limit = { high = "0.2 bar", source = "test rule 4", revision = "A" }'
    _adopt(floor, variant("GT-3", (limit, f'{limit}\ndispositions = ["replace", "reuse"]')))
    floor.take_in("GT-3", "K-3")
    floor.go("vent.zero")
    floor.say("vent.zero", "40 bar", "replace")
    with floor.refused("vent.zero"):
        floor.sign("vent.seen", "UU")
    assert floor.gas() is GasState.CHARGED


def test_zero_corrected_after_the_signature_voids_it(at: At) -> None:
    floor = at("teardown")
    floor.correct("vent.zero", "40 bar", "read the wrong gauge")
    assert floor.gas() is GasState.CHARGED
    with floor.refused("vent.zero"):
        floor.say("teardown.piston", "good")
    floor.say("vent.zero", "measure again")
    floor.say("vent.zero", "0 bar")
    assert floor.gas() is GasState.CHARGED  # nobody has seen this zero yet
    with floor.refused("vent.seen", whose="second person"):
        floor.say("teardown.piston", "good")
    with floor.refused("vent.seen"):
        floor.sign("vent.seen", "TT")
    floor.sign("vent.seen", "UU")
    assert floor.gas() is GasState.VENTED
    assert [a.witness for a in floor.state("vent.seen").past] == ["UU"]


def test_any_correction_of_the_vent_record_asks_the_second_person_again(at: At) -> None:
    floor = at("teardown")
    floor.correct("vent.pressure", "22 C", slot="temperature")
    assert floor.gas().counts_as_charged
    with floor.refused("vent.seen"):
        floor.say("teardown.piston", "good")
    floor.sign("vent.seen", "UU")
    assert floor.gas() is GasState.VENTED


def test_a_correction_in_the_charge_section_does_not_skip_the_vent(at: At) -> None:
    floor = at("charge")
    floor.correct("vent.pressure", "23 C", slot="temperature")
    assert floor.stage == "vent"
    with floor.refused("vent.seen"):
        floor.say("charge.bottle", "N2-1")


def test_a_vent_that_is_not_done_is_not_taken_as_done(at: At) -> None:
    floor = at("vent.gas_open")
    for typed in ("no", "not yet", "still blowing", "No, charged", "never"):
        with floor.refused(kind=BadInput):
            floor.say("vent.gas_open", typed)


def test_a_hiss_is_reported_not_written_on_a_line(at: At) -> None:
    floor = at("build.seal")
    with floor.refused("build.seal", says="report it"):
        floor.say("build.seal", "hissed at first, fine now")
    floor.say("build.seal", "done, no hiss")


# A hiss, wherever the job stands -----------------------------------------------------------------


@pytest.mark.parametrize(
    "section", ["vent.seen", "teardown", "decision", "parts", "build.gland", "proof", "charge"]
)
def test_a_hiss_voids_the_vent_record(at: At, section: str) -> None:
    floor = at(section)
    cursor = floor.sheet.cursor
    assert cursor is not None
    events = floor.written()["event"]
    floor.hiss()
    assert floor.gas() is GasState.CHARGED
    assert floor.stage == "vent"
    assert floor.written()["event"] != events
    seen = floor.state("vent.zero")
    assert not seen.given
    assert [a.set_aside for a in seen.past] == ["vent void"]
    with floor.refused("vent.pressure"):
        floor.say(cursor.line.key, "")
    floor.go("teardown" if section == "vent.seen" else cursor.line.section)
    assert floor.gas() is GasState.VENTED


@pytest.mark.parametrize("section", ["receipt", "hold", "shipment"])
def test_a_hiss_elsewhere_leaves_the_unit_charged(at: At, section: str) -> None:
    floor = at(section)
    floor.hiss()
    assert floor.gas() is GasState.CHARGED
    with floor.refused():
        floor.say("teardown.said", "again")
    floor.go("teardown" if section == "receipt" else "done")
    assert floor.gas() is GasState.VENTED


def test_a_hiss_between_ship_vented_and_the_door(at: At) -> None:
    floor = at("shipment")
    floor.go("done")
    assert floor.gas() is GasState.VENTED
    floor.hiss()
    with floor.refused("vent.pressure"):
        _hand_over(floor)
    floor.go("done")
    _hand_over(floor)
    reconcile(floor)


def test_a_hiss_in_quarantine_and_on_a_side_road(at: At) -> None:
    floor = at("teardown")
    bench.quarantine(floor.shop, "TT", floor.number, "smells of brake fluid")
    floor.hiss()
    assert floor.gas() is GasState.CHARGED
    floor.go("teardown")
    assert floor.gas() is GasState.VENTED
    assert len(floor.state("vent.seen").past) == 1


def test_a_hiss_of_a_unit_without_gas_and_of_a_closed_job(at: At) -> None:
    floor = at("shipment", "PT-1")
    with floor.refused(says="holds no gas"):
        floor.hiss()
    floor.go("done")
    _hand_over(floor)
    with floor.refused(says="closed"):
        floor.hiss()


def test_anybody_may_report_a_hiss_but_a_stranger(at: At) -> None:
    floor = at("teardown")
    with floor.refused(kind=NotFound):
        floor.hiss("XX")
    floor.hiss("CC")
    assert floor.gas() is GasState.CHARGED


def test_charging_voids_the_vent_record(at: At) -> None:
    floor = at("charge.fill")
    assert floor.gas() is GasState.CHARGED
    assert not floor.state("vent.seen").given
    with floor.refused("vent.pressure"):
        floor.say("teardown.said", "opened again")


def test_rework_of_a_charged_unit_asks_for_the_vent_first(at: At) -> None:
    floor = at("hold.leak")
    floor.say("hold.leak", "60 bar at 20 C")
    floor.say("hold.leak", "rework")
    assert floor.stage == "vent"
    with floor.refused("vent.pressure", whose="second person"):
        floor.say("build.seal", "")
    floor.go("build")
    assert floor.gas() is GasState.VENTED
    floor.go("done")


def test_a_typing_mistake_in_the_setting_corrected_is_no_new_charge(at: At) -> None:
    floor = at("shipment")
    floor.go("done")
    floor.correct("charge.set", "74 bar", slot="setting")
    assert floor.gas() is GasState.VENTED


def test_signing_needs_an_active_person_and_one_meaning(at: At) -> None:
    floor = at("vent.seen")
    with floor.shop.read() as db, pytest.raises(Refused):
        signing.identify(db, "TT 4444", floor.clock())
    with floor.refused(kind=NotFound):
        entries.record_entry(floor.shop, "", floor.number, "vent.seen", "UU 4444")


def _adopt(floor: Floor, text: str) -> None:
    keeping.adopt_procedure(floor.shop.laying_out(), "MM", text)


def _hand_over(floor: Floor) -> None:
    counter.hand_over(floor.shop, "CC", floor.number, "Coast Haulage")
