"""Pieces of a purchase that will not come: called off, so that nothing waits for them."""

import sqlalchemy as sa
from alembic import op

from shopdesk.records.migrate import refuse_loss

revision = "0021"
down_revision = "0020"
branch_labels = None
depends_on = None


def upgrade() -> None:
    with op.batch_alter_table("purchase_line") as line:
        line.add_column(sa.Column("called_off", sa.Integer(), nullable=False, server_default="0"))
        line.create_check_constraint(
            op.f("ck_purchase_line_called_off"),
            "called_off >= 0 AND received + called_off <= quantity",
        )


def downgrade() -> None:
    refuse_loss(op.get_bind(), "purchase_line WHERE called_off > 0", "purchase lines called off")
    with op.batch_alter_table("purchase_line") as line:
        line.drop_constraint(op.f("ck_purchase_line_called_off"), type_="check")
        line.drop_column("called_off")
