"""The fuzz at a small size; `python -m tests.fuzz` runs it at large."""

from pathlib import Path
from typing import NoReturn

import pytest

from tests.fuzz import __main__ as fuzz
from tests.fuzz import commands, keys


def test_no_string_makes_a_traceback() -> None:
    assert fuzz.faults(5_000, seed=1) == []


def test_a_reader_that_breaks_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(typed: str) -> NoReturn:
        raise ValueError(typed)

    monkeypatch.setitem(fuzz.READERS, "money", broken)
    assert fuzz.faults(200, seed=1)


def test_no_burst_of_keys_and_no_command_line_makes_a_traceback(tmp_path: Path) -> None:
    found, screens = keys.faults(60, 1, tmp_path)
    assert found == []
    assert len(screens) > 3
    assert commands.faults(40, 1, tmp_path) == []
