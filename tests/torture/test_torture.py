"""The torture at its smallest, and that its check finds what it is there to find.

`.ci/run` does it at the size that counts, and prints the numbers.
"""

import json
import subprocess
import sys
from typing import Any

import pytest

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="forks and kills")


@pytest.fixture(params=["sqlite", "postgresql"])
def new_url(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Any:
    """Where a record may be made."""
    if request.param == "sqlite":
        yield f"sqlite:///{tmp_path_factory.mktemp('torture')}/shop.db"
        return
    server = request.getfixturevalue("server")
    url = server.new()
    yield url
    server.drop(url)


def tortured(url: str, *more: str) -> dict[str, Any]:
    command = [sys.executable, "-m", "tests.torture", url, *more]
    ended = subprocess.run(command, capture_output=True, text=True, timeout=240, check=False)
    assert ended.stderr == ""
    counted: dict[str, Any] = json.loads(ended.stdout)
    assert ended.returncode == (1 if counted["losses"] or counted["raw"] else 0)
    return counted


def test_killed_at_any_moment_nothing_acknowledged_is_lost(new_url: str) -> None:
    counted = tortured(new_url, "--processes", "4", "--kills", "24")
    assert counted["faults"] == []
    assert counted["raw"] == []  # what went wrong was said in a sentence
    assert counted["kills"] >= 24
    assert counted["kills_inside_a_transaction"] >= counted["kills"] / 4
    assert counted["operations"] > 20
    assert counted["copies"] >= 4
    assert sum(counted["commands"].values()) >= 4
    if new_url.startswith("postgresql"):
        assert counted["connections_cut"] > 0


def test_acknowledged_too_early_is_found(sqlite_url: str) -> None:
    """The same check on terminals that speak before they have committed."""
    url = sqlite_url.replace("shop.db", "early.db")
    counted = tortured(url, "--processes", "4", "--kills", "24", "--fault", "early")
    assert counted["losses"] > 0


def test_locks_lost_over_a_copy_are_found(sqlite_url: str) -> None:
    """Each terminal looks into the file beside SQLite while it takes the day's copy: the next
    command takes the log away under them."""
    url = sqlite_url.replace("shop.db", "beside.db")
    counted = tortured(url, "--processes", "2", "--kills", "14", "--fault", "beside")
    assert counted["losses"] > 0
