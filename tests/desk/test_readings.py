"""What is typed on a line: read, echoed in both units, judged, questioned, with its instrument.

On SQLite alone: none of it depends on the database.
"""

from collections.abc import Callable

import pytest
from sqlalchemy import select

from shopdesk.desk import keeping
from shopdesk.desk.instruments import NeedsInstrument
from shopdesk.desk.keeping import NewInstrument
from shopdesk.errors import BadInput, BadQuantity, Question, Refused, ShopError
from shopdesk.records.tables import Entry
from shopdesk.rules.answers import Verdict
from shopdesk.rules.sheet import State
from shopdesk.views import advice
from tests.desk.floor import Floor
from tests.desk.stocked import variant

pytestmark = pytest.mark.parametrize("database", ["sqlite"], indirect=True)
At = Callable[..., Floor]


# Echo, verdict, limit ----------------------------------------------------------------------------


def test_a_torque_in_another_unit_is_echoed_in_both(at: At) -> None:
    floor = at("build.gland")
    done = floor.say("build.gland", "18 Nm")
    assert done.verdict is Verdict.WITHIN
    # NIST SP 811 (2008), appendix B.8: 1 lbf·in = 0.1129848 N·m, so 18 N·m are 159.3
    assert done.echo.startswith("18 Nm = 159.3 in-lb")
    assert "WITHIN 160 in-lb ± 10 in-lb (test drawing 5 rev A)" in done.echo
    # the wrench stands at T·L/(L+E): 160 x 250/300 = 133.3
    assert "133.3 in-lb" in done.echo


def test_verdict_limit_and_source_stand_on_the_entry(at: At) -> None:
    floor = at("build.gland")
    done = floor.say("build.gland", "18 Nm")
    with floor.shop.read() as db:
        row = db.execute(select(Entry).where(Entry.id == done.entry_id)).one()
    assert (row.typed, row.answer, row.unit) == ("18 Nm", "159.3 in-lb", "N·m")
    assert row.value_si == pytest.approx(18.0)
    assert (row.verdict, row.limit_text) == ("within", "160 in-lb ± 10 in-lb")
    assert row.limit_source == "test drawing 5 rev A"


def test_at_the_limit_is_within(at: At) -> None:
    floor = at("teardown.oil")
    assert floor.say("teardown.oil", "10 mL").verdict is Verdict.WITHIN
    for typed, verdict in (
        ("10", Verdict.WITHIN),
        ("0 mL", Verdict.WITHIN),
        ("10.01 mL", Verdict.OUTSIDE),
        ("11", Verdict.OUTSIDE),
        ("9.99 cc", Verdict.WITHIN),
    ):
        assert floor.correct("teardown.oil", typed, slot="value").verdict is verdict


def test_what_is_no_torque_and_what_has_to_be_asked(at: At) -> None:
    floor = at("build.gland")
    for typed in ("35", "160", "18.1"):
        with floor.refused(kind=BadQuantity, says="in-lb"):
            floor.say("build.gland", typed)
    for typed in (
        "",
        "abc",
        "12 bar",
        "-5 in-lb",
        "nan in-lb",
        "inf Nm",
        "18 Nm 18 Nm",
        "x" * 600,
        "18\x07 Nm",
    ):
        with floor.refused(kind=BadInput):
            floor.say("build.gland", typed)


@pytest.mark.parametrize(
    ("typed", "bar", "celsius"),
    [
        ("900 psi at 70F", "62.1 bar", "21.1 °C"),
        ("62bar@21C", "62.0 bar", "21.0 °C"),
    ],
)
def test_pressure_and_temperature_in_one_go(at: At, typed: str, bar: str, celsius: str) -> None:
    floor = at("vent.pressure")
    floor.say("vent.pressure", typed)
    given = floor.state("vent.pressure").given
    assert (given["value"].answer, given["temperature"].answer) == (bar, celsius)


def test_half_a_compound_writes_nothing(at: At) -> None:
    floor = at("vent.pressure")
    for typed in ("62 bar at warm", "hot at 21 C", "62 bar at 21 bar", "62 at 21 C"):
        with floor.refused(kind=BadInput):
            floor.say("vent.pressure", typed)


def test_two_in_one_go_are_echoed_and_judged_together(floor: Floor) -> None:
    """The pressure is outside its limit, the temperature has none: that is not lost behind it."""
    limit = 'limit = { high = "0.2 bar", source = "test rule 4", revision = "A" }'
    text = variant("GT-5", (limit, f'{limit}\nat_temperature = "C"'))
    keeping.adopt_procedure(floor.shop.laying_out(), "MM", text)
    floor.take_in("GT-5")
    floor.go("vent.zero")
    done = floor.say("vent.zero", "5 psi at 68 F")
    assert done.verdict is Verdict.OUTSIDE
    assert done.echo.startswith(
        "5 psi at 68 F = 0.34 bar at 20.0 °C; OUTSIDE at most 0.2 bar (test rule 4 rev A)"
    )


