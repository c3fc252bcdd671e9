"""A file's lines checked against the shop, every bad one told, and taken in whole or not at all."""

from collections.abc import Callable, Hashable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Insert, Row, Update, bindparam, case, insert, select, update

from shopdesk.desk import lots, stores
from shopdesk.desk.shop import Deed, Shop, Worker
from shopdesk.desk.trade import columns as known
from shopdesk.desk.trade import price_breaks
from shopdesk.desk.trade.files import Line, Table
from shopdesk.errors import BadInput, ShopError
from shopdesk.records.tables import Customer, Lot, Part, PartSupplier, SetRow, Supplier
from shopdesk.rules import prices as rules
from shopdesk.views import documents, offers

Values = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Bad:
    """A line that cannot be taken in: where, what was read, why not."""

    line: int
    column: str
    read: str
    reason: str

    def __str__(self) -> str:
        where = f", {self.column}" if self.column else ""
        return f"line {self.line}{where}: read {self.read[:40]!r}; {self.reason}"


@dataclass(slots=True)
class Taken:
    """What a file brings: new rows, changed ones (with what changes), how many say nothing new,
    and the bad lines. Nothing is written while there is a bad one."""

    kind: str
    new: list[Values] = field(default_factory=list)
    changed: list[Values] = field(default_factory=list)
    same: int = 0
    bad: list[Bad] = field(default_factory=list)


def look(db: Connection, now: datetime, kind: str, table: Table, of: Mapping[str, str]) -> Taken:
    """The dry run: what would be taken in, nothing written. ``of``: our columns to theirs."""
    lacking = known.missing(kind, of)
    if lacking:
        raise BadInput(f"no column is named for {', '.join(lacking)}")
    taken = Taken(kind)
    rows = _read(taken, table, of)
    _JUDGES[kind](db, now, taken, rows)
    taken.bad.sort(key=lambda bad: bad.line)
    return taken


def take_in(
    shop: Shop,
    who: str,
    kind: str,
    table: Table,
    of: Mapping[str, str],
    *,
    name: str,
    sha256: str,
) -> Taken:
    """Takes the file in, all of it. Raises BadInput, and nothing is changed, for a bad line."""

    def work(deed: Deed) -> Taken:
        person = deed.worker(who, _ACTIONS.get(kind, "order"))
        taken = look(deed.db, deed.now, kind, table, of)
        if taken.bad:
            raise BadInput(
                f"{len(taken.bad)} bad lines, nothing was changed; first: {taken.bad[0]}"
            )
        _write(deed, person, taken)
        told = {"new": len(taken.new), "changed": len(taken.changed), "same": taken.same}
        deed.event("import", person, {"kind": kind, "file": name, "sha256": sha256, **told})
        return taken

    return shop.write(work)


def _read(taken: Taken, table: Table, of: Mapping[str, str]) -> list[tuple[Line, Values]]:
    """Every line's values by our names; a line with a bad cell is told and left out."""
    at = {name: table.headers.index(header) for name, header in of.items()}
    wanted = [column for column in known.wanted(taken.kind) if column.name in at]
    rows = []
    for line in table.lines:
        if line.fault:
            taken.bad.append(Bad(line.number, "", ", ".join(line.cells), line.fault))
            continue
        odd, values, before = dict(line.odd), Values(), len(taken.bad)
        for column in wanted:
            index = at[column.name]
            text = line.cells[index].strip() if index < len(line.cells) else ""
            try:
                if index in odd:
                    raise BadInput(odd[index])
                if column.needed and not text:
                    raise BadInput("nothing there, and it is needed")
                if text or column.needed:
                    values[column.name] = column.read(text)
            except ShopError as fault:
                taken.bad.append(Bad(line.number, column.name, text, _reason(fault, text)))
        if len(taken.bad) == before:
            rows.append((line, values))
    return rows


def _reason(fault: ShopError, text: str) -> str:
    return str(fault).removeprefix(f"read {text[:40]!r}, ")


