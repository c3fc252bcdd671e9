"""Entries corrected, judged as a whole, reworked; lines that open and close others; drafts."""

import re
import socket
from collections.abc import Callable
from pathlib import Path

import pytest
from sqlalchemy import select

from shopdesk.desk import drafts, entries, keeping, stores
from shopdesk.errors import BadInput, BadQuantity, Question, ShopError
from shopdesk.procedure import SECTIONS, Caution
from shopdesk.records.tables import Event
from shopdesk.rules import gates
from shopdesk.rules.answers import GasState, Verdict
from shopdesk.rules.sheet import LineState, State
from shopdesk.rules.slots import Ask, Slot
from shopdesk.views import advice
from shopdesk.views import costs as money
from tests.desk.floor import Floor, reconcile
from tests.desk.stocked import variant

At = Callable[..., Floor]


# Corrections -------------------------------------------------------------------------------------


def test_a_correction_supersedes_with_who_and_why(at: At) -> None:
    floor = at("teardown.photo")
    old = floor.entry("teardown.oil")
    done = floor.correct("teardown.oil", "7 mL", "  read upside down ", who="UU")
    state = floor.state("teardown.oil")
    new = state.given["value"]
    assert (new.id, new.supersedes, new.person) == (done.entry_id, old, "UU")
    assert new.reason == "read upside down"
    assert [(a.id, a.answer, a.superseded) for a in state.past] == [(old, "6.0 mL", True)]
    with floor.refused(says="no longer counts"):
        _correct_id(floor, old)
    with floor.refused(says="no longer counts"):
        _correct_id(floor, 99999)


def _correct_id(floor: Floor, entry: int, typed: str = "8 mL") -> None:
    entries.correct_entry(floor.shop, "TT", floor.number, entry, typed, "again")


def test_a_correction_says_why(at: At) -> None:
    floor = at("teardown.photo")
    for why in ("", "   "):
        with floor.refused(kind=BadInput, says="reason"):
            floor.correct("teardown.oil", "7 mL", why)


def test_another_jobs_entry_is_not_corrected(at: At) -> None:
    floor = at("teardown.photo")
    other = floor.entry("teardown.oil")
    floor.take_in("PT-1", "C-2")
    with floor.refused():
        _correct_id(floor, other)


def test_the_chain_holds_the_correction(at: At) -> None:
    floor = at("teardown.photo")
    done = floor.correct("teardown.oil", "7 mL", "read upside down")
    with floor.shop.read() as db:
        payload = db.execute(
            select(Event.payload).where(Event.kind == "entry").order_by(Event.id.desc()).limit(1)
        ).scalar_one()
    assert payload["entry"] == done.entry_id
    assert payload["reason"] == "read upside down"


def test_a_defect_corrected_away_takes_its_disposition_along(at: At) -> None:
    floor = at("teardown.piston")
    floor.say("teardown.piston", "scored", "skirt", "heavy", "40 mm", "replace")
    assert floor.state("parts.issue_piston").state is State.OPEN
    floor.correct("teardown.piston", "good", "that was the other one", slot="condition")
    assert floor.state("parts.issue_piston").state is State.NOT_ASKED
    assert floor.state("parts.kept_piston").state is State.OPEN
    assert floor.state("teardown.piston").state is State.DONE
    with floor.refused(says="no longer counts"):
        last = max(a.id for a in floor.state("teardown.piston").past if a.slot == "severity")
        _correct_id(floor, last)


# Surveys, repeats, restore -----------------------------------------------------------------------


def test_a_survey_is_judged_as_a_whole(at: At) -> None:
    """Every diameter is within its limit; the two axes at 80 mm differ by 0.03, 0.02 is allowed."""
    floor = at("teardown.bore")
    done = floor.say("teardown.bore", "40.02 mm", "40.02 mm", "40.01 mm", "40.04 mm")
    assert done.verdict is Verdict.OUTSIDE
    assert "out-of-round 0.030 mm" in done.echo
    assert floor.state("teardown.bore").next_slot is not None
    floor.say("teardown.bore", "hone or lap")
    state = floor.state("teardown.bore")
    assert state.state is State.OPEN
    assert not state.given
    assert len(state.past) == 5


