"""Instruments at the bench: in date, of the right kind, inside their range; rigs and bottles."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Row, Select, bindparam, func, select

from shopdesk import quantities
from shopdesk.errors import NotFound, Refused
from shopdesk.procedure import Prepare
from shopdesk.records.tables import Bottle, Calibration, Entry, Instrument
from shopdesk.rules.sheet import Sheet

GAS = "nitrogen"
PRESSURE_PARTS = ("rig", "hose", "regulator")


class NeedsInstrument(Refused):
    """A reading came before its instrument was scanned; ``kind`` is what it takes."""

    def __init__(self, message: str, kind: str) -> None:
        super().__init__(message)
        self.kind = kind


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


def find(db: Connection, code: str) -> Tool | None:
    """The instrument with this code, None if there is none."""
    row = db.execute(_BY_CODE, {"code": code.strip().upper()}).one_or_none()
    return None if row is None else _tool(row)


def fit_for_use(db: Connection, code: str, kind: str, now: datetime) -> Tool:
    """The scanned instrument, of the right kind and in date. Raises NotFound, Refused."""
    tool = find(db, code)
    if tool is None:
        raise NotFound(f"read {code[:30]!r}: no instrument of this shop; expected a {kind}")
    if tool.kind != kind:
        raise Refused(f"expected a {kind}, scanned {tool.code}, a {tool.kind}")
    _in_date(db, tool, now)
    return tool


def for_reading(
    db: Connection,
    job_id: int,
    kind: str,
    in_hand: Mapping[str, str],
    value_si: float,
    unit: str,
    now: datetime,
) -> Tool:
    """The instrument a reading was taken with: the one in hand, else the last of its
    kind on this job whose range covers the value. Raises Refused."""
    code = in_hand.get(kind)
    tool = fit_for_use(db, code, kind, now) if code else _last_used(db, job_id, kind, value_si)
    if tool is None:
        raise NeedsInstrument(
            f"scan the {kind} first: readings carry their instrument. "
            f"In range and in date: {_choices(db, kind, value_si, now)}",
            kind,
        )
    _in_date(db, tool, now)
    if not _covers(tool, value_si):
        low = quantities.text(tool.low_si or 0.0, tool.unit or unit)
        high = quantities.text(tool.high_si or 0.0, tool.unit or unit)
        raise NeedsInstrument(
            f"{tool.code} reads {low} to {high}; {quantities.text(value_si, unit)} is outside. "
            f"In range and in date: {_choices(db, kind, value_si, now)}",
            kind,
        )
    return tool


def attached_ratings(db: Connection, sheet: Sheet) -> dict[str, float | None]:
    """Ratings of the rig, hose and regulator scanned in the charge section, by their codes.

    Raises Refused when no rig or no nitrogen bottle has been scanned for this charge.
    """
    scans = [
        (state.line.instrument, state.given["instrument"].answer)
        for state in sheet.section("charge")
        if isinstance(state.line, Prepare) and "instrument" in state.given
    ]
    for needed in ("bottle", "rig"):
        if needed not in dict(scans):
            raise Refused(f"no {needed} has been scanned for this charge; its line comes first")
    return {f"{kind} {code}": rating_pa(db, code) for kind, code in scans if kind in PRESSURE_PARTS}


def rating_pa(db: Connection, code: str) -> float | None:
    """What the instrument may stand, gauge; None where its rating is not on record."""
    return db.execute(select(Instrument.rating_pa).where(Instrument.code == code)).scalar()


def charge_scans(sheet: Sheet) -> dict[str, str]:
    """Codes scanned in the charge section, by kind: bottle, rig, hose, regulator."""
    return {
        state.line.instrument: state.given["instrument"].answer
        for state in sheet.section("charge")
        if isinstance(state.line, Prepare) and "instrument" in state.given
    }


def nitrogen_bottle(db: Connection, code: str) -> str:
    """The code of a nitrogen bottle that is not empty; any other gas is refused."""
    row = db.execute(
        select(Bottle.code, Bottle.gas, Bottle.empty).where(Bottle.code == code.strip().upper())
    ).one_or_none()
    if row is None:
        raise NotFound(f"read {code[:30]!r}: no bottle of this shop; scan the bottle's label")
    if row.gas != GAS:
        raise Refused(
            f"bottle {row.code} holds {row.gas}: only dry nitrogen may be used. "
            "Oxygen or air with oil explodes",
            (),
            "technician: scan a nitrogen bottle",
        )
    if row.empty:
        raise Refused(f"bottle {row.code} is marked empty; take another")
    return str(row.code)


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
    )


_BY_CODE = _query().where(Instrument.code == bindparam("code"))


def _tool(row: Row[*tuple[Any, ...]]) -> Tool:
    return Tool(**row._mapping)


def _in_date(db: Connection, tool: Tool, now: datetime) -> None:
    if tool.refused:
        raise Refused(f"{tool.code} is not to be used: {tool.refused}", (), "manager")
    if tool.due is not None and tool.due < now:
        raise Refused(
            f"{tool.code}: its calibration ran out on {tool.due:%Y-%m-%d}; "
            f"take another {tool.kind}",
            (),
            "manager",
        )
    used = 0 if tool.interval_cycles is None else cycles_since_check(db, tool.id)
    if tool.interval_cycles is not None and used >= tool.interval_cycles:
        raise Refused(
            f"{tool.code}: {used} readings since its last check, {tool.interval_cycles} are "
            f"allowed; take another {tool.kind}",
            (),
            "manager",
        )


def cycles_since_check(db: Connection, instrument_id: int) -> int:
    """Readings taken with the instrument since it last passed."""
    last = select(func.max(Calibration.at)).where(
        Calibration.instrument_id == instrument_id, Calibration.passed
    )
    since = db.execute(last).scalar()
    taken = select(func.count(Entry.id)).where(
        Entry.instrument_id == instrument_id, Entry.value_si.is_not(None)
    )
    return int(db.execute(taken if since is None else taken.where(Entry.at > since)).scalar_one())


def _covers(tool: Tool, value_si: float) -> bool:
    if tool.low_si is None or tool.high_si is None:
        return True
    slack = 1e-9 * max(abs(tool.low_si), abs(tool.high_si))
    return tool.low_si - slack <= value_si <= tool.high_si + slack


def _last_used(db: Connection, job_id: int, kind: str, value_si: float) -> Tool | None:
    rows = db.execute(
        _query()
        .join(Entry, Entry.instrument_id == Instrument.id)
        .where(Entry.job_id == job_id, Instrument.kind == kind)
        .order_by(Entry.id.desc())
        .limit(20)
    )
    tools = [_tool(row) for row in rows]
    covering = [tool for tool in tools if _covers(tool, value_si)]
    return next(iter(covering or tools), None)


def _choices(db: Connection, kind: str, value_si: float, now: datetime) -> str:
    rows = db.execute(_query().where(Instrument.kind == kind).order_by(Instrument.code))
    good = [
        tool.code
        for tool in map(_tool, rows)
        if _covers(tool, value_si) and not tool.refused and (tool.due is None or tool.due >= now)
    ]
    return ", ".join(good) or f"no {kind} of this shop"
