"""One change of the base document for each check: the sentence names file, path, read, expected."""

from collections.abc import Callable

import pytest

from .documents import NAME, Tables, base, drop, insert, put, report

Case = tuple[str, Tables, str]
LIMIT = {"high": "2 bar", "source": "invented", "revision": "1"}
WHERE = {"source": "invented", "revision": "1"}


def moved(section: str, start: int, to: int) -> Tables:
    tables = base()
    tables[section].insert(to, tables[section].pop(start))
    return tables


def ordered(*sections: str) -> Tables:
    return put("order", list(sections))


def without_gas() -> Tables:
    """The base as a model without gas, still sound."""
    tables = put("gas_charged", False)
    for name in ("gas_charge", "vent", "charge", "hold"):
        del tables[name]
    return tables


def changed(path: str, change: Callable[[str], str]) -> Tables:
    order = base()["order"]
    return put(path, [change(section) for section in order])


TOP: list[Case] = [
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
]

ORDER: list[Case] = [
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

LINES: list[Case] = [
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

BOLT = "build[5].lines[1]"
TORQUE: list[Case] = [
    (
        "unit",
        put(f"{BOLT}.target", "35 in-ib"),
        f"{BOLT}.target: read '35 in-ib', expected a torque such as '35 in-lb' (did you mean "
        "in-lb?)",
    ),
    (
        "another dimension",
        put(f"{BOLT}.target", "35 N"),
        f"{BOLT}.target: read '35 N', expected a torque such as '35 in-lb' (that is a force)",
    ),
    ("no tolerance", drop(f"{BOLT}.tolerance"), f"{BOLT}.tolerance: missing; a torque has target,"),
    ("no source", drop(f"{BOLT}.source"), f"{BOLT}.source: missing; a torque has target,"),
    (
        "no target",
        drop(f"{BOLT}.target", put(f"{BOLT}.tolerance", "4 in-lb")),
        f"{BOLT}.target: missing; a torque has target,",
    ),
    (
        "share of no target",
        drop(f"{BOLT}.target"),
        f"{BOLT}.tolerance: read '5 %', expected a difference with its unit (there is no target",
    ),
    (
        "snug and target",
        put(f"{BOLT}.snug", True),
        f"{BOLT}.target: a joint pulled snug has no figure; leave this out, or leave snug out",
    ),
    (
        "tolerance above target",
        put(f"{BOLT}.tolerance", "95 in-lb"),
        f"{BOLT}.tolerance: read '95 in-lb', expected less than the target",
    ),
    (
        "share above all",
        put(f"{BOLT}.tolerance", "100 %"),
        f"{BOLT}.tolerance: read '100 %', expected a share above 0 % and below 100 %",
    ),
    (
        "passes falling",
        put(f"{BOLT}.passes", [0.8, 0.5, 1.0]),
        f"{BOLT}.passes[1]: read 0.5 after 0.8, expected rising values",
    ),
    (
        "passes unfinished",
        put(f"{BOLT}.passes", [0.5, 0.9]),
        f"{BOLT}.passes[1]: read 0.9, expected the last pass to be 1.0",
    ),
    (
        "passes negative",
        put(f"{BOLT}.passes", [-0.5, 1.0]),
        f"{BOLT}.passes[0]: read -0.5, expected a share above zero",
    ),
    ("passes none", put(f"{BOLT}.passes", []), f"{BOLT}.passes: read an empty list, expected"),
    (
        "passes not a number",
        put(f"{BOLT}.passes", [float("nan"), 1.0]),
        f"{BOLT}.passes[0]: read nan, expected a number no larger than",
    ),
    (
        "count",
        put(f"{BOLT}.count", 0),
        f"{BOLT}.count: read 0, expected a whole number from 1 to 200",
    ),
    (
        "adapter angle",
        put(f"{BOLT}.adapter.angle", "200 deg"),
        f"{BOLT}.adapter.angle: read '200 deg', expected an angle from 0 to 180 deg",
    ),
    (
        "adapter turned back",
        put(f"{BOLT}.adapter", {"length": "9 in", "angle": "180 deg", "wrench_length": "8 in"}),
        f"{BOLT}.adapter.length: read '9 in', expected less than the wrench turned back",
    ),
    (
        "adapter wrench",
        put(f"{BOLT}.adapter.wrench_length", "0 mm"),
        f"{BOLT}.adapter.wrench_length: read '0 mm', expected more than zero",
    ),
    (
        "over reopens",
        put(f"{BOLT}.over.reopen", ["build.eye.{position}.wascher"]),
        f"{BOLT}.over.reopen[0]: read 'build.eye.left_eye.wascher', expected the full key of a "
        "line such as 'teardown.bore' (did you mean build.eye.left_eye.washer?)",
    ),
    (
        "over again",
        put(f"{BOLT}.over.again", ["washers"]),
        f"{BOLT}.over.again[0]: read 'washers', expected the id of a kit line",
    ),
]

GROUPS: list[Case] = [
    (
        "no positions",
        drop("build[5].positions"),
        "build[5].positions: read an empty list, expected a list of names such as ['port A']",
    ),
    (
        "positions alike",
        put("build[5].positions", ["Left Eye", "left-eye"]),
        "build[5].positions[1]: read 'left-eye', expected a name that differs from 'Left Eye'",
    ),
    (
        "position without a letter",
        put("build[5].positions", ["--"]),
        "build[5].positions[0]: read '--', expected a name with a letter or a digit",
    ),
    ("no lines", drop("build[5].lines"), "build[5].lines: missing; a group holds the lines"),
    (
        "nested",
        put("build[5].lines[0].kind", "group"),
        "build[5].lines[0].kind: read 'group' inside a group, expected a line; groups do not nest",
    ),
    (
        "unknown key",
        put("build[5].position", "x"),
        "build[5].position: read the key 'position', which a group does not have (did you mean",
    ),
    (
        "position in a group's line",
        put("build[5].lines[0].position", "x"),
        "build[5].lines[0].position: read the key 'position', which is not known here",
    ),
]

REFERENCES: list[Case] = [
    (
        "condition unknown",
        put("build[4].when.line", "teardown.bor"),
        "build[4].when: read 'teardown.bor', expected the full key of a line such as "
        "'teardown.bore' (did you mean teardown.bore?)",
    ),
    (
        "condition later",
        put("build[4].when.line", "proof.opens"),
        "build[4].when: read 'proof.opens', expected a line done before build.sleeve",
    ),
    (
        "condition on itself",
        put("build[4].when.line", "build.sleeve"),
        "build[4].when: read 'build.sleeve', expected a line done before build.sleeve",
    ),
    (
        "condition says nothing",
        put("build[4].when", {"line": "teardown.bore"}),
        "build[4].when: read 0 of is, disposition and answer beside the line, expected exactly one",
    ),
    (
        "condition says two things",
        put("build[4].when.answer", "good"),
        "build[4].when: read 2 of is, disposition and answer",
    ),
    (
        "condition state",
        put("build[4].when.is", "outsid"),
        "build[4].when.is: read 'outsid', expected one of within, outside, answered, missing",
    ),
    (
        "condition never outside",
        put("build[4].when.line", "build.seal"),
        "build[4].when: read 'build.seal', expected a line with a limit; this one can never be",
    ),
    (
        "condition on a caution",
        put("build[4].when", {"line": "build.mind", "is": "answered"}),
        "build[4].when: read 'build.mind', expected a line that is answered, not a caution",
    ),
    (
        "condition disposition unknown",
        put("build[4].when", {"line": "teardown.bore", "disposition": "weld"}),
        "build[4].when.disposition: read 'weld', expected one of reuse,",
    ),
    (
        "condition disposition not offered",
        put("build[4].when", {"line": "teardown.bore", "disposition": "replace"}),
        "build[4].when: read 'replace', expected one of the dispositions of teardown.bore: hone",
    ),
    (
        "condition answer not offered",
        put("build[4].when", {"line": "receipt.plate", "answer": "readible"}),
        "build[4].when: read 'readible', expected one of the answers of receipt.plate: readable,",
    ),
    (
        "condition answer of a note",
        put("build[4].when", {"line": "receipt.complaint", "answer": "leaks"}),
        "build[4].when: read the answer 'leaks', but receipt.complaint offers no answers",
    ),
    (
        "second of two conditions",
        put(
            "build[4].when",
            [
                {"line": "teardown.bore", "is": "outside"},
                {"line": "proof.opens", "is": "within"},
            ],
        ),
        "build[4].when[1]: read 'proof.opens', expected a line done before build.sleeve",
    ),
    (
        "restore reference unknown",
        put("build[6].reference", "teardown.dept"),
        "build[6].reference: read 'teardown.dept', expected the full key of a line",
    ),
    (
        "restore reference of another kind",
        put("build[6].reference", "teardown.piston"),
        "build[6].reference: read 'teardown.piston', expected the key of a repeat or reading line",
    ),
    (
        "restore reference of another dimension",
        put("build[6].reference", "vent.zero"),
        "build[6].reference: read 'vent.zero', expected a line that measures a length as the "
        "tolerance '3 thou' does (it measures a pressure)",
    ),
    (
        "restore reference later",
        put("build[6].reference", "proof.opens"),
        "build[6].reference: read 'proof.opens', expected a line done before build.screw",
    ),
    (
        "restore units",
        put("build[6].units", ["psi"]),
        "build[6].reference: the units beside it hold 'psi', expected units of a length",
    ),
    (
        "restore tolerance",
        put("build[6].tolerance", "3 to"),
        "build[6].tolerance: read '3 to', expected a quantity such as '12.7 mm'",
    ),
    (
        "restore test unknown",
        put("build[6].set_by_test", "proof.open"),
        "build[6].set_by_test: read 'proof.open', expected the full key of a line such as "
        "'teardown.bore' (did you mean proof.opens?)",
    ),
    (
        "restore test of another kind",
        put("build[6].set_by_test", "build.count"),
        "build[6].set_by_test: read 'build.count', expected the key of a test line",
    ),
    (
        "restore test earlier",
        insert(
            "teardown",
            3,
            {
                "key": "t",
                "kind": "test",
                "text": "T",
                "unit": "bar",
                "limit": LIMIT,
                "rework_from": "receipt",
            },
            put("build[6].set_by_test", "teardown.t"),
        ),
        "build[6].set_by_test: read 'teardown.t', expected a test done after this line",
    ),
    (
        "leak start",
        put("hold[0].start", "charge.bak"),
        "hold[0].start: read 'charge.bak', expected the full key of a line such as",
    ),
    (
        "leak start of another kind",
        put("hold[0].start", "charge.settle"),
        "hold[0].start: read 'charge.settle', expected a charge line, or a pressure reading with",
    ),
    (
        "leak start without temperature",
        put("hold[0].start", "proof.opens"),
        "hold[0].start: read 'proof.opens', expected a charge line, or a pressure reading with",
    ),
    (
        "fit of nothing",
        put("build[2].kit", "seals"),
        "build[2].kit: read 'seals', expected the id of a kit line (did you mean seal?)",
    ),
]

KIT: list[Case] = [
    (
        "id twice",
        put("kit[1].id", "seal", put("build[3].kit", "seal")),
        "kit[1].id: kit line 'seal' is there twice, first at kit[0].id; rename one",
    ),
    (
        "policy",
        put("kit[0].policy", "allways"),
        "kit[0].policy: read 'allways', expected one of always, keep, condition (did you mean",
    ),
    ("quantity", put("kit[0].quantity", 0), "kit[0].quantity: read 0, expected a whole number"),
    (
        "quantity half",
        put("kit[0].quantity", 1.5),
        "kit[0].quantity: read 1.5, expected a whole number such as 3",
    ),
    ("kept unseen", drop("kit[1].inspect"), "kit[1].inspect: missing; a kept part names the"),
    (
        "inspected by no finding",
        put("kit[1].inspect", "teardown.bore"),
        "kit[1].inspect: read 'teardown.bore', expected the key of a finding line",
    ),
    (
        "inspected by nothing",
        put("kit[1].inspect", "teardown.pisten"),
        "kit[1].inspect: read 'teardown.pisten', expected the full key of a line such as",
    ),
    (
        "inspected too late",
        insert(
            "build",
            0,
            {
                "key": "f",
                "kind": "finding",
                "text": "F",
                "part": "p",
                "defects": ["bent"],
                "dispositions": ["replace"],
            },
            put("kit[1].inspect", "build.f"),
        ),
        "kit[1].inspect: read 'build.f', expected a finding made before the parts section",
    ),
    ("no condition", drop("kit[2].when"), "kit[2].when: missing; a part fitted on a condition"),
    (
        "condition too late",
        put("kit[2].when", {"line": "proof.opens", "is": "outside"}),
        "kit[2].when: read 'proof.opens', expected a line done before the parts section",
    ),
    (
        "condition not offered",
        put("kit[2].when[1].answer", "bent"),
        "kit[2].when[1]: read 'bent', expected one of the answers of teardown.piston: good,",
    ),
    (
        "always with a condition",
        put("kit[0].when", {"line": "teardown.bore", "is": "outside"}),
        "kit[0].when: a part of policy 'always' takes no when; use 'condition'",
    ),
    (
        "always inspected",
        put("kit[0].inspect", "teardown.piston"),
        "kit[0].inspect: a part of policy 'always' is not inspected; use 'keep'",
    ),
    (
        "position and positions",
        put("kit[3].position", "Left Eye"),
        "kit[3].position: give position or positions, not both",
    ),
    (
        "mark without positions",
        put("kit[0].part", "TV-{position}"),
        "kit[0].part: read {position} outside a group",
    ),
]

GAS: list[Case] = [
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

CASES = {
    "top": TOP,
    "order": ORDER,
    "lines": LINES,
    "torque": TORQUE,
    "groups": GROUPS,
    "references": REFERENCES,
    "kit": KIT,
    "gas": GAS,
}


def test_the_base_document_is_sound() -> None:
    found = report(base())
    assert found.problems == ()
    assert found.warnings == ()
    assert report(without_gas()).problems == ()


@pytest.mark.parametrize(
    ("tables", "expected"),
    [
        pytest.param(tables, expected, id=f"{area}: {name}")
        for area, cases in CASES.items()
        for name, tables, expected in cases
    ],
)
def test_a_fault_is_named_with_its_place(tables: Tables, expected: str) -> None:
    found = report(tables)
    assert found.procedure is None
    whole = f"{NAME}: {expected}"
    assert [each for each in found.problems if each.startswith(whole)], found.problems


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
