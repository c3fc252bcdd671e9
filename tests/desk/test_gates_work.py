"""Attempts to work without approval, beyond its cap, or to build with what is not settled.

The rules under test: no chargeable work before approval, none beyond its cap; no build with an
unresolved out-of-limit reading; the build opens when kit, kept parts and tools are present.
"""

from collections.abc import Callable

import pytest

from shopdesk.desk import bench, counter, office, stores
from shopdesk.errors import BadInput, Refused
from shopdesk.rules.sheet import State
from tests.desk.floor import Floor, reconcile

At = Callable[..., Floor]


# Approval ----------------------------------------------------------------------------------------


def test_no_work_before_the_customers_answer(at: At) -> None:
    floor = at("decision")
    for key in ("parts.issue_seal", "build.seal", "proof.held"):
        with floor.refused("decision.quoted", whose="office"):
            floor.say(key, "S-OLD")
    floor.quote()
    for key in ("parts.issue_seal", "build.seal"):
        with floor.refused("decision.approval", whose="customer"):
            floor.say(key, "S-OLD")
    with floor.refused("decision.approval", whose="office", says="office"):
        floor.say("decision.approval", "approved")


def test_an_answer_without_a_quote_or_twice(at: At) -> None:
    floor = at("decision")
    with floor.refused("decision.quoted", whose="office"):
        floor.answer()
    floor.quote()
    floor.answer()
    with floor.refused(says="answered already"):
        floor.answer()
    with floor.refused(says="answered already"):
        floor.answer(approved=False)


def test_approval_needs_who_how_and_enough(at: At) -> None:
    floor = at("decision")
    floor.quote()
    quote = floor.sheet.facts.quote
    assert quote is not None
    for by, how, cap in (
        ("", "telephone", quote.total_cents),
        ("Ole", " ", quote.total_cents),
        ("Ole", "telephone", quote.total_cents - 1),
        ("Ole", "telephone", 0),
        ("Ole", "telephone", -1),
    ):
        with floor.refused(kind=BadInput):
            office.record_answer(
                floor.shop, "CC", floor.number, approved=True, by=by, how=how, cap_cents=cap
            )
    with floor.refused(whose="manager"):
        office.record_answer(
            floor.shop, "TT", floor.number, approved=True, by="Ole", how="told me", cap_cents=10**7
        )


def test_the_quote_waits_for_the_teardown(at: At) -> None:
    floor = at("teardown.oil")
    with floor.refused("teardown.oil", says="teardown"):
        floor.quote()


def test_a_new_quote_needs_its_own_answer(at: At) -> None:
    floor = at("build")
    floor.quote()
    with floor.refused("decision.approval", whose="customer"):
        floor.say("build.seal", "")
    floor.answer()
    floor.say("build.seal", "")


def test_extra_parts_do_not_go_beyond_the_cap(at: At) -> None:
    """A piston looked at once more asks for a new one, which the quote does not count."""
    floor = at("build.gland")
    floor.correct("teardown.piston", "scored", "a light held to it", slot="condition")
    floor.say("teardown.piston", "skirt", "heavy", "40 mm", "replace")
    on_hand = floor.shelf("PISTON")
    with floor.refused("decision.approval", whose="office", says="above the"):
        floor.say("parts.issue_piston", "P-1")
    assert floor.shelf("PISTON") == on_hand
    floor.quote()
    floor.answer(cap_cents=10**6)
    floor.say("parts.issue_piston", "P-1")
    floor.go("proof")
    reconcile(floor)


def test_a_joint_pulled_too_far_is_put_right_at_the_shops_cost(at: At) -> None:
    floor = at("build.gland")
    floor.clock.on(minutes=5)
    floor.say("build.gland", "300 in-lb", confirmed=True)
    floor.say("build.gland", "open and replace")
    floor.say("parts.issue_washer", "W-1")
    assert floor.sheet.facts.extra_cents == 0
    floor.go("proof")
    reconcile(floor)


