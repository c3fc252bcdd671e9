"""The sample shop's files, read and put into the record by the deeds that people use."""

import csv
import tomllib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import TypeVar

from shopdesk import quantities
from shopdesk.calc import shelf
from shopdesk.desk import keeping, stores
from shopdesk.desk.sample.clock import at
from shopdesk.desk.sample.crew import Crew, Member
from shopdesk.desk.shop import Shop
from shopdesk.errors import BadInput, RecordFault
from shopdesk.rules.shop import cents

_PACKAGE = Path(__file__).resolve().parents[2]
PIN_COST = 2**4  # the sample's PINs are public
HOUSE = "HOUSE"

Value = TypeVar("Value")


@dataclass(frozen=True, slots=True)
class Row:
    """One line of a CSV file, with where it stands for complaints."""

    where: str
    fields: dict[str, str]

    def text(self, name: str) -> str:
        return self.fields[name].strip()

    def read(self, name: str, how: Callable[[str], Value]) -> Value:
        try:
            return how(self.text(name))
        except (ValueError, BadInput) as fault:
            raise BadInput(f"{self.where}, {name}: read {self.text(name)!r}; {fault}") from fault

    def whole(self, name: str) -> int:
        return self.read(name, int)

    def cents(self, name: str) -> int:
        return self.read(name, cents)

    def si(self, name: str, unit: str) -> float | None:
        """In SI; "" is None. The text may carry its own unit of the same kind."""
        if not self.text(name):
            return None
        return self.read(name, lambda text: quantities.parse(text, unit=unit).value_si)


@dataclass(frozen=True, slots=True)
class Unit:
    serial: str
    model: str
    customer: str


@dataclass(frozen=True, slots=True)
class Supplier:
    code: str
    name: str
    email: str
    lead_days: int
    minimum_order_cents: int


@dataclass(frozen=True, slots=True)
class Lot:
    """A delivery of the past: its day, and what stores would record of it."""

    days_ago: int
    delivery: stores.Delivery


@dataclass(frozen=True, slots=True)
class Bottle:
    days_ago: int
    code: str
    gas: str
    volume_m3: float
    pressure_pa: float
    rating_pa: float


@dataclass(frozen=True, slots=True)
class Calibrated:
    """An instrument with the days from today to its next calibration (negative: overdue)."""

    new: keeping.NewInstrument
    due_in_days: int | None


@dataclass(frozen=True, slots=True)
class SampleShop:
    """What the files say, checked; dates still relative to the day it is laid out on."""

    name: str
    shop_text: str
    roads_text: str
    procedures: tuple[tuple[str, str], ...]
    crew: Crew
    badges: dict[str, str]
    customers: tuple[Row, ...]
    suppliers: tuple[Supplier, ...]
    parts: tuple[stores.NewPart, ...]
    lots: tuple[Lot, ...]
    instruments: tuple[Calibrated, ...]
    bottles: tuple[Bottle, ...]
    units: tuple[Unit, ...]


def folder() -> Path:
    """The sample shop's files: beside an installed package, else those of the checkout."""
    packaged = _PACKAGE / "_sample_shop"
    found = packaged if packaged.is_dir() else _PACKAGE.parent / "sample_shop"
    if not found.is_dir():
        raise RecordFault(f"the sample shop's files are not at {found}; install shopdesk again")
    return found


