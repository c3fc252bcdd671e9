"""The reference page against the types: every kind and field is there, every example loads."""

import re
import tomllib
from copy import deepcopy
from dataclasses import MISSING, fields
from typing import Any

import pytest

from shopdesk.procedure import (
    DISPOSITIONS,
    PORT_STATES,
    SECTIONS,
    Adapter,
    Condition,
    Consequence,
    GasCharge,
    Is,
    KitLine,
    Limit,
    Line,
    Policy,
    Procedure,
    Rating,
    loads,
    reference_text,
)
from shopdesk.procedure.loading import check_tables
from shopdesk.procedure.reading import KINDS, toml_name

PAGE = reference_text()
BLOCKS = re.findall(r"^```toml\n(.*?)^```", PAGE, re.MULTILINE | re.DOTALL)
COMPLETE = [block for block in BLOCKS if block.startswith("format = 1")]
FRAGMENTS = [block for block in BLOCKS if not block.startswith("format = 1")]
RECORDS: dict[str, type] = {
    "`[gas_charge]`": GasCharge,
    "`[rated_pressure]`, `[precharge_limit]`": Rating,
    "`[[kit]]`": KitLine,
    "`when`: conditions": Condition,
    "`limit`": Limit,
    "`adapter`": Adapter,
    "`over`": Consequence,
}


def described(heading: str) -> dict[str, bool]:
    """The fields listed under a heading, and whether each is said to be required."""
    after = PAGE.split(f"# {heading}\n", 1)[1]
    own = re.split(r"^#+ ", after, maxsplit=1, flags=re.MULTILINE)[0]
    return {
        name: bool(required)
        for name, required in re.findall(r"^- `(\w+)`( \(required\))?:", own, re.MULTILINE)
    }


def of_types(cls: type, without: tuple[str, ...] = ()) -> dict[str, bool]:
    found: list[Any] = list(fields(cls))
    return {
        toml_name(field): field.default is MISSING for field in found if field.name not in without
    }


@pytest.mark.parametrize("kind", list(KINDS))
def test_every_kind_is_described_with_every_field(kind: str) -> None:
    common = tuple(field.name for field in fields(Line))
    assert described(f"`{kind}`") == of_types(KINDS[kind], without=common)  # type: ignore[index]


@pytest.mark.parametrize("heading", list(RECORDS))
def test_every_table_is_described_with_every_field(heading: str) -> None:
    assert described(heading) == of_types(RECORDS[heading])


def test_the_fields_of_every_line_are_described() -> None:
    assert described("What every line has") == {"kind": True} | of_types(Line)


def test_the_head_is_described() -> None:
    expected = of_types(Procedure, without=("lines", "charge", "order"))
    expected |= {"format": True, "order": False, "gas_charge": False}
    assert described("The head") == expected


@pytest.mark.parametrize(
    "words", [SECTIONS, DISPOSITIONS, PORT_STATES, tuple(Is), tuple(Policy)], ids=str
)
def test_every_fixed_word_is_there(words: tuple[str, ...]) -> None:
    plain = " ".join(PAGE.split())
    assert [word for word in words if word not in plain] == []


def test_a_complete_document_loads_without_doubts() -> None:
    assert len(COMPLETE) == 1
    assert loads(COMPLETE[0], name="page").model == "EX-1"
    assert check_tables(tomllib.loads(COMPLETE[0]), name="page").warnings == ()


def wrapped(fragment: str) -> dict[str, Any]:
    """The fragment in the complete document: lines before the last of their section."""
    document = tomllib.loads(COMPLETE[0])
    for name, value in tomllib.loads(fragment).items():
        if isinstance(value, list) and name in document and isinstance(value[0], dict):
            end = -1 if name in ("vent", "release") else len(document[name])
            document[name][end:end] = deepcopy(value)
        else:
            document[name] = value
    return document


@pytest.mark.parametrize("fragment", FRAGMENTS, ids=lambda text: text.split("\n")[1])
def test_every_example_loads(fragment: str) -> None:
    report = check_tables(wrapped(fragment), name="page")
    assert report.problems == ()
    assert report.procedure is not None


def test_every_kind_has_an_example_of_its_own() -> None:
    shown = {kind for block in FRAGMENTS for kind in re.findall(r'^kind = "(\w+)"', block, re.M)}
    assert shown == {*KINDS, "group"}


def test_the_page_fits_a_terminal() -> None:
    assert max(len(line) for line in PAGE.splitlines()) <= 100
