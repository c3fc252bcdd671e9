"""When each person last answered before an answer: what an hour's labour is read from."""

from alembic import op

revision = "0020"
down_revision = "0019"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_index(op.f("ix_entry_person"), "entry", ["person_id", "at", "id"])


def downgrade() -> None:
    op.drop_index(op.f("ix_entry_person"), "entry")
