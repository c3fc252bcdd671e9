"""What keeps finding as one types quick at a million jobs: pieces of serials, newest jobs first.

SQLite keeps the pieces of three signs in an FTS5 table beside ``unit``, PostgreSQL in a pg_trgm
index. A later batch change of ``unit`` must make SQLite's triggers on it anew.
"""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None

_TAKE_OUT = (
    "INSERT INTO unit_pieces(unit_pieces, rowid, serial_key)"
    " VALUES ('delete', OLD.id, OLD.serial_key);"
)
_PUT_IN = "INSERT INTO unit_pieces(rowid, serial_key) VALUES (NEW.id, NEW.serial_key);"

TRIGGERS = {
    "unit_pieces_in": ("INSERT ON unit", _PUT_IN),
    "unit_pieces_out": ("DELETE ON unit", _TAKE_OUT),
    "unit_pieces_anew": ("UPDATE OF id, serial_key ON unit", _TAKE_OUT + _PUT_IN),
}


def upgrade() -> None:
    op.create_index(op.f("ix_job_customer_number"), "job", ["customer_id", "number"])
    op.create_index(op.f("ix_job_procedure_number"), "job", ["procedure_revision_id", "number"])
    op.drop_index(op.f("ix_job_customer_id"), "job")
    if op.get_bind().dialect.name == "sqlite":
        op.execute(
            "CREATE VIRTUAL TABLE unit_pieces USING fts5("
            "serial_key, content='unit', content_rowid='id', columnsize=0, tokenize='trigram')"
        )
        op.execute("INSERT INTO unit_pieces(unit_pieces) VALUES ('rebuild')")
        for name, (when, does) in TRIGGERS.items():
            op.execute(f"CREATE TRIGGER {name} AFTER {when} BEGIN {does} END")
    else:
        op.execute("CREATE EXTENSION IF NOT EXISTS pg_trgm")
        op.create_index(
            op.f("ix_unit_serial_pieces"),
            "unit",
            [sa.text("serial_key gin_trgm_ops")],
            postgresql_using="gin",
        )


def downgrade() -> None:
    if op.get_bind().dialect.name == "sqlite":
        for name in TRIGGERS:
            op.execute(f"DROP TRIGGER {name}")
        op.execute("DROP TABLE unit_pieces")
    else:
        op.drop_index(op.f("ix_unit_serial_pieces"), "unit")
    op.create_index(op.f("ix_job_customer_id"), "job", ["customer_id"])
    op.drop_index(op.f("ix_job_procedure_number"), "job")
    op.drop_index(op.f("ix_job_customer_number"), "job")
