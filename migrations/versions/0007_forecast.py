"""What was forecast of open jobs, and the newest closed jobs found without a walk."""

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "forecast",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("job_id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("promised_on", sa.Date(), nullable=False),
        sa.Column("by_50", sa.Date(), nullable=False),
        sa.Column("by_80", sa.Date(), nullable=False),
        sa.Column("by_95", sa.Date(), nullable=False),
        sa.Column("by_plain", sa.Date()),
        sa.Column("runs", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_forecast")),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name=op.f("fk_forecast_job_id")),
    )
    op.create_index(op.f("ix_forecast_job"), "forecast", ["job_id", "id"])
    op.create_index(op.f("ix_job_closed"), "job", ["closed_at"])


def downgrade() -> None:
    op.drop_index(op.f("ix_job_closed"), "job")
    op.drop_table("forecast")
