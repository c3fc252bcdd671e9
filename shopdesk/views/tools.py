"""The shop's instruments as a line may take them: of the kind, in date, in range."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Row, Select, bindparam, func, select

from shopdesk import quantities
from shopdesk.calc import torque
from shopdesk.records.tables import Calibration, Entry, Instrument
from shopdesk.views.instruments import bottles

TORQUE_KIND = "torque wrench"
_MOST = 6


@dataclass(frozen=True, slots=True)
class Tool:
    id: int
    code: str
    kind: str
    unit: str
    low_si: float | None
    high_si: float | None
    due: datetime | None
    refused: str | None
    interval_cycles: int | None = None
    resolution_si: float | None = None


def _query() -> Select[*tuple[Any, ...]]:
    due = (
        select(func.max(Calibration.due))
        .where(Calibration.instrument_id == Instrument.id, Calibration.passed)
        .correlate(Instrument)
        .scalar_subquery()
    )
    return select(
        Instrument.id,
        Instrument.code,
        Instrument.kind,
        Instrument.unit,
        Instrument.low_si,
        Instrument.high_si,
        due.label("due"),
        Instrument.refused,
        Instrument.interval_cycles,
        Instrument.resolution_si,
    )


_BY_CODE = _query().where(Instrument.code == bindparam("code"))


def _tool(row: Row[*tuple[Any, ...]]) -> Tool:
    return Tool(**row._mapping)


def find(db: Connection, code: str) -> Tool | None:
    """The instrument with this code, None if there is none."""
    row = db.execute(_BY_CODE, {"code": code.strip().upper()}).one_or_none()
    return None if row is None else _tool(row)


def unfit(db: Connection, tool: Tool, now: datetime) -> str:
    """Why the instrument is not to be used now, "" where it may be."""
    if tool.refused:
        return f"{tool.code} is not to be used: {tool.refused}"
    if tool.due is not None and tool.due < now:
        return (
            f"{tool.code}: its calibration ran out on {tool.due:%Y-%m-%d}; take another {tool.kind}"
        )
    used = 0 if tool.interval_cycles is None else _cycles_since_check(db, tool.id)
    if tool.interval_cycles is not None and used >= tool.interval_cycles:
        return (
            f"{tool.code}: {used} readings since its last check, {tool.interval_cycles} are "
            f"allowed; take another {tool.kind}"
        )
    return ""


def _cycles_since_check(db: Connection, instrument_id: int) -> int:
    """Readings taken with the instrument since it last passed."""
    last = select(func.max(Calibration.at)).where(
        Calibration.instrument_id == instrument_id, Calibration.passed
    )
    since = db.execute(last).scalar()
    taken = select(func.count(Entry.id)).where(
        Entry.instrument_id == instrument_id, Entry.value_si.is_not(None)
    )
    return int(db.execute(taken if since is None else taken.where(Entry.at > since)).scalar_one())


def usable(db: Connection, kind: str, now: datetime) -> Iterator[Tool]:
    """Those of a kind that may be used now, by code."""
    rows = db.execute(_query().where(Instrument.kind == kind).order_by(Instrument.code))
    return (tool for tool in map(_tool, rows) if not unfit(db, tool, now))


def covers(tool: Tool, value_si: float) -> bool:
    """Whether the value lies in its range; one without a range covers everything."""
    if tool.low_si is None or tool.high_si is None:
        return True
    slack = 1e-9 * max(abs(tool.low_si), abs(tool.high_si))
    return tool.low_si - slack <= value_si <= tool.high_si + slack


def tells(tool: Tool, span_si: float | None) -> bool:
    """Whether its smallest step is no wider than what the limit leaves open; one without a step on
    record, and a line without such a span, are not held against each other."""
    if tool.resolution_si is None or span_si is None:
        return True
    return tool.resolution_si <= span_si * (1 + 1e-9)


def last_used(
    db: Connection, job_id: int, kind: str, value_si: float, span_si: float | None = None
) -> Tool | None:
    """The last of its kind on the job that covers the value and tells it from the limit, else the
    last at all."""
    rows = db.execute(
        _query()
        .join(Entry, Entry.instrument_id == Instrument.id)
        .where(Entry.job_id == job_id, Instrument.kind == kind)
        .order_by(Entry.id.desc())
        .limit(20)
    )
    found = [_tool(row) for row in rows]
    fit = [tool for tool in found if covers(tool, value_si) and tells(tool, span_si)]
    return next(iter(fit or found), None)


def at_hand(db: Connection, kind: str, now: datetime) -> str:
    """Those of a kind that may be used now, for one line: "W-03 50 to 300 in-lb"; "" for none."""
    if kind == "bottle":
        said = [code for code, gas, empty in bottles(db) if gas == "nitrogen" and not empty]
    else:
        said = [_said(tool) for tool in usable(db, kind, now)]
    more = f" and {len(said) - _MOST} more" if len(said) > _MOST else ""
    return ", ".join(said[:_MOST]) + more


def for_torque(db: Connection, setting_nm: float, now: datetime) -> str:
    """The code of the wrench to take for a setting (N·m), "" where none will do."""
    wrenches = [
        torque.Tool(tool.code, tool.low_si or 0.0, tool.high_si)
        for tool in usable(db, TORQUE_KIND, now)
        if tool.high_si is not None
    ]
    choice = torque.choose_tool(setting_nm, wrenches, now.astimezone().date()).tool
    return choice.name if choice is not None else ""


def _said(one: Tool) -> str:
    if one.low_si is None or one.high_si is None:
        return one.code
    figures = (quantities.from_si(si, one.unit) for si in (one.low_si, one.high_si))
    low, high = (f"{figure:.6g}" for figure in figures)
    return f"{one.code} {low} to {high} {one.unit}"
