"""`shopdesk open` as a process of its own in a terminal of its own, driven by keys."""

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial

from tests.acceptance.own_terminal import OwnTerminal

F4, F5, F6, F8, F9 = "\x1bOS", "\x1b[15~", "\x1b[17~", "\x1b[19~", "\x1b[20~"
DOWN, ESCAPE, ENTER = "\x1b[B", "\x1b", "\r"


@contextmanager
def opened(url: str, terminal: str) -> Iterator[OwnTerminal]:
    """The app on the record, at the counter."""
    command = [sys.executable, "-m", "shopdesk", "open", url]
    with OwnTerminal(command, {"SHOPDESK_TERMINAL": terminal}) as t:
        t.until("Counter: what is on the floor", "J-1001")
        yield t


def sign_in(t: OwnTerminal, initials: str, pin: str) -> None:
    t.type(F6)
    t.until("Who stands at this terminal?")
    t.type(f"{initials} {pin}{ENTER}")
    t.until(f"at this terminal: {initials}")


def open_sheet(t: OwnTerminal, number: int, *words: str) -> None:
    """Scans the job's tag, and waits for what its sheet says."""
    t.type(f"J-{number}{ENTER}")
    t.until(f"J-{number} PA-016", "Enter records", *words)


def go_down(t: OwnTerminal, line: str) -> None:
    """Presses the arrow until the sheet's cursor stands on the line of that name."""
    for _ in range(60):
        if line in (before := _under_cursor(t)):
            return
        t.type(DOWN)
        t.holds(partial(_moved, t, before), "the cursor on another line")
    raise AssertionError(f"{line} is not reached:\n{t.text()}")


def _moved(t: OwnTerminal, before: str) -> bool:
    return _under_cursor(t) not in ("", before)


def _under_cursor(t: OwnTerminal) -> str:
    """The sheet's row; nothing where the screen is half painted."""
    sheet = t.text().split("\n\u2500")[1].splitlines()
    return next((row for row in sheet if row.startswith(">")), "")
