"""Drawings: what a sheet's line has to show as curves, and the screen that shows it."""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from shopdesk.desk.calculator.curves import Drawing
    from shopdesk.rules.sheet import LineState
    from shopdesk.views.sheets import SheetView


def drawing_for(view: "SheetView", state: "LineState") -> "Drawing | None":
    """The drawing of a sheet's line: charge, leak or bore; None where there is nothing to draw.

    Raises ShopError where the readings lie outside what can be computed.
    """
    from shopdesk.procedure import Charge, Leak, Regulator, Survey
    from shopdesk.tui.drawings import lines

    match state.line:
        case Regulator() | Charge():
            return lines.charge(view.sheet, state)
        case Leak():
            return lines.leak_down(view.sheet, state.line)
        case Survey():
            return lines.bore(state.line, state.given)
    return None
