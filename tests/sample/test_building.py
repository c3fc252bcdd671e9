"""Building it: the same seed and day give the same record; bad files and full records are named."""

import json
import shutil
from datetime import date
from pathlib import Path

import pytest

from shopdesk.desk.sample import build, reading
from shopdesk.errors import BadInput, Refused
from shopdesk.records import chain
from shopdesk.records.engine import open_record
from tests import sharing

DAY = date(2025, 11, 9)  # a Sunday
FEW = 4


def head(url: str) -> chain.ChainReport:
    record = open_record(url)
    try:
        with record.read() as db:
            return chain.verify(db)
    finally:
        record.close()


@pytest.fixture(scope="session")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Seed 3, with what was told meanwhile beside it; to be copied or only read."""

    def make(path: Path) -> None:
        told: list[tuple[str, float]] = []
        build(
            str(path),
            seed=3,
            today=DAY,
            closed=FEW,
            progress=lambda what, share: told.append((what, share)),
        )
        path.with_name("built.json").write_text(json.dumps(told))

    return sharing.once(sharing.folder(tmp_path_factory) / "built.db", make)


def test_the_same_seed_and_day_give_the_same_events_on_both_databases(
    built: Path, database_url: str
) -> None:
    build(database_url, seed=3, today=DAY, closed=FEW)
    assert head(str(built)).broken is None
    assert head(str(built)) == head(database_url)


def test_another_seed_gives_other_events(built: Path, sqlite_url: str) -> None:
    build(sqlite_url, seed=4, today=DAY, closed=FEW)
    assert head(str(built)).head != head(sqlite_url).head


def test_progress_is_told_from_the_first_share_to_the_whole(built: Path) -> None:
    told = json.loads(built.with_name("built.json").read_text())
    shares = [share for _, share in told]
    assert shares == sorted(shares)
    assert shares[-1] == 1.0
    assert all(what for what, _ in told)


def test_a_record_with_a_shop_in_it_is_left_alone(built: Path, tmp_path: Path) -> None:
    url = str(shutil.copyfile(built, tmp_path / "shop.db"))
    before = head(url)
    with pytest.raises(Refused, match="there is a shop in that record already"):
        build(url, seed=3, today=DAY, closed=0)
    assert head(url) == before


def test_a_failure_half_way_leaves_the_record_empty(sqlite_url: str) -> None:
    def stop(what: str, share: float) -> None:
        if share > 0.5:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        build(sqlite_url, seed=3, today=DAY, closed=FEW, progress=stop)
    assert head(sqlite_url) == chain.ChainReport(0, chain.GENESIS, None)


@pytest.fixture
def files(tmp_path: Path) -> Path:
    copy = tmp_path / "shop"
    shutil.copytree(reading.folder(), copy)
    return copy


def test_the_files_read_as_they_are(files: Path) -> None:
    found = reading.read(files, DAY)
    assert len(found.crew.members) >= 8
    assert len(found.units) >= 90
    assert {bottle.gas for bottle in found.bottles} > {"nitrogen"}


@pytest.mark.parametrize(
    ("name", "was", "written", "said"),
    [
        ("parts.csv", "unit_cost", "price", "parts.csv: expected columns unit_cost; not there"),
        ("parts.csv", ",0.59,25,", ",0.5x,25,", "parts.csv line 2, unit_cost: read '0.5x'"),
        ("bottles.csv", "50 L", "50 kg", "bottles.csv line 2, volume: read '50 kg'"),
        ("lots.csv", "762", "many", "lots.csv line 2, received_days_ago: read 'many'"),
        ("instruments.csv", "20,120,in-lb", "20,120,bushel", "instruments.csv line 2, low: read"),
        ("shop.toml", 'name = "', 'name "', "shop.toml: not readable as TOML"),
    ],
)
def test_a_file_that_is_wrong_is_named_with_its_line(
    files: Path, name: str, was: str, written: str, said: str
) -> None:
    text = (files / name).read_text(encoding="utf-8")
    assert was in text
    (files / name).write_text(text.replace(was, written, 1), encoding="utf-8")
    with pytest.raises(BadInput) as refused:
        reading.read(files, DAY)
    assert said in str(refused.value)


def test_a_line_with_too_few_fields_is_named(files: Path) -> None:
    path = files / "people.csv"
    path.write_text(path.read_text(encoding="utf-8") + "XX,Only a name\n", encoding="utf-8")
    with pytest.raises(BadInput, match=r"people.csv line \d+: expected 6 fields"):
        reading.read(files, DAY)
