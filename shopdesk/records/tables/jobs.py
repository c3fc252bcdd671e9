"""Units and what happens to them: jobs, the entries on their sheets, drafts, shipments."""

from datetime import date, datetime
from typing import Any

from sqlalchemy import CheckConstraint, ForeignKey, Index, Text, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from shopdesk.records.tables.base import Base, JsonText, UtcTime, Words


class UnitModel(Base):
    __tablename__ = "unit_model"

    id: Mapped[int] = mapped_column(primary_key=True)
    code: Mapped[str] = mapped_column(Words(40), unique=True)
    name: Mapped[str] = mapped_column(Words(200))


class Unit(Base):
    """One serial and its owner; ``pool`` marks an exchange unit ready on the shelf."""

    __tablename__ = "unit"
    __table_args__ = (UniqueConstraint("unit_model_id", "serial_key"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    unit_model_id: Mapped[int] = mapped_column(ForeignKey("unit_model.id"))
    serial: Mapped[str] = mapped_column(Words(80))
    serial_key: Mapped[str] = mapped_column(Words(80), index=True)
    customer_id: Mapped[int] = mapped_column(ForeignKey("customer.id"))
    pool: Mapped[bool] = mapped_column(default=False)


class WorkOrder(Base):
    """What a customer sent together; its units may ship one by one."""

    __tablename__ = "work_order"

    id: Mapped[int] = mapped_column(primary_key=True)
    customer_id: Mapped[int] = mapped_column(ForeignKey("customer.id"), index=True)
    reference: Mapped[str] = mapped_column(Words(80))
    at: Mapped[datetime] = mapped_column(UtcTime)


class Job(Base):
    """One visit of one unit. ``stage`` and the waiting columns are what ``rules`` said last;
    ``version`` rises with every write."""

    __tablename__ = "job"
    __table_args__ = (
        CheckConstraint("gas_state IN ('charged','vented','unknown','none')", name="gas_state"),
        CheckConstraint("road IN ('repair','declined','scrapped','quarantined')", name="road"),
        CheckConstraint("kind IN ('customer','warranty','exchange')", name="kind"),
        Index("ix_job_unit_opened", "unit_id", "opened_at"),
        Index("ix_job_closed", "closed_at"),
        Index("ix_job_customer_number", "customer_id", "number"),
        Index("ix_job_procedure_number", "procedure_revision_id", "number"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    number: Mapped[int] = mapped_column(unique=True)
    kind: Mapped[str] = mapped_column(Words(20))
    unit_id: Mapped[int] = mapped_column(ForeignKey("unit.id"))
    customer_id: Mapped[int] = mapped_column(ForeignKey("customer.id"))
    work_order_id: Mapped[int | None] = mapped_column(ForeignKey("work_order.id"), index=True)
    procedure_revision_id: Mapped[int] = mapped_column(ForeignKey("procedure_revision.id"))
    complaint: Mapped[str] = mapped_column(Text)
    opened_at: Mapped[datetime] = mapped_column(UtcTime)
    first_promised_on: Mapped[date]
    promised_on: Mapped[date]
    road: Mapped[str] = mapped_column(Words(20))
    stage: Mapped[str] = mapped_column(Words(20))
    gas_state: Mapped[str] = mapped_column(Words(10))
    waiting_for: Mapped[str] = mapped_column(Words(160))
    waiting_on: Mapped[str] = mapped_column(Words(60))
    waiting_since: Mapped[datetime] = mapped_column(UtcTime)
    assigned_to: Mapped[int | None] = mapped_column(ForeignKey("person.id"), index=True)
    closed_at: Mapped[datetime | None] = mapped_column(UtcTime)
    version: Mapped[int] = mapped_column(default=1)


class Claim(Base):
    """A unit back under warranty: the earlier job that its fault is measured against."""

    __tablename__ = "claim"

    id: Mapped[int] = mapped_column(primary_key=True)
    job_id: Mapped[int] = mapped_column(ForeignKey("job.id"), unique=True)
    earlier_job_id: Mapped[int] = mapped_column(ForeignKey("job.id"), index=True)
    person_id: Mapped[int] = mapped_column(ForeignKey("person.id"))
    at: Mapped[datetime] = mapped_column(UtcTime)


class Forecast(Base):
    """What was said of an open job's finish: the days by which it would be done with 50, 80 and
    95 % probability, and by the plain rule (mean plus two deviations)."""

    __tablename__ = "forecast"
    __table_args__ = (Index("ix_forecast_job", "job_id", "id"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    job_id: Mapped[int] = mapped_column(ForeignKey("job.id"))
    at: Mapped[datetime] = mapped_column(UtcTime)
    promised_on: Mapped[date]
    by_50: Mapped[date]
    by_80: Mapped[date]
    by_95: Mapped[date]
    by_plain: Mapped[date | None]
    runs: Mapped[int]


class Entry(Base):
    """One answer to one slot of one line. Never changed: a correction supersedes it."""

    __tablename__ = "entry"
    __table_args__ = (
        CheckConstraint("verdict IN ('within','outside','none')", name="verdict"),
        Index("ix_entry_job", "job_id", "id"),
        Index("ix_entry_person", "person_id", "at", "id"),
        UniqueConstraint("supersedes"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    job_id: Mapped[int] = mapped_column(ForeignKey("job.id"))
    line: Mapped[str] = mapped_column(Words(200))
    slot: Mapped[str] = mapped_column(Words(60))
    typed: Mapped[str] = mapped_column(Text)
    value_si: Mapped[float | None]
    unit: Mapped[str] = mapped_column(Words(20), default="")
    answer: Mapped[str] = mapped_column(Text)
    verdict: Mapped[str] = mapped_column(Words(10))
    limit_text: Mapped[str] = mapped_column(Text, default="")
    limit_source: Mapped[str] = mapped_column(Text, default="")
    instrument_id: Mapped[int | None] = mapped_column(ForeignKey("instrument.id"), index=True)
    person_id: Mapped[int] = mapped_column(ForeignKey("person.id"))
    witness_id: Mapped[int | None] = mapped_column(ForeignKey("person.id"))
    at: Mapped[datetime] = mapped_column(UtcTime)
    supersedes: Mapped[int | None] = mapped_column(ForeignKey("entry.id"))
    reason: Mapped[str] = mapped_column(Text, default="")


class Reopening(Base):
    """Entries of ``lines`` up to ``up_to_entry`` are set aside (still visible): a vent record
    voided, a rework loop opened, a joint to be made again."""

    __tablename__ = "reopening"
    __table_args__ = (
        CheckConstraint("cause IN ('vent void','rework','consequence','remeasure')", name="cause"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    job_id: Mapped[int] = mapped_column(ForeignKey("job.id"), index=True)
    cause: Mapped[str] = mapped_column(Words(20))
    lines: Mapped[Any] = mapped_column(JsonText)
    up_to_entry: Mapped[int]
    reason: Mapped[str] = mapped_column(Text)
    person_id: Mapped[int] = mapped_column(ForeignKey("person.id"))
    at: Mapped[datetime] = mapped_column(UtcTime)


class Concession(Base):
    """An outside reading accepted as it is, by the manager and by the customer's word."""

    __tablename__ = "concession"

    id: Mapped[int] = mapped_column(primary_key=True)
    job_id: Mapped[int] = mapped_column(ForeignKey("job.id"), index=True)
    line: Mapped[str] = mapped_column(Words(200))
    entry_id: Mapped[int] = mapped_column(ForeignKey("entry.id"))
    reason: Mapped[str] = mapped_column(Text)
    manager_id: Mapped[int] = mapped_column(ForeignKey("person.id"))
    customer_name: Mapped[str] = mapped_column(Words(120))
    customer_how: Mapped[str] = mapped_column(Words(120))
    at: Mapped[datetime] = mapped_column(UtcTime)


class Draft(Base):
    """What is typed at a terminal and not yet committed."""

    __tablename__ = "draft"
    __table_args__ = (UniqueConstraint("terminal", "place"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    terminal: Mapped[str] = mapped_column(Words(120))
    place: Mapped[str] = mapped_column(Words(200))
    text: Mapped[str] = mapped_column(Text)
    at: Mapped[datetime] = mapped_column(UtcTime)


class Shipment(Base):
    """``charge_pa``: gauge at reference temperature as it left, None for a vented unit."""

    __tablename__ = "shipment"
    __table_args__ = (
        CheckConstraint("gas_state IN ('charged','vented','none')", name="gas_state"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    job_id: Mapped[int] = mapped_column(ForeignKey("job.id"), unique=True)
    customer_id: Mapped[int] = mapped_column(ForeignKey("customer.id"))
    gas_state: Mapped[str] = mapped_column(Words(10))
    charge_pa: Mapped[float | None]
    ports: Mapped[Any] = mapped_column(JsonText)
    carrier: Mapped[str] = mapped_column(Words(120), default="")
    note: Mapped[str] = mapped_column(Text, default="")
    person_id: Mapped[int] = mapped_column(ForeignKey("person.id"))
    at: Mapped[datetime] = mapped_column(UtcTime)


class CoreDeposit(Base):
    """A core owed for an exchange unit shipped first."""

    __tablename__ = "core_deposit"
    __table_args__ = (CheckConstraint("cents >= 0", name="cents"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    customer_id: Mapped[int] = mapped_column(ForeignKey("customer.id"), index=True)
    unit_model_id: Mapped[int] = mapped_column(ForeignKey("unit_model.id"))
    shipped_unit_id: Mapped[int] = mapped_column(ForeignKey("unit.id"))
    cents: Mapped[int]
    due_on: Mapped[date]
    at: Mapped[datetime] = mapped_column(UtcTime)
    settled_job_id: Mapped[int | None] = mapped_column(ForeignKey("job.id"))
