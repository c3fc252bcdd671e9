"""The audit trail: append-only events, each carrying the hash of the one before."""

from datetime import datetime
from typing import Any

from sqlalchemy import CheckConstraint, ForeignKey, Index
from sqlalchemy.orm import Mapped, mapped_column

from shopdesk.records.tables.base import Base, JsonText, UtcTime, Words


class Event(Base):
    """``commit_key`` is the caller's own key for a commit, so that a repeat is noticed."""

    __tablename__ = "event"
    __table_args__ = (Index("ix_event_job", "job_id", "id"),)

    id: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    at: Mapped[datetime] = mapped_column(UtcTime)
    kind: Mapped[str] = mapped_column(Words(40))
    job_id: Mapped[int | None] = mapped_column(ForeignKey("job.id"))
    person_id: Mapped[int | None] = mapped_column(ForeignKey("person.id"))
    payload: Mapped[Any] = mapped_column(JsonText)
    commit_key: Mapped[str | None] = mapped_column(Words(64), unique=True)
    previous: Mapped[str] = mapped_column(Words(64))
    hash: Mapped[str] = mapped_column(Words(64), unique=True)


class ChainHead(Base):
    """One row: the last event. Locking it queues the writers of the chain."""

    __tablename__ = "chain_head"
    __table_args__ = (CheckConstraint("id = 1", name="single"),)

    id: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    event_id: Mapped[int]
    hash: Mapped[str] = mapped_column(Words(64))
