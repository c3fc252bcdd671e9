"""Parts, lots, the append-only stock ledger, purchases, quotes and their answers."""

from datetime import date, datetime
from typing import Any

from sqlalchemy import CheckConstraint, ForeignKey, Index, Text, UniqueConstraint, text
from sqlalchemy.orm import Mapped, mapped_column

from shopdesk.records.tables.base import Base, JsonText, UtcTime, Words


class Part(Base):
    """``on_hand`` and ``reserved`` are kept equal to the ledger's sums in the same transaction."""

    __tablename__ = "part"
    __table_args__ = (
        CheckConstraint("on_hand >= 0", name="on_hand"),
        CheckConstraint("reserved >= 0", name="reserved"),
        CheckConstraint("reserved <= on_hand", name="promised_once"),
        CheckConstraint("pack > 0", name="pack"),
        CheckConstraint("minimum >= 0", name="minimum"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    number: Mapped[str] = mapped_column(Words(60), unique=True)
    description: Mapped[str] = mapped_column(Words(200))
    dash: Mapped[str] = mapped_column(Words(10), default="")
    compound: Mapped[str] = mapped_column(Words(20), default="")
    thread: Mapped[str] = mapped_column(Words(30), default="")
    grade: Mapped[str] = mapped_column(Words(30), default="")
    unit_cost_cents: Mapped[int]
    pack: Mapped[int] = mapped_column(default=1)
    minimum: Mapped[int] = mapped_column(default=0)
    bin: Mapped[str] = mapped_column(Words(30), default="")
    critical: Mapped[bool] = mapped_column(default=False)
    on_hand: Mapped[int] = mapped_column(default=0)
    reserved: Mapped[int] = mapped_column(default=0)


class PartSupplier(Base):
    __tablename__ = "part_supplier"
    __table_args__ = (UniqueConstraint("part_id", "supplier_id"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    part_id: Mapped[int] = mapped_column(ForeignKey("part.id"))
    supplier_id: Mapped[int] = mapped_column(ForeignKey("supplier.id"), index=True)
    price_cents: Mapped[int]
    least_pieces: Mapped[int] = mapped_column(default=1, server_default="1")


class PriceBreak(Base):
    """The price a piece from this many pieces on; below the first, the supplier's plain price."""

    __tablename__ = "price_break"
    __table_args__ = (
        UniqueConstraint("part_supplier_id", "from_pieces"),
        CheckConstraint("from_pieces > 0", name="from_pieces"),
        CheckConstraint("price_cents >= 0", name="price"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    part_supplier_id: Mapped[int] = mapped_column(ForeignKey("part_supplier.id"))
    from_pieces: Mapped[int]
    price_cents: Mapped[int]


class Lot(Base):
    """A received batch. ``cured`` as "2Q2019" for rubber; ``use_by`` None: no limit. ``job_id``:
    the job whose customer brought it, or out of whose unit it was harvested, which gives it its
    ``grade``; only what was bought lies on the shelf. ``bin`` "" for its part's bin. ``set_number``
    and ``set_broken`` are those of its newest ``SetRow``; "" where it is in none."""

    __tablename__ = "lot"
    __table_args__ = (
        UniqueConstraint("part_id", "number"),
        CheckConstraint("on_hand >= 0", name="on_hand"),
        CheckConstraint("origin IN ('customer','harvested','bought')", name="origin"),
        CheckConstraint("(origin = 'bought') = (job_id IS NULL)", name="whose"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    part_id: Mapped[int] = mapped_column(ForeignKey("part.id"))
    number: Mapped[str] = mapped_column(Words(60), index=True)
    cured: Mapped[str] = mapped_column(Words(10), default="")
    use_by: Mapped[date | None]
    use_by_source: Mapped[str] = mapped_column(Words(80), default="")
    unit_cost_cents: Mapped[int]
    certificate: Mapped[str] = mapped_column(Words(60), default="")
    received_at: Mapped[datetime] = mapped_column(UtcTime)
    quarantined: Mapped[bool] = mapped_column(default=False)
    on_hand: Mapped[int] = mapped_column(default=0)
    origin: Mapped[str] = mapped_column(Words(10), default="bought", server_default="bought")
    job_id: Mapped[int | None] = mapped_column(ForeignKey("job.id"), index=True)
    grade: Mapped[str] = mapped_column(Words(30), default="", server_default=text("''"))
    bin: Mapped[str] = mapped_column(Words(30), default="", server_default=text("''"))
    set_number: Mapped[str] = mapped_column(
        Words(30), default="", server_default=text("''"), index=True
    )
    set_broken: Mapped[bool] = mapped_column(default=False, server_default=text("false"))


class SetRow(Base):
    """A lot became a mate of the matched set ``number``, with the ``reason`` where the shop made it
    up, or is of no whole set any more (``broken``). Rows only come; a lot's newest counts."""

    __tablename__ = "matched_set"
    __table_args__ = (CheckConstraint("number <> ''", name="number"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    lot_id: Mapped[int] = mapped_column(ForeignKey("lot.id"), index=True)
    number: Mapped[str] = mapped_column(Words(30))
    broken: Mapped[bool]
    reason: Mapped[str] = mapped_column(Text, default="")
    person_id: Mapped[int] = mapped_column(ForeignKey("person.id"))
    at: Mapped[datetime] = mapped_column(UtcTime)


class StockMove(Base):
    """One row of the ledger: what it adds to the lot, to the shelf where it is one of the shelf's
    kinds (``rules.ledger``), and to what is reserved. A transfer is two rows: out of one ``bin``,
    into the other. ``interchange_id``: what allows its part to stand in for the kit line's."""

    __tablename__ = "stock_move"
    __table_args__ = (
        CheckConstraint(
            "kind IN ('receive','reserve','release','issue','return','count','scrap','transfer',"
            "'bring','harvest','fit','put back','recount','spoil','hand back')",
            name="kind",
        ),
        CheckConstraint("on_hand_change <> 0 OR reserved_change <> 0", name="moves"),
        Index("ix_stock_move_part", "part_id", "id"),
        Index("ix_stock_move_job", "job_id", "id"),
        Index("ix_stock_move_lot", "lot_id", "id"),
        # what jobs drew of every part is read from this index alone
        Index("ix_stock_move_uses", "part_id", "job_id", "at", "kind", "on_hand_change"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    kind: Mapped[str] = mapped_column(Words(10))
    part_id: Mapped[int] = mapped_column(ForeignKey("part.id"))
    lot_id: Mapped[int | None] = mapped_column(ForeignKey("lot.id"))
    job_id: Mapped[int | None] = mapped_column(ForeignKey("job.id"))
    kit_line: Mapped[str] = mapped_column(Words(80), default="")
    on_hand_change: Mapped[int]
    reserved_change: Mapped[int]
    reason: Mapped[str] = mapped_column(Text, default="")
    person_id: Mapped[int] = mapped_column(ForeignKey("person.id"))
    at: Mapped[datetime] = mapped_column(UtcTime)
    bin: Mapped[str] = mapped_column(Words(30), default="", server_default=text("''"))
    interchange_id: Mapped[int | None] = mapped_column(ForeignKey("interchange.id"))


class Interchange(Base):
    """``stand_in_id`` may stand in for ``part_id``, never the other way round, as somebody proposed
    it: everywhere, or ``only_in`` these [model, kit line], "" for all of the model's. Never
    changed; it allows nothing before its newest answer approves it."""

    __tablename__ = "interchange"
    __table_args__ = (CheckConstraint("part_id <> stand_in_id", name="another_part"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    part_id: Mapped[int] = mapped_column(ForeignKey("part.id"), index=True)
    stand_in_id: Mapped[int] = mapped_column(ForeignKey("part.id"), index=True)
    only_in: Mapped[Any] = mapped_column(JsonText)
    reason: Mapped[str] = mapped_column(Text)
    person_id: Mapped[int] = mapped_column(ForeignKey("person.id"))
    at: Mapped[datetime] = mapped_column(UtcTime)


class InterchangeAnswer(Base):
    """What a manager said to an interchange; the newest is how it stands. Rows only come."""

    __tablename__ = "interchange_answer"
    __table_args__ = (
        CheckConstraint("answer IN ('approved','turned down','withdrawn')", name="answer"),
        Index("ix_interchange_answer_interchange", "interchange_id", "id"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    interchange_id: Mapped[int] = mapped_column(ForeignKey("interchange.id"))
    answer: Mapped[str] = mapped_column(Words(20))
    reason: Mapped[str] = mapped_column(Text, default="")
    person_id: Mapped[int] = mapped_column(ForeignKey("person.id"))
    at: Mapped[datetime] = mapped_column(UtcTime)


class StockCount(Base):
    """One step of a lot's count; rows only come, and the newest of a lot is how its count stands.
    ``expected`` is what the ledger said at that moment; ``first_id`` the count that a recount or a
    manager's answer belongs to."""

    __tablename__ = "stock_count"
    __table_args__ = (
        CheckConstraint("step IN ('recount','answer','count')", name="step"),
        CheckConstraint(
            "outcome IN ('agrees','adjusted','to be recounted','to be approved',"
            "'to be counted anew')",
            name="outcome",
        ),
        CheckConstraint("(step = 'count') = (first_id IS NULL)", name="first"),
        CheckConstraint("counted >= 0 AND expected >= 0", name="pieces"),
        Index("ix_stock_count_lot", "lot_id", "id"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    lot_id: Mapped[int] = mapped_column(ForeignKey("lot.id"))
    first_id: Mapped[int | None] = mapped_column(ForeignKey("stock_count.id"))
    step: Mapped[str] = mapped_column(Words(10))
    count_class: Mapped[str] = mapped_column(Words(1), default="")
    counted: Mapped[int]
    expected: Mapped[int]
    outcome: Mapped[str] = mapped_column(Words(20))
    reason: Mapped[str] = mapped_column(Text, default="")
    person_id: Mapped[int] = mapped_column(ForeignKey("person.id"))
    at: Mapped[datetime] = mapped_column(UtcTime)


class Purchase(Base):
    __tablename__ = "purchase"

    id: Mapped[int] = mapped_column(primary_key=True)
    number: Mapped[int] = mapped_column(unique=True)
    supplier_id: Mapped[int] = mapped_column(ForeignKey("supplier.id"), index=True)
    at: Mapped[datetime] = mapped_column(UtcTime)
    due_on: Mapped[date]
    person_id: Mapped[int] = mapped_column(ForeignKey("person.id"))


class PurchaseLine(Base):
    """``received_at`` is when the last of it came; None while some are due, and where the rest was
    called off."""

    __tablename__ = "purchase_line"
    __table_args__ = (
        CheckConstraint("quantity > 0", name="quantity"),
        CheckConstraint("received >= 0 AND received <= quantity", name="received"),
        CheckConstraint("called_off >= 0 AND received + called_off <= quantity", name="called_off"),
        Index("ix_purchase_line_part", "part_id"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    purchase_id: Mapped[int] = mapped_column(ForeignKey("purchase.id"), index=True)
    part_id: Mapped[int] = mapped_column(ForeignKey("part.id"))
    quantity: Mapped[int]
    received: Mapped[int] = mapped_column(default=0)
    unit_cost_cents: Mapped[int]
    received_at: Mapped[datetime | None] = mapped_column(UtcTime)
    called_off: Mapped[int] = mapped_column(default=0, server_default="0")
