"""A running job moved over to a new revision: what becomes of its answers, gates, kit, papers."""

from collections.abc import Callable
from dataclasses import replace

import pytest

from shopdesk.desk import moving, procedures
from shopdesk.desk.seen import AsSeen
from shopdesk.errors import BadInput, Refused, Stale
from shopdesk.records import chain, witness
from shopdesk.records.tables import Entry, Job
from shopdesk.rules import gates
from shopdesk.rules import moving as rules
from shopdesk.rules.answers import GasState, Verdict
from shopdesk.rules.moving import Fate
from shopdesk.rules.sheet import Sheet, State
from shopdesk.views import certificates, recalls
from shopdesk.views import moving as views
from tests.desk.floor import Floor
from tests.desk.test_procedures import MANAGER, NO_OIL, revised

WHY = "the customer's drawing changed"
At = Callable[..., Floor]


@pytest.fixture
def database() -> str:
    return "sqlite"


def in_force(floor: Floor, *changes: tuple[str, str], revision: str = "B") -> None:
    text = revised(*changes, revision=revision, changed=f"for {revision}")
    procedures.bring_in(floor.shop, MANAGER, text, "", name="new", approve=True)


def fates(floor: Floor) -> dict[str, Fate]:
    with floor.shop.read() as db:
        found = views.plan(db, floor.number, floor.clock())
    return {
        each.key: each.fate for each in found.plan.lines if each.fate not in (Fate.KEPT, Fate.OPEN)
    }


def move(floor: Floor, **said: object) -> None:
    """Moves the job; what was shown of it before is what it is afterwards."""
    with floor.shop.read() as db:
        shown = views.plan(db, floor.number, floor.clock(), str(said.get("to", ""))).plan
    moving.move_over(floor.shop, MANAGER, floor.number, WHY, **said)  # type: ignore[arg-type]
    assert stands(floor.sheet) == stands(shown.after)
    assert floor.gas() is shown.gas


def stands(sheet: Sheet) -> list[object]:
    return [(s.line.key, s.state, s.verdict, sorted(s.given), len(s.past)) for s in sheet.lines]


def bore(high: str) -> tuple[str, str]:
    return 'high = "40.060 mm"', f'high = "{high}"'


def new_line(before: str, section: str, key: str = "wiped") -> tuple[str, str]:
    head = f'[[{section}]]\nkey = "{before}"'
    return head, f'[[{section}]]\nkey = "{key}"\nkind = "tick"\ntext = "Wiped dry"\n\n{head}'


@pytest.mark.parametrize("database", ["sqlite", "postgresql"])
def test_a_tighter_limit_judges_the_answer_anew_and_leaves_the_entry(at: At) -> None:
    floor = at("build")
    in_force(floor, bore("40.010 mm"))
    written = floor.written()["entry"]
    assert fates(floor) == {"teardown.bore": Fate.ANEW}
    move(floor)
    state = floor.state("teardown.bore")
    assert state.verdict is Verdict.OUTSIDE
    assert state.given["d1a1"].limit_text == "40.000 mm to 40.010 mm"
    assert floor.stage == "teardown"
    assert floor.look().heading.revision == "B"
    assert floor.written()["entry"] == written
    stored = floor.value(Entry.verdict, Entry.id == state.given["d1a1"].id)
    assert stored == "within"
    with floor.refused(says="teardown"):
        floor.say("build.seal", "done")
    floor.say("teardown.bore", "hone or lap")
    with floor.shop.read() as db:
        assert witness.fault(db) is None
        assert chain.verify(db).broken is None


def test_a_wider_limit_puts_an_outside_reading_within(at: At) -> None:
    floor = at("teardown.bore")
    floor.say("teardown.bore", "40.070 mm", "40.070 mm", "40.070 mm", "40.070 mm")
    assert floor.state("teardown.bore").state is State.OPEN
    in_force(floor, bore("40.090 mm"))
    move(floor)
    assert floor.state("teardown.bore").state is State.DONE


def test_a_dropped_answer_takes_a_reason_and_stays_to_be_seen(at: At) -> None:
    floor = at("decision")
    in_force(floor, NO_OIL)
    assert fates(floor) == {"teardown.oil": Fate.DROPPED}
    with floor.refused("teardown.oil", says="J-1001 has answered what rev B drops: teardown.oil"):
        move(floor)
    move(floor, dropped_reason="the seal is always replaced now")
    state = floor.state("teardown.oil")
    assert state.state is State.NOT_ASKED
    assert state.given["value"].answer.startswith("6")
    assert state.line.text == "Oil found on the gas side (asked by rev A)"
    with floor.refused(says="not asked"):
        floor.say("teardown.oil", "7 mL")


def test_a_new_line_opens_its_section_again(at: At) -> None:
    floor = at("decision")
    in_force(floor, new_line("photo", "teardown"))
    with floor.shop.read() as db:
        plan = views.plan(db, floor.number, floor.clock()).plan
    assert plan.reopened == ("teardown",)
    move(floor)
    assert floor.stage == "teardown"
    assert floor.gas() is GasState.VENTED
    floor.say("teardown.wiped", "done")
    assert floor.stage == "decision"


