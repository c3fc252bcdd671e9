"""A job's papers: read on the screen, kept as PDF, sent to the printer. A failing printer blocks
nothing."""

import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from rich.text import Text
from textual.app import ComposeResult
from textual.binding import Binding
from textual.screen import Screen

from shopdesk.errors import BadInput, ShopError
from shopdesk.tui.columns import plain
from shopdesk.tui.frame import Keys, Notice, Top, app_of
from shopdesk.tui.lines import Lines, Row

if TYPE_CHECKING:
    from shopdesk.desk.shop import Shop

PRINT_COMMAND = "lp"
PRINT_PATIENCE_S = 20
NAMES = {"unit": "unit tag", "state": "pressure-state tag", "certificate": "certificate"}


class PapersScreen(Screen[None]):
    """``paper`` is the one shown: unit, state or certificate."""

    HELP = (
        "U the unit tag with the job's number and its code, S the tag that says what pressure the "
        "unit holds, C the certificate (after release). Enter keeps the one shown as a PDF, P "
        f"sends it to the system's printer ({PRINT_COMMAND})."
    )
    BINDINGS = [
        Binding("u,U", "paper('unit')", "Unit tag", id="papers.unit", tooltip="The unit tag"),
        Binding("s,S", "paper('state')", "State tag", id="papers.state", tooltip="Pressure state"),
        Binding(
            "c,C",
            "paper('certificate')",
            "Certificate",
            id="papers.certificate",
            tooltip="The certificate of the work",
        ),
        Binding("p,P", "send", "Print", id="papers.print", tooltip="Send it to the printer"),
        Binding(
            "enter", "keep", "Keep", id="papers.keep", tooltip="Keep it as a PDF", priority=True
        ),
        Binding("escape", "close", "Back", id="papers.back", tooltip="Back to where one was"),
    ]

    def __init__(self, number: int, paper: str = "unit") -> None:
        super().__init__()
        self.number, self.paper = number, paper

    def compose(self) -> ComposeResult:
        yield Top(f"J-{self.number}: papers")
        yield Lines(id="lines", empty=" no such paper yet")
        yield Notice()
        yield Keys("U Unit tag  S State tag  C Certificate   Enter keep as PDF  P Print  Esc Back")

    def on_mount(self) -> None:
        self.query_one(Lines).focus()
        self.action_paper(self.paper)

    def action_paper(self, paper: str) -> None:
        """Shows another paper as text."""
        self.paper, number = paper, self.number

        def read(shop: "Shop") -> str:
            return _made(shop, number, paper)[0]

        def show(text: str) -> None:
            self.query_one(Lines).show(
                [Row(Text(plain(line)), key=n) for n, line in enumerate(text.splitlines())]
            )
            app_of(self).say(f"{NAMES[paper]} of J-{number}")

        def failed(fault: ShopError) -> None:
            self.query_one(Lines).show([])
            app_of(self).complain(fault)

        app_of(self).look("paper", read, show, failed)

    def action_keep(self) -> None:
        self._write(lambda path: f"kept as {path}")

    def action_send(self) -> None:
        self._write(_printed)

    def _write(self, then: Callable[[Path], str]) -> None:
        paper, number, app = self.paper, self.number, app_of(self)
        app.look("paper", lambda shop: then(_kept(shop, number, paper)), app.say)

    def action_close(self) -> None:
        self.dismiss()


def _made(shop: "Shop", number: int, paper: str) -> tuple[str, Callable[[], bytes]]:
    """The paper as text, and what makes its PDF."""
    from shopdesk.paper import certificate, tags
    from shopdesk.views import certificates, sheets

    with shop.read() as db:
        if paper == "certificate":
            facts = certificates.certificate(db, number, shop.clock())
            return certificate.text(facts), lambda: certificate.pdf(facts)
        view = sheets.load(db, number, shop.clock())
    if paper == "state":
        return tags.pressure_text(view), lambda: tags.pressure_tag(view)
    return tags.unit_text(view.heading), lambda: tags.unit_tag(view.heading)


def _kept(shop: "Shop", number: int, paper: str) -> Path:
    """Writes the PDF into the papers folder. Raises BadInput where it cannot be written."""
    from shopdesk import settings

    folder = settings.data_dir() / "papers"
    path = folder / f"J-{number}-{paper}.pdf"
    document = _made(shop, number, paper)[1]()
    try:
        folder.mkdir(parents=True, exist_ok=True)
        path.write_bytes(document)
    except OSError as fault:
        raise BadInput(f"{path} could not be written ({fault.strerror}); nothing is lost") from None
    return path


def _printed(path: Path) -> str:
    """Sends the file to the printer; what went wrong is said, and the file stays."""
    command = shutil.which(PRINT_COMMAND)
    if command is None:
        raise BadInput(f"there is no {PRINT_COMMAND} command here; the paper is kept as {path}")
    try:
        done = subprocess.run(
            [command, str(path)],
            capture_output=True,
            text=True,
            timeout=PRINT_PATIENCE_S,
            check=False,
        )
    except (OSError, subprocess.TimeoutExpired):
        raise BadInput(f"the printer does not answer; the paper is kept as {path}") from None
    if done.returncode:
        why = " ".join(done.stderr.split())[:200] or "no reason given"
        raise BadInput(f"the printer refused it: {why}; the paper is kept as {path}")
    return f"sent to the printer: {path.name}"
