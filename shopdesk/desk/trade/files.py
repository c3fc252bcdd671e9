"""A CSV or .xlsx file as lines of text cells, with what is odd in a cell told at that cell."""

import csv
import io
import warnings
import zipfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from pathlib import Path
from typing import Any

from shopdesk.errors import BadInput
from shopdesk.records.cells import FORMULA

MOST_COLUMNS, MOST_LINES = 200, 200_000
MOST_BYTES = 500_000_000
"""A workbook is a zip archive: unpacked it may be a thousand times its size."""

_OLD_WORKBOOK = b"\xd0\xcf\x11\xe0"  # OLE compound file: .xls, and .xlsx under a password
_ZIP = b"PK\x03\x04"


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the file, ``number`` as its program counts them; ``odd`` says by column what
    a cell holds that is no plain value, ``fault`` why the line cannot be read at all."""

    number: int
    cells: tuple[str, ...]
    odd: tuple[tuple[int, str], ...] = ()
    fault: str = ""


@dataclass(frozen=True, slots=True)
class Table:
    headers: tuple[str, ...]
    lines: tuple[Line, ...]
    said: str = ""


def read(path: Path, *, sheet: str = "", encoding: str = "") -> Table:
    """The file's first line as headers, the others as text. Raises BadInput, naming the line."""
    try:
        content = path.read_bytes()
    except OSError as fault:
        raise BadInput(f"{path} cannot be read: {fault.strerror}") from fault
    if content.startswith(_OLD_WORKBOOK):
        raise BadInput(
            f"{path.name} is an old .xls workbook or has a password; save it as .xlsx without one"
        )
    if content.startswith(_ZIP):
        lines, said = _workbook(content, path.name, sheet)
    elif sheet:
        raise BadInput(f"{path.name} is no .xlsx workbook, so it has no sheet {sheet[:40]!r}")
    else:
        lines, said = _text_lines(_decoded(content, path.name, encoding), path.name), ""
    return _table(lines, path.name, said)


def _table(lines: Iterator[Line], name: str, said: str) -> Table:
    head = next(lines, None)
    if head is None:
        raise BadInput(f"{name} holds nothing; its first line has to name the columns")
    headers = tuple(cell.strip() for cell in head.cells)
    while headers and not headers[-1]:
        headers = headers[:-1]
    if len(headers) > MOST_COLUMNS:
        raise BadInput(
            f"{name} has {len(headers)} columns, at most {MOST_COLUMNS} are read; "
            "keep those that are wanted"
        )
    twice = sorted({cell for cell in headers if cell and headers.count(cell) > 1})
    if twice:
        raise BadInput(f"{name}: two columns are headed {twice[0][:40]!r}; rename one")
    kept: list[Line] = []
    for line in lines:
        if len(kept) == MOST_LINES:
            raise BadInput(f"{name} has more than {MOST_LINES:,} lines; divide it")
        kept.append(line)
    return Table(headers, tuple(kept), said)


def _decoded(content: bytes, name: str, encoding: str) -> str:
    named = encoding or ("utf-16" if content[:2] in (b"\xff\xfe", b"\xfe\xff") else "utf-8-sig")
    try:
        text = content.decode(named)
    except LookupError as fault:
        raise BadInput(f"no encoding is called {encoding[:30]!r}; try utf-8 or cp1252") from fault
    except UnicodeDecodeError as fault:
        at = content.count(b"\n", 0, fault.start) + 1
        raise BadInput(
            f"{name} line {at}: byte 0x{content[fault.start]:02X} is not "
            f"{encoding or 'UTF-8'}; save it as CSV UTF-8, or name its encoding: "
            "--encoding cp1252"
        ) from fault
    if "\0" in text:
        raise BadInput(f"{name} is no text: it holds zero bytes; expected CSV or .xlsx")
    return text


