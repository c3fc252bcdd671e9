"""The index from which alone is read what jobs drew of every part."""

from alembic import op

revision = "0010"
down_revision = "0009"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_index(
        op.f("ix_stock_move_uses"),
        "stock_move",
        ["part_id", "job_id", "at", "kind", "on_hand_change"],
    )


def downgrade() -> None:
    op.drop_index(op.f("ix_stock_move_uses"), "stock_move")
