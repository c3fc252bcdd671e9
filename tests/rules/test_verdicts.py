"""Lines judged from values alone: bounds, wholes, and what a later answer changes."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shopdesk.procedure import Procedure, types
from shopdesk.rules import bores, sheet
from shopdesk.rules.answers import Answer, Verdict
from shopdesk.rules.sheet import State
from shopdesk.rules.shop import ShopRules
from tests.rules.conftest import Laid, answer, facts

MM = 1e-3
CELLS = ("d1a1", "d1a2", "d2a1", "d2a2")


def bore(procedure: Procedure) -> types.Survey:
    found = procedure.line("teardown.bore")
    assert isinstance(found, types.Survey)
    return found


def cells(*values_mm: float, verdict: Verdict = Verdict.WITHIN) -> dict[str, object]:
    return {
        name: answer(n, "teardown.bore", name, f"{value} mm", value * MM, verdict)
        for n, (name, value) in enumerate(zip(CELLS, values_mm, strict=False), 1)
    }


@pytest.mark.parametrize(
    ("values", "outside"),
    [
        ((40.0, 40.06, 40.06, 40.06), True),  # out-of-round 0.06
        ((40.06, 40.06, 40.06, 40.06), False),  # all at the upper bound
        ((40.0, 40.0, 40.0, 40.0), False),
        ((39.999, 40.0, 40.0, 40.0), True),
        ((40.061, 40.06, 40.06, 40.06), True),
        ((40.02, 40.04, 40.02, 40.04), False),  # out-of-round just 0.02
        ((40.02, 40.041, 40.02, 40.04), True),
        ((40.01, 40.01, 40.04, 40.04), False),  # taper just 0.03
        ((40.01, 40.01, 40.041, 40.041), True),
        ((40.05,), False),  # the rest is not measured yet
        ((40.07,), True),
    ],
)
def test_survey_bounds(gas: Procedure, values: tuple[float, ...], outside: bool) -> None:
    assert bores.outside(bore(gas), cells(*values)) is outside  # type: ignore[arg-type]


def test_a_stored_verdict_does_not_outlive_the_cell_it_came_from(gas: Procedure) -> None:
    """The last cell was judged outside for a taper that a corrected first cell takes away."""
    stale = cells(40.01, 40.01, 40.02, 40.02, verdict=Verdict.OUTSIDE)
    assert sheet.line_verdict(bore(gas), stale) is Verdict.WITHIN  # type: ignore[arg-type]


def test_the_newest_of_pressure_and_temperature_judges_a_charge(gas: Procedure) -> None:
    line = gas.line("charge.read_back")
    pair = {
        "value": answer(1, line.key, "value", "7 bar", 7e5),
        "temperature": answer(2, line.key, "temperature", "20 °C", 293.15, Verdict.OUTSIDE),
    }
    assert sheet.line_verdict(line, pair) is Verdict.OUTSIDE
    pair["value"] = answer(3, line.key, "value", "70 bar", 70e5, Verdict.WITHIN, supersedes=1)
    assert sheet.line_verdict(line, pair) is Verdict.WITHIN


@pytest.mark.parametrize(
    ("line", "word", "settled"),
    [
        ("teardown.bore", "replace", True),
        ("teardown.bore", "scrap", False),
        ("teardown.bore", "reuse", False),  # a limit is not let pass by the inspector
        ("teardown.piston", "reuse", True),
        ("teardown.piston", "replace", True),
        ("teardown.piston", "ask customer", False),
        ("vent.zero", "replace", False),
        ("proof.held", "replace", False),
        ("proof.dry", "replace", False),
        ("charge.read_back", "replace", False),
    ],
)
def test_what_settles_a_line(gas: Procedure, line: str, word: str, settled: bool) -> None:
    decided = {"disposition": answer(1, line, "disposition", word)}
    assert sheet.settles(gas.line(line), decided) is settled


def test_a_concession_counts_for_the_newest_answer_outside(laid: Laid) -> None:
    first = answer(1, "teardown.oil", "value", "11 mL", 11e-6, Verdict.OUTSIDE)
    conceded = laid(first, conceded=frozenset({1})).get("teardown.oil")
    assert conceded is not None
    assert conceded.state is State.DONE
    second = answer(2, "teardown.oil", "value", "90 mL", 90e-6, Verdict.OUTSIDE, supersedes=1)
    after = laid(replace(first, superseded=True), second, conceded=frozenset({1}))
    state = after.get("teardown.oil")
    assert state is not None
    assert state.open


@settings(max_examples=60, deadline=None)
@given(st.lists(st.floats(39.9, 40.2), min_size=4, max_size=4))
def test_a_survey_is_outside_exactly_when_a_figure_is(gas: Procedure, values: list[float]) -> None:
    """Against the figures worked out here: bounds, largest difference across, largest along."""
    a, b, c, d = values
    worst = max(
        40.0 - min(values),
        max(values) - 40.06,
        max(abs(a - b), abs(c - d)) - 0.02,
        max(abs(a - c), abs(b - d)) - 0.03,
    )
    found = bores.outside(bore(gas), cells(*values))  # type: ignore[arg-type]
    if abs(worst) > 1e-6:
        assert found is (worst > 0)


def test_a_kept_part_is_issued_anew_when_a_reading_of_it_says_so(
    gas: Procedure, rules: ShopRules, roads: dict[str, tuple[types.Line, ...]]
) -> None:
    kit = tuple(
        replace(each, measured_by=("teardown.bore",)) if each.id == "piston" else each
        for each in gas.kit
    )
    measured = replace(gas, kit=kit)
    said = answer(9, "teardown.bore", "disposition", "replace")
    outside = [
        answer(n, "teardown.bore", name, "40.07 mm", 40.07 * MM, Verdict.OUTSIDE)
        for n, name in enumerate(CELLS, 1)
    ]
    good = answer(8, "teardown.piston", "condition", "good", verdict=Verdict.WITHIN)

    def state(procedure: Procedure, *answers: Answer) -> tuple[State, State]:
        found = sheet.lay_out(procedure, roads, rules, facts(), (good, *answers))
        lines = [found.get("parts.issue_piston"), found.get("parts.kept_piston")]
        return tuple(each.state for each in lines if each)  # type: ignore[return-value]

    assert state(measured) == (State.NOT_ASKED, State.OPEN)
    assert state(measured, *outside, said) == (State.OPEN, State.NOT_ASKED)
    assert state(gas, *outside, said) == (State.NOT_ASKED, State.OPEN)
