"""``shopdesk stores import`` and ``export``: files as people have them. All of it is invented."""

import csv
import json
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
from openpyxl import Workbook
from sqlalchemy import func, select

from shopdesk.records import chain
from shopdesk.records.cells import as_text
from shopdesk.records.engine import open_record
from shopdesk.records.tables import (
    Customer,
    Event,
    Lot,
    Part,
    PartSupplier,
    PriceBreak,
    StockMove,
    Supplier,
)

from .managed import SIGNED, shop_at
from .shell import run, sentence

PARTS = "number,description,unit_cost,minimum\nW-1,Washer,0.12,10\nW-2,Wiper ring,3.40,\n"


@pytest.fixture
def url(database_url: str) -> str:
    """A shop with its rules and one manager, nothing in stores."""
    return shop_at(database_url)


def told(url: str, kind: str, file: Path, *more: str) -> Any:
    return run("stores", "import", kind, str(file), "--database", url, *more)


def taken(url: str, kind: str, file: Path, *more: str) -> Any:
    result = told(url, kind, file, "--write", *SIGNED, *more)
    assert result.exit_code == 0, result.output
    return result


def asked(url: str, question: Any) -> list[tuple[Any, ...]]:
    record = open_record(url)
    try:
        with record.read() as db:
            return [tuple(row) for row in db.execute(question)]
    finally:
        record.close()


def put(folder: Path, text: str, name: str = "file.csv", encoding: str = "utf-8") -> Path:
    path = folder / name
    path.write_text(text, encoding=encoding)
    return path


def workbook(folder: Path, *rows: tuple[Any, ...]) -> Path:
    book, path = Workbook(), folder / "book.xlsx"
    for row in rows:
        book.active.append(row)
    book.save(path)
    return path


def test_a_try_changes_nothing_and_then_all_of_it_is_taken(url: str, tmp_path: Path) -> None:
    file = put(tmp_path, PARTS)
    result = told(url, "parts", file)
    assert "2 new, 0 changed, 0 as they are" in result.stdout
    assert "nothing was changed" in result.stderr
    assert asked(url, select(func.count(Part.id))) == [(0,)]
    taken(url, "parts", file)
    rows = select(Part.number, Part.unit_cost_cents, Part.minimum, Part.pack).order_by(Part.number)
    assert asked(url, rows) == [("W-1", 12, 10, 1), ("W-2", 340, 0, 1)]
    again = put(tmp_path, PARTS.replace("3.40", "3.60"))
    assert "0 new, 1 changed, 1 as they are" in taken(url, "parts", again).stdout
    assert asked(url, rows)[1] == ("W-2", 360, 0, 1)
    event = select(Event.payload).where(Event.kind == "import").order_by(Event.id)
    assert [row[0]["new"] for row in asked(url, event)] == [2, 0]
    record = open_record(url)
    with record.read() as db:
        assert chain.verify(db).broken is None
    record.close()


def test_suppliers_prices_and_lots_follow(url: str, tmp_path: Path) -> None:
    taken(url, "parts", put(tmp_path, "number,description,unit_cost,compound\nR-1,Ring,1.00,NBR\n"))
    taken(
        url,
        "suppliers",
        put(tmp_path, "code;name;lead time\ns01;Ring Supply;6\n"),
        "--column",
        "lead_days=lead time",
    )
    taken(url, "prices", put(tmp_path, "part\tsupplier\tprice\nr-1\tS01\t0.90\n"))
    head = "part,supplier,price,minimum quantity,price breaks\n"
    offer = f'{head}R-1,S01,0.90,10,"25: 0.80; 100: 0.65"\n'
    for said in ("0 new, 1 changed", "0 new, 0 changed, 1 as they are"):
        assert said in taken(url, "prices", put(tmp_path, offer)).stdout
    for breaks, reason in (
        ("25: 0.95", "quantities rise and prices fall"),
        ("25: 0.80; 10: 0.70", "quantities rise and prices fall"),
        ("1.5: 0.80", "expected pieces and a price"),
        ("25 0.80", "expected pieces and a price"),
    ):
        bad = told(url, "prices", put(tmp_path, f"{head}R-1,S01,0.90,10,{breaks}\n"))
        assert reason in bad.stdout, bad.output
        assert "line 2, breaks" in bad.stdout
    rows = select(PriceBreak.from_pieces, PriceBreak.price_cents).order_by(PriceBreak.id)
    assert asked(url, rows) == [(25, 80), (100, 65)]
    out = run("stores", "export", "prices", "-", "--database", url).stdout.splitlines()
    assert out[1] == "R-1,S01,0.90,10,25: 0.80; 100: 0.65"
    lots = put(tmp_path, "part,lot,quantity,cured\nR-1,L-1,40,1Q2025\n")
    taken(url, "lots", lots)
    assert asked(url, select(Supplier.code, Supplier.lead_days)) == [("S01", 6)]
    assert asked(url, select(PartSupplier.price_cents)) == [(90,)]
    # ISO 2230 group A as tests/reference/shelf_life.csv has it: 7 years from the cure quarter
    assert [str(row[0]) for row in asked(url, select(Lot.use_by))] == ["2032-03-31"]
    assert asked(url, select(StockMove.kind, StockMove.on_hand_change)) == [("receive", 40)]
    assert asked(url, select(Part.on_hand)) == [(40,)]
    assert "0 new, 0 changed, 1 as they are" in taken(url, "lots", lots).stdout
    for line, reason in (
        ("R-1,L-1,41,1Q2025", "is in stores already, pieces 40; a count changes its pieces"),
        ("R-1,L-1,40,2Q2025", "is in stores already, cured 1Q2025; check the bag"),
    ):
        other = put(tmp_path, f"part,lot,quantity,cured\n{line}\n")
        assert f"line 2, lot: read 'L-1'; {reason}" in told(url, "lots", other).stdout
    assert asked(url, select(Part.on_hand)) == [(40,)]