def test_a_cell_corrected_clears_or_condemns_the_whole(at: At) -> None:
    floor = at("teardown.bore")
    floor.say("teardown.bore", "40.02 mm", "40.02 mm", "40.01 mm", "40.04 mm")
    floor.correct("teardown.bore", "40.03 mm", slot="d2a1")
    assert floor.state("teardown.bore").state is State.DONE
    floor.correct("teardown.bore", "40.06 mm", slot="d1a2")
    assert floor.state("teardown.bore").state is State.OPEN
    assert floor.state("teardown.bore").verdict is Verdict.OUTSIDE


def test_repeats_are_judged_by_their_spread(at: At) -> None:
    floor = at("teardown.depth")
    assert floor.say("teardown.depth", "4.20 mm", "4.26 mm").verdict is Verdict.OUTSIDE
    with floor.refused("teardown.depth"):
        floor.quote()
    floor.correct("teardown.depth", "4.24 mm", slot="r2")
    assert floor.state("teardown.depth").state is State.DONE
    assert floor.sheet.reference_value("teardown.depth") == pytest.approx(0.00422)


def test_cannot_says_why_and_leaves_the_setting_to_the_test(at: At) -> None:
    floor = at("teardown.depth")
    for typed in ("cannot", "cannot:", "cannot :  "):
        with floor.refused(kind=BadInput, says="why"):
            floor.say("teardown.depth", typed)
    floor.say("teardown.depth", "cannot: head sheared off")
    assert floor.state("teardown.depth").state is State.DONE
    floor.go("build.screw")
    done = floor.say("build.screw", "set by feel")
    assert (
        "left to be set by its test, Relief opens at"
        in floor.state("build.screw").given["restored"].answer
    )
    assert done.verdict is Verdict.NONE


def test_a_limit_is_not_got_round_by_not_measuring(at: At) -> None:
    """Common practice: what was not measured is not known to be within its limit."""
    floor = at("teardown.bore")
    assert floor.say("teardown.oil", "cannot: spilled").verdict is Verdict.OUTSIDE
    state = floor.state("teardown.oil")
    assert state.next_slot is not None
    assert state.next_slot.name == "disposition"
    floor.say("teardown.bore", "cannot: no light")
    assert floor.state("teardown.bore").open


def test_a_cannot_taken_back(at: At) -> None:
    floor = at("teardown.depth")
    floor.say("teardown.depth", "4.20 mm", "cannot: it turned")
    assert floor.state("teardown.depth").state is State.DONE
    floor.correct("teardown.depth", "4.21 mm", "found the mark", slot="r2")
    assert floor.sheet.reference_value("teardown.depth") == pytest.approx(0.004205)


def test_cannot_is_for_teardown_only(at: At) -> None:
    floor = at("proof.held")
    with floor.refused(kind=BadInput, says="has to be measured"):
        floor.say("proof.held", "cannot: gauge broken")


def test_a_setting_is_restored_to_what_teardown_measured(at: At) -> None:
    floor = at("build.screw")
    done = floor.say("build.screw", "0.169 in")  # 4.2926 mm; teardown 4.20, tolerance 0.1
    assert done.verdict is Verdict.WITHIN
    assert "difference 0.093 mm" in done.echo
    floor.correct("build.screw", "4.31 mm")
    assert floor.state("build.screw").verdict is Verdict.OUTSIDE


def test_the_setting_is_asked_again_when_its_teardown_reading_is_corrected(at: At) -> None:
    floor = at("build.two_hands")
    floor.correct("teardown.depth", "4.24 mm", "wrote the wrong one", slot="r1")
    assert floor.state("build.screw").state is State.OPEN
    with floor.refused("build.screw"):
        floor.sign("build.two_hands", "UU")


# Tests and rework --------------------------------------------------------------------------------


