"""Two terminals on one record: who was first, what the other typed, and what each of them sees."""

import asyncio
from collections.abc import AsyncIterator, Callable, Iterator
from contextlib import asynccontextmanager, contextmanager
from functools import partial

from textual import events

from shopdesk.desk import counts, entries
from shopdesk.desk.sample.plans import Plan
from shopdesk.desk.shop import Shop
from shopdesk.records.engine import open_record
from shopdesk.views import lots
from tests.acceptance.conftest import Day
from tests.acceptance.terminal import Terminal
from tests.acceptance.terminal import terminal as at_terminal
from tests.acceptance.trying import (
    SIZE,
    go,
    job_at,
    line,
    nothing_recorded,
    notice,
    on,
    taken_in,
)

WASHER = "GS-1618"
SOON_S = 1.0  # a change elsewhere is seen within this
BUSY = 10  # times slower at most, where the tests' machine does other work beside


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


async def seen(t: Terminal, holds: Callable[[], bool], what: str) -> None:
    """Waits until it holds."""
    loop = asyncio.get_running_loop()
    begun = loop.time()
    while not holds():
        assert loop.time() - begun < SOON_S * BUSY, f"{what} not seen:\n{t.screen()}"
        await asyncio.sleep(0.02)


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
        spent = []
        for text, row in (("good", "3 Gas valve"), ("good", "4 Retaining ring")):
            begun = asyncio.get_running_loop().time()
            await rein.enter(text)
            await seen(jorunn, partial(_answered, jorunn, row), row)
            spent.append(asyncio.get_running_loop().time() - begun)
            assert jorunn.line == "teardown.gas_side_oil"
            assert (jorunn.sheet.entry.value, jorunn.sheet.entry.cursor_position) == ("4.5", at)
        assert min(spent) < SOON_S
        await jorunn.enter(" mL")
        jorunn.shows("4.5 mL")
        await seen(rein, lambda: "4.5 mL within JV" in rein.screen(), "JV's answer")
        assert rein.line == "teardown.gas_side_oil"


def _answered(t: Terminal, row: str) -> bool:
    return "good within RT" in _row(t, row)


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
    first, second = (_over_pulled(day, serial) for serial in ("K31007", "K31008"))
    lot = _one_left(day)
    with second_shop(day) as other:
        async with (
            at_terminal(day.shop, person="RT", size=SIZE) as rein,
            at_terminal(other, person="JV", size=SIZE) as jorunn,
        ):
            await rein.enter(f"J-{first}")
            await jorunn.enter(f"J-{second}")
            for t in (rein, jorunn):
                assert t.line == "parts.issue_washer_bleed"
                await t.write(lot)
            for t in (rein, jorunn):
                t.app.post_message(events.Key("enter", "\r"))
            for t in (rein, jorunn):
                await t.settled()
            got = [number for number in (first, second) if _given(day, number)]
            assert len(got) == 1
            lost = jorunn if got == [first] else rein
            assert f"J-{got[0]}" in notice(lost)
            assert "Move: stores." in notice(lost)
            (left,) = {first, second} - set(got)
            await lost.press("f5")
            lost.shows(f"part short: {WASHER}", "Stores' move: 1 waiting")
            await lost.press("f4", "f8")
            lost.shows(WASHER, f"J-{left}")


def _over_pulled(day: Day, serial: str) -> int:
    """A job whose crush washer has to be replaced: one more than its quote reserved."""
    number = taken_in(day, serial=serial)
    on(day, number, "build.bleed_screw", Plan(defects=0.0))
    for typed in ("60 in-lb", "open and replace"):
        entries.record_entry(
            day.shop,
            "RT",
            number,
            "build.bleed_screw",
            typed,
            confirmed=True,
            in_hand={"torque wrench": "W-03"},
        )
    return number


def _given(day: Day, number: int) -> bool:
    return bool(line(day, number, "parts.issue_washer_bleed").given)


def _one_left(day: Day) -> str:
    """The lot of the only washer that is still fit for use."""
    with day.shop.read() as db:
        found = lots.of_part(db, WASHER)
    for n, lot in enumerate(found):
        if lot.on_hand > int(n == 0):
            counts.scrap(day.shop, "SK", WASHER, lot.number, lot.on_hand - int(n == 0), "bent")
    return found[0].number
