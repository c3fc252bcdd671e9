"""Lines and kit lines that name others wrongly: each fault by its own change."""

import pytest

from .documents import NAME, Case, Tables, assert_refused, drop, insert, named, put, report

LIMIT = {"high": "2 bar", "source": "invented", "revision": "1"}


def worked(*named: str) -> Tables:
    """The base with a piston that may be dressed, whereupon ``named`` are measured again."""
    dressed = put("teardown[1].dispositions", ["dress", "replace"])
    return put("teardown[1].measure_again", list(named), dressed)


CASES: list[Case] = [
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
        "restore unit",
        put("build[6].unit", "psi"),
        "build[6].tolerance: read '3 thou', expected a pressure difference such as '2 bar' (that",
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
    (
        "matched to nothing",
        put("kit[1].matched", "pump"),
        "kit[1].matched: 'pump' is a set of 'piston' alone; give its mates the same name",
    ),
    (
        "mates of two policies",
        put("kit[1].matched", "pump", put("kit[0].matched", "pump")),
        "kit[1].policy: differs from that of 'seal', its mate in the matched set 'pump'; mates",
    ),
    (
        "mates of two conditions",
        put("kit[2].matched", "pump", put("kit[1].matched", "pump")),
        "kit[2].when: differs from that of 'piston', its mate in the matched set 'pump'; mates",
    ),
    (
        "a mate twice",
        put("kit[2].matched", "p", put("kit[2].part", "TV-P", put("kit[1].matched", "p"))),
        "kit[2].part: 'TV-P' is in the matched set 'p' twice; make it one line with the",
    ),
    (
        "a mate spent by fitting",
        put("kit[3].matched", "pump", put("kit[0].matched", "pump")),
        "kit[3].one_time: a part of a matched set is not spent by fitting; leave out one",
    ),
    (
        "matched over positions to nothing",
        put("kit[3].matched", "pair_{position}"),
        "kit[3].matched: 'pair_left_eye' is a set of 'washer_left_eye' alone; give its mates",
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
    (
        "measured by what offers no replacing",
        put("kit[1].measured_by", ["vent.zero"]),
        "kit[1].measured_by[0]: read the disposition 'replace', but vent.zero offers no",
    ),
    (
        "measured though always new",
        put("kit[0].measured_by", ["teardown.bore"]),
        "kit[0].measured_by: a part of policy 'always' is not kept; use 'keep'",
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
        "measured again: unknown",
        worked("teardown.bor"),
        "teardown[1].measure_again[0]: read 'teardown.bor', expected the full key of a line such "
        "as 'teardown.bore' (did you mean teardown.bore?)",
    ),
    (
        "measured again: itself",
        worked("teardown.piston"),
        "teardown[1].measure_again[0]: read 'teardown.piston', expected another line; this one",
    ),
    (
        "measured again: not measured",
        worked("teardown.bore", "build.seal"),
        "teardown[1].measure_again[1]: read 'build.seal', expected a line that measures, looks or",
    ),
    (
        "measured again: a line every sheet has",
        worked("decision.quoted"),
        "teardown[1].measure_again[0]: read 'decision.quoted', expected a line that measures,",
    ),
    (
        "measured again: what a setting goes back to",
        worked("teardown.depth"),
        "teardown[1].measure_again[0]: read 'teardown.depth', expected a line that can be taken "
        "again; build.screw goes back to this one",
    ),
    (
        "measured again: zero",
        worked("vent.zero"),
        "teardown[1].measure_again[0]: read 'vent.zero', expected a line of another section than "
        "vent, charge, hold, release, shipment",
    ),
    (
        "measured again: twice",
        worked("teardown.bore", "teardown.bore"),
        "teardown[1].measure_again[1]: read 'teardown.bore' a second time, expected each entry",
    ),
    (
        "measured again: no list",
        put("teardown[1].measure_again", "teardown.bore"),
        "teardown[1].measure_again: read 'teardown.bore', expected a list in square brackets",
    ),
    (
        "measured again: after no work",
        put("teardown[1].measure_again", ["teardown.bore"]),
        "teardown[1].measure_again: read 1 of them, but this line offers no disposition that "
        "works the part; expected one of dress, hone or lap, outside process among its",
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


@pytest.mark.parametrize(("tables", "expected"), named(CASES))
def test_a_fault_is_named_with_its_place(tables: Tables, expected: str) -> None:
    assert_refused(tables, expected)


def test_work_offered_on_a_test_is_doubted() -> None:
    """The base's test is the first line of proof."""
    found = report(put("proof[0].dispositions", ["scrap", "hone or lap"]))
    assert found.procedure is not None
    assert [each for each in found.warnings if "dispositions" in each] == [
        f"{NAME}: proof[0].dispositions[1]: read 'hone or lap', which is not offered: a failed "
        "test is put right by rework; expected ask customer or scrap"
    ]
