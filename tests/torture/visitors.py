"""Commands that come and go beside the terminals: `shopdesk verify` and its like, each a process
of its own that opens the record, does its work and closes it."""

import os
import signal
import sys
import time
import uuid
from collections.abc import Sequence
from pathlib import Path

from shopdesk.cli import main
from shopdesk.errors import RecordFault

PATIENCE_S = 60.0
NAMES = ("stores", "verify", "backup", "paper", "export")


def words(name: str, url: str, folder: Path) -> tuple[str, ...]:
    """The command's arguments; what it writes goes somewhere new in the folder."""
    new = str(folder / f"{name}-{uuid.uuid4().hex[:8]}")
    ending = "db" if url.startswith("sqlite") else "dump"
    return {
        "stores": ("stores", "parts", "--database", url),
        "verify": ("verify", url),
        "backup": ("backup", "--to", f"{new}.{ending}", url),
        "paper": ("paper", "handover", "--database", url, "--out", f"{new}.pdf"),
        "export": ("export", new, url),
    }[name]


def load(url: str, folder: Path) -> None:
    """Each command once in this process, so that those who come later need not load it all anew."""
    for name in NAMES:
        main(list(words(name, url, folder)), standalone_mode=False)


class Visitor:
    """Forked, not started anew: a process like any other, there within milliseconds."""

    def __init__(self, name: str, url: str, folder: Path) -> None:
        self.name, self.status = name, 0
        self.killed = self._over = False
        self._said = folder / f"said-{uuid.uuid4().hex}"
        self._said.touch()
        self._begun = time.monotonic()
        self.pid = os.fork()
        if self.pid == 0:
            self._be(words(name, url, folder))

    def _be(self, arguments: Sequence[str]) -> None:
        status = 1
        try:
            said = os.open(self._said, os.O_WRONLY)
            os.dup2(said, 1)
            os.dup2(said, 2)
            main(list(arguments), prog_name="shopdesk")
        except SystemExit as ended:
            status = int(ended.code or 0)
        finally:
            sys.stdout.flush()
            sys.stderr.flush()
            os._exit(status)

    def ended(self) -> bool:
        """One that hangs is ended, and its status says so."""
        if self._over:
            return True
        pid, status = os.waitpid(self.pid, os.WNOHANG)
        if pid:
            self._over, self.status = True, os.waitstatus_to_exitcode(status)
        elif time.monotonic() - self._begun > PATIENCE_S:
            self._end()
        return self._over

    def wait(self) -> None:
        while not self.ended():
            time.sleep(0.005)

    def kill(self) -> None:
        """Unless it has ended already."""
        if not self.ended():
            self._end()
            self.killed = True

    def _end(self) -> None:
        os.kill(self.pid, signal.SIGKILL)
        _, status = os.waitpid(self.pid, 0)
        self._over, self.status = True, os.waitstatus_to_exitcode(status)

    def cut_off(self) -> bool:
        """It says what is said of a cut connection, not of a broken chain."""
        return self.status == RecordFault.exit_status and "chain" not in self.said()

    def said(self) -> str:
        """Its last line."""
        lines = self._said.read_text(errors="replace").strip().splitlines() or ["nothing"]
        return f"{self.name} ended with {self.status} and said: {lines[-1][:300]}"