@pytest.mark.parametrize(("separator", "name"), [(",", "comma"), (";", "semicolon")])
def test_a_separator_inside_a_value_is_told(
    url: str, tmp_path: Path, separator: str, name: str
) -> None:
    """Else 5,25 would be a price of 5 and a pack of 25."""
    lines = (
        ("number", "description", "unit_cost", "pack"),
        ("A-0", "Ring", "1", "1", "", ""),
        ("A-1", "Ring", "5", "25", "10"),
    )
    file = put(tmp_path, "".join(f"{separator.join(line)}\n" for line in lines))
    assert told(url, "parts", file).stdout.splitlines() == [
        f"line 3: read 'A-1, Ring, 5, 25, 10'; 5 values under 4 columns; a {name} inside a value "
        "needs quotes"
    ]


def test_every_bad_line_is_told_and_nothing_is_taken(url: str, tmp_path: Path) -> None:
    file = put(
        tmp_path,
        "number,description,unit_cost,pack,critical\n"
        "A-1,Good,1.00,1,no\n"
        "A-2,Bad cost,cheap,1,no\n"
        "a-1,Twice,1.00,1,no\n"
        "A-3,Bad pack,1.00,1.5,maybe\n"
        ",No number,1.00,1,\n"
        "A-4,=SUM(A1),1.00,1,\n",
    )
    result = told(url, "parts", file, "--write", *SIGNED)
    assert result.exit_code == 2
    assert result.stdout.splitlines() == [
        "line 3, unit_cost: read 'cheap'; expected an amount such as 612.40",
        "line 4, number: read 'A-1'; stands on line 2 already",
        "line 5, pack: read '1.5'; expected a whole number from 1 to 9999999",
        "line 5, critical: read 'maybe'; expected yes or no",
        "line 6, number: read ''; nothing there, and it is needed",
        "line 7, description: read '=SUM(A1)'; a formula; put its value there",
    ]
    assert "5 of 6 lines cannot be taken; nothing was changed" in result.stderr
    assert asked(url, select(func.count(Part.id))) == [(0,)]


def test_a_spreadsheet_with_its_oddities(url: str, tmp_path: Path) -> None:
    good = workbook(
        tmp_path, ("Part No", "Description", "Cost", "Min"), (4711, "Ring", 0.1 + 0.2, 5), ()
    )
    assert "1 new" in taken(url, "parts", good).stdout
    rows = select(Part.number, Part.unit_cost_cents, Part.minimum)
    assert asked(url, rows) == [("4711", 30, 5)]
    odd = workbook(
        tmp_path,
        ("Part No", "Description", "Cost"),
        (datetime(2026, 12, 3), "Ring", 1),
        ("B-1", "Ring", "=2*0.3"),
        ("B-2", "Ring", "#N/A"),
    )
    said = told(url, "parts", odd).stdout.splitlines()
    assert "line 2, number" in said[0]
    assert "a date, which spreadsheets make of numbers like 3-12" in said[0]
    assert said[1] == "line 3, unit_cost: read '=2*0.3'; a formula; put its value there"
    assert "line 4, unit_cost" in said[2]


