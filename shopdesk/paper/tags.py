"""The tags that go with a unit: which job it is, and what pressure it may hold.

Each takes the upper half of an A4 or Letter sheet, to be cut at the line; ``both`` puts the two on
one sheet. The code is Code 128 and carries the job's tag.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from shopdesk.paper import barcode
from shopdesk.paper.blocks import Table, Words, as_text
from shopdesk.rules.answers import GasState
from shopdesk.views.figures import last_charge, vented
from shopdesk.views.sheets import Heading, SheetView, tag

if TYPE_CHECKING:
    from shopdesk.paper.press import Press

_MODULE, _TALL = 1.4, 22.0
_INSET, _CUT_MM = 6.0, 5.0
_MORE = "..."
_COMPLAINT_LINES = 2


@dataclass(frozen=True, slots=True)
class Pressure:
    """What a pressure-state tag says: its words from the largest down. ``danger``: treat as
    charged."""

    tag: str
    state: str
    order: str
    lines: tuple[str, ...]
    danger: bool


def pressure(view: SheetView) -> Pressure:
    """The unit's gas state as the record has it; unknown counts as charged."""
    heading, sheet = view.heading, view.sheet
    name = tag(heading.number)
    unit = f"{heading.model}, serial {heading.serial}"
    match sheet.facts.gas_state:
        case GasState.NONE:
            told = "This model takes no gas charge. Its oil side may hold pressure."
            return Pressure(name, "NO GAS", "HOLDS NO GAS CHARGE", (told, unit), danger=False)
        case GasState.VENTED:
            return Pressure(name, "VENTED", "GAS SIDE LET DOWN", (*_vent(view), unit), danger=False)
        case GasState.CHARGED:
            lines = (*_charge(view), "Do not open, heat or drop.", unit)
            return Pressure(name, "CHARGED", "GAS UNDER PRESSURE", lines, danger=True)
    told = "Nothing is proved yet. Do not open, heat or drop before it is vented."
    return Pressure(name, "PRESSURE UNKNOWN", "TREAT AS CHARGED", (told, unit), danger=True)


def _vent(view: SheetView) -> tuple[str, ...]:
    found = vented(view.sheet)
    if found is None:
        return ()
    when = f"{found.at.astimezone():%Y-%m-%d %H:%M}"
    return (f"vented by {found.by}, witnessed by {found.witness}, at {when}",)


def _charge(view: SheetView) -> tuple[str, ...]:
    found = last_charge(view.sheet)
    if found is None:
        return ()
    said, at, _ = found
    return (f"last read {said}, {at.astimezone():%Y-%m-%d %H:%M}",)


# Text -------------------------------------------------------------------------------------------


def unit_text(heading: Heading) -> str:
    """The unit tag for a terminal of 80 columns."""
    rows = _rows(heading)
    return as_text([Words("", (tag(heading.number),)), Table(("", ""), (12, 66), rows)])


def pressure_text(view: SheetView) -> str:
    """The pressure-state tag for a terminal of 80 columns."""
    found = pressure(view)
    return as_text([Words("", (f"{found.tag}  {_said(found)}", *found.lines))])


def _said(found: Pressure) -> str:
    return f"{found.state} - {found.order}"


def _rows(heading: Heading) -> tuple[tuple[str, str], ...]:
    kind = () if heading.kind == "customer" else (("Kind", heading.kind.upper()),)
    return (
        ("Unit", f"{heading.model}, {heading.model_name}"),
        ("Serial", heading.serial),
        ("Customer", f"{heading.customer} ({heading.customer_code})"),
        ("Promised", heading.promised_on.isoformat()),
        *kind,
        ("Complaint", heading.complaint),
    )


# Paper ------------------------------------------------------------------------------------------


def unit_tag(heading: Heading, *, letter: bool = False) -> bytes:
    """The unit tag: job number, code, model, serial, customer, promised date."""
    return _sheet(tag(heading.number), letter, [lambda press, y: _unit(press, y, heading)])


def pressure_tag(view: SheetView, *, letter: bool = False) -> bytes:
    """The pressure-state tag."""
    found = pressure(view)
    return _sheet(found.tag, letter, [lambda press, y: _pressure(press, y, found)])


