"""What a line asks, slot by slot, as answers come."""

from dataclasses import replace

from shopdesk.procedure import Procedure, types
from shopdesk.rules.answers import Answer, Verdict
from shopdesk.rules.generated import Issue, laid_out
from shopdesk.rules.slots import line_dispositions, slots, spoken
from tests.rules.conftest import answer


def names(procedure: Procedure, key: str, *given: Answer) -> list[str]:
    line = next(line for line in laid_out(procedure) if line.key == key)
    return [slot.name for slot in slots(line, {a.slot: a for a in given})]


def test_every_line_knows_its_slots(gas: Procedure) -> None:
    for line in laid_out(gas):
        assert len({slot.name for slot in slots(line, {})}) == len(slots(line, {}))


def test_a_defect_asks_for_its_place_and_a_good_part_does_not(gas: Procedure) -> None:
    key = "teardown.piston"
    assert names(gas, key) == ["condition"]
    assert names(gas, key, answer(1, key, "condition", "good")) == ["condition"]
    assert names(gas, key, answer(1, key, "condition", "scored")) == [
        "condition",
        "place",
        "severity",
        "extent",
        "disposition",
    ]


def test_a_disposition_is_asked_of_what_is_outside(gas: Procedure) -> None:
    key = "teardown.oil"
    within = answer(1, key, "value", "6 mL", 6e-6, Verdict.WITHIN)
    outside = answer(1, key, "value", "16 mL", 16e-6, Verdict.OUTSIDE)
    assert names(gas, key, within) == ["value"]
    assert names(gas, key, outside) == ["value", "disposition"]


def test_a_failed_test_is_reworked_whatever_its_document_offers(gas: Procedure) -> None:
    test = gas.line("proof.held")
    assert isinstance(test, types.Test)
    assert line_dispositions(test) == ("rework", "test again", "ask customer", "scrap")
    narrowed = replace(test, dispositions=("hone or lap", "scrap"))
    assert line_dispositions(narrowed) == ("rework", "test again", "scrap")


def test_a_regulator_asks_the_temperature_first(gas: Procedure) -> None:
    assert names(gas, "charge.set") == ["gas_temperature", "setting"]


def test_a_line_names_each_unit_a_figure_has_to_be_told_apart_by(gas: Procedure) -> None:
    """A bare 62 is refused where bar and psi are used: the question says both beforehand."""
    shops = ("in-lb", "ft-lb", "N·m")
    (pressure, *_) = slots(gas.line("vent.pressure"), {})
    assert spoken(pressure, shops) == ("bar", "psi")
    (torque, *_) = slots(gas.line("build.gland"), {})
    assert set(spoken(torque, shops)) == set(shops)
    (depth, *_) = slots(gas.line("teardown.depth"), {})
    assert spoken(depth, shops) == ("mm",)


def test_an_issue_asks_until_its_pieces_are_there(gas: Procedure) -> None:
    key = "parts.issue_seal"
    line = next(line for line in laid_out(gas) if line.key == key)
    assert isinstance(line, Issue)
    assert names(gas, key) == ["lot1"]
    one = answer(1, key, "lot1", "1 from A", 1.0)
    assert names(gas, key, one) == ["lot1", "lot2"]
    two = answer(2, key, "lot2", "1 from B", 1.0)
    assert names(gas, key, one, two) == ["lot1", "lot2"]


def test_cannot_ends_a_survey(gas: Procedure) -> None:
    key = "teardown.bore"
    assert names(gas, key, answer(1, key, "d1a1", "cannot: bore torn")) == ["d1a1"]
