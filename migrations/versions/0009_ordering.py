"""Prices by quantity, a supplier's least pieces, and when a purchase line was delivered in full."""

import sqlalchemy as sa
from alembic import op

revision = "0009"
down_revision = "0008"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "price_break",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("part_supplier_id", sa.Integer(), nullable=False),
        sa.Column("from_pieces", sa.Integer(), nullable=False),
        sa.Column("price_cents", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_price_break")),
        sa.CheckConstraint("from_pieces > 0", name=op.f("ck_price_break_from_pieces")),
        sa.CheckConstraint("price_cents >= 0", name=op.f("ck_price_break_price")),
        sa.UniqueConstraint(
            "part_supplier_id",
            "from_pieces",
            name=op.f("uq_price_break_part_supplier_id_from_pieces"),
        ),
        sa.ForeignKeyConstraint(
            ["part_supplier_id"],
            ["part_supplier.id"],
            name=op.f("fk_price_break_part_supplier_id"),
        ),
    )
    op.add_column(
        "part_supplier",
        sa.Column("least_pieces", sa.Integer(), nullable=False, server_default="1"),
    )
    op.add_column("purchase_line", sa.Column("received_at", sa.DateTime(timezone=True)))


def downgrade() -> None:
    op.drop_column("purchase_line", "received_at")
    op.drop_column("part_supplier", "least_pieces")
    op.drop_table("price_break")
