"""Filling a sheet by keys: what is said comes from the test, or from the walker for the rest."""

from collections.abc import Mapping

from shopdesk.desk.sample.crew import Member
from shopdesk.desk.sample.plans import Plan
from shopdesk.rules.sheet import LineState
from tests.acceptance.conftest import Day
from tests.acceptance.terminal import Terminal

NOTHING_WRONG = Plan(defects=0.0)


async def fill(
    t: Terminal,
    day: Day,
    who: Member,
    *,
    until: str,
    said: Mapping[str, str | list[str]] | None = None,
) -> None:
    """Goes down the sheet until the cursor stands in the section, or on the line, ``until``.
    Asserts that each value is answered where the cursor stands, and that the cursor moves on."""
    words = {
        key: [text] if isinstance(text, str) else list(text) for key, text in (said or {}).items()
    }
    for _ in range(500):
        view = t.sheet.view
        assert view is not None
        state = view.sheet.cursor
        if state is None or until in (state.line.section, state.line.key):
            return
        assert t.line == state.line.key, f"stands on {t.line}, not {state.line.key}\n{t.screen()}"
        before = len(state.given), len(state.past)
        await _answer(t, day, who, state, words)
        after = t.sheet.view.sheet.get(state.line.key)  # type: ignore[union-attr]
        assert after is not None
        assert (len(after.given), len(after.past)) != before, (
            f"{state.line.key} was not answered:\n{t.screen()}"
        )
    raise AssertionError(f"{until} was never reached:\n{t.screen()}")


async def _answer(
    t: Terminal, day: Day, who: Member, state: LineState, words: dict[str, list[str]]
) -> None:
    view, slot = t.sheet.view, state.next_slot
    assert view is not None
    assert slot is not None, f"{state.line.key} stands open and asks nothing:\n{t.screen()}"
    typed, in_hand = day.walker._typed(view.sheet, state, slot, who, NOTHING_WRONG)
    said = words.get(state.line.key)
    if said:
        typed = said.pop(0)
    day.clock.minutes(day.walker._takes(view.sheet, state))
    for kind, code in in_hand.items():
        if t.app.in_hand.get(kind) != code:
            await t.enter(code)
    await t.enter(typed)