@pytest.mark.parametrize(
    ("change", "line"),
    [
        (new_line("zero", "vent"), "vent.wiped"),
        (('text = "Gas side let down outdoors"', 'text = "Gas side let down, twice"'), ""),
        (
            (
                'high = "0.2 bar", source = "test rule 4"',
                'high = "0.1 bar", source = "test rule 5"',
            ),
            "",
        ),
    ],
)
def test_a_vent_record_that_changes_is_proved_anew(
    at: At, change: tuple[str, str], line: str
) -> None:
    floor = at("build")
    in_force(floor, change)
    assert fates(floor)["vent.seen"] is Fate.SIGN
    move(floor)
    assert floor.gas() is GasState.UNKNOWN
    assert floor.stage == "vent"
    refusal = gates.closed(floor.sheet, "build")
    assert refusal is not None
    assert "vent record complete" in refusal.sentence
    with floor.refused(says="vent"):
        floor.say("build.seal", "done")
    floor.go("build")
    assert floor.gas() is GasState.VENTED
    floor.say("build.seal", "done")


@pytest.mark.parametrize(
    ("place", "change", "line"),
    [
        ("decision", ('unit = "mL"', 'unit = "g"'), "teardown.oil"),
        ("proof", ('lubricant = "clean oil"', 'lubricant = "grease"'), "build.seal"),
        (
            "charge",
            ('duration = "5 min"\n\n[[proof]]', 'duration = "9 min"\n\n[[proof]]'),
            "proof.hold",
        ),
        ("proof", ('options = ["not known"', 'options = ["unsaid"'), "receipt.told"),
    ],
)
def test_what_asks_for_something_else_is_asked_again(
    at: At, place: str, change: tuple[str, str], line: str
) -> None:
    floor = at(place)
    if line == "teardown.oil":
        in_force(floor, change, ('high = "10 mL"', 'high = "10 g"'))
    else:
        in_force(floor, change)
    assert fates(floor)[line] is Fate.AGAIN
    move(floor)
    state = floor.state(line)
    assert state.state is State.OPEN
    assert not state.given
    assert {answer.set_aside for answer in state.past} == {"moved over"}
    assert f"rev A to B: {WHY}, MM" in state.past[0].aside_for


def test_another_kit_is_reserved(at: At) -> None:
    floor = at("parts")
    seals, washers = floor.shelf("SEAL-N90"), floor.shelf("WASHER")
    assert seals[1] == 2
    in_force(
        floor,
        ('part = "SEAL-N90"\nquantity = 2', 'part = "SEAL-V90"\nquantity = 3'),
    )
    move(floor)
    assert floor.shelf("SEAL-N90")[1] == 0
    assert floor.shelf("SEAL-V90")[1] == 3
    assert floor.shelf("WASHER") == washers


def test_who_may_and_what_is_refused(at: At) -> None:
    floor = at("decision")
    with floor.refused(says="runs on rev A; rev A is not newer"):
        move(floor)
    procedures.bring_in(floor.shop, MANAGER, revised(), "", name="b")
    with floor.refused(says="rev B is not approved: no job runs on it"):
        move(floor, to="B")
    procedures.approve(floor.shop, MANAGER, "GT-1", "B")
    with floor.refused(says="takes a manager"):
        moving.move_over(floor.shop, "TT 3333", floor.number, WHY)
    with floor.refused(says="do not fit"):
        moving.move_over(floor.shop, "MM 1234", floor.number, WHY)
    with floor.refused(says="give the reason", kind=BadInput):
        moving.move_over(floor.shop, MANAGER, floor.number, "  ")
    seen = AsSeen(floor.value(Job.version, Job.number == floor.number))
    floor.quote()
    with floor.refused(says="changed since you looked", kind=Stale):
        move(floor, seen=seen)
    move(floor)
    assert floor.look().heading.revision == "B"
    without = rules.refused(floor.sheet, replace(floor.sheet.procedure, gas_charged=False))
    assert without is not None
    assert "holds no gas" in without.sentence


def test_a_certificate_and_a_recall_say_both_revisions(at: At) -> None:
    floor = at("proof")
    in_force(floor, NO_OIL)
    move(floor, dropped_reason="never again")
    floor.go("shipment")
    with floor.shop.read() as db:
        found = certificates.certificate(db, floor.number, floor.clock())
        assert found.revision == "B (begun on A, moved over 2026-03-02)"
        assert "Oil found on the gas side (asked by rev A)" in [f.label for f in found.received]
        [left] = recalls.units(db, "procedure", "GT-1 A")
        [here] = recalls.units(db, "procedure", "GT-1 B")
    assert left.why == "on rev A until moved over to rev B on 2026-03-02"
    assert here.why == "done by rev B"
    in_force(floor, new_line("photo", "teardown"), NO_OIL, revision="C")
    with floor.shop.read() as db:  # the issue that was signed says what it said
        assert certificates.certificate(db, floor.number, floor.clock()) == found
    opened = fates(floor)  # the charged unit has to be opened again
    assert opened["teardown.wiped"] is Fate.NEW
    assert opened["vent.gas_open"] is Fate.ASKED
    assert opened["release.signed"] is Fate.SIGN
    move(floor)
    with (
        floor.shop.read() as db,
        pytest.raises(Refused, match="is not released"),
    ):
        certificates.certificate(db, floor.number, floor.clock())


def test_a_line_that_comes_back_has_its_answer_again(at: At) -> None:
    floor = at("decision")
    in_force(floor, NO_OIL)
    move(floor, dropped_reason="not needed")
    in_force(floor, revision="C")
    move(floor)
    assert floor.state("teardown.oil").state is State.DONE
    assert floor.stage == "decision"
