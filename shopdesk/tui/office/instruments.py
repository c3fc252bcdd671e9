"""Instruments and bottles: what is due first, their calibrations, what a failed one touched."""

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, ClassVar

from rich.text import Text
from textual.binding import Binding

from shopdesk.errors import BadInput
from shopdesk.tui.columns import Column, laid, local_day
from shopdesk.tui.dates import read_date
from shopdesk.tui.filling import Choice, Field
from shopdesk.tui.forms import FormScreen
from shopdesk.tui.lines import Row
from shopdesk.tui.office import new_tools
from shopdesk.tui.places import ListScreen

if TYPE_CHECKING:
    from shopdesk.desk.shop import Shop
    from shopdesk.views.instruments import Kept


@dataclass(frozen=True, slots=True)
class Seen:
    instruments: "Sequence[Kept]"
    bottles: Sequence[tuple[str, str, bool]]
    now: datetime


class InstrumentsScreen(ListScreen):
    HEADING = "Office: instruments, the first due first"
    HELP = (
        "Every instrument by the day its calibration runs out. C records a calibration, passed or "
        "failed, with the error as found; a failed one is refused at every terminal at once, and "
        "Enter shows every joint and reading it puts in doubt. A adds an instrument, R retires "
        "one, N adds a nitrogen bottle, B marks one empty."
    )
    LETTERS = "acrbn"
    FINDS = "code, kind or words of the instrument"
    OWN_KEYS = (
        "Enter what it touched   C Calibration   A Add   R Retire"
        "\n B Bottle empty   N New bottle   F7 Find   Esc back"
    )
    COLUMNS: ClassVar[tuple[Column, ...]] = (
        Column("code", 7),
        Column("kind", 14),
        Column("range", 19, share=1),
        Column("state", 8),
        Column("due", 10),
        Column("what it is", 15, share=3),
    )
    BINDINGS = [
        Binding("escape", "close", "Back", id="instruments.back", tooltip="Back"),
        Binding(
            "c,C",
            "calibrate",
            "Calibration",
            id="instruments.calibrate",
            tooltip="Passed or failed",
        ),
        Binding("a,A", "add", "Add", id="instruments.add", tooltip="A new instrument"),
        Binding("r,R", "retire", "Retire", id="instruments.retire", tooltip="Out of use for good"),
        Binding("n,N", "new_bottle", "New bottle", id="instruments.new", tooltip="A full bottle"),
        Binding("b,B", "bottle", "Bottle", id="instruments.bottle", tooltip="A bottle is empty"),
    ]

    def ask(self, shop: "Shop", text: str) -> Seen:
        from shopdesk.views import instruments

        key = text.strip().casefold()
        with shop.read() as db:
            now = shop.clock()
            return Seen(
                tuple(
                    one
                    for one in instruments.kept(db, now)
                    if key in f"{one.code} {one.kind} {one.description}".casefold()
                ),
                tuple(b for b in instruments.bottles(db) if key in f"{b[0]} bottle".casefold()),
                now.replace(second=0, microsecond=0),
            )

    def rows(self) -> Sequence[Row]:
        rows = [self._row(one) for one in self.answer.instruments]
        if self.answer.bottles:
            rows.append(Row(Text(" Bottles", style="bold")))
        for code, gas, empty in self.answer.bottles:
            rows.append(Row(Text(f"   {code:10} {gas:12} {'EMPTY' if empty else 'in use'}"), code))
        return rows

    def _row(self, one: "Kept") -> Row:
        now = self.answer.now
        today = now.astimezone().date()
        due = "-" if one.due is None else local_day(one.due, today)
        state = _state(one, now)
        cells = (one.code, one.kind, _range(one), state, due, one.description)
        return Row(laid(self.COLUMNS, self.width, cells, [3] if state.isupper() else []), one.code)

    def about(self, key: Hashable | None) -> Sequence[str]:
        one = self._kept(key)
        if one is None:
            return ()
        resolution = "" if one.resolution_si is None else f"; {_resolution(one)}"
        every = [f"{one.interval_days} days"] if one.interval_days else []
        every += [f"{one.interval_cycles} readings"] if one.interval_cycles else []
        interval = f"; checked every {' or '.join(every)}" if every else ""
        first = f"{one.code}, certificate {one.certificate or 'not known'}{resolution}{interval}"
        return (first, f"REFUSED: {one.refused}" if one.refused else "usable until it is due")

    def _kept(self, key: Hashable | None) -> "Kept | None":
        return next((one for one in self.answer.instruments if one.code == key), None)

    def chosen(self, key: Hashable) -> None:
        from shopdesk.tui.office.recall import SuspectScreen
        from shopdesk.tui.office.report import ReportScreen

        one = self._kept(key)
        if one is None or not self.is_current:
            return
        failed = one.refused.startswith("failed")
        screen = SuspectScreen(one.code) if failed else ReportScreen(f"recall:tool:{one.code}")
        self.app.push_screen(screen)

    def _under(self) -> "Kept | None":
        one = self._kept(self.lines.cursor_key) if self.answer is not None else None
        if one is None:
            self.shop_app.say("no instrument is under the cursor")
        return one

    def action_calibrate(self) -> None:
        one = self._under()
        if one is None:
            return
        app, today, code = self.shop_app, self.answer.now.astimezone().date(), one.code

        def deed(shop: "Shop", given: dict[str, str]) -> str:
            from shopdesk.desk import calibrating

            passed = given["found"] == "passed"
            day = read_date(given["on"], today)
            return calibrating.record_calibration(
                shop,
                app.person,
                code,
                passed=passed,
                at=None if day == today else new_tools.moment(day, 12),
                due=new_tools.moment(read_date(given["due"], today), 23) if given["due"] else None,
                error_share=read_error(given["error"]),
                certificate=given["certificate"],
            )

        fields = (
            Field("found", "Found", choices=(Choice("passed"), Choice("failed"))),
            Field("on", "Checked on", value=today.isoformat(), hint="the day on the certificate"),
            Field(
                "error",
                "Error as found",
                hint="9 % where it read high, -9 % where it read low",
                optional=True,
            ),
            Field("certificate", "Certificate", optional=True),
            Field("due", "Due again", hint="where it passed; a date, or +365", optional=True),
        )
        last = "never" if one.checked_at is None else f"{one.checked_at.astimezone():%Y-%m-%d}"
        context = (
            f"{one.code}  {one.description}   last good check: {last}",
            "Failed: it is refused at every terminal, and what it measured since is listed.",
        )
        self.open_form(FormScreen(f"Calibration of {code}", fields, deed, context=context))

    def action_add(self) -> None:
        if not self.is_read():
            return
        today = self.answer.now.astimezone().date()
        self.open_form(new_tools.instrument(self.shop_app, today))

    def action_retire(self) -> None:
        one = self._under()
        if one is None:
            return
        app, code = self.shop_app, one.code

        def deed(shop: "Shop", given: dict[str, str]) -> str:
            from shopdesk.desk import calibrating

            return calibrating.retire(shop, app.person, code, given["why"])

        fields = (Field("why", "Why", hint="worn, lost, broken"),)
        self.open_form(FormScreen(f"Retire {code}", fields, deed, commit="retire it"))

    def action_bottle(self) -> None:
        if not self.is_read():
            return
        app = self.shop_app
        full = tuple(Choice(code, gas) for code, gas, empty in self.answer.bottles if not empty)

        def deed(shop: "Shop", given: dict[str, str]) -> str:
            from shopdesk.desk import calibrating

            return calibrating.bottle_empty(shop, app.person, given["code"])

        fields = (Field("code", "Bottle", choices=full),)
        self.open_form(FormScreen("A bottle is empty", fields, deed, commit="mark it empty"))

    def action_new_bottle(self) -> None:
        self.open_form(new_tools.bottle(self.shop_app))

    def action_close(self) -> None:
        self.app.pop_screen()


