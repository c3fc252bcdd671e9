"""A program in a pseudo-terminal, and its screen as text: enough of a terminal for the app."""

import codecs
import fcntl
import os
import pty
import re
import select
import signal
import struct
import subprocess
import termios
import time
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from types import TracebackType

COLUMNS, LINES = 100, 40
PATIENCE_S = 60.0
_TOKEN = re.compile(
    r"\x1b\[([0-9;?<>=!$]*)[ -/]*([@-~])"  # a control sequence: its numbers, what it does
    r"|\x1b\].*?(?:\x07|\x1b\\)|\x1b[PX^_].*?\x1b\\|\x1b[ -/]*[0-Z\\^-~]"
    r"|([\r\n\b])|[\x00-\x1a\x1c-\x1f\x7f]|([^\x00-\x1f\x7f]+)",
    re.DOTALL,
)


class Screen:
    """Text by place; colours are left out."""

    def __init__(self) -> None:
        self.cells = [[" "] * COLUMNS for _ in range(LINES)]
        self.x = self.y = 0
        self._rest = ""

    def feed(self, text: str) -> None:
        text = self._rest + text
        at = 0
        while found := _TOKEN.match(text, at):
            at = found.end()
            numbers, does, moves, signs = found.groups()
            if signs:
                self._write(signs)
            elif moves:
                self._move(moves)
            elif does:
                self._control(numbers, does)
        self._rest = text[at:]

    def text(self) -> str:
        return "\n".join("".join(row).rstrip() for row in self.cells)

    def _write(self, signs: str) -> None:
        for sign in signs:
            if self.x < COLUMNS and self.y < LINES:
                self.cells[self.y][self.x] = sign
            self.x += 1

    def _move(self, sign: str) -> None:
        if sign == "\r":
            self.x = 0
        elif sign == "\b":
            self.x = max(0, self.x - 1)
        else:
            self.y = min(LINES - 1, self.y + 1)

    def _control(self, numbers: str, does: str) -> None:
        given = [int(n) if n.isdigit() else 0 for n in numbers.split(";")]
        if does in "Hf":
            row, column = [*given, 1][:2]
            self.y, self.x = max(0, row - 1), max(0, column - 1)
        elif does == "J" and given[0] == 2:
            self.cells = [[" "] * COLUMNS for _ in range(LINES)]
        elif does == "K" and given[0] == 0:
            self.cells[self.y][self.x :] = [" "] * (COLUMNS - self.x)


class OwnTerminal:
    """Starts the command; leaving the block ends it."""

    def __init__(self, command: Sequence[str], environment: Mapping[str, str]) -> None:
        kept = {k: v for k, v in os.environ.items() if k not in ("COLUMNS", "LINES", "NO_COLOR")}
        self.screen = Screen()
        self._decode = codecs.getincrementaldecoder("utf-8")("replace").decode
        self._master, inner = pty.openpty()
        fcntl.ioctl(inner, termios.TIOCSWINSZ, struct.pack("HHHH", LINES, COLUMNS, 0, 0))
        self._process = subprocess.Popen(
            command,
            stdin=inner,
            stdout=inner,
            stderr=inner,
            start_new_session=True,
            env={**kept, "TERM": "xterm-256color", **environment},
            # a runner that outlives its own terminal hands on that hang-ups are ignored
            preexec_fn=lambda: signal.signal(signal.SIGHUP, signal.SIG_DFL),
        )
        os.close(inner)

    def __enter__(self) -> "OwnTerminal":
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        fault: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.kill(signal.SIGKILL)
        os.close(self._master)

    def type(self, keys: str) -> None:
        os.write(self._master, keys.encode())

    def until(self, *words: str, every_s: float = 0.1) -> None:
        """Waits until all the words stand on the screen."""

        def seen() -> bool:
            flat = " ".join(self.text().split())
            return all(word in flat for word in words)

        self.holds(seen, " and ".join(words), every_s)

    def holds(self, condition: Callable[[], bool], what: str, every_s: float = 0.1) -> None:
        """Waits until it holds of the screen."""
        end = time.monotonic() + PATIENCE_S
        while not condition():
            assert time.monotonic() < end, f"not seen: {what}\n{self.text()}"
            assert self._read(every_s), f"it ended:\n{self.text()}"

    def rest(self, seconds: float) -> None:
        """Looks on for so long."""
        end = time.monotonic() + seconds
        while (left := end - time.monotonic()) > 0 and self._read(left):
            pass

    def painted(self, silence_s: float) -> float | None:
        """The moment (perf_counter) of the last bytes before it is silent so long; None where none
        come at all. What comes is looked at afterwards: it would be timed too."""
        last, taken = None, []
        while select.select([self._master], [], [], silence_s)[0]:
            last = time.perf_counter()
            try:
                taken.append(os.read(self._master, 65536))
            except OSError:  # the other end is closed
                break
        self.screen.feed(self._decode(b"".join(taken)))
        return last

    def memory_mb(self) -> float:
        """What the program holds in memory (Linux)."""
        status = Path(f"/proc/{self._process.pid}/status").read_text()
        [held] = [line for line in status.splitlines() if line.startswith("VmRSS")]
        return int(held.split()[1]) / 1024

    def text(self) -> str:
        return self.screen.text()

    def kill(self, how: signal.Signals) -> None:
        """Sends the signal and waits for the end."""
        if self._process.poll() is None:
            self._process.send_signal(how)
        end = time.monotonic() + PATIENCE_S
        while self._process.poll() is None:
            assert time.monotonic() < end, "it does not end"
            self._read(0.05)

    def _read(self, patience_s: float) -> bool:
        """Takes in what is written within the time; False once nothing more can come."""
        ready, _, _ = select.select([self._master], [], [], patience_s)
        if not ready:
            return True
        try:
            data = os.read(self._master, 65536)
        except OSError:  # the other end is closed
            return False
        self.screen.feed(self._decode(data))
        return bool(data)
