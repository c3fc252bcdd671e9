"""Procedure revisions that wait for approval, what was said to them, jobs moved over to another.

What was adopted so far was in force at once; its document says what changed.
"""

import tomllib

import sqlalchemy as sa
from alembic import op

from shopdesk.records.migrate import refuse_loss

revision = "0013"
down_revision = "0012"
branch_labels = None
depends_on = None

_TABLE = sa.table(
    "procedure_revision",
    sa.column("id", sa.Integer()),
    sa.column("document", sa.Text()),
    sa.column("why", sa.Text()),
)


_WAITING = (
    "procedure_revision r WHERE r.proposed AND NOT EXISTS (SELECT 1 FROM procedure_approval a"
    " WHERE a.procedure_revision_id = r.id AND a.answer = 'approved')"
)


def upgrade() -> None:
    op.add_column(
        "procedure_revision",
        sa.Column("proposed", sa.Boolean(), nullable=False, server_default=sa.false()),
    )
    op.add_column(
        "procedure_revision",
        sa.Column("why", sa.Text(), nullable=False, server_default=sa.text("''")),
    )
    db = op.get_bind()
    for row in db.execute(sa.select(_TABLE.c.id, _TABLE.c.document)).all():
        db.execute(
            sa.update(_TABLE).where(_TABLE.c.id == row.id).values(why=_changed(row.document))
        )
    op.create_table(
        "procedure_approval",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("procedure_revision_id", sa.Integer(), nullable=False),
        sa.Column("answer", sa.String(20), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_procedure_approval")),
        sa.UniqueConstraint(
            "procedure_revision_id", name=op.f("uq_procedure_approval_procedure_revision_id")
        ),
        sa.ForeignKeyConstraint(
            ["procedure_revision_id"],
            ["procedure_revision.id"],
            name=op.f("fk_procedure_approval_procedure_revision_id"),
        ),
        sa.ForeignKeyConstraint(
            ["person_id"], ["person.id"], name=op.f("fk_procedure_approval_person_id")
        ),
        sa.CheckConstraint(
            "answer IN ('approved','turned down')", name=op.f("ck_procedure_approval_answer")
        ),
    )
    op.create_table(
        "procedure_move",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("job_id", sa.Integer(), nullable=False),
        sa.Column("from_revision_id", sa.Integer(), nullable=False),
        sa.Column("to_revision_id", sa.Integer(), nullable=False),
        sa.Column("up_to_entry", sa.Integer(), nullable=False),
        sa.Column("again", sa.Text(), nullable=False),
        sa.Column("judged", sa.Text(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("dropped_reason", sa.Text(), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_procedure_move")),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name=op.f("fk_procedure_move_job_id")),
        sa.ForeignKeyConstraint(
            ["from_revision_id"],
            ["procedure_revision.id"],
            name=op.f("fk_procedure_move_from_revision_id"),
        ),
        sa.ForeignKeyConstraint(
            ["to_revision_id"],
            ["procedure_revision.id"],
            name=op.f("fk_procedure_move_to_revision_id"),
        ),
        sa.ForeignKeyConstraint(
            ["person_id"], ["person.id"], name=op.f("fk_procedure_move_person_id")
        ),
    )
    op.create_index(op.f("ix_procedure_move_job_id"), "procedure_move", ["job_id"])
    op.create_index(
        op.f("ix_procedure_move_from_revision_id"), "procedure_move", ["from_revision_id"]
    )


def _changed(document: str) -> str:
    try:
        return str(tomllib.loads(document).get("changed", ""))
    except tomllib.TOMLDecodeError:  # no document of ours; verifying the record names it
        return ""


def downgrade() -> None:
    db = op.get_bind()
    refuse_loss(db, _WAITING, "procedure revisions that nobody approved (there they would rule)")
    refuse_loss(db, "procedure_move", "moves of a job to another procedure revision")
    refuse_loss(db, "procedure_approval", "answers to proposed procedure revisions")
    op.drop_table("procedure_move")
    op.drop_table("procedure_approval")
    op.drop_column("procedure_revision", "why")
    op.drop_column("procedure_revision", "proposed")
