"""The head of a document and the order of its sections: each fault by its own change."""

from collections.abc import Callable

import pytest

from .documents import Case, Tables, assert_refused, base, drop, named, put


def ordered(*sections: str) -> Tables:
    return put("order", list(sections))


def changed(path: str, change: Callable[[str], str]) -> Tables:
    order = base()["order"]
    return put(path, [change(section) for section in order])


CASES: list[Case] = [
    ("model missing", drop("model"), "model: missing; text is needed here"),
    ("name blank", put("name", " "), "name: read an empty text, expected some words"),
    ("revision number", put("revision", 3), "revision: read 3, expected text (put it in quotes)"),
    (
        "changed control",
        put("changed", "a\x07b"),
        r"changed: read 'a\x07b', expected text without control characters",
    ),
    (
        "unknown key",
        put("lable_minutes", {}),
        "lable_minutes: read the key 'lable_minutes', which is not known here (did you mean "
        "labour_minutes?)",
    ),
    (
        "effective",
        put("effective", "2026-02-30"),
        "effective: read '2026-02-30', expected a date such as 2026-03-01",
    ),
    (
        "effective missing",
        drop("effective"),
        "effective: missing; a date such as 2026-03-01 is needed here",
    ),
    ("gas_charged missing", drop("gas_charged"), "gas_charged: missing; say true or false"),
    (
        "gas_charged text",
        put("gas_charged", "yes"),
        "gas_charged: read 'yes', expected true or false, without quotes",
    ),
    (
        "labour section",
        put("labour_minutes", {"biuld": 5}),
        "labour_minutes.biuld: read 'biuld', expected one of receipt, vent,",
    ),
    (
        "labour minutes",
        put("labour_minutes", {"build": "5 min"}),
        "labour_minutes.build: read '5 min', expected a whole number such as 3",
    ),
    (
        "labour negative",
        put("labour_minutes", {"build": -5}),
        "labour_minutes.build: read -5, expected minutes from 0 to 43200",
    ),
    (
        "service temperature",
        put("highest_service_temperature", "60"),
        "highest_service_temperature: read '60', expected a temperature such as '20 C' (the unit "
        "is missing)",
    ),
    (
        "service temperature bar",
        put("highest_service_temperature", "60 bar"),
        "highest_service_temperature: read '60 bar', expected a temperature such as '20 C' (that "
        "is a pressure)",
    ),
    (
        "rating bare",
        put("rated_pressure.value", 180),
        "rated_pressure.value: read 180, expected a pressure such as '70 bar' (write the figure "
        "and its unit in quotes)",
    ),
    (
        "rating source",
        drop("rated_pressure.source"),
        "rated_pressure.source: missing; text is needed here",
    ),
    (
        "rating zero",
        put("precharge_limit.value", "0 bar"),
        "precharge_limit.value: read '0 bar', expected more than zero",
    ),
    ("section no list", put("build", "soon"), "build: read 'soon', expected an array of tables"),
    ("line no table", put("build[0]", 5), "build[0]: read 5, expected a table"),
    (
        "unknown section",
        put("order[3]", "decide"),
        "order[3]: read 'decide', expected one of receipt,",
    ),
    ("twice", put("order[11]", "hold"), "order[11]: read 'hold', expected each section once"),
    (
        "receipt first",
        ordered(
            "vent",
            "receipt",
            "teardown",
            "decision",
            "parts",
            "build",
            "proof",
            "charge",
            "hold",
            "release",
            "shipment",
        ),
        "order: begins with vent, expected receipt first",
    ),
    (
        "vent first",
        changed("order", lambda s: {"vent": "teardown", "teardown": "vent"}.get(s, s)),
        "order: has teardown before vent, expected vent first",
    ),
    (
        "decision first",
        changed("order", lambda s: {"parts": "decision", "decision": "parts"}.get(s, s)),
        "order: has parts before decision, expected decision first",
    ),
    (
        "build before proof",
        changed("order", lambda s: {"build": "proof", "proof": "build"}.get(s, s)),
        "order: has proof before build, expected build first",
    ),
    (
        "charge before hold",
        changed("order", lambda s: {"hold": "charge", "charge": "hold"}.get(s, s)),
        "order: has hold before charge, expected charge first",
    ),
    (
        "release last",
        changed("order", lambda s: {"hold": "release", "release": "hold"}.get(s, s)),
        "order: ends with hold, shipment, expected release and then shipment last",
    ),
    (
        "charge before proof unsaid",
        changed("order", lambda s: {"proof": "charge", "charge": "proof"}.get(s, s)),
        "order: has charge before proof, which needs before_proof = true in [gas_charge]",
    ),
    (
        "before_proof not ordered so",
        put("gas_charge.before_proof", True),
        "order: has proof before charge, though [gas_charge] says before_proof = true",
    ),
    (
        "lines left out",
        ordered(*[section for section in base()["order"] if section != "teardown"]),
        "order: leaves out teardown, which has lines; put it in or take the lines out",
    ),
    *[
        (
            f"{section} left out",
            ordered(*[each for each in base()["order"] if each != section]),
            f"order: leaves out {section}, {why}",
        )
        for section, why in {
            "receipt": "which every job goes through",
            "decision": "which every job goes through",
            "release": "which every job goes through",
            "shipment": "which every job goes through",
            "parts": "where kit and tools of the build are gathered",
            "vent": "which a gas-charged unit goes through before anybody opens it",
            "charge": "though [gas_charge] says what is charged",
        }.items()
    ],
]


@pytest.mark.parametrize(("tables", "expected"), named(CASES))
def test_a_fault_is_named_with_its_place(tables: Tables, expected: str) -> None:
    assert_refused(tables, expected)
