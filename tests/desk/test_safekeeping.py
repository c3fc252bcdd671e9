"""The day's copy: when it is due by the shop's rules, by whom it is taken, which old ones go."""

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from sqlalchemy import text

from shopdesk.desk import keeping, safekeeping
from shopdesk.desk.shop import Shop
from shopdesk.records import copies
from shopdesk.rules.shop import Keeping
from tests.desk.floor import Floor

RULES = Path(__file__).parent / "data" / "shop.toml"
ASKED = "\n[backup]\nhour = 3\nkeep_days = 2\n"


@pytest.fixture
def kept(floor: Floor) -> Floor:
    """A shop whose rules ask for a daily copy from three on, kept for two days."""
    rules = RULES.read_text(encoding="utf-8").replace('revision = "1"', 'revision = "kept"', 1)
    keeping.adopt_document(floor.shop.laying_out(), "MM", "shop", rules + ASKED)
    return floor


def quiet(_what: str, _share: float) -> None:
    pass


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir() if path.name != ".lock")


def test_once_a_day_and_the_old_ones_go(kept: Floor, tmp_path: Path) -> None:
    shop, url, folder = kept.shop, kept.shop.record.url, tmp_path / "copies"
    stem, end = copies.stem(url), copies.ending(url)
    first = safekeeping.due(Keeping(3, 2), shop.clock().astimezone())
    for n in range(4):
        taken = safekeeping.daily(shop, folder, quiet)
        assert taken is not None
        assert taken.chain_fault is None
        assert safekeeping.daily(shop, folder, quiet) is None
        if n == 0:
            (folder / "holiday.jpg").touch()
            (folder / f"other-daily-2001-01-01{end}").touch()
        kept.clock.now += timedelta(days=1)
    days = [first + timedelta(days=n) for n in (1, 2, 3)]
    expected = [f"{stem}-daily-{day}{end}" for day in days]
    assert names(folder) == sorted([*expected, "holiday.jpg", f"other-daily-2001-01-01{end}"])


def test_no_rule_no_copy(floor: Floor, tmp_path: Path) -> None:
    assert safekeeping.daily(floor.shop, tmp_path / "copies", quiet) is None
    assert not (tmp_path / "copies").exists()


@pytest.mark.parametrize(
    ("hour", "day"), [(0, date(2026, 3, 13)), (2, date(2026, 3, 13)), (3, date(2026, 3, 14))]
)
def test_it_is_due_from_its_hour_on(hour: int, day: date) -> None:
    assert safekeeping.due(Keeping(3, 2), datetime(2026, 3, 14, hour, 59, tzinfo=UTC)) == day


def test_nothing_is_let_go_while_the_chain_is_broken(kept: Floor, tmp_path: Path) -> None:
    shop, folder = kept.shop, tmp_path / "copies"
    old = f"{copies.stem(shop.record.url)}-daily-2001-01-01{copies.ending(shop.record.url)}"
    folder.mkdir()
    (folder / old).touch()
    with shop.record.write() as db:
        db.execute(text("UPDATE chain_head SET hash = 'forged'"))
    taken = safekeeping.daily(shop, folder, quiet)
    assert taken is not None
    assert taken.chain_fault == f"the head does not carry event {taken.events}'s hash"
    assert old in names(folder)


def test_two_terminals_take_one(kept: Floor, tmp_path: Path, other: Callable[[], Shop]) -> None:
    def second(_what: str, _share: float) -> None:
        assert safekeeping.daily(other(), tmp_path / "copies", quiet) is None

    assert safekeeping.daily(kept.shop, tmp_path / "copies", second) is not None


@pytest.fixture
def other(kept: Floor) -> Callable[[], Shop]:
    return lambda: Shop(kept.shop.record, kept.shop.clock, "bench-2")