def test_files_that_are_none(url: str, tmp_path: Path) -> None:
    wide = ",".join(f"c{n}" for n in range(1000)) + "\n"
    latin = tmp_path / "latin.csv"
    latin.write_bytes("number,description,unit_cost\nA,Dichtung für Öl,1\n".encode("cp1252"))
    old = tmp_path / "old.xls"
    old.write_bytes(b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600))
    broken = tmp_path / "broken.xlsx"
    broken.write_bytes(b"PK\x03\x04 and no more")
    for file, says in (
        (put(tmp_path, wide, "wide.csv"), "1000 columns, at most 200"),
        (latin, "latin.csv line 2: byte 0xFC is not UTF-8"),
        (old, "old .xls workbook or has a password"),
        (broken, "no readable .xlsx workbook"),
        (put(tmp_path, "", "empty.csv"), "holds nothing"),
        (put(tmp_path, "a,a\n", "twice.csv"), "two columns are headed 'a'"),
        (put(tmp_path, "number\0\n", "zero.csv"), "holds zero bytes"),
        (put(tmp_path, 'a,b\n"x', "open.csv"), "line 2: not readable as CSV"),
        (tmp_path / "nowhere.csv", "cannot be read: No such file"),
    ):
        assert says in sentence(told(url, "parts", file), 2)
    assert "1 new" in told(url, "parts", latin, "--encoding", "cp1252").stdout


def test_columns_are_told_once(url: str, tmp_path: Path) -> None:
    file = put(tmp_path, "Artikel,Bezeichnung,Preis\nX-1,Ring,1.20\n")
    assert "no column is plainly number" in sentence(told(url, "parts", file), 2)
    of = ("number=Artikel", "description=Bezeichnung", "unit_cost=Preis")
    named = [word for pair in of for word in ("--column", pair)]
    assert "is remembered" in told(url, "parts", file, *named, *SIGNED).stderr
    assert "1 new" in taken(url, "parts", file).stdout
    assert "no column 'Artikkel'" in sentence(
        told(url, "parts", file, "--column", "number=Artikkel"), 2
    )
    assert "is no column of parts" in sentence(told(url, "parts", file, "--column", "x=Preis"), 2)


def test_who_signs_must_be_let(url: str, tmp_path: Path) -> None:
    file = put(tmp_path, PARTS)
    for more in ((), ("--sign", "MM 0000"), ("--sign", "MM")):
        assert told(url, "parts", file, "--write", *more).exit_code in (2, 3)
    assert asked(url, select(func.count(Part.id))) == [(0,)]


@pytest.mark.parametrize("ending", ["csv", "xlsx"])
def test_what_goes_out_comes_in_the_same(url: str, tmp_path: Path, ending: str) -> None:
    odd = ["=cmd|' /C calc'!A0", "+1", "-2", "@SUM(1)", "007", "3-12", 'Ö, "x"']
    lines = [["number", "description", "unit_cost"]]
    lines += [[f"N-{n}", text, "1.00"] for n, text in enumerate(odd)]
    taken(url, "parts", put_csv(tmp_path, lines))
    out = tmp_path / f"out.{ending}"
    assert run("stores", "export", "parts", str(out), "--database", url).exit_code == 0
    if ending == "csv":
        # OWASP, "CSV Injection": no cell begins with = + - @, tab or carriage return
        cells = [
            cell for line in out.read_text("utf-8-sig").splitlines() for cell in line.split(",")
        ]
        assert not [cell for cell in cells if cell.strip('"').startswith(("=", "+", "-", "@"))]
    assert f"0 new, 0 changed, {len(odd)} as they are" in told(url, "parts", out).stdout


def put_csv(folder: Path, lines: list[list[str]]) -> Path:
    path = folder / "in.csv"
    with path.open("w", newline="") as out:
        csv.writer(out).writerows([[as_text(cell) for cell in line] for line in lines])
    return path


def test_lists_are_json_too(url: str, tmp_path: Path) -> None:
    taken(url, "parts", put(tmp_path, PARTS))
    found = json.loads(run("stores", "parts", "wash", "--json", "--database", url).stdout)
    assert [(row["number"], row["unit_cost_cents"]) for row in found] == [("W-1", 12)]
    assert (
        run("stores", "parts", "w-2", "--csv", "--database", url)
        .stdout.splitlines()[1]
        .startswith("W-2,Wiper ring,")
    )
    assert run("stores", "order-list", "--database", url).stdout == "nothing has to be ordered\n"
    assert run("stores", "trace", "W-1", "--database", url).stdout.startswith(
        "W-1: in the kit of 0"
    )
    assert "no lot, job tag or part" in sentence(run("stores", "trace", "Q", "--database", url), 4)


def test_customers_go_the_same_way(url: str, tmp_path: Path) -> None:
    file = put(tmp_path, "Customer No,Company,Town\nc7,[b]Größe & Co,Low Quay\nC8,Eel Works,\n")
    assert "2 new" in taken(url, "customers", file).stdout
    again = put(tmp_path, "code,name,phone\nC7,Größe,+00 1\n")
    assert "0 new, 1 changed" in taken(url, "customers", again).stdout
    rows = run("stores", "export", "customers", "-", "--database", url).stdout
    assert rows.splitlines() == [
        "code,name,phone,email,place",
        "C7,Größe,'+00 1,,Low Quay",
        "C8,Eel Works,,,",
    ]
    keys = asked(url, select(Customer.name_key).order_by(Customer.code))
    assert keys == [("grösse",), ("eel works",)]
