"""The charge that a unit lost in service, with the gauges it was read by."""

from datetime import datetime

from sqlalchemy import Connection, select

from shopdesk.records.tables import Entry, Instrument, Job, Shipment
from shopdesk.rules import service
from shopdesk.rules.service import Served
from shopdesk.rules.sheet import Sheet


def served(db: Connection, sheet: Sheet) -> Served | None:
    """What was lost since the unit last left charged; None where nothing can be told."""
    left, came = sheet.facts.left_with, service.arrival(sheet)
    if left is None or came is None:
        return None
    shipped_gauge = _gauge(db, sheet.facts.id, left.at)
    return service.served(sheet, _gauges(db, shipped_gauge, came[0].instrument), shipped_gauge)


def _gauge(db: Connection, job_id: int, left_at: datetime) -> str:
    """The gauge that read the charge with which the unit of this job left then."""
    unit_id = select(Job.unit_id).where(Job.id == job_id).scalar_subquery()
    found = db.execute(
        select(Instrument.code)
        .join(Entry, Entry.instrument_id == Instrument.id)
        .join(Job, Job.id == Entry.job_id)
        .join(Shipment, Shipment.job_id == Job.id)
        .where(
            Job.unit_id == unit_id,
            Shipment.at == left_at,
            Entry.slot == "value",
            Entry.line.like("charge.%") | Entry.line.like("hold.%"),
        )
        .order_by(Entry.id.desc())
        .limit(1)
    ).scalar()
    return found or ""


def _gauges(db: Connection, *codes: str) -> dict[str, float]:
    rows = db.execute(
        select(Instrument.code, Instrument.resolution_si).where(Instrument.code.in_(codes))
    )
    return {row.code: row.resolution_si or 0.0 for row in rows}
