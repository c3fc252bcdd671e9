"""Parts, lots, the stock ledger, purchases, quotes and their answers."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "part",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("number", sa.String(60), nullable=False),
        sa.Column("description", sa.String(200), nullable=False),
        sa.Column("dash", sa.String(10), nullable=False),
        sa.Column("compound", sa.String(20), nullable=False),
        sa.Column("thread", sa.String(30), nullable=False),
        sa.Column("grade", sa.String(30), nullable=False),
        sa.Column("unit_cost_cents", sa.Integer(), nullable=False),
        sa.Column("pack", sa.Integer(), nullable=False),
        sa.Column("minimum", sa.Integer(), nullable=False),
        sa.Column("bin", sa.String(30), nullable=False),
        sa.Column("critical", sa.Boolean(), nullable=False),
        sa.Column("on_hand", sa.Integer(), nullable=False),
        sa.Column("reserved", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_part")),
        sa.UniqueConstraint("number", name=op.f("uq_part_number")),
        sa.CheckConstraint("minimum >= 0", name=op.f("ck_part_minimum")),
        sa.CheckConstraint("on_hand >= 0", name=op.f("ck_part_on_hand")),
        sa.CheckConstraint("pack > 0", name=op.f("ck_part_pack")),
        sa.CheckConstraint("reserved <= on_hand", name=op.f("ck_part_promised_once")),
        sa.CheckConstraint("reserved >= 0", name=op.f("ck_part_reserved")),
    )
    op.create_table(
        "lot",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("part_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.String(60), nullable=False),
        sa.Column("cured", sa.String(10), nullable=False),
        sa.Column("use_by", sa.Date()),
        sa.Column("use_by_source", sa.String(80), nullable=False),
        sa.Column("unit_cost_cents", sa.Integer(), nullable=False),
        sa.Column("certificate", sa.String(60), nullable=False),
        sa.Column("received_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("quarantined", sa.Boolean(), nullable=False),
        sa.Column("on_hand", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_lot")),
        sa.ForeignKeyConstraint(["part_id"], ["part.id"], name=op.f("fk_lot_part_id")),
        sa.UniqueConstraint("part_id", "number", name=op.f("uq_lot_part_id_number")),
        sa.CheckConstraint("on_hand >= 0", name=op.f("ck_lot_on_hand")),
    )
    op.create_index(op.f("ix_lot_number"), "lot", ["number"])
    op.create_table(
        "part_supplier",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("part_id", sa.Integer(), nullable=False),
        sa.Column("supplier_id", sa.Integer(), nullable=False),
        sa.Column("price_cents", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_part_supplier")),
        sa.ForeignKeyConstraint(["part_id"], ["part.id"], name=op.f("fk_part_supplier_part_id")),
        sa.ForeignKeyConstraint(
            ["supplier_id"], ["supplier.id"], name=op.f("fk_part_supplier_supplier_id")
        ),
        sa.UniqueConstraint(
            "part_id", "supplier_id", name=op.f("uq_part_supplier_part_id_supplier_id")
        ),
    )
    op.create_index(op.f("ix_part_supplier_supplier_id"), "part_supplier", ["supplier_id"])
    op.create_table(
        "purchase",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("supplier_id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("due_on", sa.Date(), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_purchase")),
        sa.ForeignKeyConstraint(
            ["supplier_id"], ["supplier.id"], name=op.f("fk_purchase_supplier_id")
        ),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name=op.f("fk_purchase_person_id")),
        sa.UniqueConstraint("number", name=op.f("uq_purchase_number")),
    )
    op.create_index(op.f("ix_purchase_supplier_id"), "purchase", ["supplier_id"])
    op.create_table(
        "purchase_line",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("purchase_id", sa.Integer(), nullable=False),
        sa.Column("part_id", sa.Integer(), nullable=False),
        sa.Column("quantity", sa.Integer(), nullable=False),
        sa.Column("received", sa.Integer(), nullable=False),
        sa.Column("unit_cost_cents", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_purchase_line")),
        sa.ForeignKeyConstraint(
            ["purchase_id"], ["purchase.id"], name=op.f("fk_purchase_line_purchase_id")
        ),
        sa.ForeignKeyConstraint(["part_id"], ["part.id"], name=op.f("fk_purchase_line_part_id")),
        sa.CheckConstraint("quantity > 0", name=op.f("ck_purchase_line_quantity")),
        sa.CheckConstraint(
            "received >= 0 AND received <= quantity", name=op.f("ck_purchase_line_received")
        ),
    )
    op.create_index(op.f("ix_purchase_line_part"), "purchase_line", ["part_id"])
    op.create_index(op.f("ix_purchase_line_purchase_id"), "purchase_line", ["purchase_id"])
    op.create_table(
        "quote",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("job_id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("total_cents", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_quote")),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name=op.f("fk_quote_job_id")),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name=op.f("fk_quote_person_id")),
        sa.CheckConstraint("total_cents >= 0", name=op.f("ck_quote_total")),
    )
    op.create_index(op.f("ix_quote_job_id"), "quote", ["job_id"])
    op.create_table(
        "stock_move",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(10), nullable=False),
        sa.Column("part_id", sa.Integer(), nullable=False),
        sa.Column("lot_id", sa.Integer()),
        sa.Column("job_id", sa.Integer()),
        sa.Column("kit_line", sa.String(80), nullable=False),
        sa.Column("on_hand_change", sa.Integer(), nullable=False),
        sa.Column("reserved_change", sa.Integer(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_stock_move")),
        sa.ForeignKeyConstraint(["part_id"], ["part.id"], name=op.f("fk_stock_move_part_id")),
        sa.ForeignKeyConstraint(["lot_id"], ["lot.id"], name=op.f("fk_stock_move_lot_id")),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name=op.f("fk_stock_move_job_id")),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name=op.f("fk_stock_move_person_id")),
        sa.CheckConstraint(
            "kind IN ('receive','reserve','release','issue','return','count','scrap')",
            name=op.f("ck_stock_move_kind"),
        ),
        sa.CheckConstraint(
            "on_hand_change <> 0 OR reserved_change <> 0", name=op.f("ck_stock_move_moves")
        ),
    )
    op.create_index(op.f("ix_stock_move_job"), "stock_move", ["job_id", "id"])
    op.create_index(op.f("ix_stock_move_lot"), "stock_move", ["lot_id", "id"])
    op.create_index(op.f("ix_stock_move_part"), "stock_move", ["part_id", "id"])
    op.create_table(
        "approval",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("quote_id", sa.Integer(), nullable=False),
        sa.Column("answer", sa.String(10), nullable=False),
        sa.Column("who", sa.String(120), nullable=False),
        sa.Column("how", sa.String(120), nullable=False),
        sa.Column("cap_cents", sa.Integer(), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_approval")),
        sa.ForeignKeyConstraint(["quote_id"], ["quote.id"], name=op.f("fk_approval_quote_id")),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name=op.f("fk_approval_person_id")),
        sa.UniqueConstraint("quote_id", name=op.f("uq_approval_quote_id")),
        sa.CheckConstraint("answer IN ('approved','declined')", name=op.f("ck_approval_answer")),
    )
    op.create_table(
        "quote_line",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("quote_id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(10), nullable=False),
        sa.Column("text", sa.String(200), nullable=False),
        sa.Column("quantity", sa.Double(), nullable=False),
        sa.Column("cents", sa.Integer(), nullable=False),
        sa.Column("part_id", sa.Integer()),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_quote_line")),
        sa.ForeignKeyConstraint(["quote_id"], ["quote.id"], name=op.f("fk_quote_line_quote_id")),
        sa.ForeignKeyConstraint(["part_id"], ["part.id"], name=op.f("fk_quote_line_part_id")),
        sa.CheckConstraint(
            "kind IN ('part','labour','outside','margin','fee')", name=op.f("ck_quote_line_kind")
        ),
    )
    op.create_index(op.f("ix_quote_line_quote_id"), "quote_line", ["quote_id"])


def downgrade() -> None:
    op.drop_table("quote_line")
    op.drop_table("approval")
    op.drop_table("stock_move")
    op.drop_table("quote")
    op.drop_table("purchase_line")
    op.drop_table("purchase")
    op.drop_table("part_supplier")
    op.drop_table("lot")
    op.drop_table("part")
