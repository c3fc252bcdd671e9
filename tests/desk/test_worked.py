"""A part that is worked on is not as it was measured: what the procedure names is measured again.

Verification of what was put right: ISO 9001:2015, 8.7.1, "conformity to the requirements shall be
verified when nonconforming outputs are corrected". That the bore is measured after honing, and that
a hone takes metal off: common practice.
"""

import pytest

from shopdesk.desk import keeping, moving, procedures
from shopdesk.records import chain, witness
from shopdesk.rules.answers import GasState, Verdict
from shopdesk.rules.moving import Fate
from shopdesk.rules.sheet import State
from shopdesk.views import certificates
from shopdesk.views import moving as moves
from tests.desk.floor import Floor, reconcile
from tests.desk.stocked import variant
from tests.desk.test_procedures import MANAGER

DEPTH = '[[teardown]]\nkey = "depth"\n'
SIGNED = """[[teardown]]
key = "seen"
kind = "signature"
text = "Bore seen by a second person"
witness = true

"""
SURFACE = """[[teardown]]
key = "surface"
kind = "finding"
text = "Bore under the light"
part = "bore"
defects = ["scored", "stained"]
dispositions = ["reuse", "hone or lap", "replace"]
"""
NAMED = 'measure_again = ["teardown.bore"]\n'
SCORED = ("scored", "6 o'clock", "light", "30 mm")


@pytest.fixture
def database() -> str:
    return "sqlite"


def worn(floor: Floor, until: str, *, named: str = NAMED, after: str = "") -> Floor:
    """A unit whose bore is looked at once it was measured, walked on to ``until``."""
    text = variant("GT-9", (DEPTH, f"{SURFACE}{named}\n{after}{DEPTH}"))
    keeping.adopt_procedure(floor.shop.laying_out(), "MM", text)
    floor.take_in("GT-9")
    floor.go(until, teardown__surface="good")
    return floor


def bore(floor: Floor, *typed: str) -> None:
    floor.say("teardown.bore", *(typed if len(typed) > 1 else typed * 4))


@pytest.mark.parametrize("database", ["sqlite", "postgresql"])
def test_honing_asks_the_survey_again_and_keeps_the_first_to_be_seen(floor: Floor) -> None:
    worn(floor, "teardown.surface")
    done = floor.say("teardown.surface", *SCORED, "hone or lap")
    assert done.echo == "hone or lap; measured again after it: Bore of the barrel"
    again = floor.state("teardown.bore")
    assert (again.state, len(again.past), again.given) == (State.OPEN, 4, {})
    assert {a.set_aside for a in again.past} == {"remeasure"}
    assert {a.aside_for for a in again.past} == {"Bore under the light: hone or lap, TT"}
    assert floor.sheet.cursor is not None
    assert floor.sheet.cursor.line.key == "teardown.bore"
    with floor.refused("teardown.bore", says="teardown"):
        floor.quote()
    bore(floor, "40.070 mm")
    grown = floor.state("teardown.bore")
    assert (grown.verdict, grown.next_slot and grown.next_slot.options) == (
        Verdict.OUTSIDE,
        ("hone or lap", "replace", "scrap", "ask customer"),
    )
    floor.say("teardown.bore", "ask customer")
    with floor.refused("teardown.bore"):
        floor.say("build.seal", "")
    floor.correct("teardown.bore", "hone or lap", "he wants it oversize", slot="disposition")
    bore(floor, "40.055 mm")
    floor.go("build", teardown__surface="good")
    with floor.shop.read() as db:
        assert witness.fault(db) is None
        assert chain.verify(db).broken is None


@pytest.mark.parametrize("word", ["reuse", "replace"])
def test_a_part_that_is_not_worked_on_stays_as_measured(floor: Floor, word: str) -> None:
    worn(floor, "teardown.surface")
    floor.say("teardown.surface", *SCORED, word)
    assert floor.state("teardown.bore").state is State.DONE


def test_a_reading_outside_that_is_dressed_asks_what_it_names(floor: Floor) -> None:
    oil = 'limit = { high = "10 mL", source = "test drawing 1", revision = "A" }\n'
    text = variant("GT-8", (oil, f'{oil}dispositions = ["dress"]\n{NAMED}'))
    keeping.adopt_procedure(floor.shop.laying_out(), "MM", text)
    floor.take_in("GT-8")
    floor.go("teardown.oil")
    floor.say("teardown.oil", "11 mL", "dress")
    assert floor.state("teardown.bore").state is State.OPEN


def test_half_a_survey_is_begun_again(floor: Floor) -> None:
    worn(floor, "teardown.bore")
    floor.say("teardown.bore", "40.02 mm", "40.02 mm")
    floor.say("teardown.surface", *SCORED, "hone or lap")
    slot = floor.state("teardown.bore").next_slot
    assert slot is not None
    assert slot.name == "d1a1"


