"""A correction at the sheet: what it should have been, then why. Half typed it is kept as a draft
of its own and offered back on F7."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from shopdesk.tui.bench.entry import EntryLine
from shopdesk.tui.frame import app_of

if TYPE_CHECKING:
    from shopdesk.desk.entries import Recorded
    from shopdesk.desk.shop import Shop
    from shopdesk.rules.answers import Answer
    from shopdesk.tui.bench.recording import Recording
    from shopdesk.tui.bench.sheet import SheetScreen

MARK = "/corrects "
WHY = "/why"


@dataclass(frozen=True, slots=True)
class Correction:
    """``new`` is "" until it is entered; then the reason is typed. ``place`` keeps the new text
    while it is not on record, ``place`` with WHY the reason."""

    entry: int
    line: str
    place: str
    new: str = ""


class Correcting:
    """``now``: the correction being typed, None for none."""

    def __init__(self, screen: "SheetScreen", recording: "Recording") -> None:
        self._screen = screen
        self._recording = recording
        self._why = ""  # what was typed as the reason before
        self._put_there = ""
        self.now: Correction | None = None

    @property
    def place(self) -> str:
        """Where what is typed now is kept."""
        assert self.now is not None
        return self.now.place + (WHY if self.now.new else "")

    @property
    def untouched(self) -> bool:
        """Whether nothing was typed over what was put there to be corrected."""
        return self._screen.entry.value == self._put_there

    def begin(self) -> None:
        """Asks for the new text of the line's newest answer; asked once more, of the one before."""
        from shopdesk.tui.bench.asking import numbered

        state = self._screen.state()
        app = app_of(self._screen)
        if state is None or not state.given:
            app.say("nothing on this line to correct", loud=True)
            return
        answers = sorted(state.given.values(), key=lambda answer: -answer.id)
        old = answers[0]
        if self.now is not None and self.now.line == state.line.key:
            ids = [answer.id for answer in answers]
            at = ids.index(self.now.entry) if self.now.entry in ids else -1
            old = answers[(at + 1) % len(answers)]
        self._screen.drafting.leave()
        self._why = ""
        place = f"J-{self._screen.number}/{state.line.key}{MARK}{old.id}"
        self.now = Correction(old.id, state.line.key, place)
        self._put(old.typed)
        before = "; F7 again: the answer before it" if len(answers) > 1 else ""
        options = next((slot.options for slot in state.slots if slot.name == old.slot), ())
        of = f" ({numbered(options)})" if options else ""
        app.say(f"correct {old.answer}: type it as it should be{of}, Enter; Esc leaves it{before}")
        self._look_back(self.now, old)

    def _look_back(self, now: Correction, old: "Answer") -> None:
        """Puts back what was typed here for this correction and not recorded."""

        def work(shop: "Shop") -> tuple[str, str]:
            from shopdesk.desk import drafts

            return drafts.kept(shop, now.place), drafts.kept(shop, now.place + WHY)

        def found(kept: tuple[str, str]) -> None:
            new, self._why = kept
            if self.now != now or not new or self._screen.entry.value != old.typed:
                return
            self._put(new)
            said = f" (why: {self._why})" if self._why else ""
            app_of(self._screen).add(f"typed here and not recorded: {new}{said}. Enter goes on")

        app_of(self._screen).look("correction", work, found)

    def _put(self, text: str) -> None:
        entry = self._screen.entry
        with entry.prevent(EntryLine.Changed):
            entry.value = self._put_there = text
        entry.select_all()

    def take(self, text: str) -> None:
        """Enter: the new text, then the reason."""
        assert self.now is not None
        now = self.now
        app = app_of(self._screen)
        if not now.new and not text.strip():
            app.say("type it as it should be, Enter; Esc leaves it")
        elif not now.new:
            self._screen.drafting.put_by(text)
            self.now = Correction(now.entry, now.line, now.place, text)
            self._put_there = ""
            app.say(f"corrected to {text}: why? (Enter records it, Esc leaves it)")
            if self._why and not self._screen.entry.value:
                self._put(self._why)
            self._recording.go_on()
        else:
            self._screen.drafting.put_by(text)
            self.now, self._why = None, text
            app.with_person(lambda: self._record(now, text), lambda: self._back(now))

    def _record(self, now: Correction, reason: str, *, confirmed: bool = False) -> None:
        app = app_of(self._screen)
        person, number, in_hand = app.person, self._screen.number, dict(app.in_hand)

        def work(shop: "Shop") -> "Recorded":
            from shopdesk.desk import entries

            return entries.correct_entry(
                shop,
                person,
                number,
                now.entry,
                now.new,
                reason,
                confirmed=confirmed,
                in_hand=in_hand,
                drafts_of=(now.place, now.place + WHY),
            )

        def again(confirmed: bool) -> None:
            self._record(now, reason, confirmed=confirmed)

        def anew(other: str) -> None:
            self._back(now)
            if other:
                self.take(other)

        def done() -> None:
            for place in (now.place, now.place + WHY):
                self._screen.drafting.known.pop(place, None)

        self._recording.correct(work, now.new, again, anew, lambda: self._back(now), done)

    def _back(self, now: Correction) -> None:
        """It was not recorded: the new text stands there again, the reason behind it."""
        self.now = Correction(now.entry, now.line, now.place)
        self._put(now.new)

    def drop(self) -> None:
        """What was typed for it is given up."""
        if self.now is not None:
            for place in (self.now.place, self.now.place + WHY):
                self._screen.drafting.put_by("", place)
        self.now, self._why = None, ""
