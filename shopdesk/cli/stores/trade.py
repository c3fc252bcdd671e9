"""``shopdesk stores import`` and ``export``."""

import codecs
import hashlib
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from shopdesk.cli.shell import STDOUT, put, say
from shopdesk.cli.signing import TAKES_IN, signed
from shopdesk.cli.stores.printing import database_option, opened
from shopdesk.errors import BadInput

if TYPE_CHECKING:
    from shopdesk.desk.shop import Shop
    from shopdesk.desk.trade.files import Table
    from shopdesk.desk.trade.incoming import Bad, Taken

_KIND = click.Choice(["parts", "suppliers", "prices", "lots", "customers"])
_SHOWN = 50


@click.command("import")
@click.argument("kind", type=_KIND)
@click.argument("file", type=click.Path(path_type=Path))
@database_option
@click.option("--sheet", default="", help="The sheet of a workbook; without it the first.")
@click.option("--encoding", default="", help="Of a CSV file that is not UTF-8, such as cp1252.")
@click.option(
    "--column",
    "told",
    multiple=True,
    metavar="OURS=THEIRS",
    help="Which column of the file is ours; remembered for files with the same first line.",
)
@click.option("--write", is_flag=True, help="Take it in; without this it is only tried.")
@click.option("--sign", help='Initials and PIN, "SK 2690"; asked for where they are needed.')
def import_(
    kind: str,
    file: Path,
    database: str | None,
    sheet: str,
    encoding: str,
    told: tuple[str, ...],
    write: bool,
    sign: str | None,
) -> None:
    """Take parts, suppliers, prices, lots or customers from FILE, CSV or .xlsx.

    The first line names the columns. A try first: it says what would be new or changed and lists
    every line that cannot be taken, with its reason. With --write all of it is taken, or nothing.
    """
    from shopdesk.desk.trade import files, incoming

    _step(f"reading {file.name}")
    table = files.read(file, sheet=sheet, encoding=encoding)
    if table.said:
        say(table.said)
    with opened(database) as shop:
        of, answered = _columns(shop, kind, table, _told(told))
        keeps = answered and (sign is not None or sys.stdin.isatty())
        who = signed(shop, sign, TAKES_IN) if write or keeps else ""
        _step("checking its lines")
        with shop.read() as db:
            taken = incoming.look(db, shop.clock(), kind, table, of)
        if keeps or (write and answered):
            _remember(shop, who, kind, table, of)
        _report(taken, file, of, table)
        if not write:
            say("a try: nothing was changed; --write takes it in")
            return
        _step("taking them in")
        sha256 = hashlib.sha256(file.read_bytes()).hexdigest()
        incoming.take_in(shop, who, kind, table, of, name=file.name, sha256=sha256)
    say(f"taken in by {who}: {len(taken.new)} new, {len(taken.changed)} changed")


def _step(what: str) -> None:
    """What takes a while, said to somebody who waits for it."""
    if sys.stderr.isatty():
        say(f"{what} …")


def _told(pairs: tuple[str, ...]) -> dict[str, str]:
    found = {}
    for pair in pairs:
        ours, equals, theirs = pair.partition("=")
        if not equals:
            raise BadInput(f'read --column {pair[:40]!r}; write it as number="Part No"')
        found[ours.strip()] = theirs.strip()
    return found


def _columns(
    shop: "Shop", kind: str, table: "Table", told: Mapping[str, str]
) -> tuple[dict[str, str], bool]:
    """Ours to theirs, and whether somebody had to say so just now."""
    from shopdesk.desk.trade import columns

    with shop.read() as db:
        before = columns.remembered(db, kind, table.headers)
    said = columns.checked(kind, table.headers, told)
    of = {**columns.recognised(kind, table.headers), **before, **said}
    lacking = columns.missing(kind, of)
    if lacking and sys.stdin.isatty():
        asked = _ask(lacking, [header for header in table.headers if header])
        return {**of, **columns.checked(kind, table.headers, asked)}, True
    if lacking:
        raise BadInput(
            f"no column is plainly {', '.join(lacking)}; the file has "
            f"{', '.join(header for header in table.headers if header)[:300]}. Name it: "
            f'--column {lacking[0]}="..."'
        )
    return of, bool(said) and of != before


def _ask(lacking: tuple[str, ...], headers: list[str]) -> dict[str, str]:
    for number, header in enumerate(headers, start=1):
        click.echo(f"{number:>4}  {header}", err=True)
    numbers = click.IntRange(1, len(headers))
    return {
        name: headers[click.prompt(f"Which column is {name}", type=numbers, err=True) - 1]
        for name in lacking
    }


def _remember(shop: "Shop", who: str, kind: str, table: "Table", of: Mapping[str, str]) -> None:
    from shopdesk.desk.trade import columns

    columns.remember(shop, who, kind, table.headers, of)
    say("how this file's columns are read is remembered")


def _report(taken: "Taken", file: Path, of: Mapping[str, str], table: "Table") -> None:
    """Says what the file brings; raises BadInput after listing its bad lines."""
    from shopdesk.desk.trade import columns

    if left := columns.unread(table.headers, of):
        say(f"not read: {', '.join(left)[:200]}")
    for bad in taken.bad[:_SHOWN]:
        click.echo(_line(bad))
    if len(taken.bad) > _SHOWN:
        click.echo(f"and {len(taken.bad) - _SHOWN} more")
    if taken.bad:
        lines = len({bad.line for bad in taken.bad})
        raise BadInput(
            f"{file.name}: {lines} of {len(table.lines)} lines cannot be taken; nothing was changed"
        )
    click.echo(
        f"{file.name}: {len(taken.new)} new, {len(taken.changed)} changed, {taken.same} as they are"
    )


def _line(bad: "Bad") -> str:
    return "".join(sign if sign.isprintable() else "·" for sign in str(bad))


@click.command()
@click.argument("kind", type=_KIND)
@click.argument("file", type=click.Path(path_type=Path, allow_dash=True))
@database_option
def export(kind: str, file: Path, database: str | None) -> None:
    """Write one of them to FILE: .csv or .xlsx; - is CSV on standard output.

    The import reads it back. Nothing in it acts as a formula when a spreadsheet opens it.
    """
    from shopdesk.desk.trade import outgoing

    if str(file) != STDOUT and file.suffix.lower() not in (".csv", ".xlsx"):
        raise BadInput(f"{file.name}: expected a name that ends in .csv or .xlsx")
    with opened(database) as shop, shop.read() as db:
        rows = outgoing.lines(db, kind)
        content = (
            outgoing.as_workbook(rows, kind)
            if file.suffix.lower() == ".xlsx"
            else outgoing.as_csv(rows)
        )
    if str(file) == STDOUT:
        content = content.removeprefix(codecs.BOM_UTF8)
    put(content, file, f"the list of {kind}")


COMMANDS: tuple[Any, ...] = (import_, export)