def read(where: Path, today: date) -> SampleShop:
    """Everything in the folder. Raises BadInput naming file, line and column."""
    shop_text = _text(where / "shop.toml")
    people = list(_rows(where / "people.csv", "initials name role badge pin skills"))
    return SampleShop(
        name=str(_toml(shop_text, "shop.toml")["name"]),
        shop_text=shop_text,
        roads_text=_text(where / "roads.toml"),
        procedures=tuple(
            (path.name, _text(path)) for path in sorted((where / "procedures").glob("*.toml"))
        ),
        crew=Crew(tuple(_member(row) for row in people)),
        badges={row.text("initials"): row.text("badge") for row in people},
        customers=tuple(_rows(where / "customers.csv", "code name phone email place")),
        suppliers=tuple(
            _supplier(row) for row in _rows(where / "suppliers.csv", "code lead_days minimum_order")
        ),
        parts=tuple(_part(row) for row in _rows(where / "parts.csv", "number unit_cost supplier")),
        lots=tuple(_lot(row, today) for row in _rows(where / "lots.csv", "lot part quantity")),
        instruments=tuple(
            _instrument(row) for row in _rows(where / "instruments.csv", "code kind due_in_days")
        ),
        bottles=tuple(_bottle(row) for row in _rows(where / "bottles.csv", "code gas volume")),
        units=tuple(
            Unit(row.text("serial"), row.text("model"), row.text("customer"))
            for row in _rows(where / "units.csv", "serial model customer")
        ),
    )