def _once(
    taken: Taken,
    rows: list[tuple[Line, Values]],
    key: Callable[[Values], Hashable],
    column: str,
) -> list[tuple[Line, Values]]:
    """The rows without those whose key stood on an earlier line, which are told."""
    first: dict[Hashable, int] = {}
    kept = []
    for line, values in rows:
        stood = first.setdefault(key(values), line.number)
        if stood == line.number:
            kept.append((line, values))
        else:
            said = f"stands on line {stood} already"
            taken.bad.append(Bad(line.number, column, str(values[column]), said))
    return kept


def _sort(taken: Taken, values: Values, found: Values | None) -> None:
    """New, changed or the same, against the row of the record with the same key."""
    if found is None:
        taken.new.append(values)
    elif changes := {name: new for name, new in values.items() if found[name] != new}:
        taken.changed.append({**values, **changes, "id": found["id"]})
    else:
        taken.same += 1


def _parts(db: Connection, _: datetime, taken: Taken, rows: list[tuple[Line, Values]]) -> None:
    standing = {row.number: dict(row._mapping) for row in db.execute(select(Part.__table__))}
    for _line, values in _once(taken, rows, lambda v: v["number"], "number"):
        values["unit_cost_cents"] = values.pop("unit_cost")
        _sort(taken, values, standing.get(values["number"]))


def _suppliers(db: Connection, _: datetime, taken: Taken, rows: list[tuple[Line, Values]]) -> None:
    standing = {row.code: dict(row._mapping) for row in db.execute(select(Supplier.__table__))}
    for _line, values in _once(taken, rows, lambda v: v["code"], "code"):
        if "minimum_order" in values:
            values["minimum_order_cents"] = values.pop("minimum_order")
        _sort(taken, values, standing.get(values["code"]))


def _customers(db: Connection, _: datetime, taken: Taken, rows: list[tuple[Line, Values]]) -> None:
    standing = {row.code: dict(row._mapping) for row in db.execute(select(Customer.__table__))}
    for _line, values in _once(taken, rows, lambda v: v["code"], "code"):
        values["name_key"] = values["name"].casefold()[:200]
        _sort(taken, values, standing.get(values["code"]))


def _prices(db: Connection, _: datetime, taken: Taken, rows: list[tuple[Line, Values]]) -> None:
    parts = _ids(db, Part.number, Part.id)
    suppliers = _ids(db, Supplier.code, Supplier.id)
    breaks = offers.breaks(db)
    standing = {
        (row.part_id, row.supplier_id): {**row._mapping, "breaks": breaks.get(row.id, ())}
        for row in db.execute(select(PartSupplier.__table__))
    }
    for line, values in _once(taken, rows, lambda v: (v["part"], v["supplier"]), "part"):
        part, supplier = parts.get(values["part"]), suppliers.get(values["supplier"])
        if part is None:
            taken.bad.append(Bad(line.number, "part", values["part"], "no such part in stores"))
        if supplier is None:
            said = "no such supplier; take the suppliers in first"
            taken.bad.append(Bad(line.number, "supplier", values["supplier"], said))
        if part is not None and supplier is not None:
            row = {"part_id": part, "supplier_id": supplier, "price_cents": values["price"]}
            row |= {"least_pieces": values["least"]} if "least" in values else {}
            row |= {"breaks": values["breaks"]} if "breaks" in values else {}
            found = standing.get((part, supplier))
            now = {**(found or {}), **row}
            try:
                rules.check(((1, now["price_cents"]), *now.get("breaks", ())))
            except ShopError as fault:
                text = rules.said(now.get("breaks", ()))
                taken.bad.append(Bad(line.number, "breaks", text, str(fault)))
                continue
            _sort(taken, row, found)


