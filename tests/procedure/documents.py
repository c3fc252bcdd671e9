"""The base document and small changes of it, by the paths that the error sentences use."""

import re
import tomllib
from copy import deepcopy
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from shopdesk.procedure import Report
from shopdesk.procedure.loading import check_tables

BASE_TEXT = (Path(__file__).parent / "base.toml").read_text(encoding="utf-8")
NAME = "tv-3.toml"

Tables = dict[str, Any]
Case = tuple[str, Tables, str]
"""A name, a document, and the beginning of the sentence expected after the file's name."""


def named(cases: list[Case]) -> list[Any]:
    return [pytest.param(tables, expected, id=name) for name, tables, expected in cases]


def assert_refused(tables: Tables, expected: str) -> None:
    found = report(tables)
    assert found.procedure is None
    whole = f"{NAME}: {expected}"
    assert [each for each in found.problems if each.startswith(whole)], found.problems


def base() -> Tables:
    return deepcopy(_parsed())


@cache
def _parsed() -> Tables:
    return tomllib.loads(BASE_TEXT)


def report(tables: Tables) -> Report:
    return check_tables(deepcopy(tables), name=NAME)


def _steps(path: str) -> list[str | int]:
    found = re.findall(r"([A-Za-z_]+)|\[(\d+)\]", path)
    return [name or int(number) for name, number in found]


def put(path: str, value: object, tables: Tables | None = None) -> Tables:
    """The base (or ``tables``) with ``value`` at ``path``; an index one past the end appends."""
    document = base() if tables is None else tables
    *way, last = _steps(path)
    inner: Any = document
    for step in way:
        inner = inner[step]
    if isinstance(inner, list) and last == len(inner):
        inner.append(value)
    else:
        inner[last] = value
    return document


def drop(path: str, tables: Tables | None = None) -> Tables:
    """The base (or ``tables``) without what stands at ``path``."""
    document = base() if tables is None else tables
    *way, last = _steps(path)
    inner: Any = document
    for step in way:
        inner = inner[step]
    del inner[last]
    return document


def insert(section: str, at: int, line: Tables, tables: Tables | None = None) -> Tables:
    document = base() if tables is None else tables
    document[section].insert(at, line)
    return document
