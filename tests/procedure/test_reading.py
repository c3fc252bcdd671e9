"""A document read into values: every kind, SI figures, groups, defaults, and the sentences said."""

from dataclasses import dataclass
from pathlib import Path

import pytest

from shopdesk.errors import BadProcedure
from shopdesk.procedure import (
    SECTIONS,
    Condition,
    Is,
    Kind,
    Policy,
    Procedure,
    Repeat,
    Survey,
    Torque,
    check,
    digest,
    load,
    loads,
    side_roads,
    types,
)
from shopdesk.procedure.faults import Faults, Place
from shopdesk.procedure.reading import KINDS, record

from .documents import BASE_TEXT, NAME, base, drop, put, report

# NIST SP 811 (2008), appendix B.8: pound-force inch and inch in SI; the inch is exact.
IN_LB_NM = 1.129848e-1
INCH_M = 0.0254


@dataclass(frozen=True, slots=True, kw_only=True)
class Weigh(types.Line):
    """A kind nobody has written yet."""

    unit: str
    heaviest: types.Quantity
    steps: tuple[types.Span, ...] = ()
    over: types.Consequence | None = None


@pytest.fixture(scope="module")
def procedure() -> Procedure:
    return loads(BASE_TEXT, name=NAME)


def test_the_base_document_uses_every_kind(procedure: Procedure) -> None:
    used = {type(line) for line in procedure.lines}
    assert used == set(KINDS.values())
    assert len(KINDS) == len(Kind)


def test_what_a_position_measures_again_is_its_own() -> None:
    """In a group the lines named are those of the same position."""
    seat = {
        "key": "seat",
        "kind": "finding",
        "text": "Seat, {position}",
        "part": "seat",
        "defects": ["wire drawn"],
        "dispositions": ["hone or lap"],
        "measure_again": ["teardown.eye.{position}.width"],
    }
    width = {"key": "width", "kind": "reading", "text": "Width, {position}", "unit": "mm"}
    group = {"kind": "group", "key": "eye", "positions": ["Left Eye", "right eye"]}
    tables = put("teardown[3]", {**group, "lines": [seat, width]})
    found = report(tables).procedure
    assert found is not None
    named = [line.measure_again for line in found.lines if isinstance(line, types.Finding)]
    assert named[1:] == [("teardown.eye.left_eye.width",), ("teardown.eye.right_eye.width",)]


def test_a_setting_is_asked_in_the_unit_it_was_measured_in() -> None:
    """Not in that of its tolerance: 3 thou on a depth read in inches; or in the unit it names."""
    for unit, asked in (("", "in"), ("mm", "mm")):
        tables = put("build[6].unit", unit) if unit else base()
        found = report(tables).procedure
        assert found is not None
        screw = found.line("build.screw")
        assert isinstance(screw, types.Restore)
        assert (screw.unit, screw.tolerance.unit) == (asked, "thou")


def test_a_new_kind_needs_its_dataclass_alone() -> None:
    faults = Faults(NAME)
    given = {"key": "build.weigh"}
    raw = {
        "text": "Weigh it",
        "unit": "kg",
        "heaviest": "12 lb",
        "steps": ["0.5 kg"],
        "over": {"text": "Again", "reopen": ["build.seal"]},
    }
    found = record(Weigh, raw, Place(faults, "build[0]"), given)
    assert found is not None
    # NIST SP 811, appendix B.8: a pound is 0.45359237 kg, exactly.
    assert found.heaviest.value_si == pytest.approx(12 * 0.45359237)
    assert found.steps[0].value_si == pytest.approx(0.5)
    assert found.over == types.Consequence("Again", ("build.seal",))
    assert record(Weigh, raw | {"heaviest": "12 bar"}, Place(faults, "build[0]"), given) is None
    assert faults.problems == (
        f"{NAME}: build[0].heaviest: read '12 bar', expected a mass such as '2.4 kg' (that is a "
        "pressure)",
    )


def test_lines_come_in_the_order_they_are_done(procedure: Procedure) -> None:
    ranks = [SECTIONS.index(line.section) for line in procedure.lines]
    assert ranks == sorted(ranks)
    assert procedure.order == SECTIONS


