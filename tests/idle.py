"""When an app under test has come to rest: seen in its event loop, not guessed from the processor.

Textual's own wait sleeps 20 ms at least, twice a key; tests of the interface spent three quarters
of their time in it. This one ends when nothing is left to do, and waits for everything that one
waited for: messages, frames and timers due within the same 20 ms, workers in threads.
"""

import asyncio
from time import process_time
from typing import Any

import pytest
from textual import app, pilot
from textual.worker import Worker

SOON_S = 0.02
"""A timer due by then is waited for."""
BLOCKED_S = 0.1
"""A thread that has computed nothing for so long waits for others, and is not waited for."""
_STEP_S = 0.002
_RESTING = 0.05
"""The share of the time in which a process that waits for others still computes."""


async def wait_for_idle(min_sleep: float = 0.0, max_sleep: float = 5.0) -> None:
    """Until no callback is ready, none is due soon, and no worker in a thread computes."""
    loop: Any = asyncio.get_running_loop()
    end = loop.time() + max_sleep
    looked_at, computed = loop.time(), process_time()
    while (now := loop.time()) < end:
        await asyncio.sleep(0)
        if loop._ready:
            looked_at, computed = now, process_time()
        elif _in_threads:
            if now - looked_at >= BLOCKED_S:
                if process_time() - computed < _RESTING * (now - looked_at):
                    return
                looked_at, computed = now, process_time()
            await asyncio.sleep(_STEP_S)
        elif (due := _due(loop)) - now <= SOON_S:
            await asyncio.sleep(max(0.0, due - now))
        else:
            return


def _due(loop: Any) -> float:
    """The moment of the next timer."""
    return min((each._when for each in loop._scheduled if not each._cancelled), default=1e9)


_in_threads: set[Worker[Any]] = set()
_run_threaded = Worker._run_threaded


async def _counted(worker: Worker[Any]) -> Any:
    _in_threads.add(worker)
    try:
        return await _run_threaded(worker)
    finally:
        _in_threads.discard(worker)


def put_in(patch: pytest.MonkeyPatch) -> None:
    """What drives an app by keys waits so from now on."""
    patch.setattr(Worker, "_run_threaded", _counted)
    for module in (app, pilot):
        patch.setattr(module, "wait_for_idle", wait_for_idle)
