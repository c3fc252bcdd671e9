"""Gates on sheets laid out from answers alone: which section opens, what may leave, who signs."""

from dataclasses import replace
from itertools import pairwise

import pytest

from shopdesk.procedure import SECTIONS
from shopdesk.rules import gates, people
from shopdesk.rules.answers import Answer, GasState, QuoteState, Road, Verdict
from shopdesk.rules.sheet import State, answered, lay_out, vent_asked
from tests.rules.conftest import NOW, Laid, answer, facts

VENTED = (
    answer(1, "receipt.told", "answer", "not known"),
    answer(2, "vent.pressure", "value", "62 bar", 62e5),
    answer(3, "vent.pressure", "temperature", "21 °C", 294.15),
    answer(4, "vent.oil_open", "done", "done"),
    answer(5, "vent.gas_open", "done", "done"),
    answer(6, "vent.zero", "value", "0 bar", 0.0, Verdict.WITHIN),
    answer(7, "vent.seen", "signed", "signed UU", witness="UU"),
)


def aside(answers: tuple[Answer, ...], cause: str = "vent void") -> tuple[Answer, ...]:
    return tuple(replace(a, set_aside=cause) if a.line.startswith("vent.") else a for a in answers)


@pytest.mark.parametrize("state", list(GasState))
def test_teardown_opens_only_on_a_vented_unit(laid: Laid, state: GasState) -> None:
    refusal = gates.closed(laid(*VENTED, gas_state=state), "teardown")
    assert (refusal is None) is (state is GasState.VENTED)


@pytest.mark.parametrize("without", range(1, 8))
def test_every_line_of_the_vent_record_counts(laid: Laid, without: int) -> None:
    """Even with the state vented on the job's row, a record with a hole opens nothing."""
    some = [a for a in VENTED if a.id != without]
    sheet = laid(*some, gas_state=GasState.VENTED)
    refusal = gates.closed(sheet, "teardown")
    assert refusal is not None
    assert refusal.missing


def test_unknown_and_charged_count_as_charged() -> None:
    assert {state for state in GasState if state.counts_as_charged} == {
        GasState.CHARGED,
        GasState.UNKNOWN,
    }


@pytest.mark.parametrize("section", SECTIONS)
def test_each_section_waits_for_those_before(laid: Laid, section: str) -> None:
    sheet = laid()
    refusal = gates.closed(sheet, section)
    assert (refusal is None) is (section == "receipt")


def test_every_section_is_closed_on_a_closed_job(laid: Laid) -> None:
    sheet = laid(*VENTED, gas_state=GasState.VENTED, closed=True)
    assert all(gates.closed(sheet, section) for section in SECTIONS)


def test_in_quarantine_only_its_own_lines_are_open(laid: Laid) -> None:
    sheet = laid(*VENTED, gas_state=GasState.VENTED, road=Road.QUARANTINED)
    assert gates.closed(sheet, "quarantined") is None
    assert all(gates.closed(sheet, section) for section in SECTIONS)


def test_a_void_record_is_asked_again_unless_this_sheet_charged_the_unit(laid: Laid) -> None:
    corrected = replace(VENTED[1], superseded=True)
    new = answer(8, "vent.pressure", "value", "61 bar", 61e5, supersedes=2)
    sheet = laid(*VENTED[:1], corrected, *VENTED[2:6], new, gas_state=GasState.CHARGED)
    assert vent_asked(sheet)
    setting = answer(20, "charge.set", "setting", "75 bar", 75e5)
    charged = laid(*aside(VENTED), setting, gas_state=GasState.CHARGED)
    assert vent_asked(charged)  # teardown is still open: somebody is to open the unit
    hissed = (*aside(VENTED), setting, replace(VENTED[3], id=30, set_aside="vent void"))
    assert vent_asked(laid(*hissed, gas_state=GasState.CHARGED))


