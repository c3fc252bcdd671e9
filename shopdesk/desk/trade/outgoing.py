"""The same files written: what was taken in comes out under the same names."""

import csv
import io
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from sqlalchemy import Connection, Select, case, select

from shopdesk.desk.trade import columns as known
from shopdesk.records.cells import as_text
from shopdesk.records.tables import Customer, Lot, Part, PartSupplier, Supplier
from shopdesk.rules import prices
from shopdesk.rules.prices import Prices
from shopdesk.views import offers

_PARTS = select(
    Part.number,
    Part.description,
    Part.unit_cost_cents.label("unit_cost"),
    Part.dash,
    Part.compound,
    Part.thread,
    Part.grade,
    Part.pack,
    Part.minimum,
    Part.bin,
    Part.critical,
).order_by(Part.number)
_SUPPLIERS = select(
    Supplier.code,
    Supplier.name,
    Supplier.lead_days,
    Supplier.email,
    Supplier.minimum_order_cents.label("minimum_order"),
).order_by(Supplier.code)
_PRICES = (
    select(
        Part.number.label("part"),
        Supplier.code.label("supplier"),
        PartSupplier.price_cents.label("price"),
        PartSupplier.least_pieces.label("least"),
        PartSupplier.id.label("breaks"),
    )
    .join(Part, Part.id == PartSupplier.part_id)
    .join(Supplier, Supplier.id == PartSupplier.supplier_id)
    .order_by(Part.number, Supplier.code)
)
_LOTS = (
    select(
        Part.number.label("part"),
        Lot.number.label("lot"),
        Lot.on_hand.label("pieces"),
        Lot.cured,
        Lot.certificate,
        Lot.unit_cost_cents.label("unit_cost"),
        case((Lot.set_broken, ""), else_=Lot.set_number).label("set"),
    )
    .join(Part, Part.id == Lot.part_id)
    .where(Lot.on_hand > 0, Lot.origin == "bought")  # read in again, any lot is new and the shop's
    .order_by(Part.number, Lot.number)
)
_CUSTOMERS = select(
    Customer.code, Customer.name, Customer.phone, Customer.email, Customer.place
).order_by(Customer.code)
_QUESTIONS: dict[str, Select[*tuple[Any, ...]]] = {
    "parts": _PARTS,
    "suppliers": _SUPPLIERS,
    "prices": _PRICES,
    "lots": _LOTS,
    "customers": _CUSTOMERS,
}
_MONEY = frozenset({"unit_cost", "minimum_order", "price"})


def lines(db: Connection, kind: str) -> Iterator[tuple[str, ...]]:
    """The headers, then a line of text for each row."""
    names = tuple(column.name for column in known.wanted(kind))
    yield names
    breaks = offers.breaks(db) if kind == "prices" else {}
    for row in db.execute(_QUESTIONS[kind]):
        yield tuple(_said(name, row._mapping[name], breaks) for name in names)


def _said(name: str, value: Any, breaks: Mapping[int, Prices]) -> str:
    if name == "breaks":
        return prices.said(breaks.get(value, ()))
    if name in _MONEY:
        return f"{value // 100}.{value % 100:02d}"
    if isinstance(value, bool):
        return "yes" if value else "no"
    return str(value)


def as_csv(rows: Iterator[Sequence[str]]) -> bytes:
    """CSV in UTF-8; no cell of it is a formula to the program that opens it."""
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    for row in rows:
        writer.writerow([as_text(cell) for cell in row])
    return out.getvalue().encode("utf-8-sig")


def as_workbook(rows: Iterator[Sequence[str]], title: str) -> bytes:
    """An .xlsx workbook whose cells are all text: part number 007 stays that, =1+1 too."""
    from openpyxl import Workbook
    from openpyxl.cell import WriteOnlyCell

    book = Workbook(write_only=True)
    sheet = book.create_sheet(title)
    for row in rows:
        cells = []
        for text in row:
            cell = WriteOnlyCell(sheet, value=text)
            cell.data_type, cell.number_format = "s", "@"
            cells.append(cell)
        sheet.append(cells)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()
