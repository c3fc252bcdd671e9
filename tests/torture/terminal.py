"""A worker's process as the parent sees it."""

import json
import mmap
import os
import signal
import time
import traceback
from pathlib import Path
from typing import Any

from tests.torture import worker


class Terminal:
    """Starts at once; what it tells is kept until it is killed."""

    def __init__(
        self, url: str, index: int, board: mmap.mmap, seed: int, copies: Path, *, fault: str
    ) -> None:
        self.index, self.board = index, board
        self._ear, mouth = os.pipe()
        board[index] = worker.GO
        self.pid = os.fork()
        if self.pid == 0:
            os.close(self._ear)
            state = worker.State(index, board, mouth, copies, fault=fault)
            try:
                worker.run(url, state, seed)
            except BaseException:
                state.tell(kind="raw", said=traceback.format_exc()[-2000:])
            finally:
                os._exit(1)
        os.close(mouth)
        self._heard = b""
        os.set_blocking(self._ear, False)

    def listen(self) -> bool:
        """Whether it told anything since it was last listened to."""
        before = len(self._heard)
        try:
            while data := os.read(self._ear, 65536):
                self._heard += data
        except BlockingIOError:
            pass
        return len(self._heard) > before

    def stands_inside(self, patience_s: float) -> bool:
        """Asks it to stop in its next transaction, and waits until it does."""
        self.board[self.index] = worker.STOP_INSIDE
        end = time.monotonic() + patience_s
        while self.board[self.index] != worker.STANDS:
            if time.monotonic() > end:
                self.board[self.index] = worker.GO
                return self.board[self.index] == worker.STANDS
            self.listen()
            time.sleep(0.0005)
        return True

    def ask_for_copy(self) -> None:
        self.board[self.index] = worker.COPY

    @property
    def copying(self) -> bool:
        """It was asked for a copy and has none yet."""
        return self.board[self.index] in (worker.COPY, worker.COPYING)

    @property
    def inside_copy(self) -> bool:
        return self.board[self.index] == worker.COPYING

    def kill(self) -> list[dict[str, Any]]:
        """Kills it and gives what it had told: whole lines only."""
        os.kill(self.pid, signal.SIGKILL)
        os.waitpid(self.pid, 0)
        self.listen()
        os.close(self._ear)
        return [json.loads(line) for line in self._heard.split(b"\n")[:-1]]
