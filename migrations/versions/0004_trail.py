"""The event chain with its head, and the guards on the rows that only grow."""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None

GENESIS = "0" * 64

GUARDED = {
    "event": ("id", "hash", "commit_key"),
    "entry": ("id", "supersedes"),
    "stock_move": ("id",),
}
"""Tables whose rows only come, and their unique columns: SQLite's INSERT OR REPLACE would take
the row that stands there away without asking the triggers on deleting."""


def upgrade() -> None:
    op.create_table(
        "chain_head",
        sa.Column("id", sa.Integer(), nullable=False, autoincrement=False),
        sa.Column("event_id", sa.Integer(), nullable=False),
        sa.Column("hash", sa.String(64), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_chain_head")),
        sa.CheckConstraint("id = 1", name=op.f("ck_chain_head_single")),
    )
    op.create_table(
        "event",
        sa.Column("id", sa.Integer(), nullable=False, autoincrement=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("kind", sa.String(40), nullable=False),
        sa.Column("job_id", sa.Integer()),
        sa.Column("person_id", sa.Integer()),
        sa.Column("payload", sa.Text(), nullable=False),
        sa.Column("commit_key", sa.String(64)),
        sa.Column("previous", sa.String(64), nullable=False),
        sa.Column("hash", sa.String(64), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_event")),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name=op.f("fk_event_job_id")),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name=op.f("fk_event_person_id")),
        sa.UniqueConstraint("commit_key", name=op.f("uq_event_commit_key")),
        sa.UniqueConstraint("hash", name=op.f("uq_event_hash")),
    )
    op.create_index(op.f("ix_event_job"), "event", ["job_id", "id"])
    op.bulk_insert(
        sa.table("chain_head", sa.column("id"), sa.column("event_id"), sa.column("hash")),
        [{"id": 1, "event_id": 0, "hash": GENESIS}],
    )
    if op.get_bind().dialect.name == "sqlite":
        for table, keys in GUARDED.items():
            _guard_sqlite(table, keys)
    else:
        _guard_postgresql()


def downgrade() -> None:
    sqlite = op.get_bind().dialect.name == "sqlite"
    for table in GUARDED:
        for name in ("no_update", "no_delete", "no_replace" if sqlite else "no_truncate"):
            op.execute(f"DROP TRIGGER {table}_{name}" + ("" if sqlite else f" ON {table}"))
    if not sqlite:
        op.execute("DROP FUNCTION refuse_change()")
    op.drop_table("event")
    op.drop_table("chain_head")


def _guard_sqlite(table: str, keys: tuple[str, ...]) -> None:
    stands = " OR ".join(f"{key} = NEW.{key}" for key in keys)
    refusals = {
        "no_update": ("UPDATE", "", "is never changed"),
        "no_delete": ("DELETE", "", "is never deleted"),
        "no_replace": (
            "INSERT",
            f"WHEN EXISTS (SELECT 1 FROM {table} WHERE {stands}) ",
            "is never replaced",
        ),
    }
    for name, (deed, when, words) in refusals.items():
        op.execute(
            f"CREATE TRIGGER {table}_{name} BEFORE {deed} ON {table} {when}"
            f"BEGIN SELECT RAISE(ABORT, 'a row of {table} {words}'); END"
        )


def _guard_postgresql() -> None:
    op.execute(
        "CREATE FUNCTION refuse_change() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN"
        " RAISE EXCEPTION 'a row of % is never changed or deleted', TG_TABLE_NAME"
        " USING ERRCODE = 'restrict_violation'; END $$"
    )
    for table in GUARDED:
        for deed in ("update", "delete"):
            op.execute(
                f"CREATE TRIGGER {table}_no_{deed} BEFORE {deed.upper()} ON {table}"
                " FOR EACH ROW EXECUTE FUNCTION refuse_change()"
            )
        op.execute(
            f"CREATE TRIGGER {table}_no_truncate BEFORE TRUNCATE ON {table}"
            " FOR EACH STATEMENT EXECUTE FUNCTION refuse_change()"
        )
