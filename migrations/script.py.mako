"""${message}

Revision ${up_revision}, after ${down_revision | comma,n}.

A batch change on SQLite makes the table anew and drops its triggers: create them again here for
event, entry and stock_move.
"""

import sqlalchemy as sa
from alembic import op
${imports if imports else ""}
revision = ${repr(up_revision)}
down_revision = ${repr(down_revision)}
branch_labels = ${repr(branch_labels)}
depends_on = ${repr(depends_on)}


def upgrade() -> None:
    ${upgrades if upgrades else "pass"}


def downgrade() -> None:
    ${downgrades if downgrades else "pass"}
