"""``shopdesk new``, ``db`` and ``verify``: the record itself."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from shopdesk.cli import copies, papers
from shopdesk.cli.options import NAMED, url_of
from shopdesk.errors import RecordFault

if TYPE_CHECKING:
    from shopdesk.desk.sample.reading import SampleShop


@click.command(epilog=NAMED)
@click.argument("database")
@click.option(
    "--from",
    "folder",
    type=click.Path(path_type=Path),
    help="Lay out the shop whose files are in FOLDER; look at sample_shop/ for theirs.",
)
def new(database: str, folder: Path | None) -> None:
    """Make an empty record, or with --from one with your shop in it."""
    from shopdesk.records import faults, migrate

    url = url_of(database)
    found = None if folder is None else _read(folder)
    migrate.create(url)
    click.echo(f"An empty record is at {faults.where(url)}, revision {migrate.HEAD}.")
    if found is not None:
        click.echo(f"{_laid_out(url, found)} stands in it; open it with: shopdesk open {database}")


def _read(folder: Path) -> "SampleShop":
    """The files are read before anything is made."""
    from datetime import date

    from shopdesk.desk import starting

    return starting.read(folder, date.today())


def _laid_out(url: str, found: "SampleShop") -> str:
    from shopdesk.desk.shop import Shop
    from shopdesk.desk.starting import start_from
    from shopdesk.records.engine import open_record

    record = open_record(url)
    try:
        return start_from(Shop(record), found)
    finally:
        record.close()


@click.group()
def db() -> None:
    """Look after the record."""


db.add_command(new, "create")
db.add_command(copies.move)


@db.command(epilog=NAMED)
@click.argument("database", required=False)
@click.option("--no-copy", is_flag=True, help="Keep no copy of the record as it was.")
def upgrade(database: str | None, no_copy: bool) -> None:
    """Bring the record up to this program."""
    from shopdesk.records import migrate

    click.echo(migrate.upgrade(url_of(database), backup=not no_copy))


@db.command(epilog=NAMED)
@click.argument("database", required=False)
def current(database: str | None) -> None:
    """Say which revision the record has."""
    from shopdesk.records import faults, migrate

    url = url_of(database)
    found = migrate.current(url)
    if found is None:
        raise RecordFault(f"There is no shopdesk record at {faults.where(url)}.")
    needed = "" if found == migrate.HEAD else f"; this program needs {migrate.HEAD}"
    click.echo(f"{found}{needed}")


@db.command(epilog=NAMED)
@click.argument("database", required=False)
def check(database: str | None) -> None:
    """Say whether this program can use the record."""
    from shopdesk.records import faults
    from shopdesk.records.engine import open_record

    url = url_of(database)
    record = open_record(url)
    try:
        with record.read():
            click.echo(f"{faults.where(url)} can be used by this program.")
    finally:
        record.close()


@db.command(epilog=NAMED)
@click.argument("database", required=False)
def reopen(database: str | None) -> None:
    """Take entries again in a record that was moved away, where the one it went to is given up."""
    from shopdesk.records import closing, faults
    from shopdesk.records.engine import open_record

    url = url_of(database)
    record = open_record(url)
    try:
        with record.write() as connection:
            was_closed = closing.reopen(connection)
    finally:
        record.close()
    said = "takes entries again" if was_closed else "was not moved away; nothing was changed"
    click.echo(f"{faults.where(url)} {said}.")


@click.command(epilog=NAMED)
@click.argument("database", required=False)
@click.option("--head", metavar="HASH", help="A head from a printed certificate, to be found too.")
@click.option(
    "--certificate",
    nargs=2,
    metavar="JOB CODE",
    help="A certificate's job and short code: does the record still say the same?",
)
def verify(database: str | None, head: str | None, certificate: tuple[str, str] | None) -> None:
    """Check that no event of the record was altered, lost or put in, and that entries, stock moves,
    answers and documents are what their events say."""
    from shopdesk.records import chain, witness
    from shopdesk.records.engine import open_record

    record = open_record(url_of(database))
    try:
        with record.read() as connection:
            report = chain.verify(connection, printed=head)
            changed = None if report.broken else witness.fault(connection)
            said = certificate and papers.matched(connection, *certificate)
    finally:
        record.close()
    if report.broken is not None:
        raise RecordFault(f"The chain of events is broken: {report.broken}.")
    if changed is not None:
        raise RecordFault(f"The chain of events stands, but {changed}.")
    stand = (
        "1 event stands as it was"
        if report.rows == 1
        else f"{report.rows} events stand as they were"
    )
    click.echo(f"{stand} recorded; head {report.head}")
    if said:
        click.echo(said)
