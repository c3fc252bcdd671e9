"""Matched sets from the command line: made up, listed, traced, out to a file and in again."""

import csv
import io
import json
from pathlib import Path

import pytest

from shopdesk.records import chain, witness
from shopdesk.records.engine import open_record

from .managed import SIGNED, shop_at
from .shell import run, sentence

PARTS = "number,description,unit_cost\nPL-40,Plunger,90\nBO-40,Barrel,140\nPIN-8,Pin,3\n"
LOTS = "part,lot,pieces,set\nPL-40,P-7,1,M-7\nBO-40,B-7,1,m-7\nPL-40,P-9,3,\nBO-40,B-9,2,\n"


@pytest.fixture
def url(database_url: str, tmp_path: Path) -> str:
    shop_at(database_url)
    for kind, text in (("parts", PARTS), ("lots", LOTS)):
        taken(database_url, kind, put(tmp_path, text))
    return database_url


def put(folder: Path, text: str) -> Path:
    file = folder / "goods.csv"
    file.write_text(text)
    return file


def taken(url: str, kind: str, file: Path) -> str:
    result = run("stores", "import", kind, str(file), "--database", url, "--write", *SIGNED)
    assert result.exit_code == 0, result.output
    return result.output


def rows(url: str) -> dict[tuple[str, str], str]:
    found = json.loads(run("stores", "lots", "--json", "--database", url).stdout)
    return {(row["part"], row["lot"]): row["matched_set"] for row in found}


def test_sets_are_made_up_listed_and_traced(url: str) -> None:
    made = run(
        *("stores", "match", "m-8", "PL-40 lot P-9; bo-40 lot B-9", "--reason", "lapped, TT"),
        *("--database", url, *SIGNED),
    )
    assert "matched set M-8: 1 PL-40 of lot P-9; 1 BO-40 of lot B-9" in made.output
    assert rows(url) == {
        ("BO-40", "B-7"): "M-7",
        ("BO-40", "B-9"): "",
        ("BO-40", "M-8"): "M-8",
        ("PL-40", "M-8"): "M-8",
        ("PL-40", "P-7"): "M-7",
        ("PL-40", "P-9"): "",
    }
    said = run("stores", "trace", "m-7", "--database", url).output
    assert "matched set M-7: went into 0 jobs; BO-40 lot B-7, 1 in stores; PL-40 lot P-7" in said
    again = ("stores", "match", "M-8", "PL-40 lot P-9; BO-40 lot B-9", "--reason", "x", *SIGNED)
    assert "set number M-8 is in use" in sentence(run(*again, "--database", url), 3)
    bad = ("stores", "match", "M-9", "PL-40 P-9", "--reason", "x", *SIGNED, "--database", url)
    assert "expected a part and its lot such as BORE-40 lot L-3" in sentence(run(*bad), 2)


def test_a_set_goes_out_to_a_file_and_comes_in_again(
    url: str, tmp_path: Path, tmp_path_factory: pytest.TempPathFactory
) -> None:
    out = run("stores", "export", "lots", "-", "--database", url).stdout
    sets = {(row["part"], row["lot"]): row["set"] for row in csv.DictReader(io.StringIO(out))}
    assert sets == rows(url)
    other = shop_at(f"sqlite:///{tmp_path_factory.mktemp('other')}/shop.db")
    taken(other, "parts", put(tmp_path, PARTS))
    taken(other, "lots", put(tmp_path, out))
    assert rows(other) == rows(url)


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("PL-40,P-8,1,M-7", "line 2, set: read 'M-7'; is the number of a matched set already"),
        ("PL-40,P-8,1,M-8\nPL-40,P-10,1,M-8", "line 3, set: read 'M-8'; has its PL-40 on an"),
    ],
)
def test_a_file_with_a_set_at_fault_is_told_and_not_taken(
    url: str, tmp_path: Path, line: str, says: str
) -> None:
    before = rows(url)
    file = put(tmp_path, f"part,lot,pieces,set\n{line}\n")
    result = run("stores", "import", "lots", str(file), "--database", url, "--write", *SIGNED)
    assert result.exit_code != 0
    assert says in result.output
    assert rows(url) == before


def test_a_shop_that_moves_takes_its_sets_along(
    url: str, tmp_path_factory: pytest.TempPathFactory
) -> None:
    to = f"sqlite:///{tmp_path_factory.mktemp('moved')}/shop.db"
    moved = run("db", "move", url, to)
    assert moved.exit_code == 0, moved.output
    assert rows(to) == rows(url)
    record = open_record(to)
    with record.read() as db:
        assert witness.fault(db) is None
        assert chain.verify(db).broken is None
    record.close()
