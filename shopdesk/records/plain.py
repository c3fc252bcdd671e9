"""The record as plain text files, readable without the program, and back again.

One CSV file a table (RFC 4180, UTF-8), the shop's documents as the TOML files they are. A text
that a spreadsheet could take for a formula, or that begins with an apostrophe, is written with one
apostrophe before it; an empty text is a lone apostrophe, an empty cell is "nothing". Taking one
apostrophe off again gives the very text. (OWASP, "CSV Injection": = + - @, tab, return.)
"""

import csv
import shutil
import tomllib
from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Column, Table

from shopdesk import settings
from shopdesk.errors import BadInput, RecordFault
from shopdesk.records import carrying, chain, faults, filecopy
from shopdesk.records.cells import as_text
from shopdesk.records.engine import open_record
from shopdesk.records.filecopy import Progress
from shopdesk.records.migrate import HEAD
from shopdesk.records.tables.base import UtcTime

_SUMMARY = "export.toml"
_DOCUMENTS = "documents"
_MARKED = ("'", "\n")  # besides what might be a formula
_LONGEST_CELL = 64 * 1024 * 1024

_README = """This folder holds everything a shop recorded, as plain text.

Each .csv file is one table, first line the columns' names; it opens in any editor or spreadsheet.
A column like person_id names a row of person.csv by its id. Times are UTC. Money is in cents.
Columns ending in _si, _pa, _m3 are in SI units (pascal, cubic metre ...).
An apostrophe before a text only keeps a spreadsheet from reckoning with it; an empty text is a
lone apostrophe, an empty cell means that nothing was given. documents/ holds the shop's rules
and procedures; a cell in the column "document" names the file.

entry.csv is the work: every answer on every job's sheet, corrections included (supersedes).
event.csv is the audit trail: each row carries the hash of the one before, so that a changed or
missing row shows. person.csv holds the PINs' hashes: keep this folder closed.

`shopdesk load FOLDER DATABASE` makes a record of it again.
"""


def export(url: str, folder: Path, progress: Progress) -> carrying.Carried:
    """Writes one state of the record into ``folder``, which must be new or empty and appears whole
    or not at all. Raises RecordFault when the record's own chain does not stand."""
    url = settings.database_url(url)
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise BadInput(f"{folder} is there already and holds something; name a new folder.")
    unfinished = folder.with_name(f"{folder.name}.unfinished")
    record = open_record(url)
    try:
        with faults.guarded(str(folder), files=True), record.read() as db:
            shutil.rmtree(unfinished, ignore_errors=True)
            (unfinished / _DOCUMENTS).mkdir(parents=True, mode=0o700)
            unfinished.chmod(0o700)
            report = chain.verify(db)
            if report.broken is not None:
                raise RecordFault(f"The chain of events is broken ({report.broken}).")
            counted = carrying.counts(db)
            done, total = 0, sum(counted.values())
            for table in carrying.TABLES:
                progress(f"Writing {table.name}", done / total)
                _write(unfinished, table, carrying.rows(db, table))
                done += counted[table.name]
            (unfinished / "README.txt").write_text(_README, encoding="utf-8")
            (unfinished / _SUMMARY).write_text(_summary(report, counted), encoding="utf-8")
            if folder.exists():
                folder.rmdir()
            filecopy.put_in_place(unfinished, folder)
    except BaseException:
        shutil.rmtree(unfinished, ignore_errors=True)
        raise
    finally:
        record.close()
    progress("Written", 1.0)
    return carrying.Carried(total, report.rows, report.head)


def load(folder: Path, url: str, progress: Progress) -> carrying.Carried:
    """The record an export's files describe, in a new or empty place. Raises BadInput naming file,
    line and column."""
    summary = _read_summary(folder)
    counted = {table.name: int(summary["rows"].get(table.name, 0)) for table in carrying.TABLES}
    url = settings.database_url(url)
    return carrying.bring(
        url, lambda table: _read(folder, table), counted, str(summary["head"]), progress
    )


def _summary(report: chain.ChainReport, counted: dict[str, int]) -> str:
    lines = [f'revision = "{HEAD}"', f"events = {report.rows}", f'head = "{report.head}"']
    rows = [f"{name} = {count}" for name, count in counted.items()]
    return "\n".join([*lines, "", "[rows]", *rows, ""])