def test_quantities_keep_what_was_written_and_stand_in_si(procedure: Procedure) -> None:
    assert procedure.charge is not None
    assert procedure.charge.target.value_si == pytest.approx(52e5)
    assert procedure.charge.target.typed == "52 bar"
    assert procedure.charge.reference.value_si == pytest.approx(293.15)
    assert procedure.charge.volume.value_si == pytest.approx(320e-6)
    survey = procedure.line("teardown.bore")
    assert isinstance(survey, Survey)
    depths = [depth.value_si for depth in survey.depths]
    assert depths == pytest.approx([0.015, 2 * INCH_M, 0.090])
    assert survey.taper is not None
    assert survey.taper.value_si == pytest.approx(0.001 * INCH_M)
    repeat = procedure.line("teardown.depth")
    assert isinstance(repeat, Repeat)
    assert (repeat.unit, repeat.units, repeat.spread.typed) == ("in", ("mm",), "2 thou")


def test_a_torque_takes_its_unit_and_share_from_the_target(procedure: Procedure) -> None:
    bolt = procedure.line("build.eye.left_eye.bolt")
    assert isinstance(bolt, Torque)
    assert bolt.target is not None
    assert bolt.tolerance is not None
    assert bolt.target.value_si == pytest.approx(90 * IN_LB_NM, rel=1e-6)
    assert bolt.tolerance.value_si == pytest.approx(4.5 * IN_LB_NM, rel=1e-6)
    assert (bolt.unit, bolt.tolerance.typed, bolt.passes) == ("in-lb", "5 %", (0.5, 1.0))


def test_a_temperature_span_has_no_offset() -> None:
    line = {
        "key": "oven",
        "kind": "repeat",
        "text": "Oven",
        "unit": "F",
        "count": 2,
        "spread": "9 F",
    }
    found = report(put("teardown[3]", line)).procedure
    assert found is not None
    oven = found.line("teardown.oven")
    assert isinstance(oven, Repeat)
    assert oven.spread.value_si == pytest.approx(5.0)  # 9 degrees F are 5 K, by definition


def test_target_and_within_become_bounds(procedure: Procedure) -> None:
    opens = procedure.line("proof.opens")
    assert isinstance(opens, types.Test)
    limit = opens.limit
    assert limit is not None
    assert limit.low is not None
    assert limit.high is not None
    assert limit.low.value_si == pytest.approx(92e5)
    assert limit.high.value_si == pytest.approx(98e5)
    assert (limit.low.typed, limit.high.typed) == ("92 bar", "98 bar")


def test_a_group_is_laid_out_position_by_position(procedure: Procedure) -> None:
    keys = [line.key for line in procedure.lines if ".eye." in line.key]
    assert keys == [
        "build.eye.left_eye.washer",
        "build.eye.left_eye.bolt",
        "build.eye.right_eye.washer",
        "build.eye.right_eye.bolt",
    ]
    bolt = procedure.line("build.eye.left_eye.bolt")
    assert (bolt.text, bolt.position) == ("Bolt of Left Eye", "Left Eye")
    assert bolt.when == (Condition("build.eye.left_eye.washer", is_=Is.ANSWERED),)
    assert isinstance(bolt, Torque)
    assert bolt.over is not None
    assert bolt.over.again == ("washer_left_eye",)


def test_kit_lines_are_laid_out_over_their_positions(procedure: Procedure) -> None:
    washers = [kit for kit in procedure.kit if kit.part == "TV-W"]
    assert [(kit.id, kit.position) for kit in washers] == [
        ("washer_left_eye", "Left Eye"),
        ("washer_right_eye", "right eye"),
    ]
    assert all(kit.one_time and kit.policy is Policy.ALWAYS for kit in washers)


def test_a_condition_may_stand_alone_or_in_a_list(procedure: Procedure) -> None:
    alone = [{"line": "teardown.bore", "is": "outside"}]
    assert report(put("build[4].when", alone)).procedure == procedure


def test_a_date_may_be_written_as_a_date(procedure: Procedure) -> None:
    text = BASE_TEXT.replace('effective = "2026-02-14"', "effective = 2026-02-14")
    assert loads(text, name=NAME) == procedure


def test_the_usual_order_needs_no_saying(procedure: Procedure) -> None:
    assert report(drop("order")).procedure == procedure


def test_a_file_is_read_and_named(tmp_path: Path, procedure: Procedure) -> None:
    path = tmp_path / NAME
    path.write_text(BASE_TEXT, encoding="utf-8")
    assert load(path) == procedure
    path.write_text(BASE_TEXT.replace('"90 in-lb"', '"90 in-ib"'), encoding="utf-8")
    with pytest.raises(BadProcedure) as caught:
        load(path)
    assert caught.value.problems == (
        "tv-3.toml: build[5].lines[1].target: read '90 in-ib', expected a torque such as "
        "'35 in-lb' (did you mean in-lb?)",
    )
    assert str(caught.value) == caught.value.problems[0]


