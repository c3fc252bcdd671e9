"""What every place has: a find line, one list, a few words on the row under the cursor."""

from collections.abc import Callable, Hashable, Sequence
from typing import TYPE_CHECKING, Any, ClassVar

from rich.text import Text
from textual import events
from textual.app import ComposeResult
from textual.binding import Binding
from textual.screen import Screen
from textual.widgets import Static

from shopdesk.errors import ShopError
from shopdesk.tui.columns import Column, titles
from shopdesk.tui.finding import FindLines, what_is
from shopdesk.tui.frame import Keys, Notice, Top, app_of
from shopdesk.tui.lines import Lines, Row

if TYPE_CHECKING:
    from shopdesk.desk.shop import Shop
    from shopdesk.tui.app import ShopApp
    from shopdesk.tui.forms import FormScreen
    from shopdesk.views.lists import Scan

ARROWS = (
    "Up, Down, Page Up, Page Down, Home and End move; Enter opens. What is typed or scanned on "
    "the list is looked for; letters shown as keys act only while nothing is being typed."
)


class ListScreen(Screen[None]):
    """A place: subclasses give the question, the rows, and what Enter does.

    ``ask`` runs in a lane and may use the shop; all else runs on the interface's thread.
    """

    HEADING: ClassVar[str] = ""
    LETTERS: ClassVar[str] = ""
    OWN_KEYS: ClassVar[str] = ""
    COLUMNS: ClassVar[tuple[Column, ...]] = ()
    FINDS: ClassVar[str] = "tag, serial, customer or model"
    EMPTY: ClassVar[str] = " nothing here"
    BINDINGS = [
        Binding("f7", "find", "Find", id="list.find", tooltip="Begin to type what is looked for"),
    ]
    DEFAULT_CSS = """
    ListScreen .find { height: 1; }
    ListScreen .titles { height: 1; text-style: underline; }
    ListScreen .detail { height: 2; }
    """

    def __init__(self) -> None:
        """Everything keys may ask for is there at once: they come before the screen is put up."""
        super().__init__()
        self.answer: Any = None
        self.answered = ""
        self._scans: list[str] = []
        self._then: tuple[str, Callable[[], None]] | None = None
        self._opened: Hashable | None = None  # where the cursor stands when one comes back
        self.find_bar = Static(markup=False, classes="find")
        self.titles = Static(markup=False, classes="titles")
        self.lines = FindLines(frozenset(self.LETTERS.lower()), empty=" … reading")
        self.lines.moved = self.paint_detail
        self.detail = Static(markup=False, classes="detail")

    def compose(self) -> ComposeResult:
        yield Top(self.HEADING)
        yield self.find_bar
        yield self.titles
        yield self.lines
        yield self.detail
        yield Notice()
        yield Keys(self.OWN_KEYS)

    def on_mount(self) -> None:
        self.lines.focus()
        self.paint_find()

    def on_screen_resume(self) -> None:
        for top in self.query(Top):
            top.repaint()
        self.reload()

    def on_key(self, event: events.Key) -> None:
        """Keys that came before the list had the focus still reach it."""
        if self.focused is None and self.lines.take(
            event.key, event.character if event.is_printable else None
        ):
            event.stop()

    def on_resize(self) -> None:
        self.repaint()

    @property
    def shop_app(self) -> "ShopApp":
        return app_of(self)

    @property
    def width(self) -> int:
        """Cells of a row beside the mark and the scroll bar."""
        return max(20, self.size.width - 2)

    def ask(self, shop: "Shop", text: str) -> Any:
        """The list's content for what is looked for ("" for all)."""
        raise NotImplementedError

    def rows(self) -> Sequence[Row]:
        """``self.answer`` as painted lines."""
        raise NotImplementedError

    def chosen(self, key: Hashable) -> None:
        """Enter on a row."""

    def about(self, key: Hashable | None) -> Sequence[str]:
        """At most two lines on the row under the cursor."""
        return ()

    def help_text(self) -> str:
        return ARROWS

    def changed(self) -> None:
        """Something was recorded, here or at another terminal."""
        self.reload()

    def reload(self, then: Callable[[], None] | None = None) -> None:
        """Reads the list; ``then`` goes with the next answer to the text looked for, also where
        another reading overtakes this one."""
        text = self.lines.text
        if then is not None:
            self._then = (text, then)

        def answered(answer: Any) -> None:
            if text == self.lines.text:
                changed = answer != self.answer or text != self.answered
                self.answer, self.answered = answer, text
                if changed or self._opened is not None:
                    self.repaint()
                waiting, self._then = self._then, None
                if waiting is not None and waiting[0] == text:
                    waiting[1]()

        self.shop_app.look(f"list:{self.HEADING}", lambda shop: self.ask(shop, text), answered)

    def repaint(self) -> None:
        if self.answer is None:
            return
        self.lines.empty = self.EMPTY if not self.answered else " nothing found"
        self.paint_titles(self.COLUMNS)
        self.lines.show(self.rows(), at=self._opened)
        self._opened = None
        self.paint_find()
        self.paint_detail()

    def paint_titles(self, columns: tuple[Column, ...]) -> None:
        self.titles.update(Text(" ").append_text(titles(columns, self.width)), layout=False)

    def paint_find(self) -> None:
        lines = self.lines
        found = sum(1 for row in lines.rows if row.key is not None)
        if lines.typing:
            count = f"   {found} found" if lines.text and lines.text == self.answered else ""
            self.say_found(f"Find: {lines.text}_{count}   (Esc shows all)")
        elif lines.text:
            self.say_found(f"Found for {lines.text!r}: {found}.  Esc shows all.")
        else:
            self.say_found(f"Find: type or scan a {self.FINDS}")

    def say_found(self, text: str) -> None:
        """Says it above the list. One line always: nothing is laid out anew at a key."""
        self.find_bar.update(Text(f" {text}", no_wrap=True, overflow="ellipsis"), layout=False)

    def paint_detail(self) -> None:
        said = [
            Text(f" {line}", no_wrap=True, overflow="ellipsis")
            for line in self.about(self.lines.cursor_key)
        ]
        self.detail.update(Text("\n").join(said), layout=False)

    def on_find_lines_typed(self, event: FindLines.Typed) -> None:
        self.paint_find()
        if event.text != self.answered:
            self.reload()

    def on_find_lines_entered(self, event: FindLines.Entered) -> None:
        self._scans.append(event.text)
        if len(self._scans) == 1:
            self._next_scan()

    def _next_scan(self) -> None:
        """Scans are taken one after the other, in the order they came."""
        text = self._scans[0]

        def known(scan: "Scan | None") -> None:
            del self._scans[0]
            if scan is not None:
                if not self.lines.begun:
                    self.lines.clear()
                self.scanned(scan)
            elif self._scans or self.lines.begun:
                self.shop_app.say(f"{text!r} is no label of this shop")
            else:
                self.lines.text = text
                self.reload(then=self._go_on)
            if self._scans:
                self._next_scan()

        def failed(fault: ShopError) -> None:
            self._scans.clear()
            self.shop_app.complain(fault)

        self.shop_app.look(f"scan:{id(self)}", lambda shop: what_is(shop, text), known, failed)

    def _go_on(self) -> None:
        keys = [row.key for row in self.lines.rows if row.key is not None]
        if len(keys) == 1:
            self.lines.clear()
            self.chosen(keys[0])
        elif keys:
            self.lines.settle()
        else:
            self.shop_app.say(f"nothing found for {self.lines.text!r}")

    def scanned(self, scan: "Scan") -> None:
        """What a scanned code does in a place."""
        app = self.shop_app
        if scan.kind == "job":
            ahead, begun = tuple(self._scans), self.lines.begun
            self._scans.clear()
            self._opened = int(scan.name)
            self.lines.clear()
            app.open_sheet(int(scan.name), ahead, begun)
        elif scan.kind == "instrument":
            app.in_hand[scan.name] = scan.code
            app.say(f"in hand: {scan.name} {scan.code}")
        elif scan.kind == "person":
            self._badge(scan.name)
        elif scan.kind in ("lot", "part"):
            from shopdesk.tui.stores.part import PartScreen

            lot = scan.code if scan.kind == "lot" else ""
            app.push_screen(PartScreen(scan.name, lot))
        else:
            app.say(f"{scan.code}: {scan.kind}, {scan.name}")

    def _badge(self, initials: str) -> None:
        self.shop_app.ask_who(lambda: None, badge=initials)

    def on_lines_chosen(self, event: Lines.Chosen) -> None:
        self.chosen(event.key)

    def is_read(self) -> bool:
        """Whether the list stands; else says that it does not yet."""
        if self.answer is None:
            self.shop_app.say("still reading; press it again in a moment")
        return self.answer is not None

    def action_find(self) -> None:
        self.lines.begin()

    def deed(self, work: "Callable[[Shop], str]") -> None:
        """Runs a deed and shows the sentence it gives back; the list is read anew."""

        def done(said: str) -> None:
            self.shop_app.say(said)
            self.reload()

        self.shop_app.do(work, done)

    def read(self, work: "Callable[[Shop], Any]", then: Callable[[Any], None]) -> None:
        """Reads what a form needs before it opens."""
        self.shop_app.look(f"form:{self.HEADING}", work, then)

    def ask_after(self, work: "Callable[[Shop], Any]", form: "Callable[[Any], FormScreen]") -> None:
        """Reads what a form is made of and puts it up; keys typed meanwhile go to it."""
        app = self.shop_app

        def known(found: Any) -> None:
            if self.is_current:
                self.app.push_screen(form(found))
            app.release_keys()

        def not_known(fault: ShopError) -> None:
            app.release_keys()
            app.complain(fault)

        app.hold_keys()
        app.look(f"form:{self.HEADING}", work, known, not_known)

    def open_form(self, form: "FormScreen") -> None:
        """Opens a form once it is known who stands here; a second key press opens no second."""

        def open_it() -> None:
            self.app.push_screen(form)

        if self.is_current:
            self.shop_app.with_person(open_it)