def _state(one: "Kept", now: datetime) -> str:
    if one.refused:
        return "retired" if one.refused.startswith("retired") else "REFUSED"
    if one.due is not None and one.due < now:
        return "OVERDUE"
    return "in date" if one.due is not None else "no date"


def _range(one: "Kept") -> str:
    from shopdesk import quantities

    if one.low_si is None or one.high_si is None or not one.unit:
        return "-"
    low = quantities.from_si(one.low_si, one.unit)
    return f"{low:.6g} to {quantities.text(one.high_si, one.unit)}"


def _resolution(one: "Kept") -> str:
    from shopdesk import quantities

    return f"reads {quantities.span_text(one.resolution_si or 0.0, one.unit)}"


def read_error(text: str) -> float | None:
    """ "9 %", "9% high", "9 % low" or "-9" as a share; None for nothing. Raises BadInput."""
    words = text.strip().casefold().replace("%", " ").replace("+", "").replace(",", ".").split()
    if not words:
        return None
    sign = -1.0 if words[1:] == ["low"] else 1.0
    try:
        if len(words) > 2 or words[1:] not in ([], ["high"], ["low"]):
            raise ValueError
        share = sign * float(words[0]) / 100.0
    except ValueError:
        raise BadInput(
            f"Error as found: read {text.strip()[:30]!r}; expected per cent, 9 % for high, "
            "-9 % for low"
        ) from None
    if not -0.95 <= share <= 10:
        raise BadInput(f"Error as found: {text.strip()[:30]} cannot be; -95 % to 1000 %")
    return share
