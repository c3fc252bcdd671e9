"""The recall asked for in a form, shown as a report; the report of a failed instrument."""

from typing import TYPE_CHECKING

from textual.binding import Binding

from shopdesk.tui.filling import Choice, Field
from shopdesk.tui.forms import FormScreen
from shopdesk.tui.frame import app_of
from shopdesk.tui.office.report import ReportScreen

if TYPE_CHECKING:
    from shopdesk.desk.shop import Shop
    from shopdesk.tui.places import ListScreen

KINDS = (
    Choice("lot", "a lot number"),
    Choice("tool", "an instrument's code"),
    Choice("procedure", "model and revision: PA-016 D"),
    Choice("person", "initials"),
    Choice("period", "days units left: 2026-01-01..2026-01-31"),
)


def ask_recall(screen: "ListScreen") -> None:
    """Asks from what; the list opens when it is found. Whoever stands here may ask."""
    asked: list[str] = []

    def look(shop: "Shop", given: dict[str, str]) -> str:
        from shopdesk.desk import reports

        name = f"recall:{given['kind']}:{given['value'].strip()}"
        said = reports.make(shop, name).said[0]
        asked[:] = [name]
        return said

    def found(given: dict[str, str] | None) -> None:
        if given is not None and asked:
            screen.app.push_screen(ReportScreen(asked[0]))

    form = FormScreen(
        "Recall",
        (
            Field("kind", "From a", choices=KINDS, hint="what turned out to be bad"),
            Field("value", "Which", hint="as it stands on bag, tool or sheet"),
        ),
        look,
        context=("Every unit concerned, and whom to call. Nothing is changed by asking.",),
        commit="show the list",
    )
    if screen.is_current:
        screen.app.push_screen(form, found)


class SuspectScreen(ReportScreen):
    """What a failed instrument puts in doubt."""

    HELP = (
        "Every reading taken with the instrument since its last good check, pressure-holding "
        "joints first, with the value it truly had. Enter opens the job's sheet. J opens a recheck "
        "job for every unit that left; P prints the list, X keeps it as CSV."
    )
    BINDINGS = [
        Binding("j,J", "recheck", "Recheck", id="suspect.recheck", tooltip="Open recheck jobs"),
    ]

    def __init__(self, code: str) -> None:
        super().__init__(f"suspect:{code}")
        self.code = code

    def own_keys(self) -> str:
        return "Enter sheet   J Open recheck jobs   P Print   X Export CSV   Esc Back"

    def action_recheck(self) -> None:
        app = app_of(self)

        def deed(shop: "Shop") -> str:
            from shopdesk.desk import calibrating

            return calibrating.open_rechecks(shop, app.person, self.code)

        app.with_person(lambda: app.do(deed, app.say))
