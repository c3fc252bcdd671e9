"""Counts of the shelf, each step a row that is never changed."""

import sqlalchemy as sa
from alembic import op

from shopdesk.records.migrate import refuse_loss

revision = "0016"
down_revision = "0015"
branch_labels = None
depends_on = None

TABLE = "stock_count"


def upgrade() -> None:
    op.create_table(
        TABLE,
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("lot_id", sa.Integer(), nullable=False),
        sa.Column("first_id", sa.Integer()),
        sa.Column("step", sa.String(10), nullable=False),
        sa.Column("count_class", sa.String(1), nullable=False),
        sa.Column("counted", sa.Integer(), nullable=False),
        sa.Column("expected", sa.Integer(), nullable=False),
        sa.Column("outcome", sa.String(20), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_stock_count")),
        sa.CheckConstraint(
            "step IN ('recount','answer','count')", name=op.f("ck_stock_count_step")
        ),
        sa.CheckConstraint(
            "outcome IN ('agrees','adjusted','to be recounted','to be approved',"
            "'to be counted anew')",
            name=op.f("ck_stock_count_outcome"),
        ),
        sa.CheckConstraint(
            "(step = 'count') = (first_id IS NULL)", name=op.f("ck_stock_count_first")
        ),
        sa.CheckConstraint("counted >= 0 AND expected >= 0", name=op.f("ck_stock_count_pieces")),
        sa.ForeignKeyConstraint(["lot_id"], ["lot.id"], name=op.f("fk_stock_count_lot_id")),
        sa.ForeignKeyConstraint(
            ["first_id"], ["stock_count.id"], name=op.f("fk_stock_count_first_id")
        ),
        sa.ForeignKeyConstraint(
            ["person_id"], ["person.id"], name=op.f("fk_stock_count_person_id")
        ),
    )
    op.create_index(op.f("ix_stock_count_lot"), TABLE, ["lot_id", "id"])
    if op.get_bind().dialect.name == "sqlite":
        _guard_sqlite()
    else:
        _guard_postgresql()


def downgrade() -> None:
    refuse_loss(op.get_bind(), TABLE, "counts of the shelf")
    op.drop_table(TABLE)  # its triggers go with it


def _guard_sqlite() -> None:
    stands = f"WHEN EXISTS (SELECT 1 FROM {TABLE} WHERE id = NEW.id) "
    for name, deed, when, words in (
        ("no_update", "UPDATE", "", "is never changed"),
        ("no_delete", "DELETE", "", "is never deleted"),
        ("no_replace", "INSERT", stands, "is never replaced"),
    ):
        op.execute(
            f"CREATE TRIGGER {TABLE}_{name} BEFORE {deed} ON {TABLE} {when}"
            f"BEGIN SELECT RAISE(ABORT, 'a row of {TABLE} {words}'); END"
        )


def _guard_postgresql() -> None:
    for deed, each in (("update", "ROW"), ("delete", "ROW"), ("truncate", "STATEMENT")):
        op.execute(
            f"CREATE TRIGGER {TABLE}_no_{deed} BEFORE {deed.upper()} ON {TABLE}"
            f" FOR EACH {each} EXECUTE FUNCTION refuse_change()"
        )
