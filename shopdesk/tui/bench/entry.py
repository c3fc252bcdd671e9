"""The line one types on: pastes of several scans become several entries, history is not kept.

Enter is taken with the other keys, in the order typed: as a binding it would come after the signs
of a fast scanner's next code, and two codes would become one.
"""

from dataclasses import dataclass

from textual import events
from textual.message import Message
from textual.widgets import Input

from shopdesk.tui.lines import LONGEST_PASTE


class EntryLine(Input):
    """An input whose Enter is an entry; a paste of several lines is as many entries."""

    @dataclass
    class Entered(Message):
        texts: tuple[str, ...]

    def _on_paste(self, event: events.Paste) -> None:
        event.prevent_default()
        event.stop()
        lines = [line for line in event.text[:LONGEST_PASTE].splitlines() if line.strip()]
        if len(lines) > 1:
            first, *rest = lines
            self.clear()
            self.post_message(self.Entered((self.value + first, *rest)))
        elif lines:
            self.insert_text_at_cursor(lines[0][:2000])

    async def _on_key(self, event: events.Key) -> None:
        if event.key == "enter":
            event.stop()
            event.prevent_default()
            self._enter()
        else:
            await super()._on_key(event)

    async def action_submit(self) -> None:
        self._enter()

    def _enter(self) -> None:
        text = self.value
        self.clear()
        self.post_message(self.Entered((text,)))
