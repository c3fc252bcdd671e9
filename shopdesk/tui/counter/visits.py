"""A unit's earlier visits in a few lines: what was measured, fitted and shipped."""

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING

from shopdesk.procedure import Survey, types
from shopdesk.rules.generated import Issue
from shopdesk.tui.columns import day, local_day

if TYPE_CHECKING:
    from shopdesk.rules.sheet import LineState
    from shopdesk.rules.shop import ShopRules
    from shopdesk.views.board import JobRow
    from shopdesk.views.sheets import SheetView

MOST = 8
AS_SHIPPED = ("charge", "hold", "release")


def visit_line(job: "JobRow", today: date, rules: "ShopRules") -> str:
    """One visit: its job, when, for whom, how it ended, until when it is under warranty."""
    opened = local_day(job.opened_at, today)
    if job.closed_at is None:
        return f"J-{job.number}  here since {opened}  {job.model}  {job.customer}: {job.stage}"
    left, road, again = local_day(job.closed_at, today), f", {job.road}", ""
    if job.road == "repair":
        until, road = rules.warranty_until(job.closed_at).astimezone().date(), ""
        again = f", under warranty until {day(until, today)}" if until >= today else ""
    return f"J-{job.number}  {opened} to {left}{again}  {job.model}  {job.customer}{road}"


def as_it_left(view: "SheetView") -> Sequence[str]:
    """Charge as shipped, parts fitted, bore readings of a visit."""
    sheet = view.sheet
    charge = [
        said
        for name in AS_SHIPPED
        for state in sheet.section(name)
        if isinstance(state.line, types.Reading | types.Charge | types.Leak | types.Repeat)
        and (said := read_of(state))
    ]
    fitted = [
        f"{state.line.part} {_answers(state)}"
        for state in sheet.section("parts")
        if isinstance(state.line, Issue) and state.given
    ]
    bores = [
        said for state in sheet.lines if isinstance(state.line, Survey) and (said := read_of(state))
    ]
    lines = [*charge[-3:], *bores[:2]]
    if fitted:
        lines.append("fitted: " + "; ".join(fitted))
    return [f"J-{view.heading.number}  {line}" for line in lines[:MOST]]


def read_of(state: "LineState") -> str:
    """The line's words and what was read on it."""
    said = _answers(state)
    return f"{state.line.text}: {said}" if said else ""


def _answers(state: "LineState") -> str:
    return ", ".join(answer.answer for name, answer in state.given.items() if name != "disposition")
