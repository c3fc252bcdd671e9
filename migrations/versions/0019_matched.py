"""Matched sets: lots that are one set, and when a set was broken."""

import sqlalchemy as sa
from alembic import op

from shopdesk.records.migrate import refuse_loss

revision = "0019"
down_revision = "0018"
branch_labels = None
depends_on = None

SETS = "matched_set"


def upgrade() -> None:
    op.create_table(
        SETS,
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("lot_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.String(30), nullable=False),
        sa.Column("broken", sa.Boolean(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_matched_set")),
        sa.CheckConstraint("number <> ''", name=op.f("ck_matched_set_number")),
        sa.ForeignKeyConstraint(["lot_id"], ["lot.id"], name=op.f("fk_matched_set_lot_id")),
        sa.ForeignKeyConstraint(
            ["person_id"], ["person.id"], name=op.f("fk_matched_set_person_id")
        ),
    )
    op.create_index(op.f("ix_matched_set_lot_id"), SETS, ["lot_id"])
    _guard()
    with op.batch_alter_table("lot") as lot:
        lot.add_column(
            sa.Column("set_number", sa.String(30), nullable=False, server_default=sa.text("''"))
        )
        lot.add_column(
            sa.Column("set_broken", sa.Boolean(), nullable=False, server_default=sa.text("false"))
        )
    op.create_index(op.f("ix_lot_set_number"), "lot", ["set_number"])


def downgrade() -> None:
    refuse_loss(op.get_bind(), SETS, "lots of matched sets")
    op.drop_index(op.f("ix_lot_set_number"), "lot")
    with op.batch_alter_table("lot") as lot:
        lot.drop_column("set_broken")
        lot.drop_column("set_number")
    op.drop_table(SETS)  # its triggers go with it


def _guard() -> None:
    if op.get_bind().dialect.name != "sqlite":
        for deed, each in (("update", "ROW"), ("delete", "ROW"), ("truncate", "STATEMENT")):
            op.execute(
                f"CREATE TRIGGER {SETS}_no_{deed} BEFORE {deed.upper()} ON {SETS}"
                f" FOR EACH {each} EXECUTE FUNCTION refuse_change()"
            )
        return
    stands = f"WHEN EXISTS (SELECT 1 FROM {SETS} WHERE id = NEW.id) "
    for name, deed, when, words in (
        ("no_update", "UPDATE", "", "is never changed"),
        ("no_delete", "DELETE", "", "is never deleted"),
        ("no_replace", "INSERT", stands, "is never replaced"),
    ):
        op.execute(
            f"CREATE TRIGGER {SETS}_{name} BEFORE {deed} ON {SETS} {when}"
            f"BEGIN SELECT RAISE(ABORT, 'a row of {SETS} {words}'); END"
        )
