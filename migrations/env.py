"""Runs the revisions, for the ``alembic`` command and for ``shopdesk.records.migrate``.

From the command line the record is the one shopdesk would open; ``-x url=...`` names another.
Each revision is one transaction on both databases. On SQLite foreign keys are off meanwhile and
checked before each commit.
"""

from typing import Any

from alembic import context
from alembic.util import CommandError
from sqlalchemy import Connection

from shopdesk import settings
from shopdesk.errors import ShopError
from shopdesk.records import faults, migrate
from shopdesk.records.tables import Base, indexes

__all__ = ["indexes"]  # loaded for what it adds to the tables


def _applied(*_args: Any, **_named: Any) -> None:
    migrate.check_foreign_keys(context.get_bind())


def _run(db: Connection) -> None:
    context.configure(
        connection=db,
        target_metadata=Base.metadata,
        render_as_batch=db.dialect.name == "sqlite",
        transactional_ddl=True,
        transaction_per_migration=True,
        compare_server_default=True,
        include_object=migrate.compared,
        on_version_apply=_applied,
    )
    with context.begin_transaction():
        context.run_migrations()


def _main() -> None:
    given = context.config.attributes.get("connection")
    if given is not None:
        _run(given)
        return
    if context.is_offline_mode():
        raise CommandError("the revisions need the database itself; --sql is not offered")
    named = context.get_x_argument(as_dictionary=True).get("url")
    try:
        url = settings.database_url(named)
        with faults.guarded(url, files=True), migrate.connection(url) as db:
            _run(db)
    except ShopError as error:
        raise CommandError(str(error)) from error


_main()