def _text_lines(text: str, name: str) -> Iterator[Line]:
    head = text[: text.find("\n")] if "\n" in text else text
    separator = max(",;\t", key=head.count)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    began, width = 1, 0
    try:
        for cells in reader:
            if any(cell.strip() for cell in cells):
                width = width or len(cells)
                said = _too_wide(cells, width, separator)
                yield Line(began, tuple(_plain(cell) for cell in cells), _formulas(cells), said)
            began = reader.line_num + 1
    except csv.Error as fault:
        raise BadInput(f"{name} line {reader.line_num}: not readable as CSV: {fault}") from fault


def _too_wide(cells: Sequence[str], width: int, separator: str) -> str:
    """A comma inside a value moves all that follows into the next column, where it may well be
    read as something else: 5,25 as a price of 5 and a pack of 25."""
    if not any(cell.strip() for cell in cells[width:]):
        return ""
    sign = {",": "comma", ";": "semicolon"}.get(separator, "tab")
    return f"{len(cells)} values under {width} columns; a {sign} inside a value needs quotes"


def _plain(cell: str) -> str:
    """What was written with an apostrophe before it, without it."""
    return cell[1:] if cell.startswith("'") and cell[1:].startswith(FORMULA) else cell


def _formulas(cells: Sequence[str]) -> tuple[tuple[int, str], ...]:
    return tuple(
        (index, "a formula; put its value there")
        for index, cell in enumerate(cells)
        if cell.startswith("=")
    )


def _workbook(content: bytes, name: str, sheet: str) -> tuple[Iterator[Line], str]:
    from openpyxl import load_workbook

    _not_too_large(content, name)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # styles and drawings it leaves out: nothing we read
            book = load_workbook(io.BytesIO(content), read_only=True, keep_links=False)
    except Exception as fault:  # a broken archive fails in whatever layer meets it first
        raise BadInput(f"{name} is no readable .xlsx workbook: {fault}") from fault
    names = [found.title for found in book.worksheets]
    if sheet and sheet not in names:
        raise BadInput(f"{name} has no sheet {sheet[:40]!r}; it has {', '.join(names)[:200]}")
    chosen = book[sheet] if sheet else book.worksheets[0]
    others = [other for other in names if other != chosen.title]
    said = f"sheet {chosen.title} was read, not {', '.join(others)[:200]}" if others else ""
    return _sheet_lines(chosen, name), said


def _not_too_large(content: bytes, name: str) -> None:
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            size = sum(entry.file_size for entry in archive.infolist())
    except zipfile.BadZipFile as fault:
        raise BadInput(f"{name} is no readable .xlsx workbook: {fault}") from fault
    if size > MOST_BYTES:
        raise BadInput(f"{name} unpacks to {size / 1e6:,.0f} MB; divide it")


def _sheet_lines(sheet: Any, name: str) -> Iterator[Line]:
    sheet.reset_dimensions()  # what a program noted of the sheet's size may be wrong
    try:
        for number, row in enumerate(sheet.iter_rows(), start=1):
            read = [_cell(cell) for cell in row]
            if any(text.strip() for text, _ in read):
                odd = tuple((index, said) for index, (_, said) in enumerate(read) if said)
                yield Line(number, tuple(text for text, _ in read), odd)
    except BadInput:
        raise
    except Exception as fault:
        raise BadInput(f"{name}: the sheet cannot be read: {fault}") from fault


def _cell(cell: Any) -> tuple[str, str]:
    """The cell as it would be typed, and what is odd about it."""
    value = cell.value
    if value is None:
        return "", ""
    if cell.data_type == "f":
        return str(value), "a formula; put its value there"
    if cell.data_type == "e":
        return str(value), "an error of the spreadsheet; put the value there"
    if isinstance(value, bool):
        return ("yes" if value else "no"), ""
    if isinstance(value, datetime | date | time):
        return str(value), "a date, which spreadsheets make of numbers like 3-12; set it as text"
    if isinstance(value, int | float):
        text = format(value, ".12g")
        padded = (cell.number_format or "").strip('"')
        if padded.startswith("0") and padded.isdigit() and len(padded) > 1:
            return text.zfill(len(padded)), "a number only shown with leading zeros; set it as text"
        return text, ""
    return str(value), ""
