"""Driving the app by keys: type, wait until something is seen, read the screen as text."""

import asyncio
from collections.abc import Callable
from time import monotonic
from typing import Any

from textual import events
from textual.app import App
from textual.keys import _character_to_key
from textual.pilot import Pilot

from tests.idle import wait_for_idle

LONGEST_S = 10.0


def seen(app: App[Any]) -> str:
    """The screen as a person reads it, line by line."""
    strips = app.screen._compositor.render_strips()
    return "\n".join("".join(segment.text for segment in strip).rstrip() for strip in strips)


async def until(pilot: Pilot[Any], holds: Callable[[], bool], what: str = "") -> None:
    """Waits until it holds; fails with the screen as it stands."""
    end = monotonic() + LONGEST_S
    while monotonic() < end:
        if holds():
            await pilot.pause()
            return
        await asyncio.sleep(0.005)
        await wait_for_idle()
    raise AssertionError(f"not seen: {what}\n{seen(pilot.app)}")


async def see(pilot: Pilot[Any], *words: str) -> str:
    """Waits until all the words stand on the screen, and gives it back."""
    await until(pilot, lambda: all(word in seen(pilot.app) for word in words), repr(words))
    return seen(pilot.app)


async def type_in(pilot: Pilot[Any], text: str, *then: str) -> None:
    """Types the text sign by sign, as fast as a scanner does, then presses the keys named; a line
    feed in the text is its Enter."""
    for sign in text:
        key = events.Key("enter" if sign == "\n" else _character_to_key(sign), sign)
        key.set_sender(pilot.app)
        pilot.app.post_message(key)
    await pilot.pause()
    await pilot.press(*then)


async def settled(pilot: Pilot[Any]) -> None:
    """Waits for every lane and every message."""
    await pilot.app.workers.wait_for_complete()
    await pilot.pause()
