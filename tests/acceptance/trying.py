"""Trying to walk round a gate at a terminal: go to a line, type, Enter, and look at the record."""

from collections.abc import AsyncIterator, Iterator
from contextlib import asynccontextmanager, contextmanager
from dataclasses import replace

from sqlalchemy import func, select
from textual import events

from shopdesk.desk import counter
from shopdesk.desk.sample.plans import Plan
from shopdesk.rules.sheet import LineState
from shopdesk.tui.frame import Notice
from shopdesk.tui.lines import Lines
from tests.acceptance.conftest import Day
from tests.acceptance.terminal import Terminal, terminal

SIZE = (100, 40)


def taken_in(day: Day, model: str = "PA-016", serial: str = "K31007", customer: str = "C02") -> int:
    """A core just received."""
    core = counter.Core(serial, model, customer, "loses its charge")
    return counter.receive_core(day.shop, day.hands.desk.initials, core).heading.number


def job_at(day: Day, until: str, model: str = "PA-016", plan: Plan | None = None) -> int:
    """A job done as far as the section or line ``until``, with nothing wrong but by ``plan``."""

    def walk(day: Day, number: int, until: str) -> int:
        number = number or taken_in(day, model)
        on(day, number, until, plan)
        return number

    if plan is None and day.stages is not None:
        return day.stages.put(day, model, until, walk)
    return walk(day, 0, until)


def on(day: Day, number: int, until: str, plan: Plan | None = None) -> None:
    """Walks the job on to the section or line."""
    view = day.walker.walk(number, day.hands, plan or Plan(defects=0.0), until)
    state = view.sheet.cursor
    assert until in ("", *((state.line.section, state.line.key) if state else ())), state


@asynccontextmanager
async def at_sheet(
    day: Day, number: int, person: str = "RT", size: tuple[int, int] = SIZE
) -> AsyncIterator[Terminal]:
    """A terminal at which this person has scanned the job's tag."""
    async with terminal(day.shop, person=person, size=size) as t:
        await t.enter(f"J-{number}")
        assert t.sheet.number == number
        yield t


async def go(t: Terminal, key: str) -> None:
    """Moves the sheet's cursor by arrow keys to the line."""
    keys = [row.key for row in t.sheet.query_one(Lines).rows if row.key is not None]
    steps = keys.index(key) - keys.index(t.line)
    for _ in range(abs(steps)):
        t.app.post_message(events.Key("down" if steps > 0 else "up", None))
    t.control += abs(steps)
    await t.settled()
    assert t.line == key


def notice(t: Terminal) -> str:
    """What the shop said last, as it stands on the screen."""
    said = t.app.screen.query_one(Notice).said
    t.shows(*said.split())
    return said


def line(day: Day, number: int, key: str) -> LineState:
    found = day.view(number).sheet.get(key)
    assert found is not None
    return found


@contextmanager
def nothing_recorded(day: Day, number: int) -> Iterator[None]:
    """No event is added to the record, and the job's sheet stands as it stood."""
    before = _events(day), _facts(day, number)
    yield
    assert (_events(day), _facts(day, number)) == before


def _events(day: Day) -> int:
    from shopdesk.records.tables import Event

    with day.shop.read() as db:
        return int(
            db.execute(select(func.count(Event.id)).where(Event.kind != "wrong PIN")).scalar_one()
        )


def _facts(day: Day, number: int) -> object:
    sheet = day.view(number).sheet
    given = {state.line.key: dict(state.given) for state in sheet.lines}
    return given, replace(sheet.facts, now=day.clock())


async def refused(
    t: Terminal, day: Day, key: str, *typed: str, says: tuple[str, ...], move: str
) -> None:
    """Answers the line by keys: the refusal names what is missing and whose move it is, nothing
    is recorded, and what was typed is still there."""
    number = t.sheet.number
    with nothing_recorded(day, number):
        await go(t, key)
        for text in typed:
            await t.enter(text)
        said = notice(t)
        assert t.app.screen.query_one(Notice).loud, t.screen()
        for word in says:
            assert word in said, f"{word!r} is not said:\n{t.screen()}"
        assert f"Move: {move}." in said, f"no word of {move!r}'s move:\n{t.screen()}"
