"""``shopdesk open``: what is refused before the screen is taken over, and what after."""

import sys
from pathlib import Path

import pytest

from shopdesk.cli import opening
from shopdesk.cli.opening import Door
from shopdesk.errors import RecordFault

from .shell import in_terminal, run, sentence

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="needs a pseudo-terminal")

ALTERNATE_SCREEN, ITS_END = "\x1b[?1049h", "\x1b[?1049l"
F10 = "\x1b[21~"


def test_a_record_that_is_not_there_is_a_sentence(tmp_path: Path) -> None:
    missing = tmp_path / "none.db"
    said = sentence(run("open", str(missing)), 6)
    assert said.startswith(f"There is no record at {missing}; ")
    assert not missing.exists()


def test_without_a_terminal_it_says_so(sqlite_url: str) -> None:
    assert "needs a terminal" in sentence(run("open", sqlite_url), 2)
    assert "needs a terminal" in sentence(run("sample"), 2)


@pytest.mark.parametrize(("columns", "lines"), [(79, 24), (80, 23), (20, 5)])
def test_a_terminal_too_small_is_a_sentence(columns: int, lines: int, sqlite_url: str) -> None:
    ended = in_terminal("open", sqlite_url, columns=columns, lines=lines)
    assert ended.status == 2
    assert ended.shown.startswith(
        f"shopdesk: This terminal is {columns} columns by {lines} lines; the app needs 80 by 24"
    )
    assert ALTERNATE_SCREEN not in ended.shown


def test_a_record_that_cannot_be_opened_is_a_sentence_after_the_screen(tmp_path: Path) -> None:
    junk = tmp_path / "junk.db"
    junk.write_text("not a database, but long enough to have a header of sixteen bytes")
    ended = in_terminal("open", str(junk), columns=80, lines=24)
    assert ended.status == 6
    said = ended.shown.rpartition(ITS_END)[2]
    assert f"shopdesk: {junk} is not a SQLite database" in said
    assert "Traceback" not in ended.shown


def test_the_app_opens_in_80x24_and_is_left_with_f10(sqlite_url: str) -> None:
    ended = in_terminal(
        "open", sqlite_url, columns=80, lines=24, await_text="F10 Leave", then_keys=F10
    )
    assert ended.status == 0
    assert ALTERNATE_SCREEN in ended.shown
    assert ended.shown.rpartition(ITS_END)[2].strip("\x1b[]?0123456789;lhu<\r\n") == ""
    folder = Path(sqlite_url.removeprefix("sqlite:///")).parent
    assert not list(folder.glob("*-wal"))  # closed: its log is written back


def test_the_shop_is_opened_once_and_closed(sqlite_url: str) -> None:
    door = Door(sqlite_url)
    shop = door.open()
    assert door.open() is shop
    with shop.read() as db:
        assert db.dialect.name == "sqlite"
    door.close()
    door.close()


def test_a_fault_at_the_door_is_kept(tmp_path: Path) -> None:
    door = Door(f"sqlite:///{tmp_path / 'none.db'}")
    with pytest.raises(RecordFault):
        door.open()
    assert isinstance(door.fault, RecordFault)
    with pytest.raises(RecordFault):
        door.open()
    door.close()


def test_a_postgresql_record_is_not_looked_for_as_a_file() -> None:
    opening.require_file("postgresql+psycopg://host/shop")
