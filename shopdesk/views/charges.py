"""Charges of the past: what the rig took, what a unit left with, what the bottle still gives."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, bindparam, select
from sqlalchemy.orm import aliased

from shopdesk.records.tables import Bottle, ChargeResult, Instrument, Job, Shipment, UnitModel

NEWEST = 50


@dataclass(frozen=True, slots=True)
class BottleState:
    code: str
    gas: str
    volume_m3: float
    pressure_pa: float


_LEFT = (
    select(Shipment.charge_pa, Shipment.at)
    .join(Job, Job.id == Shipment.job_id)
    .where(Job.unit_id == bindparam("unit_id"), Shipment.at < bindparam("before"))
    .order_by(Shipment.id.desc())
    .limit(1)
)


def losses(db: Connection, model: str, rig: str) -> Sequence[float]:
    """Pascal lost between regulator and reading in the newest charges of this model and rig; a
    fill read again or corrected counts once, as it was read last."""
    later = aliased(ChargeResult)
    corrected = (
        select(later.id)
        .where(
            later.job_id == ChargeResult.job_id,
            later.fill_entry == ChargeResult.fill_entry,
            later.id > ChargeResult.id,
        )
        .exists()
    )
    rows = db.execute(
        select(ChargeResult.loss_pa)
        .join(UnitModel, UnitModel.id == ChargeResult.unit_model_id)
        .join(Instrument, Instrument.id == ChargeResult.rig_id)
        .where(UnitModel.code == model, Instrument.code == rig, ~corrected)
        .order_by(ChargeResult.id.desc())
        .limit(NEWEST)
    )
    return tuple(rows.scalars())


def left_with(db: Connection, unit_id: int, before: datetime) -> tuple[float, datetime] | None:
    """Gauge pascal at reference, and when, as the unit last left charged; None if it did not."""
    row = db.execute(_LEFT, {"unit_id": unit_id, "before": before}).one_or_none()
    return None if row is None or row.charge_pa is None else (row.charge_pa, row.at)


def bottle(db: Connection, code: str) -> BottleState | None:
    row = db.execute(
        select(Bottle.code, Bottle.gas, Bottle.volume_m3, Bottle.pressure_pa).where(
            Bottle.code == code
        )
    ).one_or_none()
    return None if row is None else BottleState(**row._mapping)
