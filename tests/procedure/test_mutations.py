"""Whatever is done to a valid document, reading it gives a procedure or BadProcedure."""

from datetime import date, time
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from shopdesk.errors import BadProcedure
from shopdesk.procedure import Report, check_text, loads
from shopdesk.procedure.loading import check_tables

from .documents import BASE_TEXT, NAME, base

Path = tuple[str | int, ...]

ODD = st.one_of(
    st.none().map(lambda _: {}),
    st.booleans(),
    st.integers(),
    st.just(16**6000),
    st.floats(),
    st.text(max_size=20),
    st.sampled_from(
        ["", "70", "70 bar", "-1 mm", "5 %", "1e999 bar", "nan mm", "{position}", "group", "build",
         "teardown.bore", "proof.opens", "build.eye.{position}.bolt", "condition", "\x00", "½ in"]
    ),
    st.just([]),
    st.lists(st.one_of(st.text(max_size=5), st.integers(), st.just({}), st.just([])), max_size=3),
    st.dictionaries(st.sampled_from(["line", "is", "low", "x"]), st.text(max_size=5), max_size=3),
    st.just(date(2026, 1, 1)),
    st.just(time(12)),
)  # fmt: skip


def paths(value: Any, way: Path = ()) -> list[Path]:
    steps: list[tuple[str | int, Any]] = []
    if isinstance(value, dict):
        steps = list(value.items())
    elif isinstance(value, list):
        steps = list(enumerate(value))
    found = [way] if way else []
    for step, inner in steps:
        found += paths(inner, (*way, step))
    return found


def parent(document: Any, way: Path) -> Any:
    for step in way[:-1]:
        document = document[step]
    return document


@st.composite
def mutated(draw: st.DrawFn) -> dict[str, Any]:
    document = base()
    for _ in range(draw(st.integers(1, 4))):
        every = paths(document)
        if not every:
            break
        way = draw(st.sampled_from(every))
        holder: Any = parent(document, way)
        last: Any = way[-1]
        match draw(st.sampled_from(["delete", "rename", "replace", "swap"])):
            case "delete":
                del holder[last]
            case "rename" if isinstance(holder, dict):
                holder[draw(st.text(max_size=12))] = holder.pop(last)
            case "swap" if isinstance(holder, list) and len(holder) > 1:
                other = draw(st.integers(0, len(holder) - 1))
                holder[last], holder[other] = holder[other], holder[last]
            case _:
                holder[last] = draw(ODD)
    return document


def sound(report: Report) -> None:
    """Either a procedure or faults, and every fault one printable sentence that names the file."""
    assert (report.procedure is None) == bool(report.problems)
    for problem in (*report.problems, *report.warnings):
        assert problem.startswith(f"{NAME}: ")
        assert problem.isprintable(), problem


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(mutated())
def test_a_mutated_document_is_read_or_refused(document: dict[str, Any]) -> None:
    sound(check_tables(document, name=NAME))


@settings(max_examples=100, deadline=None)
@given(
    st.integers(0, len(BASE_TEXT)),
    st.integers(0, 40),
    st.one_of(st.just(""), st.text(max_size=8), st.sampled_from(['"', "[[", "]", "= 1\n", "'''"])),
)
def test_a_text_cut_anywhere_is_read_or_refused(at: int, length: int, filling: str) -> None:
    text = BASE_TEXT[:at] + filling + BASE_TEXT[at + length :]
    sound(check_text(text, name=NAME))


@pytest.mark.parametrize("text", ["format = 1", "format = 1 model = 2", BASE_TEXT + "[gas_charge]"])
def test_what_is_refused_is_refused_by_one_exception(text: str) -> None:
    with pytest.raises(BadProcedure) as caught:
        loads(text, name=NAME)
    assert caught.value.problems == check_text(text, name=NAME).problems
    assert caught.value.exit_status == 2
