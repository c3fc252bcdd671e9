"""The app takes the day's copy by itself, and says so only when it cannot."""

import asyncio
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from shopdesk.tui import app
from tests.acceptance.conftest import Day
from tests.acceptance.terminal import terminal

WAIT_S = 20.0


async def test_the_open_app_takes_the_copy(
    day: Day, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(app, "COPY_S", 0.2)
    folder = tmp_path / "other disk"
    monkeypatch.setenv("SHOPDESK_BACKUPS", str(folder))
    async with terminal(day.shop, person="RT") as t:
        await t.write("K20")
        async with asyncio.timeout(WAIT_S):
            while not any("unfinished" not in p.name for p in folder.glob("*-daily-*")):
                await asyncio.sleep(0.05)
        t.shows("Find: K20")
        t.hides("copy of the record")
    [copy] = folder.glob("*-daily-*")
    if copy.suffix == ".db":
        with closing(sqlite3.connect(copy)) as db:
            assert db.execute("SELECT count(*) FROM job").fetchone() == (1,)
    else:
        assert copy.read_bytes()[:5] == b"PGDMP"


async def test_a_copy_that_fails_is_said(
    day: Day, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(app, "COPY_S", 0.2)
    (tmp_path / "file").touch()
    monkeypatch.setenv("SHOPDESK_BACKUPS", str(tmp_path / "file" / "below"))
    async with terminal(day.shop, person="RT") as t:
        async with asyncio.timeout(WAIT_S):
            while "the day's copy of the record" not in t.screen():
                await asyncio.sleep(0.05)
        assert not t.app.faults