def test_a_failed_test_is_kept_and_opens_the_rework_loop(at: At) -> None:
    floor = at("proof.held")
    floor.say("proof.held", "90 bar")
    floor.say("proof.held", "rework")
    assert floor.stage == "vent"  # its sides stood under pressure since they were proved empty
    assert floor.gas() is GasState.UNKNOWN
    assert floor.state("vent.seen").past[-1].aside_for == "put under pressure for proof, TT"
    with floor.refused("vent.pressure", whose="second person"):
        floor.say("build.seal", "")
    held = floor.state("proof.held")
    assert [(a.answer, a.set_aside) for a in held.past] == [
        ("90.0 bar", "rework"),
        ("rework", "rework"),
    ]
    reopened = {
        state.line.key
        for state in floor.sheet.lines
        if state.state is State.OPEN and state.line.section in ("build", "proof")
    }
    assert floor.state("parts.issue_seal").state is State.DONE
    assert floor.state("parts.issue_washer").state is State.OPEN  # spent by fitting it
    assert reopened == {
        "build.seal",
        "build.washer",
        "build.gland",
        "build.screw",
        "build.two_hands",
        "build.cover.port_a.screws",
        "build.cover.port_b.screws",
        "proof.port",
        "proof.hold",
        "proof.held",
        "proof.relief",
        "proof.dry",
    }
    floor.go("charge")
    assert len(floor.state("proof.held").past) == 2


def test_rework_from_the_teardown_leaves_what_was_issued(floor: Floor) -> None:
    text = "Pressure at the end of the hold"
    change = (f'text = "{text}"\n', f'text = "{text}"\nrework_from = "teardown"\n')
    keeping.adopt_procedure(floor.shop.laying_out(), "MM", variant("GT-8", change))
    floor.take_in("GT-8", "K-8")
    floor.go("proof.held")
    floor.say("proof.held", "90 bar")
    floor.say("proof.held", "rework")
    assert floor.stage == "vent"
    assert floor.state("teardown.piston").state is State.OPEN
    assert floor.state("parts.issue_seal").state is State.DONE
    floor.go("charge")
    assert floor.shelf("SEAL-N90")[0] == 43  # two of 45, once


def test_a_one_time_part_is_issued_anew_at_the_shops_cost(at: At) -> None:
    floor = at("proof.held")
    floor.say("proof.held", "90 bar")
    before = floor.shelf("WASHER")
    floor.say("proof.held", "rework")
    assert floor.shelf("WASHER") == (before[0], 1)
    with floor.refused("parts.issue_washer", says="1 were spent"):
        stores.give_back(floor.shop, "TT", floor.number, "W-1", 1, "as good as new")
    floor.go("parts")
    with floor.refused("parts.issue_washer"):
        floor.say("build.seal", "")
    said = floor.say("parts.issue_washer", "W-1").echo
    assert "the shop pays" in said
    assert floor.sheet.facts.extra_cents == 0
    assert floor.shelf("WASHER") == (before[0] - 1, 0)
    with floor.shop.read() as db:
        lines = money.job(db, floor.number).lines
    assert ("rework", 150) in [(x.cause, x.actual_cents) for x in lines if x.name == "WASHER"]
    floor.go("charge")
    reconcile(floor)


def test_a_charge_put_right_leaves_its_fitting_alone(floor: Floor) -> None:
    fit = '[[charge]]\nkey = "core"\nkind = "fit"\ntext = "Core"\nkit = "washer"\n\n'
    tick = '[[charge]]\nkey = "fill"'
    keeping.adopt_procedure(floor.shop.laying_out(), "MM", variant("GT-8", (tick, fit + tick)))
    floor.take_in("GT-8", "K-8")
    floor.go("charge.read_back")
    floor.say("charge.read_back", "60 bar at 20 C")
    floor.say("charge.read_back", "charge again")
    assert floor.stage == "charge"
    assert floor.state("charge.core").state is State.DONE
    floor.go("hold.leak")
    floor.say("hold.leak", "50 bar at 20 C")
    floor.say("hold.leak", "rework")
    assert floor.state("charge.core").state is State.OPEN
    assert floor.state("parts.issue_washer").state is State.OPEN
    assert floor.stage == "vent"  # nobody changes a core under pressure


