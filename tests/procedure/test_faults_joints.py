"""Torque lines and groups at fault: each fault by its own change."""

import pytest

from .documents import Case, Tables, assert_refused, drop, named, put

BOLT = "build[5].lines[1]"

CASES: list[Case] = [
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


@pytest.mark.parametrize(("tables", "expected"), named(CASES))
def test_a_fault_is_named_with_its_place(tables: Tables, expected: str) -> None:
    assert_refused(tables, expected)