@pytest.mark.parametrize(
    ("quote", "extra", "opens"),
    [
        (None, 0, False),
        (QuoteState(1, 1000, NOW), 0, False),
        (QuoteState(1, 1000, NOW, "declined", 0), 0, False),
        (QuoteState(1, 1000, NOW, "approved", 999), 0, False),
        (QuoteState(1, 1000, NOW, "approved", 1000), 0, True),
        (QuoteState(1, 1000, NOW, "approved", 1000), 1, False),
        (QuoteState(1, 1000, NOW, "approved", 1500), 500, True),
        (QuoteState(1, 1000, NOW, "approved", 1500), 501, False),
    ],
)
def test_approval_and_its_cap(
    laid: Laid, quote: QuoteState | None, extra: int, opens: bool
) -> None:
    sheet = laid(kind="customer", quote=quote, extra_cents=extra)
    refusal = gates._approval(sheet, "parts")
    assert (refusal is None) is opens
    if refusal is not None:
        assert refusal.missing == ("decision.approval",)


@pytest.mark.parametrize("kind", ["warranty", "exchange"])
def test_the_shops_own_work_waits_for_no_answer(laid: Laid, kind: str) -> None:
    assert gates._approval(laid(kind=kind), "parts") is None


@pytest.mark.parametrize(
    ("state", "leaves"),
    [
        (GasState.NONE, True),
        (GasState.VENTED, True),
        (GasState.CHARGED, False),
        (GasState.UNKNOWN, False),
    ],
)
def test_the_gas_at_the_door(laid: Laid, state: GasState, leaves: bool) -> None:
    assert (gates.gas_may_leave(laid(gas_state=state)) is None) is leaves


def test_unknown_gas_never_leaves_even_where_charged_may(
    gas: object, rules: object, roads: object
) -> None:
    allowed = replace(
        rules,
        transport=replace(rules.transport, ships_charged=True, highest_pa=1e9),  # type: ignore
    )
    for state in (GasState.UNKNOWN, GasState.CHARGED):  # charged, but no reading stands
        sheet = lay_out(gas, roads, allowed, facts(gas_state=state), ())  # type: ignore[arg-type]
        assert gates.gas_may_leave(sheet) is not None
        assert gates.may_ship_as(sheet, "charged") is not None


def test_who_may_witness(laid: Laid) -> None:
    sheet = laid(*VENTED[:6], gas_state=GasState.CHARGED)
    state = sheet.get("vent.seen")
    assert state is not None
    assert people.signature_refused(sheet, state, "TT", "technician") is not None
    assert people.signature_refused(sheet, state, "UU", "technician") is None


def test_a_witness_after_a_void_record_may_have_done_the_first(laid: Laid) -> None:
    again = tuple(replace(a, id=a.id + 10, person="UU") for a in VENTED[1:6])
    sheet = laid(*aside(VENTED), *again, gas_state=GasState.CHARGED)
    state = sheet.get("vent.seen")
    assert state is not None
    assert people.signature_refused(sheet, state, "TT", "technician") is None
    assert people.signature_refused(sheet, state, "UU", "technician") is not None


def test_one_answer_more_is_the_same_as_laying_out_anew(laid: Laid) -> None:
    given = facts(gas_state=GasState.CHARGED)
    for before, after in pairwise(range(len(VENTED) + 1)):
        sheet = laid(*VENTED[:before], gas_state=GasState.CHARGED)
        grown = answered(sheet, given, VENTED[before])
        anew = laid(*VENTED[:after], gas_state=GasState.CHARGED)
        assert [(s.line.key, s.state, dict(s.given)) for s in grown.lines] == [
            (s.line.key, s.state, dict(s.given)) for s in anew.lines
        ]


def test_nothing_but_a_caution_is_shown(laid: Laid) -> None:
    shown = [s.line.key for s in laid().lines if s.state is State.SHOWN]
    assert shown == ["build.clean"]