def test_test_again_keeps_both(at: At) -> None:
    floor = at("proof.held")
    floor.say("proof.held", "90 bar")
    floor.say("proof.held", "test again")
    floor.say("proof.held", "118 bar")
    state = floor.state("proof.held")
    assert (state.state, [a.answer for a in state.past]) == (State.DONE, ["90.0 bar", "test again"])


def test_a_joint_pulled_too_far_opens_what_its_consequence_says(at: At) -> None:
    floor = at("build.screw")
    floor.correct("build.gland", "24.5 Nm", "pulled with ft-lb", confirmed=True)
    assert floor.state("build.gland").slots[-1].options[0] == "open and replace"
    floor.say("build.gland", "open and replace")
    open_keys = [state.line.key for state in floor.sheet.lines if state.state is State.OPEN]
    assert open_keys[:3] == ["parts.issue_washer", "build.washer", "build.gland"]
    assert floor.stage == "parts"
    past = floor.state("build.gland").past
    assert [a.answer for a in past] == ["160.0 in-lb", "216.8 in-lb", "open and replace"]
    assert past[0].superseded
    assert past[1].set_aside == "consequence"
    with floor.refused("parts.issue_washer"):
        floor.say("build.gland", "160 in-lb")


# Conditions --------------------------------------------------------------------------------------


def test_a_replaced_part_opens_its_lines_and_a_kept_one_closes_them(at: At) -> None:
    floor = at("teardown.piston")
    assert floor.state("build.piston_new").state is State.NOT_ASKED
    floor.say("teardown.piston", "scored", "skirt", "heavy", "40 mm", "replace")
    assert floor.state("build.piston_new").state is State.OPEN
    floor.correct("teardown.piston", "reuse", "polishes out", slot="disposition")
    assert floor.state("build.piston_new").state is State.NOT_ASKED
    assert floor.state("teardown.piston").state is State.DONE


@pytest.mark.parametrize(("word", "waits_on"), [("scrap", "office"), ("ask customer", "customer")])
def test_a_failed_bore_offers_the_dispositions_and_ends_the_build(
    at: At, word: str, waits_on: str
) -> None:
    floor = at("teardown.bore")
    floor.say("teardown.bore", "40.1 mm", "40.1 mm", "40.1 mm", "40.1 mm")
    slot = floor.state("teardown.bore").next_slot
    assert slot is not None
    assert slot.options == ("hone or lap", "replace", "scrap", "ask customer")
    with floor.refused(kind=BadInput, says="expected one of"):
        floor.say("teardown.bore", "reuse")
    floor.say("teardown.bore", word)
    assert floor.state("teardown.bore").state is State.UNRESOLVED
    assert floor.look().heading.waiting_on == waits_on
    with floor.refused("teardown.bore"):
        floor.say("build.seal", "")


def test_a_caution_takes_no_answer(at: At) -> None:
    floor = at("build")
    state = floor.state("build.clean")
    assert isinstance(state.line, Caution)
    with floor.refused():
        floor.say("build.clean", "done")


KEY = re.compile(rf"\b(?:{'|'.join(SECTIONS)})\.\w+")


def _furlong(floor: Floor, state: LineState, slot: Slot) -> None:
    if slot.name in state.given:
        _correct_id(floor, state.given[slot.name].id, "9 furlong")
    else:
        floor.say(state.line.key, "9 furlong", slot=slot.name)


