"""Revisions of a procedure: brought in, approved, turned down, compared; what is refused."""

from pathlib import Path

import pytest

from shopdesk.desk import procedures
from shopdesk.errors import BadInput, BadProcedure, NotFound, Refused
from shopdesk.procedure import load, loads
from shopdesk.procedure.comparing import Differs, Mark, compare, counts
from shopdesk.records import witness
from shopdesk.rules.revisions import not_newer, order
from shopdesk.views import procedures as views
from tests.desk.floor import Floor
from tests.desk.stocked import DATA

TECHNICIAN, MANAGER = "TT 3333", "MM 1111"
SAMPLES = Path(__file__).parents[2] / "sample_shop" / "procedures"


@pytest.fixture
def database() -> str:
    return "sqlite"


def revised(*changes: tuple[str, str], revision: str = "B", changed: str = "tighter") -> str:
    """The gas unit's procedure as a later revision."""
    text = (DATA / "gas.toml").read_text()
    head = (('revision = "A"\neffective', f'revision = "{revision}"\neffective'),)
    for old, new in (*head, ('changed = "first issue"', f'changed = "{changed}"'), *changes):
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return text


NO_OIL = (
    '[[teardown]]\nkey = "oil"\nkind = "reading"\ntext = "Oil found on the gas side"\nunit = "mL"\n'
    'limit = { high = "10 mL", source = "test drawing 1", revision = "A" }\n\n',
    "",
)


@pytest.mark.parametrize("database", ["sqlite", "postgresql"])
def test_a_revision_waits_until_a_manager_approves_it(floor: Floor) -> None:
    text = revised(('high = "40.060 mm"', 'high = "40.050 mm"'))
    done = procedures.bring_in(floor.shop, TECHNICIAN, text, "", name="b")
    assert (done.name, done.new, done.waits) == ("GT-1 rev B", True, True)
    floor.take_in()
    assert floor.look().heading.revision == "A"
    with pytest.raises(Refused, match="takes a manager"):
        procedures.approve(floor.shop, TECHNICIAN, "GT-1", "B")
    with pytest.raises(Refused, match="do not fit"):
        procedures.approve(floor.shop, "MM 9999", "GT-1", "B")
    said = procedures.approve(floor.shop, MANAGER, "gt-1", "b")
    assert said.startswith("GT-1 rev B is in force for new jobs.")
    assert floor.look().heading.revision == "A"
    floor.take_in(serial="K-2")
    assert floor.look().heading.revision == "B"
    with pytest.raises(Refused, match="is approved since"):
        procedures.approve(floor.shop, MANAGER, "GT-1", "B")
    with floor.shop.read() as db:
        rows = views.revisions_of(db, "gt-1")
        assert witness.fault(db) is None
    assert [(r.revision, r.stands, r.by, r.answered_by, r.why, r.jobs) for r in rows] == [
        ("B", "in force", "TT", "MM", "tighter", 1),
        ("A", "earlier", "MM", "MM", "first issue", 1),
    ]


def test_one_turned_down_is_never_in_force(floor: Floor) -> None:
    procedures.bring_in(floor.shop, TECHNICIAN, revised(), "", name="b")
    for typed, said in ((" ", "why is it turned down"), ("no " * 200, "at most 400")):
        with pytest.raises(BadInput, match=said):  # never cut: what was meant may stand at the end
            procedures.turn_down(floor.shop, MANAGER, "GT-1", "B", typed)
    procedures.turn_down(floor.shop, MANAGER, "GT-1", "B", "the drawing says otherwise")
    with pytest.raises(Refused, match="turned down by MM: the drawing says otherwise"):
        procedures.approve(floor.shop, MANAGER, "GT-1", "B")
    assert not procedures.bring_in(floor.shop, TECHNICIAN, revised(), "", name="b").new
    with pytest.raises(Refused, match="is on record with other text"):
        procedures.bring_in(floor.shop, TECHNICIAN, revised(changed="another try"), "", name="b")
    procedures.bring_in(floor.shop, MANAGER, revised(revision="C"), "", name="c", approve=True)
    floor.take_in()
    assert floor.look().heading.revision == "C"


def test_the_same_text_again_changes_nothing(floor: Floor) -> None:
    before = floor.written()
    with floor.shop.read() as db:
        text = views.text_of(db, views.find(db, "GT-1")[0])
    done = procedures.bring_in(floor.shop, TECHNICIAN, text, "again", name="a")
    assert not done.new
    assert floor.written() == before
    assert procedures.look(floor.shop, text, name="a").stands == "same"


