"""Charge results know the fill they read; what a bottle gives and gets back is a row each."""

import sqlalchemy as sa
from alembic import op

from shopdesk.records.migrate import refuse_loss

revision = "0014"
down_revision = "0013"
branch_labels = None
depends_on = None

# The setting a result was filled by: the job's last one before it that corrects no other.
OF_THE_PAST = """
UPDATE charge_result SET fill_entry = (
  SELECT max(entry.id) FROM entry WHERE entry.job_id = charge_result.job_id
  AND entry.slot = 'setting' AND entry.supersedes IS NULL AND entry.at <= charge_result.at)"""


def upgrade() -> None:
    op.add_column("charge_result", sa.Column("fill_entry", sa.Integer()))
    op.execute(OF_THE_PAST)
    op.create_table(
        "gas_move",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("bottle_id", sa.Integer(), nullable=False),
        sa.Column("job_id", sa.Integer(), nullable=False),
        sa.Column("fill_entry", sa.Integer(), nullable=False),
        sa.Column("kg", sa.Double(), nullable=False),
        sa.Column("left_pa", sa.Double(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_gas_move")),
        sa.CheckConstraint("kg <> 0", name=op.f("ck_gas_move_moves")),
        sa.CheckConstraint("left_pa >= 0", name=op.f("ck_gas_move_left")),
        sa.ForeignKeyConstraint(["bottle_id"], ["bottle.id"], name=op.f("fk_gas_move_bottle_id")),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name=op.f("fk_gas_move_job_id")),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name=op.f("fk_gas_move_person_id")),
    )
    op.create_index(op.f("ix_gas_move_job_id"), "gas_move", ["job_id"])
    op.create_index(op.f("ix_gas_move_bottle_id"), "gas_move", ["bottle_id"])
    if op.get_bind().dialect.name == "sqlite":
        _guard_sqlite()
    else:
        _guard_postgresql()


def downgrade() -> None:
    refuse_loss(op.get_bind(), "gas_move", "moves of gas out of a bottle or back")
    op.drop_table("gas_move")
    op.drop_column("charge_result", "fill_entry")


def _guard_sqlite() -> None:
    refusals = {
        "no_update": ("UPDATE", "", "is never changed"),
        "no_delete": ("DELETE", "", "is never deleted"),
        "no_replace": (
            "INSERT",
            "WHEN EXISTS (SELECT 1 FROM gas_move WHERE id = NEW.id) ",
            "is never replaced",
        ),
    }
    for name, (deed, when, words) in refusals.items():
        op.execute(
            f"CREATE TRIGGER gas_move_{name} BEFORE {deed} ON gas_move {when}"
            f"BEGIN SELECT RAISE(ABORT, 'a row of gas_move {words}'); END"
        )


def _guard_postgresql() -> None:
    for deed in ("update", "delete"):
        op.execute(
            f"CREATE TRIGGER gas_move_no_{deed} BEFORE {deed.upper()} ON gas_move"
            " FOR EACH ROW EXECUTE FUNCTION refuse_change()"
        )
    op.execute(
        "CREATE TRIGGER gas_move_no_truncate BEFORE TRUNCATE ON gas_move"
        " FOR EACH STATEMENT EXECUTE FUNCTION refuse_change()"
    )
