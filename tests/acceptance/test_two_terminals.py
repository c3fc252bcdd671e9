"""Two terminals on one record: who was first, what the other typed, and what each of them sees."""

import asyncio
from collections.abc import AsyncIterator, Callable, Iterator
from contextlib import asynccontextmanager, contextmanager

from shopdesk.desk.shop import Shop
from shopdesk.records.engine import open_record
from tests.acceptance.conftest import Day
from tests.acceptance.terminal import Terminal
from tests.acceptance.terminal import terminal as at_terminal
from tests.acceptance.trying import SIZE, go, job_at, line, nothing_recorded, notice

SOON_S = 1.0  # a change elsewhere is seen within this
BUSY = 4  # times slower: the tests' machine does other work beside


@contextmanager
def second_shop(day: Day) -> Iterator[Shop]:
    """The same record, opened by another terminal."""
    record = open_record(day.shop.record.url)
    yield Shop(record=record, clock=day.clock, terminal="bench-2")
    record.close()


@asynccontextmanager
async def two(
    day: Day, number: int, first: str = "RT", second: str = "JV"
) -> AsyncIterator[tuple[Terminal, Terminal]]:
    """Two people with the same sheet before them, each at a terminal of their own."""
    with second_shop(day) as other:
        async with (
            at_terminal(day.shop, person=first, size=SIZE) as one,
            at_terminal(other, person=second, size=SIZE) as two_,
        ):
            for t in (one, two_):
                await t.enter(f"J-{number}")
                assert t.sheet.number == number
            yield one, two_


async def seen(t: Terminal, holds: Callable[[], bool], what: str) -> float:
    """Seconds until it holds."""
    loop = asyncio.get_running_loop()
    begun = loop.time()
    while not holds():
        assert loop.time() - begun < SOON_S * BUSY, f"{what} not seen:\n{t.screen()}"
        await asyncio.sleep(0.02)
    return loop.time() - begun


async def test_two_people_on_one_line(day: Day) -> None:
    """Both press Enter before either has seen the other's answer: the second is told who was
    first, and has his text back."""
    number = job_at(day, "teardown.gas_side_oil")
    async with two(day, number) as (rein, jorunn):
        await rein.write("3 mL")
        await jorunn.write("5 mL")
        jorunn.sheet.changed = lambda: None  # type: ignore[method-assign] # news has not come yet
        await rein.press("enter")
        rein.shows("3.0 mL", "WITHIN")
        with nothing_recorded(day, number):
            await jorunn.press("enter")
        assert "RT answered 3.0 mL at" in notice(jorunn)
        assert "yours was not recorded" in notice(jorunn)
        assert jorunn.sheet.entry.value == "5 mL"
        assert jorunn.line == "teardown.gas_side_oil"
        jorunn.shows("3.0 mL within RT")
    (answer,) = line(day, number, "teardown.gas_side_oil").given.values()
    assert (answer.answer, answer.person) == ("3.0 mL", "RT")


async def test_a_change_elsewhere_appears_without_moving_anything(day: Day) -> None:
    number = job_at(day, "teardown.gas_valve")
    async with two(day, number) as (rein, jorunn):
        await go(jorunn, "teardown.gas_side_oil")
        await jorunn.write("4.5")
        at = jorunn.sheet.entry.cursor_position
        await rein.enter("good")
        await seen(jorunn, lambda: "good within RT" in _row(jorunn, "3 Gas valve"), "RT's answer")
        assert jorunn.line == "teardown.gas_side_oil"
        assert (jorunn.sheet.entry.value, jorunn.sheet.entry.cursor_position) == ("4.5", at)
        await jorunn.enter(" mL")
        jorunn.shows("4.5 mL")
        await seen(rein, lambda: "4.5 mL within JV" in rein.screen(), "JV's answer")
        assert rein.line == "teardown.retaining_ring"


def _row(t: Terminal, text: str) -> str:
    return next((row for row in t.screen().splitlines() if text in row), "")


async def test_the_line_moved_on_while_he_typed(day: Day) -> None:
    """The first bore reading is half typed when the other records it: what is then entered is not
    taken for the second."""
    number = job_at(day, "teardown.bore")
    async with two(day, number) as (rein, jorunn):
        await jorunn.enter("K-01")
        await jorunn.write("40.0")
        await rein.enter("K-01")
        await rein.enter("40.012 mm")
        await seen(jorunn, lambda: "90-270" in jorunn.screen(), "the next reading")
        assert jorunn.sheet.entry.value == "40.0"
        with nothing_recorded(day, number):
            await jorunn.enter("18 mm")
            assert "RT answered 40.012 mm at" in notice(jorunn)
        assert jorunn.sheet.entry.value == "40.018 mm"
        assert set(line(day, number, "teardown.bore").given) == {"d1a1"}


async def test_a_list_shows_what_the_other_terminal_did(day: Day) -> None:
    number = job_at(day, "vent.witness")
    with second_shop(day) as other:
        async with (
            at_terminal(day.shop, person="RT", size=SIZE) as bench,
            at_terminal(other, person="SK", size=SIZE) as counter,
        ):
            counter.shows(f"J-{number}", "CHARGED")
            await bench.enter(f"J-{number}")
            await bench.enter("JV 3178")
            bench.shows("gas vented")
            await seen(counter, lambda: "vented" in _row(counter, f"J-{number}"), "gas vented")
            await counter.write("K31")
            await bench.press("f9")
            await seen(counter, lambda: "CHARGED" in _row(counter, f"J-{number}"), "the hiss")
            counter.shows("Find: K31")


async def test_the_last_kit_goes_to_one_of_two(day: Day) -> None:
    """Both scan the last piece: one gets it, the other sees who has it; his job waits for it."""
