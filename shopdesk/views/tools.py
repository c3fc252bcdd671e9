"""Which of the shop's instruments may be taken for a line: of the kind, in date, in range."""

from datetime import datetime

from sqlalchemy import Connection

from shopdesk import quantities
from shopdesk.calc import torque
from shopdesk.views.instruments import Kept, bottles, kept

TORQUE_KIND = "torque wrench"
_MOST = 6


def in_date(db: Connection, kind: str, now: datetime) -> str:
    """Those of a kind that are in date, with their ranges, for one line: "W-03 50 to 300 in-lb".
    "" where the shop has none, or for what it does not keep as instruments."""
    if kind == "bottle":
        said = [code for code, gas, empty in bottles(db) if gas == "nitrogen" and not empty]
    else:
        fit = (k for k in kept(db, now) if k.kind == kind and not k.refused)
        said = [_said(k) for k in fit if k.due is None or k.due >= now]
    more = f" and {len(said) - _MOST} more" if len(said) > _MOST else ""
    return ", ".join(sorted(said)[:_MOST]) + more


def for_torque(db: Connection, setting_nm: float, now: datetime) -> torque.ToolChoice:
    """The wrench to take for a setting (N·m) among the shop's, and why not each other."""
    tools = [
        torque.Tool(k.code, k.low_si or 0.0, k.high_si, k.due.date() if k.due else None)
        for k in kept(db, now)
        if k.kind == TORQUE_KIND and not k.refused and k.high_si is not None
    ]
    return torque.choose_tool(setting_nm, tools, now.date())


def _said(one: Kept) -> str:
    if one.low_si is None or one.high_si is None:
        return one.code
    figures = (quantities.from_si(si, one.unit) for si in (one.low_si, one.high_si))
    low, high = (f"{figure:.6g}" for figure in figures)
    return f"{one.code} {low} to {high} {one.unit}"
