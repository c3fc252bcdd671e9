"""What a disposition reopens, on sheets laid out from answers alone."""

from dataclasses import replace

import pytest

from shopdesk import procedure
from shopdesk.procedure import DISPOSITIONS, Line, Procedure
from shopdesk.rules.answers import Verdict
from shopdesk.rules.dispositions import built_since, follows
from shopdesk.rules.sheet import Sheet, lay_out
from shopdesk.rules.shop import ShopRules
from tests.desk.stocked import DATA
from tests.rules.conftest import Laid, answer, facts

SURFACE = """[[teardown]]
key = "surface"
kind = "finding"
text = "Bore under the light"
part = "bore"
defects = ["scored"]
dispositions = ["dress", "hone or lap", "outside process", "reuse", "replace", "scrap"]
measure_again = ["teardown.oil", "teardown.bore", "teardown.said"]

[[teardown]]
key = "depth"
"""
MEASURED = (
    answer(1, "teardown.bore", "d1a1", "40.02 mm", 0.04002, Verdict.WITHIN),
    answer(2, "teardown.oil", "value", "6 mL", 6e-6, Verdict.WITHIN),
    answer(3, "teardown.surface", "condition", "scored", verdict=Verdict.OUTSIDE),
)
BUILT = (
    answer(4, "parts.issue_washer", "lot1", "1 from W-1", 1.0),
    answer(5, "build.washer", "done", "done"),
    answer(6, "proof.port", "left", "plugged", verdict=Verdict.WITHIN),
)


@pytest.fixture(scope="module")
def lit() -> Procedure:
    text = (DATA / "gas.toml").read_text()
    return procedure.loads(text.replace('[[teardown]]\nkey = "depth"\n', SURFACE), name="lit.toml")


def reopened(sheet: Sheet, word: str) -> tuple[str, tuple[str, ...]] | None:
    line = sheet.procedure.line("teardown.surface")
    found = follows(sheet, line, word)
    return None if found is None else (found.cause, found.lines)


@pytest.mark.parametrize("word", DISPOSITIONS)
def test_only_work_on_the_part_asks_its_readings_again(
    lit: Procedure, rules: ShopRules, roads: dict[str, tuple[Line, ...]], word: str
) -> None:
    """Those answered, in the order of the sheet; what nobody has measured yet is open anyway."""
    sheet = lay_out(lit, roads, rules, facts(), MEASURED)
    works = word in ("dress", "hone or lap", "outside process")
    expected = ("remeasure", ("teardown.surface", "teardown.bore", "teardown.oil"))
    assert reopened(sheet, word) == (expected if works else None)


def test_what_was_set_aside_is_not_set_aside_twice(
    lit: Procedure, rules: ShopRules, roads: dict[str, tuple[Line, ...]]
) -> None:
    before = (replace(MEASURED[0], set_aside="remeasure"), *MEASURED[1:])
    sheet = lay_out(lit, roads, rules, facts(), before)
    assert reopened(sheet, "dress") == ("remeasure", ("teardown.surface", "teardown.oil"))


def test_once_the_build_has_begun_the_part_comes_out_of_it(
    lit: Procedure, rules: ShopRules, roads: dict[str, tuple[Line, ...]]
) -> None:
    """With the one-time washer spent, and what was proved of a unit that is no more."""
    sheet = lay_out(lit, roads, rules, facts(), (*MEASURED, *BUILT))
    found = reopened(sheet, "hone or lap")
    assert found is not None
    cause, lines = found
    assert cause == "rework"
    assert lines == (
        "parts.issue_washer",
        "teardown.surface",
        "teardown.bore",
        "teardown.oil",
        "build.washer",
        "proof.port",
    )


@pytest.mark.parametrize(
    ("kits", "asked", "undone"),
    [
        ({"washer"}, set(), ("build.washer", "proof.port")),
        ({"seal"}, set(), ("build.seal", "build.washer", "proof.port")),
        (set(), {"build.piston_new"}, ("build.seal", "build.washer", "proof.port")),
        (set(), {"build.gland"}, ("proof.port",)),
        ({"barrel"}, set(), ()),
    ],
)
def test_a_new_part_undoes_what_was_built_on_the_old_one(
    laid: Laid, kits: set[str], asked: set[str], undone: tuple[str, ...]
) -> None:
    """From the line that fits it, or that is asked of it now; what is not fitted undoes nothing."""
    sheet = laid(*BUILT, answer(9, "build.seal", "done", "done"))
    assert built_since(sheet, kits, asked) == undone
