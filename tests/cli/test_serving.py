"""``shopdesk serve``: a browser's page and its keys, over a real socket."""

import asyncio
import os
import re
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime

import aiohttp
import pytest

from shopdesk.desk.sample import reading
from shopdesk.desk.shop import Shop
from shopdesk.records.engine import open_record
from tests.acceptance.own_terminal import Screen

PATIENCE_S = 30.0
ENDS_S = 8.0  # a second on a machine with nothing else to do
F6 = "\x1b[17~"


@contextmanager
def serving(url: str) -> Iterator[tuple[str, "subprocess.Popen[str]"]]:
    """The address at which the shop is offered, and who offers it; it ends without a word."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    command = [sys.executable, "-m", "shopdesk", "serve", "--port", str(port)]
    environment = {**os.environ, "SHOPDESK_DATABASE": url}
    pipe = subprocess.PIPE
    with subprocess.Popen(command, stdout=pipe, stderr=pipe, text=True, env=environment) as server:
        try:
            assert server.stdout is not None
            address = server.stdout.readline().split()[3]
            assert address == f"http://127.0.0.1:{port}/"
            _listens(port)
            yield address, server
        finally:
            server.send_signal(signal.SIGTERM)
            assert server.wait(PATIENCE_S) == 0
            assert server.stderr is not None
            assert server.stderr.read() == ""


def _listens(port: int) -> None:
    end = time.monotonic() + PATIENCE_S
    while True:
        with socket.socket() as knock:
            if not knock.connect_ex(("127.0.0.1", port)):
                return
        assert time.monotonic() < end
        time.sleep(0.02)


@pytest.fixture
def shop(sqlite_url: str) -> str:
    record = open_record(sqlite_url)
    now = datetime.now(UTC)
    found = reading.read(reading.folder(), now.date())
    reading.put_down(Shop(record=record), found, now, now.date())
    record.close()
    return sqlite_url


async def until(browser: aiohttp.ClientWebSocketResponse, screen: Screen, words: str) -> None:
    end = time.monotonic() + PATIENCE_S
    while words not in " ".join(screen.text().split()):
        assert time.monotonic() < end, screen.text()
        message = await browser.receive(timeout=PATIENCE_S)
        if message.type == aiohttp.WSMsgType.BINARY:
            screen.feed(message.data.decode())


async def test_a_browser_shows_the_shop_and_takes_keys(shop: str) -> None:
    with serving(shop) as (address, _):
        async with aiohttp.ClientSession() as session:
            async with session.get(address) as page:
                text = await page.text()
            assert page.cookies["shopdesk-terminal"]["samesite"] == "Strict"
            assert re.findall(r"\w+://[^\"]+", text) == [f"ws://{address[7:]}ws"]  # none outside
            async with session.ws_connect(f"{address}ws?width=80&height=24") as browser:
                screen = Screen()
                await until(browser, screen, "Counter: what is on the floor")
                await browser.send_json(["stdin", F6])
                await until(browser, screen, "Who stands at this terminal?")
                await browser.send_json(["stdin", "SK 2690\r"])
                await until(browser, screen, "at this terminal: SK")


async def test_it_ends_though_a_page_stands_open(shop: str) -> None:
    """The app behind the page is left, what was typed kept; nobody waits for the page."""
    with serving(shop) as (address, server):
        async with (
            aiohttp.ClientSession() as session,
            session.ws_connect(f"{address}ws?width=80&height=24") as browser,
        ):
            await until(browser, Screen(), "Counter: what is on the floor")
            begun = time.monotonic()
            server.send_signal(signal.SIGINT)
            while not browser.closed:
                await browser.receive(timeout=PATIENCE_S)
            await asyncio.to_thread(server.wait, PATIENCE_S)
            assert time.monotonic() - begun < ENDS_S


async def test_another_sites_page_is_refused(shop: str) -> None:
    with serving(shop) as (address, _):
        async with aiohttp.ClientSession() as session:
            for headers in ({"Origin": "http://elsewhere.example"}, {"Host": "elsewhere.example"}):
                async with session.get(f"{address}ws", headers=headers) as answer:
                    assert answer.status == 403


def test_a_record_that_is_not_there_is_a_sentence() -> None:
    command = [sys.executable, "-m", "shopdesk", "serve", "/nowhere/shop.db"]
    ended = subprocess.run(command, capture_output=True, text=True, timeout=30, check=False)
    assert ended.returncode == 6
    assert "There is no record at /nowhere/shop.db" in ended.stderr
    assert "Traceback" not in ended.stderr
