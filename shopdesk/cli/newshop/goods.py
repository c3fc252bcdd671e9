"""Suppliers, parts, prices, lots and customers: from files, or typed."""

import hashlib
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from shopdesk.cli.asking import readers
from shopdesk.cli.asking.asker import Asked, Asker
from shopdesk.cli.newshop.setting_up import SettingUp
from shopdesk.cli.options import counted
from shopdesk.errors import BadInput

if TYPE_CHECKING:
    from shopdesk.desk.trade.files import Table
    from shopdesk.procedure import KitLine

_SHOWN = 12
LABELS = ("suppliers ", "parts ", "prices ", "lots ", "customers ", "stock ", "customer ")
STORES = ("suppliers", "parts", "prices", "lots")


@dataclass(frozen=True)
class _File:
    path: Path
    table: "Table"
    of: dict[str, str] = field(default_factory=dict)


def from_files(up: SettingUp, kinds: tuple[str, ...]) -> None:
    """Each kind from a file, tried first; a bad line is shown and the file asked for again."""
    from shopdesk.desk.trade import columns, incoming

    for kind in kinds:
        file = up.ask.through(partial(_asked, up, kind), whole=False)
        if file is None:
            continue
        sha256 = hashlib.sha256(file.path.read_bytes()).hexdigest()
        name, table, of = file.path.name, file.table, file.of
        if of != columns.recognised(kind, table.headers):
            columns.remember(up.shop, up.who, kind, table.headers, of)
        found = incoming.take_in(up.shop, up.who, kind, table, of, name=name, sha256=sha256)
        up.done(f"{counted(len(found.new), kind.removesuffix('s'))} from {name}.")


def _asked(up: SettingUp, kind: str, ask: Asker) -> _File | None:
    from shopdesk.desk.trade import columns

    if kind == STORES[0]:
        ask.head("Stores", "Lists you have as CSV or .xlsx, their first line naming the columns.")
    words = f"A file of {kind}: its name, or Enter for none"
    file: _File | None = ask.ask(
        Asked(f"{kind} file", words, partial(_file, kind), f"{kind}.csv", "")
    )
    if file is None:
        return None
    headers = file.table.headers
    of = columns.recognised(kind, headers)
    for name in columns.missing(kind, of):
        left = columns.unread(headers, of)
        of[name] = ask.ask(
            Asked(
                f"{kind} column {name}",
                f"Which of its columns is {name.replace('_', ' ')}? {', '.join(left)[:200]}",
                readers.one_of(*left),
                left[0],
            )
        )
    words = f"Take in the {counted(len(file.table.lines), 'line')} of {file.path.name}?"
    if left := columns.unread(headers, of):
        words += f" Not read: {', '.join(left)[:200]}"
    sound: _File | None = ask.ask(
        Asked(
            f"{kind} tried",
            words,
            lambda text: _sound(up, kind, file.path, of) if readers.yes(text) else None,
            usual="yes",
        )
    )
    return sound


def _file(kind: str, text: str) -> _File | None:
    """Raises BadInput for a file without columns enough for what is needed."""
    from shopdesk.desk.trade import columns, files

    if not text.strip():
        return None
    path = Path(text).expanduser()
    table = files.read(path)
    of = columns.recognised(kind, table.headers)
    lacking = columns.missing(kind, of)
    if len(lacking) > len(columns.unread(table.headers, of)):
        raise BadInput(f"{path.name} has no column for {', '.join(lacking)}, which {kind} need")
    return _File(path, table)


def _sound(up: SettingUp, kind: str, path: Path, of: dict[str, str]) -> _File:
    """The dry run of the file as it is now. Raises BadInput after listing its bad lines."""
    from shopdesk.desk.trade import files, incoming

    table = files.read(path)
    with up.shop.read() as db:
        taken = incoming.look(db, up.shop.clock(), kind, table, of)
    if taken.bad:
        for bad in taken.bad[:_SHOWN]:
            click.echo(f"  {bad}")
        raise BadInput(
            f"{len({bad.line for bad in taken.bad})} of its {len(table.lines)} lines cannot be "
            "taken, and nothing was: mend the file and press Enter, or no to go on without it"
        )
    return _File(path, table, of)


