"""The shop itself: its documents (rules as data), people and customers."""

from datetime import datetime

from sqlalchemy import CheckConstraint, ForeignKey, Index, Text
from sqlalchemy.orm import Mapped, mapped_column

from shopdesk.records.tables.base import Base, UtcTime, Words


class ShopDocument(Base):
    """A revision of the shop's own rules ("shop") or of its side roads ("roads"), as TOML."""

    __tablename__ = "shop_document"
    __table_args__ = (Index("uq_shop_document_revision", "kind", "revision", unique=True),)

    id: Mapped[int] = mapped_column(primary_key=True)
    kind: Mapped[str] = mapped_column(Words(20))
    revision: Mapped[str] = mapped_column(Words(20))
    document: Mapped[str] = mapped_column(Text)
    sha256: Mapped[str] = mapped_column(Words(64))
    at: Mapped[datetime] = mapped_column(UtcTime)


class Person(Base):
    """``wrong_tries``: wrong PINs since the last right one, the newest at ``wrong_at``."""

    __tablename__ = "person"
    __table_args__ = (CheckConstraint("role IN ('counter','technician','manager')", name="role"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    initials: Mapped[str] = mapped_column(Words(8), unique=True)
    name: Mapped[str] = mapped_column(Words(120))
    role: Mapped[str] = mapped_column(Words(20))
    badge: Mapped[str | None] = mapped_column(Words(40), unique=True)
    pin_hash: Mapped[str | None] = mapped_column(Words(200))
    active: Mapped[bool] = mapped_column(default=True)
    wrong_tries: Mapped[int] = mapped_column(default=0, server_default="0")
    wrong_at: Mapped[datetime | None] = mapped_column(UtcTime)


class Customer(Base):
    """``house`` marks the shop itself, owner of its exchange units."""

    __tablename__ = "customer"

    id: Mapped[int] = mapped_column(primary_key=True)
    code: Mapped[str] = mapped_column(Words(20), unique=True)
    name: Mapped[str] = mapped_column(Words(200))
    name_key: Mapped[str] = mapped_column(Words(200), index=True)
    phone: Mapped[str] = mapped_column(Words(60), default="")
    email: Mapped[str] = mapped_column(Words(120), default="")
    place: Mapped[str] = mapped_column(Words(120), default="")
    house: Mapped[bool] = mapped_column(default=False)


class Supplier(Base):
    __tablename__ = "supplier"
    __table_args__ = (
        CheckConstraint("lead_days >= 0", name="lead"),
        CheckConstraint("minimum_order_cents >= 0", name="minimum"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    code: Mapped[str] = mapped_column(Words(20), unique=True)
    name: Mapped[str] = mapped_column(Words(200))
    email: Mapped[str] = mapped_column(Words(120), default="")
    lead_days: Mapped[int]
    minimum_order_cents: Mapped[int] = mapped_column(default=0)


class Instrument(Base):
    """Torque wrenches, gauges, rigs, hoses: range and resolution in SI of their own unit; it is
    checked again after ``interval_days`` or ``interval_cycles`` readings, what comes first."""

    __tablename__ = "instrument"
    __table_args__ = (CheckConstraint("high_si IS NULL OR high_si >= low_si", name="range"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    code: Mapped[str] = mapped_column(Words(40), unique=True)
    kind: Mapped[str] = mapped_column(Words(40), index=True)
    description: Mapped[str] = mapped_column(Words(200), default="")
    unit: Mapped[str] = mapped_column(Words(20), default="")
    low_si: Mapped[float | None]
    high_si: Mapped[float | None]
    resolution_si: Mapped[float | None]
    rating_pa: Mapped[float | None]
    dead_volume_m3: Mapped[float | None]
    refused: Mapped[str | None] = mapped_column(Text)
    interval_days: Mapped[int | None]
    interval_cycles: Mapped[int | None]


class Calibration(Base):
    """One check. ``error_share`` as found: 0.09 where the instrument read 9 % high."""

    __tablename__ = "calibration"
    __table_args__ = (Index("ix_calibration_instrument_at", "instrument_id", "at"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    instrument_id: Mapped[int] = mapped_column(ForeignKey("instrument.id"))
    at: Mapped[datetime] = mapped_column(UtcTime)
    due: Mapped[datetime] = mapped_column(UtcTime)
    passed: Mapped[bool]
    certificate: Mapped[str] = mapped_column(Words(60), default="")
    note: Mapped[str] = mapped_column(Text, default="")
    error_share: Mapped[float | None]


class Bottle(Base):
    """A gas bottle: what is in it, its space, and its pressure when last read."""

    __tablename__ = "bottle"
    __table_args__ = (
        CheckConstraint("volume_m3 > 0", name="volume"),
        CheckConstraint("pressure_pa >= 0", name="pressure"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    code: Mapped[str] = mapped_column(Words(40), unique=True)
    gas: Mapped[str] = mapped_column(Words(40))
    volume_m3: Mapped[float]
    pressure_pa: Mapped[float]
    rating_pa: Mapped[float]
    empty: Mapped[bool] = mapped_column(default=False)
