"""Wrong PINs in a row, of which later ones are made to wait."""

import sqlalchemy as sa
from alembic import op

revision = "0012"
down_revision = "0011"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column(
        "person", sa.Column("wrong_tries", sa.Integer(), nullable=False, server_default="0")
    )
    op.add_column("person", sa.Column("wrong_at", sa.DateTime(timezone=True)))


def downgrade() -> None:
    op.drop_column("person", "wrong_at")
    op.drop_column("person", "wrong_tries")