def kit(up: SettingUp) -> None:
    """What the procedures take and stores does not know, or has no piece of."""
    from shopdesk.desk import stores
    from shopdesk.desk.stores import NewPart

    there = up.so_far()
    needed = {line.part: line for doc in up.procedures() for line in doc.kit}
    lacking = [line for number, line in needed.items() if number not in there.stocked]
    standard = up.rules().seal_standard

    def asked(ask: Asker) -> list[tuple[Any, ...]]:
        return [_part(ask, line, there.parts.get(line.part), standard) for line in lacking]

    def write(rows: list[tuple[Any, ...]]) -> None:
        now = up.so_far()
        for line, row in zip(lacking, rows, strict=True):
            what, cost, compound, pieces, lot, cured = row
            if cured and not compound:
                raise BadInput(f"{line.part} is cured in {cured}: of which rubber is it?")
            if line.part not in now.parts:
                stores.add_part(up.shop, up.who, NewPart(line.part, what, cost, compound=compound))
            if pieces and line.part not in now.stocked:
                delivery = stores.Delivery(line.part, lot, pieces, cured=cured)
                stores.receive(up.shop, up.who, delivery)

    if lacking:
        up.ask.put(asked, write)
        up.done(f"Stores knows {', '.join(line.part for line in lacking)}.")


def _part(ask: Asker, line: "KitLine", known: str | None, standard: str) -> tuple[Any, ...]:
    """What it is, its cost, its rubber, pieces, lot, cure quarter. ``known``: the rubber of a part
    that stores knows, None of one it does not; "" has no life in store."""
    new = known is None
    from shopdesk.calc import shelf
    from shopdesk.rules.shop import cents

    label = f"stock {line.part}"
    what = [
        Asked(
            label,
            "What it is",
            readers.words(100),
            "O-ring 32.92 x 3.53",
            line.id.replace("_", " "),
        ),
        Asked(f"{label} cost", "What a piece costs", cents, "1.20", "0.00"),
        Asked(
            f"{label} rubber",
            "Its rubber, where it has a life in store: NBR, FKM, …",
            readers.maybe(lambda text: shelf.life(text, standard).compound),
            "NBR",
            "",
        ),
    ]
    shelved = [
        Asked(
            f"{label} pieces" if new else label,
            "Pieces on the shelf",
            readers.whole(0, 99999),
            "25",
            "0",
        ),
        Asked(f"{label} lot", "Their lot", readers.words(40), "L-1001", "L-1"),
        Asked(
            f"{label} cured",
            "Cured in which quarter",
            readers.maybe(lambda text: str(shelf.cure_quarter(text))),
            "2Q2026",
            "",
        ),
    ]
    ask.head(
        f"Part {line.part}",
        "The procedure takes it. All at once: WHAT; COST; RUBBER; PIECES; LOT; CURED."
        if new
        else "The procedure takes it and stores has none on the shelf.",
    )
    if new:
        return ask.row([*what, *shelved]) or ()
    row = ask.row(shelved if known else shelved[:-1]) or ()
    return ("", 0, known, *row, *(() if known else ("",)))


def customers(up: SettingUp) -> None:
    """The first ones, and the shop itself as owner of its exchange units."""
    from shopdesk.desk import keeping

    def write(rows: list[tuple[str, ...]]) -> str:
        for name, code, phone, email, place in rows:
            if code.upper() not in up.so_far().codes:
                keeping.add_customer(
                    up.shop, up.who, code=code, name=name, phone=phone, email=email, place=place
                )
        return ", ".join(row[1].upper() for row in rows)

    if codes := up.ask.put(_customers, write):
        up.done(f"{codes} on the list of customers.")


def house(up: SettingUp) -> None:
    from shopdesk.desk import keeping

    name = f"{up.rules().name}, exchange shelf"
    keeping.add_customer(up.shop, up.who, code="HOUSE", name=name, house=True)


def _customers(ask: Asker) -> list[tuple[str, ...]]:
    ask.head(
        "A first customer",
        "One by one, or NAME; CODE; PHONE; MAIL; PLACE; Enter where there are no more.",
    )
    rows: list[tuple[str, ...]] = []
    while (row := ask.row(_customer(len(rows) + 1, [row[1] for row in rows]))) is not None:
        rows.append(row)
    return rows


def _customer(number: int, taken: list[str]) -> list[Asked]:
    label = f"customer {number}"

    def code(text: str) -> str:
        found = readers.words(20)(text).upper()
        if found in (*taken, "HOUSE"):
            raise BadInput(f"code {found} is another's already; choose one more")
        return found

    def maybe(most: int) -> Callable[[str], str]:
        return readers.maybe(readers.words(most))

    return [
        Asked(label, "Name", maybe(200), "Two Sisters Trawling", ""),
        Asked(f"{label} code", "Short code", code, "C01", f"C{number:02d}"),
        Asked(f"{label} phone", "Telephone", maybe(60), "+00 550 0101", ""),
        Asked(f"{label} mail", "Mail", maybe(120), "engine@twosisters.example", ""),
        Asked(f"{label} place", "Place", maybe(120), "Lower Quay", ""),
    ]
