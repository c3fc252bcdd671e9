"""What lies at hand in the sample's shop: instruments in date and range, bottles with gas."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, func, select

from shopdesk.records.tables import Bottle, Calibration, Instrument

NITROGEN = "nitrogen"
OVER_SETTING_PA = 8e5  # what a bottle must hold above the setting to be worth opening


@dataclass(frozen=True, slots=True)
class Tool:
    code: str
    kind: str
    low_si: float | None
    high_si: float | None
    rating_pa: float | None
    dead_volume_m3: float | None
    due: datetime | None

    def covers(self, value_si: float) -> bool:
        return (
            self.low_si is None or self.high_si is None or self.low_si <= value_si <= self.high_si
        )


def tools(db: Connection) -> Sequence[Tool]:
    """Every instrument that may be used, the finest range first."""
    due = (
        select(func.max(Calibration.due))
        .where(Calibration.instrument_id == Instrument.id, Calibration.passed)
        .correlate(Instrument)
        .scalar_subquery()
    )
    rows = db.execute(
        select(
            Instrument.code,
            Instrument.kind,
            Instrument.low_si,
            Instrument.high_si,
            Instrument.rating_pa,
            Instrument.dead_volume_m3,
            due.label("due"),
        )
        .where(Instrument.refused.is_(None))
        .order_by(Instrument.high_si, Instrument.code)
    )
    return tuple(Tool(**row._mapping) for row in rows)


def covering(found: Sequence[Tool], kind: str, value_si: float, now: datetime) -> str:
    """The finest instrument of the kind that is in date and reads the value; "" if none is."""
    for tool in found:
        if tool.kind == kind and tool.covers(value_si) and (tool.due is None or tool.due >= now):
            return tool.code
    return ""


def rated(found: Sequence[Tool], kind: str, pressure_pa: float, now: datetime) -> str:
    """Rig, hose or regulator that takes the pressure: of those the one with the lowest rating."""
    fit = [
        tool
        for tool in found
        if tool.kind == kind
        and (tool.rating_pa or 0.0) >= pressure_pa
        and (tool.due is None or tool.due >= now)
    ]
    fit.sort(key=lambda tool: (tool.rating_pa or 0.0, tool.dead_volume_m3 or 0.0, tool.code))
    return fit[0].code if fit else ""


def bottle(db: Connection, pressure_pa: float) -> str:
    """The nitrogen bottle to use up first: the lowest that can still give the pressure."""
    row = db.execute(
        select(Bottle.code)
        .where(
            Bottle.gas == NITROGEN,
            Bottle.empty.is_(False),
            Bottle.pressure_pa >= pressure_pa + OVER_SETTING_PA,
        )
        .order_by(Bottle.pressure_pa, Bottle.code)
        .limit(1)
    ).scalar()
    return row or ""
