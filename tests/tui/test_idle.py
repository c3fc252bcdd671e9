"""The tests' own wait: what a key brings about is there when the wait is over."""

from threading import Event
from time import monotonic

from textual.app import App, ComposeResult
from textual.widgets import Static

WORK_S = 0.1
DUE_S = 0.015


class Slow(App[None]):
    """``w`` says so after work in a thread, ``t`` after a timer, ``b`` when it is let go."""

    BINDINGS = [("w", "work", ""), ("t", "time", ""), ("b", "block", "")]
    go = Event()

    def compose(self) -> ComposeResult:
        yield Static("")

    def said(self, words: str) -> None:
        self.query_one(Static).update(words)

    def action_work(self) -> None:
        def work() -> None:
            end = monotonic() + WORK_S
            while monotonic() < end:
                sum(range(10_000))
            self.call_from_thread(self.said, "worked")

        self.run_worker(work, thread=True)

    def action_time(self) -> None:
        self.set_timer(DUE_S, lambda: self.said("timed"))

    def action_block(self) -> None:
        self.run_worker(self.go.wait, thread=True)


async def test_work_in_a_thread_and_a_timer_soon_due_are_waited_for() -> None:
    app = Slow()
    async with app.run_test() as pilot:
        for key, words in (("w", "worked"), ("t", "timed")):
            await pilot.press(key)
            assert str(app.query_one(Static).content) == words


async def test_a_thread_that_waits_for_others_is_not_waited_for() -> None:
    app = Slow()
    async with app.run_test() as pilot:
        await pilot.press("b")
        begun = monotonic()
        await pilot.pause()
        assert not app.go.is_set()
        assert monotonic() - begun < 2.0  # its own patience is five seconds
        app.go.set()