def test_who_signed_for_the_bore_signs_for_the_bore_as_it_is(floor: Floor) -> None:
    worn(floor, "teardown.depth", after=SIGNED)
    floor.correct("teardown.surface", "scored", "a better lamp")
    floor.say("teardown.surface", *SCORED[1:], "hone or lap")
    assert floor.state("teardown.seen").state is State.OPEN
    bore(floor, "40.03 mm")
    floor.say("teardown.surface", "good")
    with floor.refused("teardown.seen", whose="second person"):
        floor.sign("teardown.seen", "TT")
    floor.sign("teardown.seen", "UU")


def test_a_concession_does_not_outlive_the_bore_it_was_for(floor: Floor) -> None:
    worn(floor, "teardown.bore")
    bore(floor, "40.065 mm")
    floor.concede("teardown.bore")
    floor.say("teardown.surface", *SCORED, "hone or lap")
    bore(floor, "40.066 mm")
    assert floor.state("teardown.bore").open
    with floor.refused("teardown.bore"):
        floor.quote()


def test_a_part_worked_on_late_comes_out_again(floor: Floor) -> None:
    """The bore is honed after the unit was built and proved: nothing that was built, proved or
    signed stands, a one-time part is spent, and it has been under pressure since it was vented."""
    worn(floor, "charge")
    floor.correct("teardown.surface", "scored", "the photo shows it", slot="condition")
    done = floor.say("teardown.surface", *SCORED[1:], "hone or lap")
    assert done.echo.endswith("Bore of the barrel; what was built before it is done over")
    built = ("teardown.bore", "parts.issue_washer", "build.seal", "build.gland", "build.two_hands")
    for key in (*built, "proof.held", "proof.relief"):
        assert floor.state(key).state is State.OPEN, key
    assert floor.state("parts.issue_seal").state is State.DONE
    assert floor.gas() is GasState.UNKNOWN
    floor.go("done", teardown__surface="good", teardown__bore="40.030 mm")
    reconcile(floor)
    with floor.shop.read() as db:
        facts = certificates.certificate(db, floor.number, floor.clock())
    received, final = (each for each in facts.received if each.line == "teardown.bore")
    assert (received.when, received.value[:9]) == ("received", "40.020 mm")
    assert (final.when, final.value[:9]) == ("final", "40.030 mm")
    assert not {*received.entries} & {*final.entries}


def test_a_failed_test_may_ask_the_teardown_again(floor: Floor) -> None:
    limit = 'limit = { target = "110 bar", within = "4 bar", source = "test sheet 16", '
    text = variant("GT-7", (f'{limit}revision = "A" }}\n', f'{limit}revision = "A" }}\n{NAMED}'))
    keeping.adopt_procedure(floor.shop.laying_out(), "MM", text)
    floor.take_in("GT-7")
    floor.go("proof.relief")
    floor.say("proof.relief", "120 bar", "test again")
    assert floor.state("teardown.bore").state is State.DONE
    floor.say("proof.relief", "120 bar", "rework")
    assert floor.state("teardown.bore").state is State.OPEN
    assert floor.state("build.gland").state is State.OPEN


def test_a_job_moved_to_a_revision_that_names_the_survey(floor: Floor) -> None:
    """What was measured before the work counts no more; what was measured after it stands."""
    worn(floor, "teardown.surface", named="")
    floor.say("teardown.surface", *SCORED, "hone or lap")
    floor.say("teardown.surface", "good")
    assert floor.state("teardown.bore").state is State.DONE
    revise(floor, NAMED)
    moving.move_over(floor.shop, MANAGER, floor.number, "bores are measured after honing")
    state = floor.state("teardown.bore")
    assert (state.state, len(state.past)) == (State.OPEN, 4)
    bore(floor, "40.040 mm")
    revise(floor, "", revision="C")
    moving.move_over(floor.shop, MANAGER, floor.number, "taken back")
    assert floor.state("teardown.bore").state is State.DONE
    revise(floor, NAMED, revision="D")
    moving.move_over(floor.shop, MANAGER, floor.number, "and forth")
    assert floor.state("teardown.bore").state is State.DONE


def revise(floor: Floor, named: str, revision: str = "B") -> None:
    """Brings in GT-9 in a later revision; what the move would do is what the page says."""
    text = variant(
        "GT-9",
        (DEPTH, f"{SURFACE}{named}\n{DEPTH}"),
        ('revision = "A"\neffective', f'revision = "{revision}"\neffective'),
        ('changed = "first issue"', f'changed = "for {revision}"'),
    )
    procedures.bring_in(floor.shop, MANAGER, text, "", name="new", approve=True)
    with floor.shop.read() as db:
        found = {each.key: each for each in moves.plan(db, floor.number, floor.clock()).plan.lines}
    [differs] = found["teardown.surface"].differs
    assert differs.field == "measured again after work"
    assert "teardown.bore" in (differs.was, differs.now)
    if revision == "B":
        assert found["teardown.bore"].fate is Fate.AGAIN
        assert found["teardown.bore"].why == "measured before Bore under the light: hone or lap"
