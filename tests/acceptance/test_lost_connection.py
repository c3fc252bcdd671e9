"""The server's connection cut under an open terminal: what is entered waits on the screen and is
recorded once when the record answers again."""

import asyncio
import contextlib
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from urllib.parse import urlsplit

import psycopg
import pytest
from sqlalchemy import func, select

from shopdesk.desk.shop import Shop
from shopdesk.records.engine import open_record
from shopdesk.records.tables import Entry
from tests.acceptance.conftest import Day
from tests.acceptance.terminal import Terminal, terminal
from tests.acceptance.trying import job_at, line

POSTGRESQL = pytest.mark.parametrize("day", ["postgresql"], indirect=True)
WAIT_S = 30.0
LINE = "teardown.gas_side_oil"


class Wire:
    """A TCP proxy before the server. ``down``: nobody gets through, and what stood is cut.
    ``swallow``: it breaks when the next COMMIT of an entry went out and no answer came yet."""

    def __init__(self, host: str, port: int) -> None:
        self._to = (host, port)
        self._open: set[asyncio.StreamWriter] = set()
        self.down = self.swallow = False
        self.port = 0

    async def serve(self) -> asyncio.Server:
        server = await asyncio.start_server(self._joined, "127.0.0.1", 0)
        self.port = server.sockets[0].getsockname()[1]
        return server

    def cut(self) -> None:
        for writer in self._open:
            writer.transport.abort()
        self._open.clear()

    async def _joined(self, near: asyncio.StreamReader, back: asyncio.StreamWriter) -> None:
        if self.down:
            back.transport.abort()
            return
        far, forth = await asyncio.open_connection(*self._to)
        self._open |= {back, forth}
        await asyncio.gather(self._carry(near, forth, asks=True), self._carry(far, back))

    async def _carry(
        self, source: asyncio.StreamReader, sink: asyncio.StreamWriter, asks: bool = False
    ) -> None:
        wrote = False
        with contextlib.suppress(ConnectionError, OSError):
            while piece := await source.read(65536):
                sink.write(piece)
                await sink.drain()
                wrote = wrote or b"INSERT INTO entry" in piece
                if asks and wrote and self.swallow and b"COMMIT" in piece:
                    self.swallow, self.down = False, True
                    await asyncio.sleep(0.3)  # the server has done it by then
                    self.cut()
        sink.close()


@asynccontextmanager
async def wired(day: Day, number: int) -> AsyncIterator[tuple[Terminal, Wire]]:
    """A terminal at the job's sheet, its record behind the wire."""
    parts = urlsplit(day.shop.record.url)
    wire = Wire(parts.hostname or "127.0.0.1", parts.port or 5432)
    server = await wire.serve()
    user = f"{parts.username}@" if parts.username else ""
    address = f"{user}127.0.0.1:{wire.port}"
    url = parts._replace(netloc=address, query="application_name=wired").geturl()
    record = await asyncio.to_thread(open_record, url)
    shop = Shop(record=record, clock=day.clock, terminal="bench-1")
    try:
        async with terminal(shop, person="RT") as t:
            await t.enter(f"J-{number}")
            assert t.line == LINE
            yield t, wire
            wire.down = False
    finally:
        await asyncio.to_thread(record.close)
        wire.cut()
        server.close()
        await asyncio.sleep(0.1)  # those who carried have seen it


async def until(t: Terminal, holds: Callable[[], bool]) -> None:
    loop = asyncio.get_running_loop()
    begun = loop.time()
    while not holds():
        assert loop.time() - begun < WAIT_S, t.screen()
        await asyncio.sleep(0.02)


async def press(t: Terminal, text: str, key: str) -> None:
    """As Terminal.enter, without waiting for the answer."""
    await t.write(text)
    await t.pilot.press(key)


def entries(day: Day) -> int:
    with day.shop.read() as db:
        return db.execute(select(func.count()).select_from(Entry)).scalar_one()


def recorded_once(day: Day, number: int, before: int) -> None:
    (answer,) = line(day, number, LINE).given.values()
    assert (answer.answer, answer.person) == ("3.0 mL", "RT")
    assert entries(day) == before + 1


@POSTGRESQL
async def test_an_entry_waits_for_the_connection(day: Day) -> None:
    number = job_at(day, LINE)
    before = entries(day)
    async with wired(day, number) as (t, wire):
        wire.down = True
        wire.cut()
        await until(t, lambda: "NO CONNECTION" in t.screen())
        await press(t, "3 mL", "enter")
        await until(t, lambda: "no connection: 3 mL waits here" in t.screen())
        assert entries(day) == before
        await t.pilot.press("f10")
        await until(t, lambda: "F10 again leaves without it" in t.screen())
        wire.down = False
        await until(t, lambda: "3.0 mL within RT" in t.screen())
        await t.settled()
        t.hides("NO CONNECTION", "waits here")
    recorded_once(day, number, before)


@POSTGRESQL
async def test_cut_while_the_commit_was_on_its_way(day: Day) -> None:
    """Committed, and nobody heard: the repeat recognises its own entry."""
    number = job_at(day, LINE)
    before = entries(day)
    async with wired(day, number) as (t, wire):
        await t.write("3 mL")
        await asyncio.sleep(0.5)  # its draft is kept by then
        await t.settled()
        wire.swallow = True
        await t.pilot.press("enter")
        await until(t, lambda: wire.down)
        await until(t, lambda: entries(day) == before + 1)
        await until(t, lambda: "NO CONNECTION" in t.screen())
        wire.down = False
        await until(t, lambda: "3.0 mL within RT" in t.screen())
        await t.settled()
    recorded_once(day, number, before)


@POSTGRESQL
async def test_the_server_ends_every_connection(day: Day) -> None:
    number = job_at(day, LINE)
    before = entries(day)
    async with wired(day, number) as (t, _):
        with psycopg.connect(day.shop.record.url.replace("+psycopg", ""), autocommit=True) as db:
            for _ in range(3):
                db.execute(
                    "SELECT pg_terminate_backend(pid) FROM pg_stat_activity"
                    " WHERE datname = current_database() AND application_name = 'wired'"
                )
                await asyncio.sleep(0.05)
        await press(t, "3 mL", "enter")
        await until(t, lambda: "3.0 mL within RT" in t.screen())
        await t.settled()
    recorded_once(day, number, before)
