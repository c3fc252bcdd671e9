"""A list of frozen rows as a table, as CSV or as JSON; the record it is read from."""

import csv
import dataclasses
import io
import json
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from datetime import date, datetime
from typing import TYPE_CHECKING, Any, TypeVar

import click

if TYPE_CHECKING:
    from shopdesk.desk.shop import Shop

Command = TypeVar("Command", bound=Callable[..., Any])

_CENTS = "_cents"
_MOST = 44


def listing(command: Command) -> Command:
    """The options every list has: which record, and how it is printed."""
    for decorate in (
        click.option("--csv", "shape", flag_value="csv", help="As CSV."),
        click.option("--json", "shape", flag_value="json", help="As JSON."),
        database_option,
    ):
        command = decorate(command)
    return command


database_option = click.option(
    "--database", metavar="DATABASE", help="The record; without it the one in the settings."
)


def delivered(parts: str) -> Callable[[Command], Command]:
    """The options of a report: in what shape it comes, which of its ``parts``, and to where."""
    options = (
        click.option("--csv", "shape", flag_value="csv", help="One part of it as CSV."),
        click.option("--json", "shape", flag_value="json", help="All of it as JSON."),
        click.option("--pdf", "shape", flag_value="pdf", help="As a page to print."),
        click.option("--letter", is_flag=True, help="Letter paper instead of A4."),
        click.option("--part", default="", help=parts),
        click.option("--out", metavar="FILE", help="Where to put it; - is standard output."),
        database_option,
    )

    def with_options(command: Command) -> Command:
        for option in reversed(options):
            command = option(command)
        return command

    return with_options


@contextmanager
def opened(database: str | None) -> "Iterator[Shop]":
    from shopdesk import settings
    from shopdesk.desk.shop import Shop
    from shopdesk.records.engine import open_record

    record = open_record(settings.database_url(database))
    try:
        yield Shop(record, terminal=settings.terminal_name())
    finally:
        record.close()


def listed(
    database: str | None,
    shape: str | None,
    question: Callable[[Any], Sequence[Any]],
    *,
    none: str,
) -> None:
    """Asks and prints; ``none`` is what is said of an empty list."""
    with opened(database) as shop, shop.read() as db:
        rows = question(db)
    show(rows, shape, none=none)


def show(rows: Sequence[Any], shape: str | None, *, none: str) -> None:
    if shape == "json":
        click.echo(json.dumps([_fields(row) for row in rows], default=str, ensure_ascii=False))
    elif rows:
        titles = [_title(name) for name in _fields(rows[0])]
        cells = [[_said(*field) for field in _fields(row).items()] for row in rows]
        click.echo(_csv(titles, cells) if shape == "csv" else _table(titles, cells), nl=False)
    elif shape is None:
        click.echo(none)


def _fields(row: Any) -> dict[str, Any]:
    return {field.name: getattr(row, field.name) for field in dataclasses.fields(row)}


def _title(name: str) -> str:
    return "amount" if name == "cents" else name.removesuffix(_CENTS).replace("_", " ")


def _said(name: str, value: Any) -> str:
    if value is None:
        return ""
    if name.endswith(_CENTS) or name == "cents":
        sign = "-" if value < 0 else ""
        return f"{sign}{abs(value) // 100}.{abs(value) % 100:02d}"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, datetime):
        return f"{value.astimezone():%Y-%m-%d %H:%M}"
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, tuple | list):
        return ", ".join(str(item) for item in value)
    return str(value)


def _csv(titles: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    from shopdesk.records.cells import as_text

    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(titles)
    writer.writerows([[_cell(cell, as_text) for cell in row] for row in rows])
    return out.getvalue()


def _cell(cell: str, as_text: Callable[[str], str]) -> str:
    """A negative number stays one: it is no formula."""
    return cell if cell[1:].replace(".", "", 1).isdigit() and cell[0] == "-" else as_text(cell)


def _table(titles: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """Columns two spaces apart; the last one as long as it is, a long one before it cut."""
    last = len(titles) - 1
    plain = [
        [_plain(cell) if index == last else _cut(_plain(cell)) for index, cell in enumerate(row)]
        for row in (titles, *rows)
    ]
    wide = [max(len(row[index]) for row in plain) for index in range(len(titles))]
    numeric = [all(_is_number(row[index]) for row in plain[1:]) for index in range(len(titles))]
    lines = []
    for row in plain:
        cells = [
            cell.rjust(width) if right else cell.ljust(width)
            for cell, width, right in zip(row, wide, numeric, strict=True)
        ]
        lines.append("  ".join(cells).rstrip())
    return "\n".join(lines) + "\n"


def _plain(cell: str) -> str:
    return "".join(sign if sign.isprintable() else "·" for sign in cell)


def _cut(cell: str) -> str:
    return cell if len(cell) <= _MOST else cell[: _MOST - 1] + "…"


def _is_number(cell: str) -> bool:
    return not cell or cell.lstrip("-").replace(".", "", 1).isdigit()
