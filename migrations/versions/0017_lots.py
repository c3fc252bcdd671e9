"""Lots that are not of the shelf, bins by lot, transfers."""

import sqlalchemy as sa
from alembic import op
from alembic.operations import BatchOperations

from shopdesk.records.migrate import refuse_loss

revision = "0017"
down_revision = "0016"
branch_labels = None
depends_on = None

OLD = ("receive", "reserve", "release", "issue", "return", "count", "scrap")
NEW = ("transfer", "bring", "harvest", "fit", "put back", "recount", "spoil", "hand back")


def upgrade() -> None:
    with op.batch_alter_table("lot") as lot:
        lot.add_column(sa.Column("origin", sa.String(10), nullable=False, server_default="bought"))
        lot.add_column(sa.Column("job_id", sa.Integer()))
        lot.add_column(
            sa.Column("grade", sa.String(30), nullable=False, server_default=sa.text("''"))
        )
        lot.add_column(
            sa.Column("bin", sa.String(30), nullable=False, server_default=sa.text("''"))
        )
        lot.create_foreign_key(op.f("fk_lot_job_id"), "job", ["job_id"], ["id"])
        lot.create_check_constraint(
            op.f("ck_lot_origin"), "origin IN ('customer','harvested','bought')"
        )
        lot.create_check_constraint(op.f("ck_lot_whose"), "(origin = 'bought') = (job_id IS NULL)")
    op.create_index(op.f("ix_lot_job_id"), "lot", ["job_id"])
    _unguarded()
    with op.batch_alter_table("stock_move") as moves:
        moves.add_column(
            sa.Column("bin", sa.String(30), nullable=False, server_default=sa.text("''"))
        )
        _kinds(moves, (*OLD, *NEW))
    _guarded()


def downgrade() -> None:
    db = op.get_bind()
    refuse_loss(db, f"stock_move WHERE kind IN ({_said(NEW)})", "stock moves of newer kinds")
    refuse_loss(db, "lot WHERE origin <> 'bought'", "lots that customers own or cores gave")
    _unguarded()
    with op.batch_alter_table("stock_move") as moves:
        moves.drop_column("bin")
        _kinds(moves, OLD)
    _guarded()
    op.drop_index(op.f("ix_lot_job_id"), "lot")
    with op.batch_alter_table("lot") as lot:
        lot.drop_constraint(op.f("ck_lot_whose"), type_="check")
        lot.drop_constraint(op.f("ck_lot_origin"), type_="check")
        lot.drop_constraint(op.f("fk_lot_job_id"), type_="foreignkey")
        for name in ("bin", "grade", "job_id", "origin"):
            lot.drop_column(name)


def _kinds(moves: BatchOperations, kinds: tuple[str, ...]) -> None:
    moves.drop_constraint(op.f("ck_stock_move_kind"), type_="check")
    moves.create_check_constraint(op.f("ck_stock_move_kind"), f"kind IN ({_said(kinds)})")


def _said(kinds: tuple[str, ...]) -> str:
    return ",".join(f"'{kind}'" for kind in kinds)


def _unguarded() -> None:
    """The rows of the ledger never change; its table does here."""
    if op.get_bind().dialect.name == "sqlite":
        for name in ("no_update", "no_delete", "no_replace"):
            op.execute(f"DROP TRIGGER stock_move_{name}")
    else:
        op.execute("ALTER TABLE stock_move DISABLE TRIGGER USER")


def _guarded() -> None:
    if op.get_bind().dialect.name != "sqlite":
        op.execute("ALTER TABLE stock_move ENABLE TRIGGER USER")
        return
    for name, deed, when, words in (
        ("no_update", "UPDATE", "", "is never changed"),
        ("no_delete", "DELETE", "", "is never deleted"),
        (
            "no_replace",
            "INSERT",
            "WHEN EXISTS (SELECT 1 FROM stock_move WHERE id = NEW.id) ",
            "is never replaced",
        ),
    ):
        op.execute(
            f"CREATE TRIGGER stock_move_{name} BEFORE {deed} ON stock_move {when}"
            f"BEGIN SELECT RAISE(ABORT, 'a row of stock_move {words}'); END"
        )
