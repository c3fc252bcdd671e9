"""Procedures by revision: what was brought in, what was said to it, which jobs were moved over."""

from datetime import datetime
from typing import Any

from sqlalchemy import CheckConstraint, ForeignKey, Text, UniqueConstraint, false, text
from sqlalchemy.orm import Mapped, mapped_column

from shopdesk.records.tables.base import Base, JsonText, UtcTime, Words


class ProcedureRevision(Base):
    """A procedure document as it was brought in; never changed. ``proposed``: in force only once
    an approval says so; ``why``: what changed and why, in the words of who brought it in."""

    __tablename__ = "procedure_revision"
    __table_args__ = (UniqueConstraint("unit_model_id", "revision"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    unit_model_id: Mapped[int] = mapped_column(ForeignKey("unit_model.id"))
    revision: Mapped[str] = mapped_column(Words(20))
    document: Mapped[str] = mapped_column(Text)
    sha256: Mapped[str] = mapped_column(Words(64))
    at: Mapped[datetime] = mapped_column(UtcTime)
    person_id: Mapped[int | None] = mapped_column(ForeignKey("person.id"))
    proposed: Mapped[bool] = mapped_column(default=False, server_default=false())
    why: Mapped[str] = mapped_column(Text, default="", server_default=text("''"))


class ProcedureApproval(Base):
    """What a manager said to a proposed revision, once and for all."""

    __tablename__ = "procedure_approval"
    __table_args__ = (CheckConstraint("answer IN ('approved','turned down')", name="answer"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    procedure_revision_id: Mapped[int] = mapped_column(
        ForeignKey("procedure_revision.id"), unique=True
    )
    answer: Mapped[str] = mapped_column(Words(20))
    reason: Mapped[str] = mapped_column(Text, default="")
    person_id: Mapped[int] = mapped_column(ForeignKey("person.id"))
    at: Mapped[datetime] = mapped_column(UtcTime)


class ProcedureMove(Base):
    """A running job moved over to another revision, all of it in this one row. Its answers up to
    ``up_to_entry`` stay as they were; those of the lines in ``again`` count no more, and
    ``judged`` says how the new revision judges others (entry, verdict, limit, source)."""

    __tablename__ = "procedure_move"

    id: Mapped[int] = mapped_column(primary_key=True)
    job_id: Mapped[int] = mapped_column(ForeignKey("job.id"), index=True)
    from_revision_id: Mapped[int] = mapped_column(ForeignKey("procedure_revision.id"), index=True)
    to_revision_id: Mapped[int] = mapped_column(ForeignKey("procedure_revision.id"))
    up_to_entry: Mapped[int]
    again: Mapped[Any] = mapped_column(JsonText)
    judged: Mapped[Any] = mapped_column(JsonText)
    reason: Mapped[str] = mapped_column(Text)
    dropped_reason: Mapped[str] = mapped_column(Text, default="")
    person_id: Mapped[int] = mapped_column(ForeignKey("person.id"))
    at: Mapped[datetime] = mapped_column(UtcTime)
