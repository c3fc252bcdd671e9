"""``shopdesk open``: the app on the shop's own record."""

import gc
import os
import sys
import threading
from pathlib import Path
from typing import TYPE_CHECKING

import click

from shopdesk.cli.shell import leave
from shopdesk.errors import BadInput, RecordFault, ShopError

if TYPE_CHECKING:
    from shopdesk.desk.shop import Shop
    from shopdesk.tui.app import ShopApp

COLUMNS, LINES = 80, 24


@click.command("open")
@click.argument("database", required=False)
def open_(database: str | None) -> None:
    """Open the app.

    DATABASE is a file, sqlite:///path or postgresql://user@host/name; without it the one that
    SHOPDESK_DATABASE, SHOPDESK_DATABASE_FILE or the user's settings name.
    """
    from shopdesk import settings

    url = settings.database_url(database)
    require_file(url)
    require_terminal()
    leave(run_app(url))


def run_app(url: str) -> int:
    """The app from its first screen to its last; its exit status.

    Raises the ShopError that kept the record from being opened, after the screen is given back.
    """
    # An entry's echo waits for one frame to end and another: they are no longer than its work.
    os.environ.setdefault("TEXTUAL_FPS", "500")
    gc.disable()  # until the first list stands: a sixth of the time it takes
    from shopdesk.tui.app import ShopApp

    door = Door(url)
    app = ShopApp(door.open)
    door.app = app
    try:
        status = app.run()
    finally:
        door.close()
    if door.fault is not None:
        raise door.fault
    return app.return_code or status or 0


class Door:
    """Opens the shop once, in whichever thread asks first, and closes it.

    A fault while opening is kept and ends the app: without its record there is nothing to show.
    """

    def __init__(self, url: str) -> None:
        self.url = url
        self.app: ShopApp | None = None
        self.fault: ShopError | None = None
        self._shop: Shop | None = None
        self._once = threading.Lock()

    def open(self) -> "Shop":
        with self._once:
            if self.fault is not None:
                raise self.fault
            if self._shop is None:
                try:
                    self._shop = _opened(self.url)
                except ShopError as fault:
                    self.fault = fault
                    if self.app is not None:
                        self.app.call_later(self.app.exit, return_code=fault.exit_status)
                    raise
            return self._shop

    def close(self) -> None:
        with self._once:
            if self._shop is not None:
                self._shop.record.close()


def _opened(url: str) -> "Shop":
    from shopdesk import settings
    from shopdesk.desk.shop import Shop
    from shopdesk.records import closing
    from shopdesk.records.engine import open_record

    record = open_record(url)
    try:
        with record.read() as db:
            closing.require_open(db, url)
    except ShopError:
        record.close()
        raise
    return Shop(record=record, terminal=settings.terminal_name())


def require_terminal() -> None:
    """Raises BadInput where the app has no screen to stand on."""
    if "TEXTUAL_DRIVER" in os.environ:  # a browser's: `shopdesk serve`
        return
    if not (sys.stdin.isatty() and sys.stdout.isatty() and sys.stderr.isatty()):
        raise BadInput(
            "The app needs a terminal for its keys and its screen, and one of them leads to a "
            "file or a pipe; run it without redirection."
        )
    columns, lines = os.get_terminal_size(sys.stdout.fileno())
    if 0 < columns < COLUMNS or 0 < lines < LINES:
        raise BadInput(
            f"This terminal is {columns} columns by {lines} lines; the app needs {COLUMNS} by "
            f"{LINES}: make the window larger or its letters smaller."
        )


def require_file(url: str) -> None:
    """Raises RecordFault for a SQLite record that is not there, before anything is imported."""
    if not url.startswith("sqlite:///"):
        return
    path = Path(url.removeprefix("sqlite:///"))
    if path.exists():
        return
    raise RecordFault(
        f"There is no record at {path}; name another, make an empty one with `shopdesk new "
        f"{path}`, or look round the sample shop with `shopdesk sample`."
    )