def _read_summary(folder: Path) -> dict[str, Any]:
    path = folder / _SUMMARY
    try:
        found = tomllib.loads(path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise BadInput(f"{path} cannot be read ({error}); name an exported folder.") from error
    if not isinstance(found.get("rows"), dict) or "head" not in found:
        raise BadInput(f"{path} lacks rows or head; name a folder that `shopdesk export` wrote.")
    if found.get("revision") != HEAD:
        raise RecordFault(
            f"{folder} was exported at revision {found.get('revision')}, this program has {HEAD}; "
            "load it with a program of that revision, then bring the record up."
        )
    return found


def _write(folder: Path, table: Table, rows: Iterator[carrying.Values]) -> None:
    columns = list(table.columns)
    with (folder / f"{table.name}.csv").open("w", encoding="utf-8", newline="") as file:
        out = csv.writer(file, lineterminator="\r\n")
        out.writerow([column.name for column in columns])
        for row in rows:
            values = dict(zip((column.name for column in columns), row, strict=True))
            if "document" in values:
                values["document"] = _put_document(folder, table, values)
            out.writerow([cell(values[column.name]) for column in columns])


def _put_document(folder: Path, table: Table, values: dict[str, Any]) -> str:
    name = f"{_DOCUMENTS}/{table.name}-{values['id']}.toml"
    (folder / name).write_bytes(str(values["document"]).encode())
    return name


def cell(value: Any) -> str:
    """One value as the text of a cell."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, datetime):
        return value.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S.%fZ")
    if isinstance(value, str):
        return f"'{value}" if not value or value.startswith(_MARKED) else as_text(value)
    return value.isoformat() if isinstance(value, date) else repr(value)


def text_of(written: str) -> str:
    """A text as it was before ``cell``."""
    return written.removeprefix("'")


def _read(folder: Path, table: Table) -> Iterator[carrying.Values]:
    path = folder / f"{table.name}.csv"
    columns = list(table.columns)
    csv.field_size_limit(_LONGEST_CELL)
    try:
        with path.open(encoding="utf-8", newline="") as file:
            lines = csv.reader(file, strict=True)
            expected = [column.name for column in columns]
            if next(lines, None) != expected:
                raise BadInput(f"{path.name} line 1: expected the columns {', '.join(expected)}")
            for row in lines:
                where = f"{path.name} line {lines.line_num}"
                if len(row) != len(columns):
                    raise BadInput(f"{where}: read {len(row)} cells, expected {len(columns)}")
                yield [
                    _value(column, written, folder, where)
                    for column, written in zip(columns, row, strict=True)
                ]
    except (OSError, UnicodeDecodeError, csv.Error) as error:
        raise BadInput(f"{path} cannot be read: {error}") from error


def _value(column: Column[Any], written: str, folder: Path, where: str) -> Any:
    if written == "":
        return None
    kind: type = datetime if isinstance(column.type, UtcTime) else column.type.python_type
    if column.name == "document":
        return _document(folder, written, where)
    reading = _READING.get(kind, text_of)
    try:
        return reading(written)
    except ValueError:
        raise BadInput(
            f"{where}, {column.name}: read {written[:40]!r}, expected {_EXPECTED[kind]}"
        ) from None


def _document(folder: Path, written: str, where: str) -> str:
    path = folder / written
    if not path.resolve().is_relative_to((folder / _DOCUMENTS).resolve()):
        raise BadInput(f"{where}, document: read {written[:40]!r}, expected a file of documents/")
    return path.read_bytes().decode()


def _yes_or_no(written: str) -> bool:
    if written not in ("yes", "no"):
        raise ValueError(written)
    return written == "yes"


def _moment(written: str) -> datetime:
    return datetime.strptime(written, "%Y-%m-%dT%H:%M:%S.%fZ").replace(tzinfo=UTC)


_READING: dict[type, Callable[[str], Any]] = {
    int: int,
    float: float,
    bool: _yes_or_no,
    date: date.fromisoformat,
    datetime: _moment,
}
_EXPECTED = {
    int: "a whole number",
    float: "a number",
    bool: "yes or no",
    date: "a day such as 2026-03-14",
    datetime: "a time such as 2026-03-14T08:10:00.000000Z",
}
