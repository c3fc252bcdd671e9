"""Who stands here: initials or badge, and PIN. The PIN is compared and forgotten."""

from typing import TYPE_CHECKING

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding
from textual.screen import ModalScreen
from textual.widgets import Static

from shopdesk.errors import ShopError
from shopdesk.tui.fields import Fields
from shopdesk.tui.filling import Field
from shopdesk.tui.frame import Keys, Notice, Top, app_of

if TYPE_CHECKING:
    from shopdesk.desk.shop import Shop, Worker


class WhoScreen(ModalScreen[str | None]):
    """Gives back the initials, None when left. ``known``: initials a scanned badge gave."""

    HELP = (
        "Type your initials, a space, and your PIN, or scan your badge and type the PIN. "
        "What is recorded from here on is recorded under your name, until somebody else says "
        "who they are. The PIN is shown as dots and is not kept."
    )
    BINDINGS = [
        Binding("escape", "close", "Leave", id="who.leave", tooltip="Leave it as it was"),
        Binding("f2", "close", "Leave", id="who.back", show=False, tooltip="The same as Esc"),
        Binding("f1", "help", "Help", id="who.help", tooltip="What this asks"),
    ]
    DEFAULT_CSS = "WhoScreen { background: ansi_default; } WhoScreen Fields { margin: 1 0; }"

    HEADING = "Who stands at this terminal?"
    KEYS = " Enter sign   F1 Help   Esc or F2 leave it as it was"

    def __init__(self, known: str = "") -> None:
        super().__init__()
        start = f"{known} " if known else ""
        self.fields = Fields(
            [Field("sign", "Initials or badge, space, PIN", start, secret=True)], places=True
        )
        self.busy = False

    def compose(self) -> ComposeResult:
        yield Top(self.HEADING)
        yield self.fields
        yield Static(" Shown as dots behind the first space; the PIN is not kept.", markup=False)
        yield Notice()
        keys = Keys("")
        keys.update(self.KEYS)
        yield keys

    def on_mount(self) -> None:
        self.fields.focus()

    def on_key(self, event: events.Key) -> None:
        if self.focused is None and self.fields.take(
            event.key, event.character if event.is_printable else None
        ):
            event.stop()

    def on_fields_complained(self, event: Fields.Complained) -> None:
        self.query_one(Notice).say(event.sentence, loud=True)

    def on_fields_committed(self, _: Fields.Committed) -> None:
        if self.busy:
            return
        typed = self.fields.values["sign"]
        if " " not in typed:
            self.fields.fill("sign", f"{typed} ")
            self.query_one(Notice).say("now the PIN")
            self.fields.release()
            return
        self.busy = True
        self.fields.forget_secrets()

        def look_up(shop: "Shop") -> "Worker":
            from shopdesk.desk import signing

            return signing.sign_in(shop, typed)

        app_of(self).look("who", look_up, self.known, self.refused)

    def known(self, worker: "Worker") -> None:
        if self.is_current:
            ahead = self.fields.ahead()
            self.dismiss(worker.initials)
            for key in ahead:  # typed or scanned before the PIN was found right
                self.app.post_message(key)

    def refused(self, fault: ShopError) -> None:
        self.busy = False
        self.fields.release(drop=True)
        self.query_one(Notice).say(str(fault), loud=True)

    def action_close(self) -> None:
        self.dismiss(None)

    def action_help(self) -> None:
        app_of(self).action_help()


class LockScreen(WhoScreen, inherit_bindings=False):
    """Stands over what was open when nobody had touched the terminal for a while; that stays as it
    was, whoever signs."""

    HEADING = "Locked: nobody has touched this terminal"
    KEYS = " Enter sign   F1 Help   F10 Leave the app"
    HELP = (
        "What was open is still there, with everything typed. Sign with initials or badge and PIN "
        "to go on; what is recorded from then on is recorded under your name."
    )
    BINDINGS = [
        Binding("f1", "help", "Help", id="lock.help", tooltip="What this asks"),
        Binding("f10", "app.leave", "Leave", id="lock.leave", tooltip="Close the app"),
    ]
