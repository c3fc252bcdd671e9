"""The app behind a web page: one process for each browser, through textual-serve.

Ours are the page (the library's own asks for fonts from outside, which a shop's network may
swallow for half a minute), the terminal's name in a cookie, and the refusal of other sites' pages.
"""

import asyncio
import re
import secrets
import shlex
from contextvars import ContextVar
from pathlib import Path
from string import Template
from typing import Any
from urllib.parse import urlsplit

import click
from aiohttp import web
from aiohttp.typedefs import Handler, Middleware
from textual_serve.server import Server

COOKIE = "shopdesk-terminal"
_NAME = re.compile(r"browser-[0-9a-f]{8}")
_YEAR_S = 365 * 24 * 3600
_LEAVING_S = 10.0
_PAGE = Path(__file__).with_name("browser.html")

LOCAL = ("127.0.0.1", "localhost", "::1")


_terminal: ContextVar[str] = ContextVar("terminal")


class BrowserServer(Server):
    """Serves ``command``, run for each browser with the terminal's name in its environment."""

    def __init__(self, command: str, host: str, port: int) -> None:
        self._command = command
        self._open: set[asyncio.Task[Any]] = set()
        super().__init__(command, host=host, port=port, title="shopdesk")

    @property
    def command(self) -> str:
        return f"SHOPDESK_TERMINAL={shlex.quote(_terminal.get('browser'))} {self._command}"

    @command.setter
    def command(self, value: str) -> None:
        self._command = value

    def initialize_logging(self) -> None:
        """Faults go to standard error as Python writes them."""

    async def on_startup(self, app: web.Application) -> None:
        where = f"[{self.host}]" if ":" in self.host else self.host
        click.echo(f"shopdesk is at http://{where}:{self.port}/ until Ctrl+C.")

    async def _make_app(self) -> web.Application:
        app = await super()._make_app()
        app.middlewares.append(_only_own_pages(self.host in LOCAL))
        return app

    async def handle_index(self, request: web.Request) -> Any:
        """The page; a browser without a name gets one."""
        name = _name_in(request) or f"browser-{secrets.token_hex(4)}"
        scheme = "wss" if request.secure else "ws"
        page = Template(_PAGE.read_text()).substitute(
            socket=f"{scheme}://{request.host}/ws", terminal=name
        )
        answer = web.Response(text=page, content_type="text/html")
        answer.headers["Content-Security-Policy"] = (
            "default-src 'self'; style-src 'self' 'unsafe-inline'; script-src 'self' "
            f"'unsafe-inline'; connect-src 'self' {scheme}://{request.host}; img-src 'self' data:"
        )
        answer.set_cookie(COOKIE, name, max_age=_YEAR_S, httponly=True, samesite="Strict")
        return answer

    async def handle_websocket(self, request: web.Request) -> web.WebSocketResponse:
        _terminal.set(_name_in(request) or "browser")
        task = asyncio.current_task()
        assert task is not None
        self._open.add(task)
        try:
            return await super().handle_websocket(request)
        finally:
            self._open.discard(task)

    async def on_shutdown(self, app: web.Application) -> None:
        """Leaves every app, which the library would wait for as long as its page stands open."""
        for task in self._open:
            task.cancel()
        if self._open:
            await asyncio.wait(self._open, timeout=_LEAVING_S)


def _only_own_pages(local: bool) -> Middleware:
    """Another site's page, open in the same browser, may not type here; nor may a name of its
    that it lets point at this computer."""

    @web.middleware
    async def checked(request: web.Request, handler: Handler) -> web.StreamResponse:
        origin = request.headers.get("Origin")
        if origin is not None and urlsplit(origin).netloc != request.host:
            raise web.HTTPForbidden(text="This page belongs to another site.")
        if local and urlsplit(f"//{request.host}").hostname not in LOCAL:
            raise web.HTTPForbidden(text="Ask for it by the address it is offered at.")
        return await handler(request)

    return checked


def _name_in(request: web.Request) -> str | None:
    name = request.cookies.get(COOKIE, "")
    return name if _NAME.fullmatch(name) else None