def test_the_digest_is_the_text_s_own() -> None:
    # FIPS 180-4 example: SHA-256 of "abc".
    expected = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert digest("abc") == expected
    assert digest(BASE_TEXT) != digest(BASE_TEXT + "\n")


def test_every_fault_is_listed_at_once() -> None:
    tables = put("revision", 3)
    put("proof[0].limit.source", "", tables)
    drop("release", tables)
    problems = report(tables).problems
    assert problems == (
        f"{NAME}: revision: read 3, expected text (put it in quotes)",
        f"{NAME}: proof[0].limit.source: read an empty text, expected some words; leave the key "
        "out to say nothing",
        f"{NAME}: release: does not end with a signature; the last line is kind = 'signature' "
        "with no when",
    )


def test_several_faults_make_one_sentence_and_a_list() -> None:
    with pytest.raises(BadProcedure) as caught:
        loads("format = 1\n", name="empty.toml")
    assert str(caught.value).startswith(
        "empty.toml: 10 faults in this document, the first: empty.toml: model: missing"
    )
    assert len(caught.value.problems) == 10


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("a = [1,,2]\n", "x.toml: line 1, column 8: not readable as TOML: Invalid value"),
        ("a = 'open", "x.toml: end of document: not readable as TOML: "),
        ("a = 1\nb = {", "x.toml: end of document: not readable as TOML: "),
        ("a = " + "[" * 5000, "x.toml: a number or a nesting no document needs; write it plainly"),
        ("a = " + "9" * 5000, "x.toml: a number or a nesting no document needs; write it plainly"),
        ("", "x.toml: format: missing; a procedure begins with format = 1"),
        ("format = 2", "x.toml: format: read 2, expected 1, the format this program reads"),
        ("format = true", "x.toml: format: read true, expected 1, the format this program reads"),
        (f"format = 0x{'f' * 6000}", "x.toml: format: read a number of more than 15 digits"),
    ],
)
def test_what_is_no_procedure_is_said_in_a_sentence(text: str, expected: str) -> None:
    with pytest.raises(BadProcedure) as caught:
        loads(text, name="x.toml")
    assert str(caught.value).startswith(expected)


@pytest.mark.parametrize(
    ("data", "expected"),
    [
        (b"format = 1 # \xff", "x.toml: byte 14 is not UTF-8 text; save the file as UTF-8"),
        (b"#" * 2_000_001, "x.toml: larger than 2000000 bytes; that is no procedure"),
        (None, "x.toml: cannot be read (No such file or directory); check name and access"),
    ],
)
def test_a_file_that_cannot_be_read(tmp_path: Path, data: bytes | None, expected: str) -> None:
    path = tmp_path / "x.toml"
    if data is not None:
        path.write_bytes(data)
    found = check(path)
    assert (found.problems, found.procedure) == ((expected,), None)


def test_line_ends_of_another_system_change_nothing(tmp_path: Path, procedure: Procedure) -> None:
    path = tmp_path / NAME
    path.write_bytes(BASE_TEXT.replace("\n", "\r\n").encode())
    assert load(path) == procedure


def test_side_roads_are_read_line_by_line() -> None:
    text = """
    [[declined]]
    key = "state"
    kind = "choice"
    text = "State on the tag"
    options = ["opened, incomplete", "as received"]

    [[declined]]
    key = "bag"
    kind = "note"
    text = "Loose parts in the bag"
    when = { line = "declined.state", answer = "opened, incomplete" }
    """
    roads = side_roads(text, name="roads.toml", roads=("declined", "scrapped"))
    assert [line.key for line in roads["declined"]] == ["declined.state", "declined.bag"]
    assert roads["scrapped"] == ()
    with pytest.raises(BadProcedure) as caught:
        side_roads(
            text.replace("declined.state", "declined.stat") + "\n[[scraped]]\n",
            name="roads.toml",
            roads=("declined", "scrapped"),
        )
    assert caught.value.problems == (
        "roads.toml: scraped: read the key 'scraped', which is not known here (did you "
        "mean scrapped?)",
        "roads.toml: declined[1].when: read 'declined.stat', expected the full key of a line such "
        "as 'teardown.bore' (did you mean declined.state?)",
    )


def test_nothing_of_the_document_reaches_a_terminal_unescaped() -> None:
    tables = base()
    tables["\x1b[31m"] = "\x1b[2J"
    tables["model"] = "\x1b[2J"
    problems = report(tables).problems
    assert problems
    assert not any("\x1b" in problem for problem in problems)