def test_a_quote_without_parts_is_still_a_cap(at: At) -> None:
    """Nothing was quoted of a part that is then needed: it counts from the first piece."""
    floor = at("decision", "PT-1")
    floor.quote()
    floor.answer()
    floor.correct("teardown.rod", "19.97 mm")
    floor.say("parts.issue_seal", "S-OLD")
    assert floor.sheet.facts.extra_cents == 0
    floor.say("parts.tool_torque_wrench", "W-01")
    assert floor.stage == "build"


def test_no_approval_is_saved_by_calling_the_job_something_else(floor: Floor) -> None:
    for kind, says in (("exchange", "shop's own"), ("warranty", "never left"), ("gift", "read")):
        with floor.refused(says=says, kind=BadInput if kind == "gift" else Refused):
            floor.take_in("PT-1", "C-9", kind=kind)


def test_warranty_only_within_its_months_or_by_the_manager(at: At) -> None:
    floor = at("shipment", "PT-1")
    floor.go("done")
    counter.hand_over(floor.shop, "CC", floor.number, "Coast Haulage")
    floor.clock.on(days=400)
    core = counter.Core("K-1", "PT-1", "C01", "drips", kind="warranty")
    with floor.refused(whose="manager", says="12 months"):
        counter.receive_core(floor.shop, "CC", core)
    view = counter.receive_core(floor.shop, "MM", core)
    assert view.heading.kind == "warranty"


# Build -------------------------------------------------------------------------------------------


def test_an_outside_reading_stands_in_the_way(at: At) -> None:
    floor = at("teardown.oil")
    floor.say("teardown.oil", "11 mL")
    floor.say("teardown.photo", "a.jpg")
    floor.say("teardown.said", "oily")
    with floor.refused("teardown.oil"):
        floor.quote()
    floor.say("teardown.oil", "ask customer")
    assert floor.state("teardown.oil").state is State.UNRESOLVED
    assert floor.look().heading.waiting_on == "customer"
    for key in ("parts.issue_seal", "build.seal"):
        with floor.refused("teardown.oil"):
            floor.say(key, "S-OLD")
    with floor.refused("teardown.oil"):
        floor.quote()


def test_within_corrected_to_outside_shuts_what_was_open(at: At) -> None:
    floor = at("build.gland")
    floor.correct("teardown.oil", "11 mL", "read upside down")
    for key in ("build.gland", "proof.held", "release.signed"):
        with floor.refused("teardown.oil"):
            floor.say(key, "160 in-lb")
    floor.say("teardown.oil", "measure again")
    floor.say("teardown.oil", "9.5 mL")
    floor.say("build.gland", "160 in-lb")


def test_conceding_takes_manager_customer_and_something_outside(at: At) -> None:
    floor = at("teardown.oil")
    with floor.refused("teardown.oil", says="not conceded"):
        floor.concede("teardown.oil")
    floor.say("teardown.oil", "11 mL")
    for signed, kind in (
        ("TT 3333", Refused),
        ("CC 2222", Refused),
        ("MM 3333", Refused),
        ("MM", BadInput),
    ):
        with floor.refused(kind=kind):
            floor.concede("teardown.oil", signed)
    for blank in range(3):
        said = ["fit", "Ole", "telephone"]
        said[blank] = "  "
        with floor.refused(kind=BadInput):
            bench.concede(floor.shop, floor.number, "teardown.oil", said[0], "MM 1111", *said[1:])
    floor.concede("teardown.oil")
    assert floor.state("teardown.oil").state is State.DONE
    with floor.refused("teardown.oil"):
        floor.concede("teardown.oil")
    floor.go("build")


def test_a_concession_is_for_what_was_seen(at: At) -> None:
    floor = at("teardown.bore")
    floor.say("teardown.bore", "40.065 mm")
    floor.concede("teardown.bore")
    assert floor.state("teardown.bore").state is State.OPEN  # three cells are not measured
    floor.say("teardown.bore", "40.5 mm", "40.065 mm", "40.065 mm")
    assert floor.state("teardown.bore").open
    with floor.refused("teardown.bore"):
        floor.quote()


