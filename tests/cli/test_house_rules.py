"""``shopdesk rules``: shown as they were put in force, changed by a manager with a new revision."""

from contextlib import closing
from pathlib import Path

import pytest

from shopdesk.desk import keeping
from shopdesk.desk.shop import Shop
from shopdesk.records.engine import open_record
from tests.tui.conftest import DATA

from .shell import run, sentence


@pytest.fixture
def url(sqlite_url: str) -> str:
    with closing(open_record(sqlite_url)) as record:
        shop = Shop(record)
        for kind in ("shop", "roads"):
            keeping.adopt_document(shop, "", kind, (DATA / f"{kind}.toml").read_text())
        for initials, role in (("MM", "manager"), ("TT", "technician")):
            keeping.add_person(
                shop.laying_out(),
                "MM",
                initials=initials,
                name=role,
                role=role,
                pin="4711",
                pin_cost=16,
            )
    return sqlite_url


def test_rules_are_shown_checked_and_changed_with_a_new_revision(url: str, tmp_path: Path) -> None:
    named = ("--database", url)
    shown = run("rules", "show", *named).stdout
    assert shown == (DATA / "shop.toml").read_text()
    assert run("rules", "show", "--side-roads", *named).stdout == (DATA / "roads.toml").read_text()
    file = tmp_path / "shop.toml"
    adopt = ("rules", "adopt", str(file), *named, "--sign")
    file.write_text(shown)
    assert "nothing was changed" in run(*adopt, "MM 4711").stderr
    margin = next(line for line in shown.splitlines() if line.startswith("margin_percent"))
    changed = shown.replace(margin, "margin_percent = 31")
    file.write_text(changed)
    assert "raise it" in run(*adopt, "MM 4711").stderr
    revision = next(line for line in shown.splitlines() if line.startswith("revision"))
    file.write_text(changed.replace(revision, 'revision = "next"', 1))
    assert "takes a manager" in run(*adopt, "TT 4711").stderr
    assert run("rules", "show", *named).stdout == shown
    done = run(*adopt, "MM 4711")
    assert done.exit_code == 0
    assert f"-{margin}\n+margin_percent = 31\n" in done.stdout
    assert "margin_percent = 31" in run("rules", "show", *named).stdout


def test_rules_with_a_fault_are_told(tmp_path: Path) -> None:
    file = tmp_path / "shop.toml"
    file.write_text((DATA / "shop.toml").read_text().replace("margin_percent =", "margin ="))
    assert "margin_percent: read None" in sentence(run("rules", "check", str(file)), 2)
    assert "cannot be read" in sentence(run("rules", "check", str(tmp_path / "none")), 2)
