"""The earlier job that a unit back under warranty is measured against."""

import sqlalchemy as sa
from alembic import op

from shopdesk.records.migrate import refuse_loss

revision = "0015"
down_revision = "0014"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "claim",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("job_id", sa.Integer(), nullable=False),
        sa.Column("earlier_job_id", sa.Integer(), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_claim")),
        sa.UniqueConstraint("job_id", name=op.f("uq_claim_job_id")),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name=op.f("fk_claim_job_id")),
        sa.ForeignKeyConstraint(
            ["earlier_job_id"], ["job.id"], name=op.f("fk_claim_earlier_job_id")
        ),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name=op.f("fk_claim_person_id")),
    )
    op.create_index(op.f("ix_claim_earlier_job_id"), "claim", ["earlier_job_id"])


def downgrade() -> None:
    refuse_loss(op.get_bind(), "claim", "claims")
    op.drop_index(op.f("ix_claim_earlier_job_id"), "claim")
    op.drop_table("claim")
