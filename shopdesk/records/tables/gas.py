"""Charges read back, and what the bottles gave for them."""

from datetime import datetime

from sqlalchemy import CheckConstraint, ForeignKey, Index, Text
from sqlalchemy.orm import Mapped, mapped_column

from shopdesk.records.tables.base import Base, UtcTime


class ChargeResult(Base):
    """One charge read back: ``loss_pa`` from the regulator's setting to ``settled_pa``, both
    gauge at reference temperature. The over-set is learned from these. ``fill_entry`` is the
    setting first recorded for the fill: of one fill's results the newest counts."""

    __tablename__ = "charge_result"
    __table_args__ = (Index("ix_charge_result_model_rig", "unit_model_id", "rig_id"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    job_id: Mapped[int] = mapped_column(ForeignKey("job.id"), index=True)
    unit_model_id: Mapped[int] = mapped_column(ForeignKey("unit_model.id"))
    rig_id: Mapped[int] = mapped_column(ForeignKey("instrument.id"))
    bottle_id: Mapped[int] = mapped_column(ForeignKey("bottle.id"))
    loss_pa: Mapped[float]
    settled_pa: Mapped[float]
    at: Mapped[datetime] = mapped_column(UtcTime)
    fill_entry: Mapped[int | None]


class GasMove(Base):
    """Gas into a bottle's balance, out of it where ``kg`` is negative, for one fill. A correction
    adds the difference; ``left_pa`` is the bottle's gauge pressure after it."""

    __tablename__ = "gas_move"
    __table_args__ = (
        CheckConstraint("kg <> 0", name="moves"),
        CheckConstraint("left_pa >= 0", name="left"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    bottle_id: Mapped[int] = mapped_column(ForeignKey("bottle.id"), index=True)
    job_id: Mapped[int] = mapped_column(ForeignKey("job.id"), index=True)
    fill_entry: Mapped[int]
    kg: Mapped[float]
    left_pa: Mapped[float]
    reason: Mapped[str] = mapped_column(Text, default="")
    person_id: Mapped[int] = mapped_column(ForeignKey("person.id"))
    at: Mapped[datetime] = mapped_column(UtcTime)
