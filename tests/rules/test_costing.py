"""A job's cost against its quote: times, causes, rework. Checked by arithmetic done by hand."""

from hypothesis import given
from hypothesis import strategies as st

from shopdesk.rules import cores, costing
from shopdesk.rules.costing import Quoted, Stamp, Told, Used
from shopdesk.rules.shop import Cores, Labour

LABOUR = Labour(cents_per_hour=6000, sections=(("proof", 9000),), longest_gap_min=60)


def test_gaps_up_to_the_longest_count_by_job_section_and_rework() -> None:
    stamps = [
        Stamp(1, "vent", 10),
        Stamp(2, "build", 15),
        Stamp(1, "teardown", 15),
        Stamp(1, "teardown", 60.5),
        Stamp(1, "teardown", 10, rework=True),
        Stamp(1, "vent", 60),
    ]
    assert costing.worked(stamps, 60) == {
        (1, "vent", False): 70,
        (2, "build", False): 15,
        (1, "teardown", False): 15,
        (1, "teardown", True): 10,
    }


def test_the_difference_has_its_causes() -> None:
    quoted = [
        Quoted("part", "SEAL", 2, 800),
        Quoted("part", "WASHER", 1, 150),
        Quoted("labour", "proof", 1.0, 9000),
        Quoted("margin", "handling of parts", 1, 190),
    ]
    used = [
        Used("SEAL", 3, 1350),  # one more at 4.00, each 0.50 dearer
        Used("WASHER", 1, 150),
        Used("RING", 1, 70),
        Used("SEAL", 2, 900, rework=True),
    ]
    told = [
        Told("labour", "proof", 80, 0),
        Told("outside", "", 0, 4000),
        Told("freight", "", 0, 1200),
        Told("labour", "build", 30, 0, rework=True),
    ]
    seen = {("proof", False): 500.0, ("build", False): 10.0}
    lines = costing.against_quote(quoted, used, told, seen, LABOUR)
    assert dict(costing.by_cause(lines)) == {
        "pieces": 400,
        "lot price": 150,
        "not quoted": 70,
        "hours": 3000 + 1000,  # 80 min at 90 an hour for 60 quoted; 10 min of build at 60
        "outside": 4000,
        "freight": 1200,
        "rework": 900 + 3000,
    }


pieces = st.integers(0, 9)
money = st.integers(0, 10_000)
parts = st.sampled_from(["A", "B", "C"])


@given(
    st.lists(st.builds(Quoted, st.just("part"), parts, st.integers(1, 9), money)),
    st.lists(st.builds(Used, parts, pieces, money, st.booleans())),
    st.lists(
        st.builds(Told, st.just("labour"), parts, st.integers(1, 90), st.just(0), st.booleans())
        | st.builds(Told, st.sampled_from(["outside", "freight"]), st.just(""), st.just(0), money)
    ),
    st.dictionaries(st.tuples(parts, st.booleans()), st.floats(0, 500)),
)
def test_the_causes_are_the_whole_difference(
    quoted: list[Quoted],
    used: list[Used],
    told: list[Told],
    seen: dict[tuple[str, bool], float],
) -> None:
    lines = costing.against_quote(quoted, used, told, seen, LABOUR)
    cost = sum(line.actual_cents for line in lines)
    assert sum(cents for _, cents in costing.by_cause(lines)) == cost - sum(q.cents for q in quoted)
    assert sum(u.cents for u in used) + sum(t.cents for t in told) <= cost


def test_what_of_a_deposit_goes_back() -> None:
    rules = Cores((("A", 100.0), ("C", 40.0)), late_percent=50, source="test")
    assert cores.credit(25_000, "A", rules, (), late=False) == 25_000
    assert cores.credit(25_000, "A", rules, (1_000, 500), late=False) == 23_500
    assert cores.credit(25_000, "C", rules, (500,), late=True) == 4_750
    assert cores.credit(25_000, "C", rules, (12_000,), late=False) == 0
