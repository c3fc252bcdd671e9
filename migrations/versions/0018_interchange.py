"""Parts that may stand in for others, one way, and what managers said to it."""

import sqlalchemy as sa
from alembic import op

from shopdesk.records.migrate import refuse_loss

revision = "0018"
down_revision = "0017"
branch_labels = None
depends_on = None

MADE, ANSWER = "interchange", "interchange_answer"


def upgrade() -> None:
    op.create_table(
        MADE,
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("part_id", sa.Integer(), nullable=False),
        sa.Column("stand_in_id", sa.Integer(), nullable=False),
        sa.Column("only_in", sa.Text(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_interchange")),
        sa.CheckConstraint("part_id <> stand_in_id", name=op.f("ck_interchange_another_part")),
        sa.ForeignKeyConstraint(["part_id"], ["part.id"], name=op.f("fk_interchange_part_id")),
        sa.ForeignKeyConstraint(
            ["stand_in_id"], ["part.id"], name=op.f("fk_interchange_stand_in_id")
        ),
        sa.ForeignKeyConstraint(
            ["person_id"], ["person.id"], name=op.f("fk_interchange_person_id")
        ),
    )
    op.create_index(op.f("ix_interchange_part_id"), MADE, ["part_id"])
    op.create_index(op.f("ix_interchange_stand_in_id"), MADE, ["stand_in_id"])
    op.create_table(
        ANSWER,
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("interchange_id", sa.Integer(), nullable=False),
        sa.Column("answer", sa.String(20), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_interchange_answer")),
        sa.CheckConstraint(
            "answer IN ('approved','turned down','withdrawn')",
            name=op.f("ck_interchange_answer_answer"),
        ),
        sa.ForeignKeyConstraint(
            ["interchange_id"],
            ["interchange.id"],
            name=op.f("fk_interchange_answer_interchange_id"),
        ),
        sa.ForeignKeyConstraint(
            ["person_id"], ["person.id"], name=op.f("fk_interchange_answer_person_id")
        ),
    )
    op.create_index(op.f("ix_interchange_answer_interchange"), ANSWER, ["interchange_id", "id"])
    for table in (MADE, ANSWER):
        _guard(table)
    _unguard_moves()
    with op.batch_alter_table("stock_move") as moves:
        moves.add_column(sa.Column("interchange_id", sa.Integer()))
        moves.create_foreign_key(
            op.f("fk_stock_move_interchange_id"), "interchange", ["interchange_id"], ["id"]
        )
    _guard_moves()


def downgrade() -> None:
    refuse_loss(op.get_bind(), MADE, "interchanges of parts")
    _unguard_moves()
    with op.batch_alter_table("stock_move") as moves:
        moves.drop_constraint(op.f("fk_stock_move_interchange_id"), type_="foreignkey")
        moves.drop_column("interchange_id")
    _guard_moves()
    op.drop_table(ANSWER)  # their triggers go with them
    op.drop_table(MADE)


def _guard(table: str) -> None:
    if op.get_bind().dialect.name != "sqlite":
        for deed, each in (("update", "ROW"), ("delete", "ROW"), ("truncate", "STATEMENT")):
            op.execute(
                f"CREATE TRIGGER {table}_no_{deed} BEFORE {deed.upper()} ON {table}"
                f" FOR EACH {each} EXECUTE FUNCTION refuse_change()"
            )
        return
    stands = f"WHEN EXISTS (SELECT 1 FROM {table} WHERE id = NEW.id) "
    for name, deed, when, words in (
        ("no_update", "UPDATE", "", "is never changed"),
        ("no_delete", "DELETE", "", "is never deleted"),
        ("no_replace", "INSERT", stands, "is never replaced"),
    ):
        op.execute(
            f"CREATE TRIGGER {table}_{name} BEFORE {deed} ON {table} {when}"
            f"BEGIN SELECT RAISE(ABORT, 'a row of {table} {words}'); END"
        )


def _unguard_moves() -> None:
    """The rows of the ledger never change; its table does here."""
    if op.get_bind().dialect.name == "sqlite":
        for name in ("no_update", "no_delete", "no_replace"):
            op.execute(f"DROP TRIGGER stock_move_{name}")
    else:
        op.execute("ALTER TABLE stock_move DISABLE TRIGGER USER")


def _guard_moves() -> None:
    if op.get_bind().dialect.name == "sqlite":
        _guard("stock_move")
    else:
        op.execute("ALTER TABLE stock_move ENABLE TRIGGER USER")
