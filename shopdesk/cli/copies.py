"""``shopdesk backup``, ``restore``, ``export``, ``load`` and ``db move``: the whole record."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from shopdesk.cli.options import NAMED, counted, url_of
from shopdesk.cli.progress import bar
from shopdesk.cli.shell import say
from shopdesk.errors import BadInput, RecordFault

if TYPE_CHECKING:
    from shopdesk.records.carrying import Carried
    from shopdesk.records.copies import Copied

_PATH = click.Path(path_type=Path)


@click.command(epilog=NAMED)
@click.argument("database", required=False)
@click.option("--to", "target", type=_PATH, metavar="FILE", help="Where the copy goes.")
@click.option(
    "--daily", is_flag=True, help="Only if the day's copy is due; lets old ones go (for cron)."
)
def backup(database: str | None, target: Path | None, daily: bool) -> None:
    """Copy the whole record while people work, and check the copy.

    Without --to it goes to the folder SHOPDESK_BACKUPS names, or backups/ beside a SQLite file.
    When it is due each day and how long it is kept is a rule of the shop: [backup] in shop.toml.
    """
    url = url_of(database)
    if daily:
        _daily(url, target)
        return
    from shopdesk.desk.shop import utc_now
    from shopdesk.records import copies

    path = target or _folder(url) / copies.name_for(url, utc_now())
    with bar("Copying") as progress:
        taken = copies.take(url, path, progress)
    _told(taken)


def _daily(url: str, target: Path | None) -> None:
    from shopdesk.desk.safekeeping import daily
    from shopdesk.desk.shop import Shop
    from shopdesk.records.engine import open_record

    if target is not None:
        raise BadInput("--daily names its copies itself; name the folder in SHOPDESK_BACKUPS.")
    folder = _folder(url)
    record = open_record(url)
    try:
        with bar("Copying") as progress:
            taken = daily(Shop(record), folder, progress)
    finally:
        record.close()
    if taken is None:
        click.echo("No copy is due: the day has its own, or the shop's rules ask for none.")
    else:
        _told(taken)


def _folder(url: str) -> Path:
    from shopdesk import settings

    folder = settings.backup_folder(url)
    if folder is None:
        raise BadInput(
            f"Where should the copy go? Say --to FILE, or name a folder in {settings.BACKUPS}."
        )
    return folder


def _told(taken: "Copied") -> None:
    if taken.chain_fault is not None:
        raise RecordFault(
            f"The copy is in {taken.where}, but the record's chain of events is broken: "
            f"{taken.chain_fault}; keep every earlier copy."
        )
    click.echo(f"{taken.where}: {counted(taken.events, 'event')}, checked; head {taken.head}")


@click.command(epilog=NAMED)
@click.argument("copy", type=_PATH)
@click.argument("database", required=False)
@click.option("--replace", is_flag=True, help="Put it in the place of a record that stands.")
def restore(copy: Path, database: str | None, replace: bool) -> None:
    """Put a copy back as the record, once it is found whole."""
    from shopdesk.records import copies, migrate

    with bar("Restoring") as progress:
        found = copies.restore(copy, url_of(database), progress, replace=replace)
    click.echo(f"{found.where} is restored: {counted(found.events, 'event')}, head {found.head}")
    if found.kept is not None:
        click.echo(f"What stood there is kept as {found.kept}")
    if found.revision != migrate.HEAD:
        say(f"the copy has revision {found.revision}; bring it up with `shopdesk db upgrade`")


@click.command()
@click.argument("folder", type=_PATH)
@click.argument("database", required=False)
def export(folder: Path, database: str | None) -> None:
    """Write everything into FOLDER as text files that need no program.

    The folder holds PIN hashes and customers: keep it closed.
    """
    from shopdesk.records import plain

    with bar("Writing") as progress:
        done = plain.export(url_of(database), folder, progress)
    click.echo(_carried(str(folder), done))


@click.command(epilog=NAMED)
@click.argument("folder", type=_PATH)
@click.argument("database")
def load(folder: Path, database: str) -> None:
    """Make a record of an exported FOLDER, in a new or empty DATABASE."""
    from shopdesk.records import faults, plain

    url = url_of(database)
    with bar("Loading") as progress:
        done = plain.load(folder, url, progress)
    click.echo(_carried(faults.where(url), done))


@click.command(epilog=NAMED)
@click.argument("source", metavar="FROM")
@click.argument("target", metavar="TO")
@click.option("--keep-open", is_flag=True, help="For a trial: entries are taken at FROM as well.")
def move(source: str, target: str, keep_open: bool) -> None:
    """Carry a whole shop to another database, SQLite or PostgreSQL.

    TO must be new or empty. Deeds at FROM wait meanwhile and are refused from then on, at terminals
    left open too: open TO at every terminal. `shopdesk db reopen` takes that back.
    """
    from shopdesk.records import carrying, faults

    with bar("Carrying") as progress:
        done = carrying.move(source, target, progress, keep_open=keep_open)
    click.echo(_carried(faults.where(url_of(target)), done))


def _carried(where: str, done: "Carried") -> str:
    found = f"{counted(done.rows, 'row')}, {counted(done.events, 'event')}"
    return f"{where}: {found}, verified; head {done.head}"