def test_a_charge_stated_in_psi_and_fahrenheit_is_asked_and_echoed_so(floor: Floor) -> None:
    """Factors from NIST SP 811: 1 bar = 14.50377 psi; the charge is 1015.3 psi at 68 °F."""
    text = variant(
        "GT-6",
        ('target = "70 bar"\nreference = "20 C"', 'target = "1015 psi"\nreference = "68 F"'),
    )
    keeping.adopt_procedure(floor.shop.laying_out(), "MM", text)
    floor.take_in("GT-6")
    floor.go("charge.set")
    asked = [slot.unit for slot in floor.state("charge.set").slots]
    assert asked == ["°F", "psi"]
    assert floor.say("charge.set", "20 C").echo == "20 C = 68.0 °F"
    floor.go("charge.read_back")
    done = floor.say("charge.read_back", "70 bar at 20 C")
    assert done.verdict is Verdict.WITHIN
    assert done.echo.startswith("70 bar at 20 C = 1015 psi at 68.0 °F; WITHIN 1015 psi ± ")
    given = floor.state("charge.read_back").given
    assert (given["value"].answer, given["temperature"].answer) == ("1015 psi", "68.0 °F")
    with floor.shop.read() as db:
        [said] = advice.beside(db, floor.sheet, floor.state("hold.leak"))
    assert said.startswith("against 1015 psi at 68.0 °F, loss at most ")
    assert said.endswith("type pressure and temperature, such as 1015 psi at 68 F")


@pytest.mark.parametrize("typed", ["62 bar", "0.2", "3 5/16 in", "1,500 psi", "62 bar at 21 C"])
def test_a_reading_ticks_nothing_off(at: At, typed: str) -> None:
    """Typed one line too late, it would stand there as a remark; and it starts no hold."""
    floor = at("vent.oil_open")
    with floor.refused(kind=BadInput, says="looks like a label or a reading"):
        floor.say("vent.oil_open", typed)
    floor.say("vent.oil_open", "done, 2 of 2 ports, held 10 min")


def test_a_reading_starts_no_hold(at: At) -> None:
    floor = at("proof.hold")
    with floor.refused(kind=BadInput, says="looks like a label or a reading"):
        floor.say("proof.hold", "950 psi")
    floor.say("proof.hold", "5 min")


# Slips -------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("model", "typed", "says"),
    [
        # 22 typed as ft-lb where in-lb are meant
        (
            "PT-1",
            "30 Nm",
            "30.0 N·m is 12 times the 2.5 N·m of this line; 22.1 ft-lb would be near it as "
            "22.1 in-lb. Was it really pulled to 30.0 N·m?",
        ),
        # N·m for in-lb
        (
            "PT-1",
            "22.1 Nm",
            "8.84 times the 2.5 N·m of this line; it would be near it as 22.1 in-lb",
        ),
        # in-lb for N·m
        (
            "GT-1",
            "18.1 in-lb",
            "0.113 times the 160.0 in-lb of this line; it would be near it as 18.1 N·m",
        ),
        # ft-lb for N·m: 18.1 N·m are asked
        (
            "GT-1",
            "24.5 Nm",
            "1.36 times the 160.0 in-lb of this line; 18.1 ft-lb would be near it as 18.1 N·m",
        ),
    ],
)
def test_the_right_number_in_the_wrong_unit_is_questioned(
    at: At, model: str, typed: str, says: str
) -> None:
    floor = at("build.gland", model)
    with floor.refused(kind=Question, says=says):
        floor.say("build.gland", typed)
    done = floor.say("build.gland", typed, confirmed=True)
    assert done.verdict is Verdict.OUTSIDE


def test_an_unlikely_number_that_is_no_slip_is_just_outside(at: At) -> None:
    assert at("build.gland").say("build.gland", "280 in-lb").verdict is Verdict.OUTSIDE


def test_a_correction_is_questioned_too(at: At) -> None:
    floor = at("build.screw")
    with floor.refused(kind=Question):
        floor.correct("build.gland", "24.5 Nm")
    floor.correct("build.gland", "24.5 Nm", confirmed=True)
    assert floor.state("build.gland").state is State.OPEN  # its disposition is asked


def test_a_choice_by_number_or_beginning(floor: Floor) -> None:
    floor.take_in()
    for typed in ("4", "0", "-1", "maybe", "", "99999"):
        with floor.refused(kind=BadInput, says="1 not known, 2 charged, 3 vented"):
            floor.say("receipt.told", typed)
    for typed in ("3", "v", "VENTED"):
        floor.take_in(serial=f"K-{typed}")
        floor.say("receipt.told", typed)
        assert floor.state("receipt.told").given["answer"].answer == "vented"


# Instruments -------------------------------------------------------------------------------------


