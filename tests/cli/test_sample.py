"""``shopdesk sample``: where the sample shop is built, and what is left of it."""

import tempfile
from datetime import date
from pathlib import Path

import pytest

from shopdesk.cli import sample
from shopdesk.cli.progress import Progress
from shopdesk.records import migrate

from .shell import run, sentence


class Builder:
    """Stands for the sample shop's builder, whose own tests are elsewhere."""

    def __init__(self) -> None:
        self.url = ""
        self.asked: dict[str, object] = {}

    def __call__(self, url: str, *, progress: Progress, **asked: object) -> None:
        self.url, self.asked = url, asked
        for share in (0.0, 0.4, 0.4, 1.0, 1.2):
            progress("Past jobs", share)
        migrate.create(url)


@pytest.fixture
def builder(monkeypatch: pytest.MonkeyPatch) -> Builder:
    found = Builder()
    monkeypatch.setattr("shopdesk.desk.sample.build", found, raising=False)
    return found


def test_it_is_built_where_it_is_told(builder: Builder, tmp_path: Path) -> None:
    file = tmp_path / "sample.db"
    result = run(
        "sample", "--build-only", "--database", str(file), "--seed", "3", "--date", "2026-03-14"
    )
    assert result.exit_code == 0
    assert result.stdout == ""
    assert f"the sample shop is in {file}" in result.stderr
    assert builder.asked == {"seed": 3, "today": date(2026, 3, 14)}
    assert run("db", "check", str(file)).exit_code == 0


def test_a_file_that_is_there_is_left_alone(builder: Builder, tmp_path: Path) -> None:
    file = tmp_path / "sample.db"
    file.write_text("mine")
    result = run("sample", "--build-only", "--database", str(file))
    assert result.exit_code == 6
    assert "is there already" in result.stderr
    assert file.read_text() == "mine"


def test_a_throwaway_shop_is_gone_when_one_leaves(
    builder: Builder, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    seen: list[bool] = []
    left: list[int] = []

    def app(url: str) -> int:
        seen.append(Path(url.removeprefix("sqlite:///")).exists())
        return 0

    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    monkeypatch.setattr(sample, "require_terminal", lambda: None)
    monkeypatch.setattr(sample, "run_app", app)
    monkeypatch.setattr(sample, "leave", left.append)
    result = run("sample")
    assert result.exit_code == 0, result.output
    assert (seen, left) == ([True], [0])
    assert builder.asked == {"seed": 7, "today": None}
    assert list(tmp_path.iterdir()) == []


def test_bad_options_are_sentences() -> None:
    assert "needs --database FILE" in sentence(run("sample", "--build-only"), 2)
    assert "write it as 2026-03-14" in sentence(run("sample", "--date", "14.3.2026"), 2)
    assert "not a valid integer" in sentence(run("sample", "--seed", "seven"), 2)
