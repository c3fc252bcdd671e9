"""What is computed beside the lines of a sheet, in a lane."""

from typing import TYPE_CHECKING

from textual.timer import Timer

from shopdesk.tui.frame import app_of

if TYPE_CHECKING:
    from shopdesk.desk.shop import Shop
    from shopdesk.rules.sheet import LineState
    from shopdesk.tui.bench.sheet import SheetScreen

AHEAD_S = 0.08
"""How long the cursor rests before the lines next to it are computed for."""


class Advising:
    """Asks for the line under the cursor at once; then for those next to it, so that theirs stand
    there as soon as one comes to them."""

    def __init__(self, screen: "SheetScreen") -> None:
        self._screen = screen
        self._known: dict[str, tuple[str, ...]] = {}
        self._ahead: Timer | None = None

    def forget(self) -> None:
        """Something was recorded: all of it may be otherwise now."""
        self._known.clear()

    def of(self, key: str) -> tuple[str, ...]:
        return self._known.get(key, ())

    def arrived(self) -> None:
        """The cursor stands on a line."""
        if self._ahead is not None:
            self._ahead.stop()
        here = self._screen.lines.cursor_key
        if self._lacks(here) is not None:
            self._ask(here)
        else:
            self._ahead = self._screen.set_timer(AHEAD_S, self._look_ahead)

    def _look_ahead(self) -> None:
        keys = [row.key for row in self._screen.lines.rows if row.key is not None]
        here = self._screen.lines.cursor_key
        if here in keys:
            at = keys.index(here)
            near = (*keys[at + 1 : at + 2], *keys[max(0, at - 1) : at])
            wanted = next((key for key in near if self._lacks(key) is not None), None)
            if wanted is not None:
                self._ask(wanted)

    def _lacks(self, key: object) -> "LineState | None":
        """The state of a line for which there may be something to compute and nothing is known."""
        from shopdesk.views.advice import has_advice

        view = self._screen.view
        if view is None or not isinstance(key, str) or key in self._known:
            return None
        state = view.sheet.get(key)
        return state if state is not None and has_advice(state.line) else None

    def _ask(self, key: object) -> None:
        screen, view, state = self._screen, self._screen.view, self._lacks(key)
        if view is None or state is None:
            return

        def advise(shop: "Shop") -> tuple[str, ...]:
            from shopdesk.views import advice

            with shop.read() as db:
                return advice.beside(db, view.sheet, state)

        def advised(lines: tuple[str, ...]) -> None:
            if view is not screen.view:
                return
            self._known[state.line.key] = tuple(f" {line}" for line in lines)
            if screen.lines.cursor_key == state.line.key:
                screen.describe()
            else:
                self._look_ahead()

        app_of(screen).look("advice", advise, advised)
