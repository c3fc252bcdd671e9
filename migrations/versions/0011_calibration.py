"""Intervals of instruments, and how far one was out when it was checked."""

import sqlalchemy as sa
from alembic import op

revision = "0011"
down_revision = "0010"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column("instrument", sa.Column("interval_days", sa.Integer()))
    op.add_column("instrument", sa.Column("interval_cycles", sa.Integer()))
    op.add_column("calibration", sa.Column("error_share", sa.Double()))


def downgrade() -> None:
    op.drop_column("calibration", "error_share")
    op.drop_column("instrument", "interval_cycles")
    op.drop_column("instrument", "interval_days")
