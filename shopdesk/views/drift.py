"""How the readings of one serial move from visit to visit."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, func, select
from sqlalchemy.orm import aliased

from shopdesk.errors import NotFound
from shopdesk.procedure import Line, Reading, Repeat, Survey
from shopdesk.records.tables import Entry, Job, Unit, UnitModel
from shopdesk.rules import serials
from shopdesk.rules.slots import slots
from shopdesk.views import documents, moves

LEAST_VISITS = 3
YEAR_S = 365.25 * 86400.0


@dataclass(frozen=True, slots=True)
class Drift:
    """One reading of one serial over its visits, in SI; ``per_year`` by least squares. ``change``
    from the first visit to the last, as a share of what its limit leaves open between its two
    ends, else of the mean reading."""

    serial: str
    model: str
    line: str
    unit: str
    readings: tuple[tuple[datetime, float], ...]
    per_year: float
    change: float


def drifts(db: Connection, newest: int = 400) -> tuple[Drift, ...]:
    """Teardown readings of the units among the newest jobs that came at least three times, those
    that moved most for their size first."""
    lately = select(Job.unit_id).order_by(Job.number.desc()).limit(newest).subquery()
    often = db.execute(
        select(Job.unit_id)
        .where(Job.unit_id.in_(select(lately.c.unit_id)))
        .group_by(Job.unit_id)
        .having(func.count() >= LEAST_VISITS)
    ).scalars()
    return drifts_of(db, often.all())


def of_serial(db: Connection, serial: str) -> tuple[Drift, ...]:
    """Those of one serial, however long ago it came. Raises NotFound."""
    units = select(Unit.id).where(Unit.serial_key == serials.key(serial))
    found = db.execute(units).scalars().all()
    if not found:
        raise NotFound(f"no unit has the serial {serial[:40]!r}")
    return drifts_of(db, found)


def drifts_of(db: Connection, unit_ids: Sequence[int]) -> tuple[Drift, ...]:
    """A reading that was corrected gives way to its correction; one typed in another unit is the
    same reading."""
    correction = aliased(Entry)
    rows = db.execute(
        select(
            Unit.serial,
            UnitModel.code,
            Job.procedure_revision_id,
            Entry.line,
            Entry.unit,
            Entry.slot,
            Entry.value_si,
            Entry.at,
            Job.id.label("job_id"),
        )
        .join(Job, Job.id == Entry.job_id)
        .join(Unit, Unit.id == Job.unit_id)
        .join(UnitModel, UnitModel.id == Unit.unit_model_id)
        .outerjoin(correction, correction.supersedes == Entry.id)
        .where(
            Job.unit_id.in_(unit_ids),
            Entry.line.like("teardown.%"),
            Entry.value_si.is_not(None),
            correction.id.is_(None),
        )
        .order_by(Entry.id)
    ).all()
    visits: dict[tuple[str, str, _Asked], dict[int, tuple[datetime, float]]] = {}
    for row in rows:
        doc = documents.revision(db, row.procedure_revision_id)
        line = moves.line_of(db, row.job_id, doc, row.line)
        key = (row.serial, row.code, _asked(line, row.line, row.slot, row.unit))
        visits.setdefault(key, {}).setdefault(row.job_id, (row.at, row.value_si))
    made = [_drift(*key, tuple(each.values())) for key, each in visits.items()]
    kept = [drift for drift in made if drift is not None]
    return tuple(sorted(kept, key=lambda d: (-abs(d.change), d.serial, d.line)))


@dataclass(frozen=True, slots=True)
class _Asked:
    """What a reading is of, in the procedure's words ("Bore, at 20 mm, 0 deg") and unit; ``room``
    in SI, what its limit leaves open, None where that has not two ends."""

    said: str
    unit: str
    room: float | None


def _asked(line: Line | None, key: str, slot: str, typed: str) -> _Asked:
    asked = next((one for one in slots(line, {}) if one.name == slot), None) if line else None
    if line is None or asked is None:
        return _Asked(f"{line.text}, {slot}" if line else key, typed, None)
    said = line.text if slot == "value" else f"{line.text}, {asked.prompt}"
    room = None if slot == "temperature" else _room(line)
    return _Asked(said, asked.unit or typed, room)


def _room(line: Line) -> float | None:
    limit = line.limit if isinstance(line, Reading | Survey | Repeat) else None
    if limit is None or limit.low is None or limit.high is None:
        return None
    return (limit.high.value_si - limit.low.value_si) or None


def _drift(
    serial: str, model: str, of: _Asked, readings: tuple[tuple[datetime, float], ...]
) -> Drift | None:
    if len(readings) < LEAST_VISITS:
        return None
    years = [at.timestamp() / YEAR_S for at, _ in readings]
    values = [value for _, value in readings]
    mean_t, mean_v = sum(years) / len(years), sum(values) / len(values)
    spread = sum((t - mean_t) ** 2 for t in years)
    whole = of.room or abs(mean_v)
    if spread <= 0.0 or whole == 0.0:
        return None
    slope = sum((t - mean_t) * (v - mean_v) for t, v in zip(years, values, strict=True)) / spread
    change = slope * (years[-1] - years[0]) / whole
    return Drift(serial, model, of.said, of.unit, readings, slope, change)
