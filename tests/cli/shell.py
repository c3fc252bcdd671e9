"""The command as a person runs it: in this process, in one of its own, or in a terminal."""

import fcntl
import json
import os
import pty
import select
import struct
import subprocess
import sys
import termios
import time
from dataclasses import dataclass
from typing import Any

from click.testing import CliRunner, Result

from shopdesk.cli import main

COMMAND = (sys.executable, "-m", "shopdesk")
_LONGEST_S = 60.0


@dataclass(frozen=True)
class Ended:
    status: int
    shown: str


def run(*words: str, text: str | None = None) -> Result:
    """The command in this process, standard input holding ``text``."""
    return CliRunner().invoke(main, words, input=text, prog_name="shopdesk")


def sentence(result: Result, status: int) -> str:
    """What was said on stderr: one line under the program's name, with this exit status."""
    assert result.exit_code == status, result.output
    assert result.stdout == ""
    lines = result.stderr.splitlines()
    assert len(lines) == 1, result.stderr
    assert lines[0].startswith("shopdesk: ")
    assert lines[0].endswith((".", "?", "!"))
    return lines[0].removeprefix("shopdesk: ")


def calc(name: str, *words: str, text: str | None = None) -> dict[str, Any]:
    """What ``shopdesk calc NAME ... --json`` prints."""
    result = run("calc", name, *words, "--json", text=text)
    assert result.exit_code == 0, result.stderr
    found: dict[str, Any] = json.loads(result.stdout, parse_constant=_no_constant)
    assert set(found) == {"inputs", "results", "source", "cautions"}
    return found


def _no_constant(name: str) -> None:
    raise AssertionError(f"{name} is no JSON")


def own_process(*words: str, **environment: str) -> "subprocess.CompletedProcess[str]":
    return subprocess.run(
        [*COMMAND, *words],
        capture_output=True,
        text=True,
        timeout=_LONGEST_S,
        check=False,
        env={**os.environ, **environment},
    )


def in_terminal(
    *words: str, columns: int, lines: int, await_text: str = "", then_keys: str = ""
) -> Ended:
    """The command in a terminal of that size; ``then_keys`` are sent once the text is seen."""
    child, screen = pty.fork()
    if child == 0:
        fcntl.ioctl(0, termios.TIOCSWINSZ, struct.pack("HHHH", lines, columns, 0, 0))
        os.environ["TERM"] = "xterm-256color"
        os.execv(COMMAND[0], [*COMMAND, *words])
    shown, keys = b"", then_keys.encode()
    deadline = time.monotonic() + _LONGEST_S
    try:
        while time.monotonic() < deadline:
            if select.select([screen], [], [], 0.1)[0]:
                shown += (part := _read(screen))
                if not part:
                    break
            if keys and await_text.encode() in shown:
                os.write(screen, keys)
                keys = b""
    finally:
        os.close(screen)
    _, waited = os.waitpid(child, 0)
    return Ended(os.waitstatus_to_exitcode(waited), shown.decode("utf-8", "replace"))


def _read(screen: int) -> bytes:
    try:
        return os.read(screen, 65536)
    except OSError:  # the other end is closed
        return b""