def _lots(db: Connection, now: datetime, taken: Taken, rows: list[tuple[Line, Values]]) -> None:
    parts = {row.number: row for row in db.execute(select(Part.number, Part.id, Part.compound))}
    there = {(row.part_id, row.number): row for row in db.execute(_LOTS)}
    standard, today = documents.rules(db).seal_standard, now.astimezone().date()
    sets, mates = set(db.execute(select(SetRow.number)).scalars()), set[tuple[str, str]]()
    for line, values in _once(taken, rows, lambda v: (v["part"], v["lot"]), "lot"):
        part = parts.get(values["part"])
        if part is None:
            taken.bad.append(Bad(line.number, "part", values["part"], "no such part in stores"))
        elif (known_lot := there.get((part.id, values["lot"]))) is not None:
            if said := _lot_differs(known_lot, values):
                taken.bad.append(Bad(line.number, "lot", values["lot"], said))
            else:
                taken.same += 1
        elif said := lots.cure_fault(values.get("cured", ""), part.compound, standard, today):
            taken.bad.append(Bad(line.number, "cured", values.get("cured", ""), said))
        elif (of_set := values.get("set", "")) in sets:
            said = "is the number of a matched set already; give this set another"
            taken.bad.append(Bad(line.number, "set", of_set, said))
        elif (values["part"], of_set) in mates:
            said = f"has its {values['part']} on an earlier line; a set has each part once"
            taken.bad.append(Bad(line.number, "set", of_set, said))
        else:
            if of_set:
                mates.add((values["part"], of_set))
            taken.new.append(values)


_LOTS = select(
    Lot.part_id,
    Lot.number,
    Lot.on_hand.label("pieces"),
    Lot.cured,
    Lot.certificate,
    Lot.unit_cost_cents.label("unit_cost"),
    case((Lot.set_broken, ""), else_=Lot.set_number).label("set"),
    Lot.origin,
)


def _lot_differs(lot: Row[*tuple[Any, ...]], values: Values) -> str:
    """Why a line that names a lot of the record cannot be taken in; "" where it says of it what is
    known."""
    if lot.origin != "bought":
        return "is a lot of other pieces already: give these a number of their own"
    known_as = lot._mapping
    for name, said in (("pieces", "a count changes its pieces"), ("cured", "check the bag")):
        if name in values and values[name] != known_as[name]:
            return f"is in stores already, {name} {known_as[name] or 'none'}; {said}"
    others = ("certificate", "unit_cost", "set")
    differs = [name for name in others if name in values and values[name] != known_as[name]]
    return f"is in stores already with another {differs[0].replace('_', ' ')}" if differs else ""


def _ids(db: Connection, key: Any, value: Any) -> dict[str, int]:
    return {row[0]: row[1] for row in db.execute(select(key, value))}


_JUDGES: Mapping[str, Callable[[Connection, datetime, Taken, list[tuple[Line, Values]]], None]] = {
    "parts": _parts,
    "suppliers": _suppliers,
    "prices": _prices,
    "lots": _lots,
    "customers": _customers,
}
_TABLES: Mapping[str, Any] = {
    "parts": Part,
    "suppliers": Supplier,
    "prices": PartSupplier,
    "customers": Customer,
}
_ACTIONS: Mapping[str, str] = {"lots": "receive stock", "customers": "receive a core"}


def _write(deed: Deed, who: Worker, taken: Taken) -> None:
    if taken.kind == "lots":
        came = [_shelve(deed, who, lot) for lot in taken.new]
        stores.serve_all(deed, came, who)
        return
    breaks = price_breaks.taken_out(taken.new) + price_breaks.taken_out(taken.changed)
    table = _TABLES[taken.kind]
    _each(deed.db, insert(table), taken.new)
    by_id = update(table).where(table.id == bindparam("of_id"))
    _each(deed.db, by_id, [{"of_id": row.pop("id"), **row} for row in taken.changed])
    price_breaks.put(deed.db, breaks)


def _each(db: Connection, statement: Insert | Update, rows: Sequence[Values]) -> None:
    """One executemany for each set of columns: an empty cell leaves what is there."""
    alike: dict[tuple[str, ...], list[Values]] = {}
    for row in rows:
        alike.setdefault(tuple(row), []).append(row)
    for batch in alike.values():
        db.execute(statement, batch)


def _shelve(deed: Deed, who: Worker, lot: Values) -> int:
    return stores.shelve(
        deed,
        who,
        stores.Delivery(
            part=lot["part"],
            lot=lot["lot"],
            pieces=lot["pieces"],
            cured=lot.get("cured", ""),
            certificate=lot.get("certificate", ""),
            unit_cost_cents=lot.get("unit_cost"),
            set_number=lot.get("set", ""),
        ),
    )
