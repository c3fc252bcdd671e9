"""Costs told of a job, cores judged, and how other people's files are read."""

from datetime import datetime
from typing import Any

from sqlalchemy import CheckConstraint, ForeignKey, Text, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from shopdesk.records.tables.base import Base, JsonText, UtcTime, Words


class JobCost(Base):
    """A cost of a job that stock does not know: ``minutes`` worked in a section, or money paid
    for outside work and freight. A wrong one is taken back by a negative one."""

    __tablename__ = "job_cost"
    __table_args__ = (
        CheckConstraint("kind IN ('outside','freight','labour')", name="kind"),
        CheckConstraint("(kind = 'labour') = (cents = 0)", name="minutes_or_money"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    job_id: Mapped[int] = mapped_column(ForeignKey("job.id"), index=True)
    kind: Mapped[str] = mapped_column(Words(10))
    section: Mapped[str] = mapped_column(Words(20), default="")
    minutes: Mapped[int] = mapped_column(default=0)
    cents: Mapped[int] = mapped_column(default=0)
    rework: Mapped[bool] = mapped_column(default=False)
    note: Mapped[str] = mapped_column(Text, default="")
    person_id: Mapped[int] = mapped_column(ForeignKey("person.id"))
    at: Mapped[datetime] = mapped_column(UtcTime)


class CoreGrade(Base):
    """A returned core as judged: its grade, what was missing, and the share of its deposit that
    goes back to the customer. ``paid_at`` None: the credit is still owed."""

    __tablename__ = "core_grade"
    __table_args__ = (CheckConstraint("credit_cents >= 0", name="credit"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    deposit_id: Mapped[int] = mapped_column(ForeignKey("core_deposit.id"), unique=True)
    unit_id: Mapped[int] = mapped_column(ForeignKey("unit.id"), index=True)
    grade: Mapped[str] = mapped_column(Words(20))
    missing: Mapped[Any] = mapped_column(JsonText)
    credit_cents: Mapped[int]
    note: Mapped[str] = mapped_column(Text, default="")
    person_id: Mapped[int] = mapped_column(ForeignKey("person.id"))
    at: Mapped[datetime] = mapped_column(UtcTime)
    paid_at: Mapped[datetime | None] = mapped_column(UtcTime)


class ColumnMap(Base):
    """How a file's columns are to be read, answered once: ``headers`` as they stood in it."""

    __tablename__ = "column_map"
    __table_args__ = (UniqueConstraint("kind", "headers_sha256"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    kind: Mapped[str] = mapped_column(Words(20))
    headers_sha256: Mapped[str] = mapped_column(Words(64))
    columns: Mapped[Any] = mapped_column(JsonText)
    person_id: Mapped[int] = mapped_column(ForeignKey("person.id"))
    at: Mapped[datetime] = mapped_column(UtcTime)


class Quote(Base):
    """``answered_at`` None: not yet answered. A new quote for the job replaces an older one."""

    __tablename__ = "quote"
    __table_args__ = (CheckConstraint("total_cents >= 0", name="total"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    job_id: Mapped[int] = mapped_column(ForeignKey("job.id"), index=True)
    at: Mapped[datetime] = mapped_column(UtcTime)
    person_id: Mapped[int] = mapped_column(ForeignKey("person.id"))
    total_cents: Mapped[int]


class QuoteLine(Base):
    __tablename__ = "quote_line"
    __table_args__ = (
        CheckConstraint("kind IN ('part','labour','outside','margin','fee')", name="kind"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    quote_id: Mapped[int] = mapped_column(ForeignKey("quote.id"), index=True)
    kind: Mapped[str] = mapped_column(Words(10))
    text: Mapped[str] = mapped_column(Words(200))
    quantity: Mapped[float]
    cents: Mapped[int]
    part_id: Mapped[int | None] = mapped_column(ForeignKey("part.id"))


class Approval(Base):
    """The customer's answer to a quote: who said it, how, and up to how much."""

    __tablename__ = "approval"
    __table_args__ = (CheckConstraint("answer IN ('approved','declined')", name="answer"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    quote_id: Mapped[int] = mapped_column(ForeignKey("quote.id"), unique=True)
    answer: Mapped[str] = mapped_column(Words(10))
    who: Mapped[str] = mapped_column(Words(120))
    how: Mapped[str] = mapped_column(Words(120))
    cap_cents: Mapped[int]
    person_id: Mapped[int] = mapped_column(ForeignKey("person.id"))
    at: Mapped[datetime] = mapped_column(UtcTime)