@pytest.mark.parametrize("section", ["vent", "decision", "build", "charge", "shipment"])
def test_no_refusal_says_a_lines_key(at: At, section: str) -> None:
    """People know the lines by their words, as they stand on the screen."""
    floor = at(section)
    sheet = floor.sheet
    said = [no.sentence for s in sheet.lines if (no := gates.closed_line(sheet, s.line.key))]
    said.append(gates.no_line(sheet, "build.seal"))
    for state in sheet.lines:
        for slot in state.slots:
            if slot.ask in (Ask.DONE, Ask.WORDS):
                continue
            with pytest.raises(ShopError) as caught:
                _furlong(floor, state, slot)
            said.append(str(caught.value))
    assert len(said) > 25
    assert [sentence for sentence in said if KEY.search(sentence)] == []


def test_a_photos_path_that_is_gone_is_asked_about_before_it_is_recorded(
    at: At, tmp_path: Path
) -> None:
    floor = at("teardown.photo")
    taken, gone = tmp_path / "bore.jpg", tmp_path / "gone" / "bore.jpg"
    taken.write_bytes(b"picture")
    for typed in (str(gone), f"{tmp_path}/bo\0re.jpg", f"{tmp_path}/{'n' * 300}.jpg"):
        with floor.refused(kind=Question, says="as this terminal sees it"):
            floor.say("teardown.photo", typed, known=floor.look())
    floor.say("teardown.photo", str(gone), known=floor.look(), confirmed=True)
    with floor.shop.read() as db:
        view = floor.look()
        assert "no such file" in advice.beside(db, view.sheet, floor.state("teardown.photo"))[0]
    floor.correct("teardown.photo", str(taken))
    with floor.shop.read() as db:
        assert advice.beside(db, floor.sheet, floor.state("teardown.photo")) == ()


# Drafts ------------------------------------------------------------------------------------------


def test_what_was_typed_is_kept_for_its_terminal(at: At) -> None:
    floor = at("vent.pressure")
    before = floor.written()
    place = f"J-{floor.number}/vent.pressure/value"
    for text in ("6", "62", "62 ba"):
        drafts.keep(floor.shop, place, text)
    assert drafts.kept(floor.shop, place) == "62 ba"
    assert drafts.kept_places(floor.shop) == ((place, "62 ba"),)
    other = type(floor.shop)(floor.shop.record, floor.clock, "bench-2")
    assert drafts.kept(other, place) == ""
    drafts.keep(floor.shop, place, "")
    assert drafts.kept(floor.shop, place) == ""
    assert floor.written() == before  # a draft is no deed


def test_what_was_typed_in_a_window_that_is_gone_is_offered_in_another(at: At) -> None:
    """A line that hung up: its pseudo-terminal is gone, and the next has another name."""
    floor = at("vent.zero")
    host = socket.gethostname().partition(".")[0]
    place = f"J-{floor.number}/vent.zero/value"
    there, elsewhere, gone, later = (
        type(floor.shop)(floor.shop.record, floor.clock, name)
        for name in (f"{host}:tty", "else:pts/9876", f"{host}:pts/9876", f"{host}:pts/9877")
    )
    for window, text in ((there, "0.2 bar"), (elsewhere, "7 bar"), (gone, "0.1 bar")):
        drafts.keep(window, place, text)
    for window, name, text in ((gone, "serial", "K-1"), (later, "customer", "C01")):
        floor.clock.on(minutes=1)
        drafts.keep(window, f"core/{name}", text)
    assert drafts.kept_places(floor.shop) == (("core/customer", "C01"), (place, "0.1 bar"))
    floor.say("vent.zero", "0 bar", draft=place)
    assert drafts.kept(floor.shop, place) == ""
    assert [drafts.kept(each, place) for each in (there, elsewhere)] == ["0.2 bar", "7 bar"]


def test_an_entry_drops_its_own_draft_and_a_refused_one_keeps_it(at: At) -> None:
    floor = at("vent.zero")
    place = f"J-{floor.number}/vent.zero/value"
    drafts.keep(floor.shop, place, "0 furlong")
    with floor.refused(kind=BadQuantity):
        floor.say("vent.zero", "0 furlong", draft=place)
    assert drafts.kept(floor.shop, place) == "0 furlong"
    floor.say("vent.zero", "0 bar", draft=place)
    assert drafts.kept(floor.shop, place) == ""
