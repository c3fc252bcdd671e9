"""Drafts: what is typed and not recorded is kept as typed and offered back, PINs never."""

from typing import TYPE_CHECKING

from textual.timer import Timer

from shopdesk.tui.bench.correcting import MARK, WHY
from shopdesk.tui.frame import app_of

if TYPE_CHECKING:
    from shopdesk.desk.shop import Shop
    from shopdesk.tui.bench.sheet import SheetScreen

AFTER_S = 0.2


class Drafting:
    """Keeps the draft of the line under the cursor of one sheet. ``known`` are this terminal's
    drafts by place: read with the sheet, so that a key that goes to a line waits for no record."""

    def __init__(self, screen: "SheetScreen") -> None:
        self._screen = screen
        self.known: dict[str, str] = {}
        self._timer: Timer | None = None
        self._kept = ("", "")  # place and text as last written
        self._told: set[str] = set()

    def secret(self) -> bool:
        """Whether a PIN is being typed: nothing of it is kept."""
        from shopdesk.rules.slots import Ask

        slot = self._screen.next_slot()
        return slot is not None and slot.ask is Ask.SIGN

    def typed(self) -> None:
        """Something was typed: it is kept shortly after."""
        if self.secret():
            return
        if self._timer is not None:
            self._timer.stop()
        self._timer = self._screen.set_timer(AFTER_S, self.keep)

    def keep(self) -> None:
        recording = self._screen.recording
        if recording.correcting.now is not None:
            if not recording.correcting.untouched:
                self._keep(self._screen.entry.value)
        elif not recording.holds:
            self._keep(self._screen.entry.value)

    def put_by(self, text: str, place: str = "") -> None:
        """Keeps a text of a correction at its place until it is on record, "" drops it."""
        place = place or self._screen.recording.correcting.place
        self.spent()
        self._write(place, text)

    def hold(self, text: str) -> None:
        """What waits for a word or an instrument has left the entry line, not the terminal."""
        if self._timer is not None:
            self._timer.stop()
        self._keep(text)

    def _keep(self, text: str) -> None:
        place, (before, kept) = self._place(), self._kept
        if place is None or self.secret() or not (text or kept):
            return
        if kept and before != place:  # the line asks something else now
            self._write(before, "")
        if self._kept != (place, text):
            self._kept = (place, text)
            self._write(place, text)

    def drop(self) -> None:
        """What was typed is given up."""
        if self.place:
            self._write(self.place, "")
        self.spent()

    @property
    def place(self) -> str:
        """Where what is typed was kept, "" if nowhere: the entry made of it drops it."""
        place, text = self._kept
        return place if text else ""

    def spent(self) -> None:
        """The record has what was typed, and dropped its draft."""
        if self._timer is not None:
            self._timer.stop()
        self.known.pop(self._kept[0], None)
        self._kept = ("", "")

    def leave(self) -> None:
        """The cursor goes elsewhere: what is half typed stays with its line."""
        self.keep()
        self._kept = ("", "")

    def begun(self) -> str:
        """The line of this sheet on which something was half typed last, "" for none."""
        view, job = self._screen.view, f"J-{self._screen.number}/"
        for place in self.known:
            line, _, slot = place.removeprefix(job).rpartition("/")
            state = view.sheet.get(line) if view is not None and place.startswith(job) else None
            if state is not None and state.next_slot is not None and state.next_slot.name == slot:
                return line
        return ""

    def offer(self) -> None:
        """Puts back what this terminal typed on this line and did not record."""
        place, state, entry = self._place(), self._screen.state(), self._screen.entry
        if state is None or entry.value:
            return
        self._begun(f"J-{self._screen.number}/{state.line.key}{MARK}")
        text = self.known.get(place or "", "")
        if place and text and not self.secret():
            self._kept = (place, text)
            entry.value = text
            if self._screen.is_current:
                app_of(self._screen).add(f"typed here and not recorded: {text}. Enter records it")

    def _begun(self, here: str) -> None:
        """Tells of corrections begun on this sheet and not recorded: of this line's each time, of
        others' once."""
        view, job = self._screen.view, f"J-{self._screen.number}/"
        for place, text in self.known.items():
            line = place.removeprefix(job).partition(MARK)[0]
            known = view.sheet.get(line) if view is not None else None
            if not place.startswith(job) or MARK not in place or place.endswith(WHY):
                continue
            if place.startswith(here):
                app_of(self._screen).add(f"a correction was begun here: {text}. F7 goes on with it")
            elif known is not None and place not in self._told:
                words = known.line.text
                app_of(self._screen).add(
                    f"correction begun, not recorded: {words}: {text}. F7 there"
                )
            self._told.add(place)

    def _place(self) -> str | None:
        if self._screen.recording.correcting.now is not None:
            return self._screen.recording.correcting.place
        state, slot = self._screen.state(), self._screen.next_slot()
        if state is None or slot is None:
            return None
        return f"J-{self._screen.number}/{state.line.key}/{slot.name}"

    def _write(self, place: str, text: str) -> None:
        if text:
            self.known[place] = text
        else:
            self.known.pop(place, None)

        def work(shop: "Shop") -> None:
            from shopdesk.desk import drafts

            drafts.keep(shop, place, text)

        app = app_of(self._screen)
        app.do(work, app.quiet)