def _text(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as fault:
        raise BadInput(f"{path} cannot be read: {fault}") from fault


def _toml(text: str, name: str) -> dict[str, object]:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as fault:
        raise BadInput(f"{name}: not readable as TOML: {fault}") from fault


def _rows(path: Path, columns: str) -> Iterator[Row]:
    reader = csv.DictReader(_text(path).splitlines())
    missing = set(columns.split()) - set(reader.fieldnames or ())
    if missing:
        raise BadInput(f"{path.name}: expected columns {', '.join(sorted(missing))}; not there")
    for fields in reader:
        where = f"{path.name} line {reader.line_num}"
        if None in fields or None in fields.values():
            raise BadInput(f"{where}: expected {len(reader.fieldnames or ())} fields")
        yield Row(where, fields)


def _member(row: Row) -> Member:
    skills = tuple(skill.strip() for skill in row.text("skills").split(";"))
    return Member(row.text("initials"), row.text("name"), row.text("role"), row.text("pin"), skills)


def _lot(row: Row, today: date) -> Lot:
    cured = ""
    if row.text("cured_quarters_ago"):
        quarter = shelf.quarter_of(today)
        count = quarter.year * 4 + quarter.number - 1 - row.whole("cured_quarters_ago")
        cured = str(shelf.Quarter(count // 4, count % 4 + 1))
    return Lot(
        row.whole("received_days_ago"),
        stores.Delivery(
            part=row.text("part"),
            lot=row.text("lot"),
            pieces=row.whole("quantity"),
            cured=cured,
            certificate=row.text("certificate"),
            unit_cost_cents=row.cents("unit_cost"),
            set_number=row.text("set"),
        ),
    )


def _instrument(row: Row) -> Calibrated:
    unit = row.text("unit")
    low, high = (row.si(name, unit) if unit else None for name in ("low", "high"))
    resolution = None
    if unit and row.text("resolution"):
        resolution = quantities.span_to_si(row.read("resolution", float), unit)
    new = keeping.NewInstrument(
        code=row.text("code"),
        kind=row.text("kind"),
        description=row.text("description"),
        unit=unit,
        low_si=low,
        high_si=high,
        resolution_si=resolution,
        rating_pa=row.si("rating", "bar"),
        dead_volume_m3=row.si("dead_volume", "mL"),
        certificate=row.text("certificate"),
    )
    return Calibrated(new, row.whole("due_in_days") if row.text("due_in_days") else None)


def _bottle(row: Row) -> Bottle:
    return Bottle(
        days_ago=row.whole("received_days_ago"),
        code=row.text("code"),
        gas=row.text("gas"),
        volume_m3=row.si("volume", "L") or 0.0,
        pressure_pa=row.si("pressure", "bar") or 0.0,
        rating_pa=row.si("rating", "bar") or 0.0,
    )


def put_down(
    shop: Shop, found: SampleShop, begun: datetime, today: date, *, pin_cost: int = PIN_COST
) -> None:
    """The shop as it stood on its first day: rules, people, customers, parts, instruments. The
    dated things (lots, bottles, later calibrations) come in the course of its history."""
    shop = shop.laying_out()
    keeping.adopt_document(shop, "", "shop", found.shop_text)
    keeping.adopt_document(shop, "", "roads", found.roads_text)
    manager = found.crew.role("manager")[0].initials
    for member in sorted(found.crew.members, key=lambda one: one.role != "manager"):
        keeping.add_person(
            shop,
            manager,
            initials=member.initials,
            name=member.name,
            role=member.role,
            pin=member.pin,
            badge=found.badges[member.initials],
            pin_cost=pin_cost,
        )
    for name, text in found.procedures:
        keeping.adopt_procedure(shop, manager, text, name=name)
    _customers(shop, manager, found)
    _stores(shop, manager, found)
    for calibrated in found.instruments:
        keeping.add_instrument(shop, manager, _first_calibration(calibrated, begun, today))


def _customers(shop: Shop, who: str, found: SampleShop) -> None:
    for row in found.customers:
        keeping.add_customer(
            shop,
            who,
            code=row.text("code"),
            name=row.text("name"),
            phone=row.text("phone"),
            email=row.text("email"),
            place=row.text("place"),
        )
    keeping.add_customer(shop, who, code=HOUSE, name=f"{found.name}, exchange shelf", house=True)


def _stores(shop: Shop, who: str, found: SampleShop) -> None:
    for supplier in found.suppliers:
        stores.add_supplier(
            shop,
            who,
            code=supplier.code,
            name=supplier.name,
            email=supplier.email,
            lead_days=supplier.lead_days,
            minimum_order_cents=supplier.minimum_order_cents,
        )
    for part in found.parts:
        stores.add_part(shop, who, part)


def _supplier(row: Row) -> Supplier:
    return Supplier(
        row.text("code"),
        row.text("name"),
        row.text("email"),
        row.whole("lead_days"),
        row.cents("minimum_order"),
    )


def _part(row: Row) -> stores.NewPart:
    return stores.NewPart(
        number=row.text("number"),
        description=row.text("description"),
        unit_cost_cents=row.cents("unit_cost"),
        dash=row.text("dash"),
        compound=row.text("compound"),
        thread=row.text("thread"),
        grade=row.text("grade"),
        pack=row.whole("pack"),
        minimum=row.whole("minimum"),
        bin=row.text("bin"),
        critical=row.text("critical") == "yes",
        supplier=row.text("supplier"),
        supplier_price_cents=row.cents("supplier_price"),
    )


YEAR = 365  # days between calibrations


def dues(calibrated: Calibrated, begun: datetime, today: date) -> tuple[datetime, ...]:
    """The days the instrument's calibrations run out, a year apart: the last as the file says,
    the first after the shop's first day, so that past work was in date."""
    if calibrated.due_in_days is None:
        return ()
    last = at(today + timedelta(days=calibrated.due_in_days), 23)
    years = max(0, (last - begun).days // YEAR)
    return tuple(last - timedelta(days=YEAR * n) for n in range(years, -1, -1))


def certificate(calibrated: Calibrated, back: int) -> str:
    """The certificate's number, ``back`` calibrations before the one in the file."""
    head, dash, digits = calibrated.new.certificate.rpartition("-")
    return f"{head}{dash}{int(digits) - 430 * back}" if digits.isdigit() else ""


def _first_calibration(
    calibrated: Calibrated, begun: datetime, today: date
) -> keeping.NewInstrument:
    from dataclasses import replace

    ends = dues(calibrated, begun, today)
    if not ends:
        return calibrated.new
    return replace(
        calibrated.new,
        calibrated_at=ends[0] - timedelta(days=YEAR),
        due=ends[0],
        certificate=certificate(calibrated, len(ends) - 1),
    )