def both(view: SheetView, *, letter: bool = False) -> bytes:
    """Unit tag and pressure-state tag on one sheet."""
    found = pressure(view)
    return _sheet(
        found.tag,
        letter,
        [
            lambda press, y: _unit(press, y, view.heading),
            lambda press, y: _pressure(press, y, found),
        ],
    )


def _sheet(name: str, letter: bool, drawn: list[Callable[["Press", float], None]]) -> bytes:
    from shopdesk.paper.press import LACKING, MARGIN_MM, Press

    press = Press(letter=letter, title=f"Tags of {name}")
    press.pdf.add_page()
    half = float(press.pdf.h) / 2
    for n, draw in enumerate(drawn):
        draw(press, n * half)
    press.pdf.set_line_width(0.2)
    press.pdf.set_dash_pattern(dash=2, gap=2)
    press.pdf.line(_CUT_MM, half, float(press.pdf.w) - _CUT_MM, half)
    if press.lacking:
        press.size(6.5)
        press.put(MARGIN_MM, half - press.line_mm - 0.5, LACKING)
    return press.output()


def _frame(press: "Press", y: float) -> tuple[float, float, float, float]:
    """A frame in the half page that begins at ``y``; gives back the room inside: x, y, width,
    height."""
    from shopdesk.paper.press import MARGIN_MM

    height = float(press.pdf.h) / 2 - 2 * MARGIN_MM + 2
    press.pdf.set_line_width(0.8)
    press.pdf.rect(MARGIN_MM, y + MARGIN_MM - 1, press.wide, height)
    return MARGIN_MM + _INSET, y + MARGIN_MM + 2, press.wide - 2 * _INSET, height - 5


def _unit(press: "Press", y: float, heading: Heading) -> None:
    x, top, width, height = _frame(press, y)
    name = tag(heading.number)
    modules = sum(barcode.widths(name))
    module = min(_MODULE, width / (modules + 2 * barcode.QUIET_MODULES))
    end = press.fitted(x + 3, top - 6, (width, 52), name, 120) + 1
    press.code(x + barcode.QUIET_MODULES * module - _INSET, end, name, module=module, height=_TALL)
    at = end + _TALL + 3
    rows = _rows(heading)
    room = (top + height - at) / len(rows)
    for label, said in rows:
        press.size(9)
        press.put(x, at + 1, label)
        large = 18 if label in ("Serial", "Promised") else 15
        text = _shortened(press, said, width - 26, large) if label == "Complaint" else said
        at = max(press.fitted(x + 26, at, (width - 26, room), text, large), at + 4)


def _shortened(press: "Press", text: str, width: float, points: float) -> str:
    """The beginning of a long text, marked as such: the whole stands on the job sheet."""
    press.size(points * 0.7, bold=True)
    lines = press.lines(text, width)
    if len(lines) <= _COMPLAINT_LINES:
        return text
    return " ".join(lines[:_COMPLAINT_LINES]) + _MORE


def _pressure(press: "Press", y: float, found: Pressure) -> None:
    x, top, width, height = _frame(press, y)
    rooms = ((width, 38.0), (width, 22.0))
    band = press.fit(rooms[0], found.state, 100) + press.fit(rooms[1], found.order, 40)
    if found.danger:
        press.pdf.rect(x - _INSET, top - 3, press.wide, band + 6, style="F")
        press.pdf.set_text_color(255)
    end = press.fitted(x, top - 1, rooms[0], found.state, 100)
    at = press.fitted(x, end, rooms[1], found.order, 40) + 5
    press.pdf.set_text_color(0)
    for line in found.lines:
        at = press.fitted(x, at, (width, 14), line, 17) + 1
    press.size(40, bold=True)
    foot = top + height
    press.put(x - 0.5, foot - press.line_mm + 2, found.tag)
    module, tall = 0.7, 18.0
    wide = sum(barcode.widths(found.tag)) * module
    right = x + width + _INSET - barcode.QUIET_MODULES * module
    press.code(right - wide, foot - tall, found.tag, module=module, height=tall)