def test_a_corrected_reading_is_conceded_anew(at: At) -> None:
    floor = at("teardown.oil")
    floor.say("teardown.oil", "11 mL")
    floor.concede("teardown.oil")
    floor.correct("teardown.oil", "90 mL", slot="value")
    assert floor.state("teardown.oil").open


@pytest.mark.parametrize(
    ("until", "line", "typed"),
    [
        ("proof.dry", "proof.dry", ("leaking",)),
        ("hold.leak", "hold.leak", ("60 bar", "20 C")),
        ("shipment.gas_port", "shipment.gas_port", ("open",)),
    ],
)
def test_what_makes_the_unit_safe_is_not_conceded(
    at: At, until: str, line: str, typed: tuple[str, ...]
) -> None:
    floor = at(until)
    floor.say(line, *typed)
    with floor.refused(line, says="not conceded"):
        floor.concede(line)


def test_nor_are_the_lines_of_the_side_roads(at: At) -> None:
    floor = at("teardown")
    bench.quarantine(floor.shop, "TT", floor.number, "smells")
    floor.say("quarantined.fluid", "unknown")
    floor.say("quarantined.safe", "no")
    with floor.refused("quarantined.safe", says="not conceded"):
        floor.concede("quarantined.safe")


def test_the_build_waits_for_kit_kept_parts_and_tools(at: At) -> None:
    floor = at("parts")
    keys = (
        "parts.issue_seal",
        "parts.issue_washer",
        "parts.kept_piston",
        "parts.tool_torque_wrench",
    )
    with floor.refused(*keys):
        floor.say("build.seal", "")
    for key, typed in zip(keys, ("S-OLD", "W-1", "", "W-01"), strict=True):
        with floor.refused(key):
            floor.say("build.seal", "")
        floor.say(key, typed)
    floor.say("build.seal", "")


def test_a_replaced_part_is_issued_not_kept(at: At) -> None:
    floor = at("teardown.piston")
    floor.say("teardown.piston", "scored", "skirt", "heavy", "40 mm", "replace")
    floor.go("parts")
    assert floor.state("parts.kept_piston").state is State.NOT_ASKED
    with floor.refused(says="not asked"):
        floor.say("parts.kept_piston", "")
    floor.go("build")
    assert floor.state("build.piston_new").state is State.OPEN


def test_pieces_given_back_are_asked_for_again(at: At) -> None:
    floor = at("build")
    with floor.refused(kind=BadInput, says="reason"):
        stores.give_back(floor.shop, "TT", floor.number, "S-OLD", 1, " ")
    stores.give_back(floor.shop, "TT", floor.number, "S-OLD", 2, "wrong size in the bag")
    with floor.refused("parts.issue_seal"):
        floor.say("build.seal", "")
    floor.say("parts.issue_seal", "S-OLD")
    floor.say("build.seal", "")
    reconcile(floor)


def test_build_lines_go_in_order(at: At) -> None:
    floor = at("build")
    for key, typed in (
        ("build.washer", ""),
        ("build.gland", "160 in-lb"),
        ("build.screw", "4.2 mm"),
        ("build.cover.port_a.screws", ""),
        ("build.two_hands", "UU 4444"),
    ):
        with floor.refused("build.seal", says="in order"):
            floor.say(key, typed)
    with floor.refused(says="not asked"):
        floor.say("build.piston_new", "")


def test_the_second_pair_of_hands_is_another_person(at: At) -> None:
    floor = at("build.two_hands")
    with floor.refused("build.two_hands", whose="second person"):
        floor.sign("build.two_hands", "TT", at="UU")
    floor.sign("build.two_hands", "UU", at="TT")


def test_a_build_reading_corrected_is_signed_again(at: At) -> None:
    floor = at("proof")
    floor.correct("build.gland", "158 in-lb")
    assert floor.stage == "build"
    with floor.refused("build.two_hands", whose="second person"):
        floor.say("proof.port", "plugged")
    with floor.refused("build.two_hands"):
        floor.sign("build.two_hands", "TT")
    floor.sign("build.two_hands", "UU")
    floor.say("proof.port", "plugged")
