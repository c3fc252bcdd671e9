"""The README's calculations print what stands beneath them."""

import re
import shlex
from pathlib import Path

import pytest

from .shell import run

README = Path(__file__).parents[2] / "README.md"
BEGINS, ENDS = "<!-- calculations: a test runs these commands -->", "<!-- end of calculations -->"
_BLOCK = re.compile(r"^```console\n(.*?)^```$", re.MULTILINE | re.DOTALL)


def _shown() -> list[tuple[str, str]]:
    """Each command with what the README shows of its output."""
    section = README.read_text(encoding="utf-8").split(BEGINS)[1].split(ENDS)[0]
    found = []
    for block in _BLOCK.findall(section):
        command, shown = re.split(r"(?<!\\)\n", block, maxsplit=1)
        found.append((command.removeprefix("$ ").replace("\\\n", " "), shown))
    return found


SHOWN = _shown()


def test_there_are_five() -> None:
    assert len(SHOWN) == 5
    assert all(command.startswith("shopdesk calc ") for command, _ in SHOWN)


@pytest.mark.parametrize(("command", "shown"), SHOWN, ids=[c.split()[2] for c, _ in SHOWN])
def test_the_readme_shows_what_is_printed(command: str, shown: str) -> None:
    result = run(*shlex.split(command)[1:])
    assert result.exit_code == 0, result.stderr
    assert result.stdout == shown
