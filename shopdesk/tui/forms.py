"""A small form over the screen: its deed runs while it stands open, a refusal is said inside."""

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from rich.text import Text
from textual import events
from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import VerticalScroll
from textual.screen import ModalScreen
from textual.timer import Timer
from textual.widgets import Static

from shopdesk.errors import Refused, ShopError
from shopdesk.tui import keeping
from shopdesk.tui.candidates import Candidates
from shopdesk.tui.columns import plain
from shopdesk.tui.fields import Fields
from shopdesk.tui.filling import Field
from shopdesk.tui.frame import Keys, Notice, Top, app_of

if TYPE_CHECKING:
    from shopdesk.desk.shop import Shop

KEEP_S = 0.2


class FormScreen(ModalScreen[dict[str, str] | None]):
    """``deed`` gets what was typed, in a lane, and gives back the sentence to say; what it
    refuses is shown here with nothing lost but PINs. Without fields, Enter alone commits. What is
    typed and neither recorded nor left is kept, PINs never, and offered back when the form is
    opened again."""

    BINDINGS = [
        Binding("escape", "close", "Leave", id="form.leave", tooltip="Leave; nothing is recorded"),
        Binding("f2", "close", "Leave", id="form.back", show=False, tooltip="The same as Esc"),
        Binding("f1", "help", "Help", id="form.help", tooltip="What this form asks"),
        Binding("pageup", "read(-1)", "Read back", id="form.page_up", show=False),
        Binding("pagedown", "read(1)", "Read on", id="form.page_down", show=False),
    ]
    DEFAULT_CSS = """
    FormScreen { background: ansi_default; }
    FormScreen .context { height: auto; max-height: 45%; margin: 1 0; scrollbar-size-vertical: 1; }
    FormScreen .context Static { height: auto; }
    FormScreen .hint { height: 1; margin: 1 0 0 0; }
    """

    def __init__(
        self,
        heading: str,
        fields: Sequence[Field],
        deed: "Callable[[Shop, dict[str, str]], str]",
        *,
        context: Sequence[str] = (),
        commit: str = "record",
    ) -> None:
        super().__init__()
        self.heading = heading
        self.deed = deed
        self.context = context
        self.commit = commit
        self.fields = Fields(fields, places=True)
        self.busy = False
        self.place = f"form/{heading}"
        self._before = self.fields.values
        self._kept: dict[str, str] = {}
        self._timer: Timer | None = None

    def compose(self) -> ComposeResult:
        yield Top(self.heading)
        if self.context:
            with VerticalScroll(classes="context", can_focus=False):
                said = "\n".join(f" {plain(line)}" for line in self.context)
                yield Static(Text(said), markup=False)
        yield self.fields
        self.hint = Static(markup=False, classes="hint")
        yield self.hint
        self.candidates = Candidates()
        yield self.candidates
        yield Notice()
        last = (
            f"Enter {self.commit}"
            if not self.fields.here
            else (f"Enter next field, in the last: {self.commit}   Up/Down choose or go")
        )
        self.keys = Keys(last)
        self._last = last
        yield self.keys

    def on_mount(self) -> None:
        self._say_keys()
        self.fields.focus()
        self.offer()
        if self.fields.here:
            self.fields.hold()
            app_of(self).look(self.place, keeping.kept(self.place), self._back, self._unread)

    def on_unmount(self) -> None:
        self._keep()

    def on_resize(self) -> None:
        self.call_after_refresh(self._say_keys)

    def _say_keys(self) -> None:
        """The keys; those that read on only where what is said above has no room."""
        more = any(said.max_scroll_y > 0 for said in self.query(VerticalScroll))
        said = f" {self._last}\n F1 Help   Esc or F2 leave, nothing is recorded"
        self.keys.update(Text(said + ("   Page Down reads on" if more else "")))

    def action_read(self, step: int) -> None:
        """Goes on in what is said above the fields, a page but for one line."""
        for said in self.query(VerticalScroll):
            said.scroll_relative(y=step * max(1, said.size.height - 1), animate=False)

    # what was typed

    def _back(self, typed: dict[str, str]) -> None:
        back = {
            name: text
            for name, text in typed.items()
            if name in self._before and name not in self.fields.secrets
        }
        for name, text in back.items():
            self.fields.fill(name, text, offered=True)
        self._kept = back
        if back:
            self.say("offered back: typed here and not recorded. Typing in a field begins it anew")
        self.fields.release()

    def _unread(self, fault: ShopError) -> None:
        self.fields.release()
        app_of(self).quiet(fault)

    def _keep(self) -> None:
        """What is typed goes to disk a moment later, not at every key."""
        self._timer = None
        typed = {
            name: text
            for name, text in self.fields.values.items()
            if text and text != self._before[name] and name not in self.fields.secrets
        }
        if not self.busy and typed != self._kept:
            self._kept = typed
            app = app_of(self)
            app.do(keeping.keep(self.place, typed), app.quiet, app.quiet)

    def _drop(self) -> None:
        """Left by its own key: what was typed is given up."""
        if self._timer is not None:
            self._timer.stop()
        if self._kept:
            app = app_of(self)
            app.do(keeping.keep(self.place, {}), app.quiet, app.quiet)
        self._kept, self._before = {}, self.fields.values

    def on_key(self, event: events.Key) -> None:
        """Keys that came before the fields had the focus still reach them."""
        if self.focused is None and self.fields.take(
            event.key, event.character if event.is_printable else None
        ):
            event.stop()

    def help_text(self) -> str:
        return "\n".join(
            f"{f.label}: {f.hint or 'as it is said'}{'; may stay empty' if f.optional else ''}"
            for f in self.fields.asked
        )

    def offer(self) -> None:
        self.hint.update(Text(f"   {self.fields.hint}"))
        self.candidates.offer(self.fields)

    def say(self, text: str, *, loud: bool = False) -> None:
        self.query_one(Notice).say(text, loud=loud)

    def on_fields_changed(self, _: Fields.Changed) -> None:
        self.offer()
        if self._timer is None and not self.busy:
            self._timer = self.set_timer(KEEP_S, self._keep)

    def on_fields_complained(self, event: Fields.Complained) -> None:
        self.say(event.sentence, loud=True)

    def on_fields_passed(self, _: Fields.Passed) -> None:
        if not self.busy:
            self.say("")

    def on_fields_committed(self, _: Fields.Committed) -> None:
        if self.busy:
            return
        self.busy = True
        values, kept = self.fields.values, bool(self._kept)

        def work(shop: "Shop") -> str:
            said = self.deed(shop, values)
            if kept:
                keeping.keep(self.place, {})(shop)
            return said

        app_of(self).do(work, self.done, self.refused)

    def done(self, said: str) -> None:
        self._kept, self._before = {}, self.fields.values  # on record
        app = app_of(self)
        values = {
            name: "" if name in self.fields.secrets else value
            for name, value in self.fields.values.items()
        }
        self.fields.forget_secrets()
        ahead = self.fields.ahead_from_place()
        if self.is_current:
            self.dismiss(values)
        app.call_later(app.say, said)
        for key in ahead:
            app.post_message(key)

    def refused(self, fault: ShopError) -> None:
        whose = fault.whose_move if isinstance(fault, Refused) else ""
        move = f" Move: {whose}." if whose else ""
        self.busy = False
        self.fields.forget_secrets()
        self.fields.release(drop=True)
        end = "" if str(fault).endswith((".", "?")) else "."
        self.say(f"{fault}{end}{move}", loud=True)

    def action_close(self) -> None:
        if not self.busy:
            self._drop()
            self.dismiss(None)

    def action_help(self) -> None:
        app_of(self).action_help()
