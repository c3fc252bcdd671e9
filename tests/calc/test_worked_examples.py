"""Every worked example of the reference pack through the public functions, with its source."""

import pytest

from . import examples_charge_to_leak, examples_springs_to_life
from .worked import Row, rows

CALCULATIONS = examples_charge_to_leak.CALCULATIONS | examples_springs_to_life.CALCULATIONS
EXAMPLES = rows(*"ABCDEFGHIJ")


@pytest.mark.parametrize("row", EXAMPLES, ids=[row.test_id for row in EXAMPLES])
def test_worked_example(row: Row) -> None:
    value = CALCULATIONS[row.key]()
    if isinstance(row.expected, float) and isinstance(value, str):
        value = float(value)  # a scale number is text; the table holds "18" as a number
    assert row.agrees(value), row.disagreement(value)


def test_there_are_197_and_each_has_its_calculation() -> None:
    assert len(EXAMPLES) == 197
    assert set(CALCULATIONS) == {row.key for row in EXAMPLES}
