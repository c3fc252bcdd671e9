"""PostgreSQL tells its listeners of every deed when it commits."""

from alembic import op

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None


def upgrade() -> None:
    if op.get_bind().dialect.name == "sqlite":  # its change counter is asked instead
        return
    op.execute(
        "CREATE FUNCTION tell_change() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN"
        " NOTIFY record_changed; RETURN NULL; END $$"
    )
    op.execute(
        "CREATE TRIGGER chain_head_tells AFTER UPDATE ON chain_head"
        " FOR EACH STATEMENT EXECUTE FUNCTION tell_change()"
    )


def downgrade() -> None:
    if op.get_bind().dialect.name == "sqlite":
        return
    op.execute("DROP TRIGGER chain_head_tells ON chain_head")
    op.execute("DROP FUNCTION tell_change()")
