"""One line at fault in itself: each fault by its own change."""

import pytest

from .documents import Case, Tables, assert_refused, drop, named, put

WHERE = {"source": "invented", "revision": "1"}

CASES: list[Case] = [
    ("no kind", drop("build[0].kind"), "build[0].kind: missing; every line says its kind"),
    (
        "unknown kind",
        put("build[5].lines[1].kind", "tork"),
        "build[5].lines[1].kind: read 'tork', expected one of tick, reading,",
    ),
    ("no key", drop("build[0].key"), "build[0].key: missing; give the line a short name"),
    (
        "bad key",
        put("build[0].key", "Tools.1"),
        "build[0].key: read 'Tools.1', expected lower-case letters, digits and _",
    ),
    (
        "key twice",
        put("build[7].key", "seal"),
        "build[7].key: line 'build.seal' is there twice, first at build[2].key; rename one",
    ),
    (
        "reserved key",
        put("shipment[0].key", "ships_as"),
        "shipment[0].key: read the key 'shipment.ships_as', which every sheet has of its own",
    ),
    ("no text", drop("build[0].text"), "build[0].text: missing; text is needed here"),
    (
        "unknown field",
        put("build[0].instrumnet", "x"),
        "build[0].instrumnet: read the key 'instrumnet', which is not known here (did you mean "
        "instrument?)",
    ),
    (
        "mark outside a group",
        put("build[0].text", "Tools of {position}"),
        "build[0].text: read {position} outside a group",
    ),
    (
        "unit unknown",
        put("vent[2].unit", "barr"),
        "vent[2].unit: read 'barr', expected a unit such as 'bar' (did you mean bar?)",
    ),
    (
        "units of another dimension",
        put("vent[2].units[0]", "in"),
        "vent[2].units[0]: read 'in', expected a unit of a pressure such as 'bar'",
    ),
    (
        "units twice",
        put("vent[2].units", ["psi", "PSI"]),
        "vent[2].units[1]: read 'psi' a second time, expected each entry once",
    ),
    (
        "at_temperature",
        put("vent[2].at_temperature", "bar"),
        "vent[2].at_temperature: read 'bar', expected a unit of a temperature such as '°C'",
    ),
    (
        "limit of another dimension",
        put("vent[2].limit.high", "3 mm"),
        "vent[2].limit.high: read '3 mm', expected a pressure such as '70 bar' (that is a length)",
    ),
    (
        "limit low above high",
        put("teardown[0].limit.low", "33 mm"),
        "teardown[0].limit: low '33 mm' is above high '32.05 mm'; exchange or correct them",
    ),
    (
        "limit empty",
        put("proof[0].limit", WHERE),
        "proof[0].limit: a limit has a low or a high bound, or a target with within",
    ),
    (
        "limit mixture",
        put("proof[0].limit.low", "90 bar"),
        "proof[0].limit: a limit has either low and high, or target and within, not a mixture",
    ),
    (
        "limit without source",
        drop("proof[0].limit.source"),
        "proof[0].limit.source: missing; a limit says where it stands",
    ),
    (
        "limit unknown key",
        put("proof[0].limit.max", "90 bar"),
        "proof[0].limit.max: read the key 'max', which a limit does not have (known are low,",
    ),
    (
        "limit reaches below vacuum",
        put("proof[0].limit", {"target": "1 bar", "within": "3 bar", **WHERE}),
        "proof[0].limit: target and within reach a bound that cannot be:",
    ),
    (
        "limit no table",
        put("proof[0].limit", "95 bar"),
        "proof[0].limit: read '95 bar', expected a limit such as",
    ),
    ("test without limit", drop("proof[0].limit"), "proof[0].limit: missing; a test is judged"),
    (
        "test rework section",
        put("proof[0].rework_from", "bild"),
        "proof[0].rework_from: read 'bild', expected one of receipt,",
    ),
    (
        "test rework later",
        put("proof[0].rework_from", "hold"),
        "proof[0].rework_from: read 'hold', expected a section no later than the test's own",
    ),
    (
        "survey unit",
        put("teardown[0].unit", "bar"),
        "teardown[0].unit: read 'bar', expected a unit of a length such as 'mm'",
    ),
    (
        "survey depths",
        put("teardown[0].depths", ["15 mm", "2 in", "50 mm"]),
        "teardown[0].depths[2]: read 50 mm after 2 in, expected rising values",
    ),
    (
        "survey no depths",
        put("teardown[0].depths", []),
        "teardown[0].depths: read an empty list, expected at least one entry",
    ),
    (
        "survey one depth",
        put("teardown[0].depths", "15 mm"),
        "teardown[0].depths: read '15 mm', expected a list in square brackets",
    ),
    (
        "survey taper zero",
        put("teardown[0].taper", "0 mm"),
        "teardown[0].taper: read '0 mm', expected a difference above zero",
    ),
    (
        "survey share of nothing",
        put("teardown[0].taper", "5 %"),
        "teardown[0].taper: read '5 %', expected a difference with its unit (there is no target",
    ),
    (
        "disposition unknown",
        put("teardown[0].dispositions[0]", "hone"),
        "teardown[0].dispositions[0]: read 'hone', expected one of reuse, dress, hone or lap,",
    ),
    (
        "finding good",
        put("teardown[1].defects[0]", "Good"),
        "teardown[1].defects: read 'good', which is always offered; name defects only",
    ),
    (
        "finding without dispositions",
        put("teardown[1].dispositions", []),
        "teardown[1].dispositions: read an empty list, expected at least one entry",
    ),
    (
        "repeat once",
        put("teardown[2].count", 1),
        "teardown[2].count: read 1, expected a whole number from 2 to 20",
    ),
    (
        "repeat spread",
        put("teardown[2].spread", "2 bar"),
        "teardown[2].spread: read '2 bar', expected a length such as '12.7 mm' (that is a",
    ),
    (
        "choice of one",
        put("receipt[0]", {"key": "a", "kind": "choice", "text": "A", "options": ["x"]}),
        "receipt[0].options: read one option, expected two or more to choose from",
    ),
    (
        "choice outside",
        put("receipt[0].outside", ["mising"]),
        "receipt[0].outside[0]: read 'mising', expected one of readable, worn, missing (did you",
    ),
    (
        "port state",
        put("shipment[0].leave", "caped"),
        "shipment[0].leave: read 'caped', expected one of plugged, capped, open (did you mean",
    ),
    ("vent side", put("vent[1].side", "air"), "vent[1].side: read 'air', expected one of gas, oil"),
    (
        "wait nothing",
        put("charge[1].duration", "0 s"),
        "charge[1].duration: read '0 s', expected more than zero",
    ),
    (
        "flag in quotes",
        put("vent[3].witness", "true"),
        "vent[3].witness: read 'true', expected true or false, without quotes",
    ),
    (
        "stack order",
        put("build[3].order", 3),
        "build[3].order: read 3 after 1, expected 2, or 1 for a new stack",
    ),
]


@pytest.mark.parametrize(("tables", "expected"), named(CASES))
def test_a_fault_is_named_with_its_place(tables: Tables, expected: str) -> None:
    assert_refused(tables, expected)
