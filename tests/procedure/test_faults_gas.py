"""What a gas-charged model must hold, and what is only doubted: each by its own change."""

import pytest

from .documents import NAME, Case, Tables, assert_refused, base, drop, insert, named, put, report


def moved(section: str, start: int, to: int) -> Tables:
    tables = base()
    tables[section].insert(to, tables[section].pop(start))
    return tables


def without_gas() -> Tables:
    """The base as a model without gas, still sound."""
    tables = put("gas_charged", False)
    for name in ("gas_charge", "precharge_limit", "vent", "charge", "hold"):
        del tables[name]
    return tables


CASES: list[Case] = [
    (
        "another gas",
        put("gas_charge.gas", "argon"),
        "gas_charge.gas: read 'argon', expected 'nitrogen'; no other gas is charged",
    ),
    (
        "target above the limit",
        put("gas_charge.target", "81 bar"),
        "gas_charge.target: read '81 bar', expected no more than the precharge limit 80 bar",
    ),
    (
        "target above the rating",
        drop("precharge_limit", put("gas_charge.target", "181 bar")),
        "gas_charge.target: read '181 bar', expected no more than the rated pressure 180 bar",
    ),
    (
        "limit above the rating",
        put("precharge_limit.value", "200 bar"),
        "precharge_limit.value: read '200 bar', expected no more than the rated pressure 180 bar",
    ),
    (
        "no reference",
        drop("gas_charge.reference"),
        "gas_charge.reference: missing; a quantity with its unit is needed here",
    ),
    (
        "volume",
        put("gas_charge.volume", "320 mm"),
        "gas_charge.volume: read '320 mm', expected a volume such as '160 mL' (that is a length)",
    ),
    (
        "charge of a unit without gas",
        put("gas_charged", False),
        "gas_charge: given though gas_charged = false",
    ),
    (
        "precharge limit of a unit without gas",
        put("gas_charged", False),
        "precharge_limit: given though gas_charged = false",
    ),
    (
        "gas let down from a unit without gas",
        put("gas_charged", False),
        "vent[0]: lets down gas though gas_charged = false; set gas_charged = true",
    ),
    (
        "no gas side vented",
        put("vent[0].side", "oil"),
        "vent: holds no vent line with side = 'gas' that is always asked",
    ),
    (
        "gas side vented on a condition",
        put("vent[0].when", {"line": "receipt.plate", "answer": "worn"}),
        "vent: holds no vent line with side = 'gas' that is always asked",
    ),
    ("zero unproved", drop("vent[2]"), "vent: holds no pressure reading that proves zero"),
    (
        "zero too high",
        put("vent[2].limit.high", "1.2 bar"),
        "vent: holds no pressure reading that proves zero",
    ),
    (
        "zero before venting",
        moved("vent", 2, 0),
        "vent: proves zero before the gas is let down; put the reading after the vent line",
    ),
    (
        "no witness",
        put("vent[3].witness", False),
        "vent: does not end with a signature of a second person",
    ),
    (
        "witness not last",
        moved("vent", 3, 1),
        "vent: does not end with a signature of a second person",
    ),
    (
        "witness on a condition",
        put("vent[3].when", {"line": "vent.zero", "is": "within"}),
        "vent: does not end with a signature of a second person",
    ),
    ("vent empty", drop("vent"), "vent: holds no vent line with side = 'gas'"),
    ("no regulator", drop("charge[0]"), "charge: holds no line of kind = 'regulator'"),
    ("no reading back", drop("charge[2]"), "charge: holds no line of kind = 'charge'"),
    (
        "reading back first",
        moved("charge", 2, 0),
        "charge: reads the charge back before the regulator is set; exchange the lines",
    ),
    (
        "regulator elsewhere",
        insert("build", 0, {"key": "r", "kind": "regulator", "text": "R"}),
        "build[0]: a regulator line stands in the charge section, nowhere else",
    ),
    (
        "regulator without a charge",
        drop("gas_charge"),
        "charge[0]: a regulator line needs [gas_charge], which says what is charged",
    ),
    ("no proof", drop("proof"), "proof: holds no line; a unit is proved before it is charged"),
    ("no release", drop("release"), "release: does not end with a signature"),
    (
        "release unsigned",
        insert("release", 1, {"key": "last", "kind": "tick", "text": "Last"}),
        "release: does not end with a signature",
    ),
]


@pytest.mark.parametrize(("tables", "expected"), named(CASES))
def test_a_fault_is_named_with_its_place(tables: Tables, expected: str) -> None:
    assert_refused(tables, expected)


def test_the_base_document_is_sound() -> None:
    found = report(base())
    assert found.problems == ()
    assert found.warnings == ()
    assert report(without_gas()).problems == ()


@pytest.mark.parametrize(
    ("tables", "expected"),
    [
        (drop("rated_pressure"), "rated_pressure: missing; nothing is charged on this model"),
        (drop("precharge_limit"), "precharge_limit: missing; nothing is charged on this model"),
        (
            drop("highest_service_temperature"),
            "highest_service_temperature: missing; the charge cannot be judged",
        ),
        (drop("vent[1]"), "vent: lets down no oil side"),
        (drop("hold"), "hold: holds no leak line; nothing shows that the charge stays"),
        (
            put("gas_charge.target", "79 bar"),
            "gas_charge.tolerance: '1.5 bar' above the target reaches past the precharge limit",
        ),
        (drop("build[2]", put("build[3].order", 1)), "kit[0].id: 'seal' is fitted by no line"),
        (
            drop("gas_charge", drop("charge", drop("hold"))),
            "gas_charge: missing; nothing is charged on this model",
        ),
    ],
)
def test_a_doubt_is_said_and_does_not_stop_the_document(tables: Tables, expected: str) -> None:
    found = report(tables)
    assert found.problems == ()
    assert found.procedure is not None
    assert [each for each in found.warnings if each.startswith(f"{NAME}: {expected}")]


def test_one_fault_does_not_draw_others_after_it() -> None:
    tables = put("teardown[2].spread", "2 br")
    assert len(report(tables).problems) == 1
    tables = put("vent[0].sid", "gas", drop("vent[0].side"))
    assert all("vent[0]" in problem for problem in report(tables).problems)
    tables = put("build[5].lines[1].target", "35 in-ib")
    assert len(report(tables).problems) == 1