@pytest.mark.parametrize(
    ("text", "says", "kind"),
    [
        (revised(revision="A", changed="not raised"), "on record with other text", Refused),
        (revised(revision="2"), "not newer than rev A", Refused),
        (revised(changed="first issue"), "still says what rev A changed", BadInput),
        (revised(revision="two words"), "one word", Refused),
        (revised(('model = "GT-1"', 'model = "gt-1"')), "in capitals: GT-1", Refused),
        (revised(('unit = "mL"', 'unit = "Nm"')), "teardown", BadProcedure),
        ("format = ", "not readable as TOML", BadProcedure),
    ],
    ids=lambda value: value if isinstance(value, str) and len(value) < 40 else "",
)
def test_what_cannot_be_brought_in(
    floor: Floor, text: str, says: str, kind: type[BadInput] | type[Refused]
) -> None:
    with floor.refused(says=says, kind=kind):
        procedures.bring_in(floor.shop, TECHNICIAN, text, "", name="b")


def test_the_counter_brings_in_none_and_an_unknown_model_is_told(floor: Floor) -> None:
    with floor.refused(says="takes a technician or manager"):
        procedures.bring_in(floor.shop, "CC 2222", revised(), "", name="b")
    with floor.refused(says="known here: GT-1", kind=NotFound):
        procedures.approve(floor.shop, MANAGER, "GT-7", "B")
    with floor.refused(says="has no rev Q here; it has A (in force)", kind=NotFound):
        procedures.approve(floor.shop, MANAGER, "GT-1", "Q")


def test_an_answered_line_that_is_dropped_is_named(floor: Floor) -> None:
    floor.take_in()
    floor.go("decision")
    found = procedures.look(floor.shop, revised(NO_OIL), name="b")
    [said] = procedures.said(found.dropped)
    assert said == (
        "J-1001 has answered teardown.oil (Oil found on the gas side), which this revision drops: "
        "it stays on rev A until moved over, and the answers stand."
    )
    procedures.bring_in(floor.shop, TECHNICIAN, revised(NO_OIL), "", name="b")
    assert said in procedures.approve(floor.shop, MANAGER, "GT-1", "B")
    assert floor.state("teardown.oil").given


def test_revisions_come_in_order() -> None:
    for series in (["A", "B", "Z", "AA", "AB"], ["1", "2", "10"], ["1.9", "1.10", "2.0"]):
        assert sorted(series, key=order) == series
    assert not_newer("M", "C", "B") is None
    refusal = not_newer("M", "B", "D")
    assert refusal is not None
    assert refusal.sentence.endswith("give the change the revision after it, E")


def test_a_comparison_names_each_field_with_both_values() -> None:
    was, now = (
        loads(revised(), name="b"),
        loads(
            revised(
                NO_OIL,
                ('high = "40.060 mm"', 'high = "40.050 mm"'),
                ("quantity = 2", "quantity = 3"),
                (
                    '[[hold]]\nkey = "day"',
                    '[[hold]]\nkey = "wiped"\nkind = "tick"\ntext = "Wiped"\n\n'
                    '[[hold]]\nkey = "day"',
                ),
            ),
            name="c",
        ),
    )
    differing = {each.key: each for each in compare(was, now) if each.differs}
    assert {key: each.mark for key, each in differing.items()} == {
        "seal": Mark.CHANGED,
        "teardown.bore": Mark.CHANGED,
        "teardown.oil": Mark.DROPPED,
        "hold.wiped": Mark.ADDED,
    }
    assert differing["teardown.bore"].differs == (Differs("at most", "40.060 mm", "40.050 mm"),)
    assert differing["seal"].differs == (Differs("pieces", "2", "3"),)
    assert (differing["teardown.oil"].was, differing["teardown.oil"].now) == (
        "Oil found on the gas side",
        "",
    )


def test_lines_that_change_places_are_told_by_what_they_come_after() -> None:
    text = revised()
    first, second = (f'[[teardown]]\nkey = "{key}"' for key in ("photo", "said"))
    start, middle, end = text.index(first), text.index(second), text.index("[[build]]")
    turned = text[:start] + text[middle:end] + text[start:middle] + text[end:]
    [moved] = [e for e in compare(loads(text, name="a"), loads(turned, name="b")) if e.differs]
    assert moved.differs[0].field == "place"


@pytest.mark.parametrize("path", sorted(SAMPLES.glob("*.toml")), ids=lambda path: path.stem)
def test_a_document_differs_from_itself_in_nothing(path: Path) -> None:
    found = compare(load(path), load(path))
    assert counts(found)[Mark.SAME] == len(found)