def test_a_reading_carries_a_fit_instrument(at: At) -> None:
    floor = at("vent.pressure")
    attempts: tuple[tuple[dict[str, str], str, type[ShopError]], ...] = (
        ({}, "scan the pressure gauge", NeedsInstrument),
        ({"pressure gauge": "G-99"}, "ran out", Refused),
        ({"pressure gauge": "G-04"}, "outside", NeedsInstrument),
        ({"pressure gauge": "W-01"}, "expected a pressure gauge", Refused),
        ({"pressure gauge": "G-77"}, "no instrument", ShopError),
    )
    with floor.refused(kind=Refused, says="no pressure gauge of this shop that is in date reads"):
        floor.say("vent.pressure", "62000 bar", in_hand={})  # no scan could let it in
    for hands, says, kind in attempts:
        with floor.refused(kind=kind, says=says):
            floor.say("vent.pressure", "62 bar", in_hand=hands)


def test_the_last_instrument_of_its_kind_is_taken_while_it_covers(at: At) -> None:
    floor = at("vent.pressure")
    floor.say("vent.pressure", "62 bar at 21 C")
    floor.go("vent.zero")
    floor.say("vent.zero", "0 bar", in_hand={})
    assert floor.state("vent.zero").given["value"].instrument == "G-01"


def test_a_gauge_with_steps_wider_than_the_limit_proves_no_zero(at: At) -> None:
    """Common practice: what a gauge cannot show it cannot prove, least of all an empty unit."""
    floor = at("vent.pressure")
    for code, step in (("G-05", 1e5), ("G-06", 0.05e5)):
        new = NewInstrument(code, "pressure gauge", "16 bar", "bar", 0.0, 16e5, resolution_si=step)
        keeping.add_instrument(floor.shop, "MM", new)
    floor.say("vent.pressure", "12 bar at 21 C", in_hand={"pressure gauge": "G-05"})
    floor.go("vent.zero")
    for hand in ({}, {"pressure gauge": "G-05"}):
        with floor.refused(kind=NeedsInstrument, says="G-05 shows steps of 1.0 bar"):
            floor.say("vent.zero", "0 bar", in_hand=hand)
    floor.say("vent.zero", "0 bar", in_hand={"pressure gauge": "G-06"})
    assert floor.state("vent.zero").given["value"].instrument == "G-06"


@pytest.mark.parametrize(
    ("key", "typed", "coarse_si"),
    [("charge.read_back", "70 bar", 5e5), ("build.gland", "160 in-lb", 2.0)],
)
def test_steps_are_held_against_the_tolerance(
    at: At, key: str, typed: str, coarse_si: float
) -> None:
    """± 2 bar leaves 4 bar, ± 10 in-lb leaves 2.26 N·m: 5 bar is too wide a step, 2 N·m not."""
    floor = at(key)
    gauge = key == "charge.read_back"
    kind, unit, high = ("pressure gauge", "bar", 250e5) if gauge else ("torque wrench", "N·m", 60.0)
    new = NewInstrument("X-1", kind, "coarse", unit, 0.0, high, resolution_si=coarse_si)
    keeping.add_instrument(floor.shop, "MM", new)
    if gauge:
        with floor.refused(kind=NeedsInstrument, says="limit leaves 4.0 bar"):
            floor.say(key, typed, in_hand={kind: "X-1"})
    else:
        assert floor.say(key, typed, in_hand={kind: "X-1"}).verdict is Verdict.WITHIN


def test_coarse_steps_still_tell_what_lies_further_outside_than_a_step(at: At) -> None:
    """± 10 in-lb leaves 2.26 N·m: steps of 5 N·m judge nothing near it; 300 in-lb is 15.8 - 1.1 =
    14.7 N·m beyond it, and pulled too far is pulled too far by any wrench."""
    floor = at("build.gland")
    new = NewInstrument("X-1", "torque wrench", "coarse", "N·m", 0.0, 60.0, resolution_si=5.0)
    keeping.add_instrument(floor.shop, "MM", new)
    hand = {"torque wrench": "X-1"}
    with floor.refused(kind=NeedsInstrument, says="cannot tell"):
        floor.say("build.gland", "160 in-lb", in_hand=hand)
    assert floor.say("build.gland", "300 in-lb", in_hand=hand).verdict is Verdict.OUTSIDE


def test_an_instrument_that_runs_out_during_the_job(at: At) -> None:
    floor = at("build.gland")
    floor.clock.on(days=300)
    with floor.refused(says="ran out", whose="manager"):
        floor.say("build.gland", "160 in-lb")


def test_a_slip_is_questioned_before_a_tool_is_named_that_would_reach_it(at: At) -> None:
    floor = at("build.gland", "GT-1")
    with floor.refused(kind=Question, says="11.9 times"):
        floor.say("build.gland", "216 Nm")  # W-01 ends at 60 N·m
