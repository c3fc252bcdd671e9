"""Work off the interface's thread: reads and deeds run in lanes, their answers come back here."""

from collections.abc import Callable
from threading import Lock
from typing import TYPE_CHECKING, Any, TypeVar

from textual.app import App
from textual.worker import get_current_worker

from shopdesk.errors import ShopError, Unreachable

if TYPE_CHECKING:
    from shopdesk.desk.shop import Shop

Result = TypeVar("Result")
SLOW_S = 0.3
AGAIN_S = 0.5
"""How long after a lost connection the same is tried again."""


class LanesApp(App[int]):
    """An app whose database work never runs on its own thread.

    ``look`` is for reads: a newer question in the same lane makes the older answer void.
    ``do`` is for deeds: they run one after the other and are never dropped. ``reckon`` is for
    sums that need no shop. While the record cannot be reached (``cut_off``) both wait and run again
    until it answers: nothing of them was recorded.
    """

    def __init__(self, open_shop: "Callable[[], Shop]") -> None:
        super().__init__(ansi_color=True)  # the terminal's own colours, sixteen or none
        self._open_shop = open_shop
        self._shop: Shop | None = None
        self._opening = Lock()
        self._asked: dict[str, int] = {}
        self._deeds: list[Callable[[], None]] = []
        self._reckoning: dict[str, Callable[[], None] | None] = {}
        self._busy = False
        self.waiting: list[str] = []
        self.cut_off = False
        self.faults: list[Exception] = []

    @property
    def shop(self) -> "Shop":
        """The open shop; only lanes use it, after ``_open`` has run in one of them."""
        with self._opening:
            if self._shop is None:
                self._shop = self._open_shop()
            return self._shop

    @property
    def busy(self) -> bool:
        return self._busy

    def look(
        self,
        lane: str,
        work: "Callable[[Shop], Result]",
        then: Callable[[Result], None],
        failed: Callable[[ShopError], None] | None = None,
    ) -> None:
        """Runs a read in a thread; ``then`` gets the answer unless a newer question was asked."""
        asked = self._asked[lane] = self._asked.get(lane, 0) + 1

        def start() -> None:
            if self._asked.get(lane) == asked:
                self._in_thread(
                    f"look:{lane}", lambda: work(self.shop), answer, failed, again=start
                )

        def answer(result: Result) -> None:
            if self._asked.get(lane) == asked:
                then(result)

        start()

    def reckon(
        self,
        lane: str,
        work: Callable[[], Result],
        then: Callable[[Result], None],
        failed: Callable[[ShopError], None] | None = None,
    ) -> None:
        """Runs pure work in a thread, one question of a lane at a time: while one is being worked
        on, the newest waits and those between are dropped."""

        def start() -> None:
            self._reckoning[lane] = None
            self._in_thread(f"look:{lane}", work, then, failed, after=following)

        def following() -> None:
            waiting = self._reckoning.pop(lane)
            if waiting is not None:
                waiting()

        if lane in self._reckoning:
            self._reckoning[lane] = start
        else:
            start()

    def do(
        self,
        work: "Callable[[Shop], Result]",
        then: Callable[[Result], None],
        failed: Callable[[ShopError], None] | None = None,
        *,
        typed: str = "",
    ) -> None:
        """Runs a deed in a thread, after those already queued. ``typed`` is shown while it has to
        wait for the record; never a PIN."""
        self.waiting.append(typed)

        def start() -> None:
            self._in_thread(
                "deed", lambda: work(self.shop), then, failed, after=self._next_deed, again=start
            )

        if self._busy:
            self._deeds.append(start)
        else:
            self._busy = True
            start()

    def beside(
        self, group: str, work: Callable[[], None], failed: Callable[[ShopError], None]
    ) -> None:
        """Runs long work nobody waits for, one of a group at a time; without a sign of it."""
        if any(worker.group == group and worker.is_running for worker in self.workers):
            return

        def run() -> None:
            worker = get_current_worker()
            try:
                work()
            except Exception as fault:  # as in ``_in_thread``
                error = fault if isinstance(fault, ShopError) else self._internal(fault)
                if not worker.is_cancelled:
                    self.call_from_thread(failed, error)

        self.run_worker(run, group=group, thread=True, exit_on_error=False)

    def _next_deed(self) -> None:
        self.waiting.pop(0)
        if self._deeds:
            self._deeds.pop(0)()
        else:
            self._busy = False

    def _in_thread(
        self,
        group: str,
        work: Callable[[], Result],
        then: Callable[[Result], None],
        failed: Callable[[ShopError], None] | None,
        after: Callable[[], None] | None = None,
        again: Callable[[], None] | None = None,
    ) -> None:
        """``again`` starts the same anew; without it a lost connection is a fault like others."""
        waiting = self.set_timer(SLOW_S, lambda: self.show_working(True))

        def run() -> None:
            worker = get_current_worker()
            outcome: Callable[[], None]
            try:
                result = work()
            except Exception as fault:  # a fault of the program must not take the terminal down
                if again is not None and isinstance(fault, Unreachable):
                    if not worker.is_cancelled:
                        self.call_from_thread(wait, again)
                    return
                error = fault if isinstance(fault, ShopError) else self._internal(fault)
                outcome = lambda: (failed or self.complain)(error)  # noqa: E731
            else:
                outcome = lambda: then(result)  # noqa: E731
            if not worker.is_cancelled:
                self.call_from_thread(finish, outcome)

        def wait(again: Callable[[], None]) -> None:
            waiting.stop()
            self._reached(False)
            self.set_timer(AGAIN_S, again)

        def finish(outcome: Callable[[], None]) -> None:
            waiting.stop()
            if again is not None:
                self._reached(True)
            self.show_working(False)
            try:
                outcome()
            finally:
                if after is not None:
                    after()

        self.run_worker(run, group=group, thread=True, exit_on_error=False)

    def _reached(self, reached: bool) -> None:
        """Notes whether the record answers, and shows it where that is news."""
        if self.cut_off == reached:
            self.cut_off = not reached
            self.show_connection()

    def show_connection(self) -> None:
        """Says that the record cannot be reached, or can again; the app's frame overrides it."""

    def _internal(self, fault: Exception) -> ShopError:
        self.faults.append(fault)
        return ShopError(
            f"a fault in the program, nothing was recorded: {type(fault).__name__}: {fault}"
        )

    def show_working(self, on: bool) -> None:
        """Says that something takes a while; the app's frame overrides it."""

    def complain(self, fault: ShopError) -> None:
        """Shows a refusal or fault; the app's frame overrides it."""

    def quiet(self, _: Any) -> None:
        """A ``then`` for answers nobody waits for."""
