"""Costs told of a job, cores judged, and how other people's files are read."""

import sqlalchemy as sa
from alembic import op

from shopdesk.records.migrate import refuse_loss

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "job_cost",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("job_id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(10), nullable=False),
        sa.Column("section", sa.String(20), nullable=False),
        sa.Column("minutes", sa.Integer(), nullable=False),
        sa.Column("cents", sa.Integer(), nullable=False),
        sa.Column("rework", sa.Boolean(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_job_cost")),
        sa.CheckConstraint("kind IN ('outside','freight','labour')", name=op.f("ck_job_cost_kind")),
        sa.CheckConstraint(
            "(kind = 'labour') = (cents = 0)", name=op.f("ck_job_cost_minutes_or_money")
        ),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name=op.f("fk_job_cost_job_id")),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name=op.f("fk_job_cost_person_id")),
    )
    op.create_index(op.f("ix_job_cost_job_id"), "job_cost", ["job_id"])
    op.create_table(
        "core_grade",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("deposit_id", sa.Integer(), nullable=False),
        sa.Column("unit_id", sa.Integer(), nullable=False),
        sa.Column("grade", sa.String(20), nullable=False),
        sa.Column("missing", sa.Text(), nullable=False),
        sa.Column("credit_cents", sa.Integer(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("paid_at", sa.DateTime(timezone=True)),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_core_grade")),
        sa.CheckConstraint("credit_cents >= 0", name=op.f("ck_core_grade_credit")),
        sa.UniqueConstraint("deposit_id", name=op.f("uq_core_grade_deposit_id")),
        sa.ForeignKeyConstraint(
            ["deposit_id"], ["core_deposit.id"], name=op.f("fk_core_grade_deposit_id")
        ),
        sa.ForeignKeyConstraint(["unit_id"], ["unit.id"], name=op.f("fk_core_grade_unit_id")),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name=op.f("fk_core_grade_person_id")),
    )
    op.create_index(op.f("ix_core_grade_unit_id"), "core_grade", ["unit_id"])
    op.create_table(
        "column_map",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(20), nullable=False),
        sa.Column("headers_sha256", sa.String(64), nullable=False),
        sa.Column("columns", sa.Text(), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_column_map")),
        sa.UniqueConstraint(
            "kind", "headers_sha256", name=op.f("uq_column_map_kind_headers_sha256")
        ),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name=op.f("fk_column_map_person_id")),
    )


def downgrade() -> None:
    refuse_loss(op.get_bind(), "job_cost", "costs written to a job")
    refuse_loss(op.get_bind(), "core_grade", "gradings of a returned core")
    op.drop_table("column_map")
    op.drop_index(op.f("ix_core_grade_unit_id"), "core_grade")
    op.drop_table("core_grade")
    op.drop_index(op.f("ix_job_cost_job_id"), "job_cost")
    op.drop_table("job_cost")
