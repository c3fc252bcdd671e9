"""The command line with nasty arguments: every command, whatever its options are given."""

import os
import random
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import click
from click.testing import CliRunner

from shopdesk.cli import main
from tests.fuzz import texts

SLOW_S = 10.0
# These wait for somebody, or build a whole shop.
ENDLESS = frozenset({"open", "serve", "sample", "new"})
WORDS = (
    *("-1", "0", "1e400", "99999999999999999999", "nan", "--", "-", "--help", "J-1001", "1001"),
    *("2026-02-30", "parts", "lots", "csv", "no/such/folder/x", ".", "a.toml", "fuzz.db", "0.5mm"),
    *("sqlite:////no/such.db", "postgresql://nobody@127.0.0.1:1/none", "mysql://x/y", "62 bar"),
)


def faults(runs: int, seed: int, folder: Path) -> list[tuple[str, str]]:
    """What went wrong, each with its command; ``folder`` holds a record ``fuzz.db``."""
    rng, found = random.Random(seed), []
    paths = list(_paths(main, ()))
    with _inside(folder / "in" / "it"):
        for _ in range(runs):
            path, command = rng.choice(paths)
            words = [*path, *_arguments(command, rng, folder / "fuzz.db")]
            begun = time.perf_counter()
            done = CliRunner().invoke(main, words, input=_nasty(rng))
            took = time.perf_counter() - begun
            said = ascii(" ".join(words))[:300]
            if done.exception is not None and not isinstance(done.exception, SystemExit):
                found.append((said, repr(done.exception)[:300]))
            elif "Traceback" in done.output:
                found.append((said, done.output[-300:]))
            if took > SLOW_S:
                found.append((said, f"took {took:.1f} s"))
    return found


def _paths(
    command: click.Command, path: tuple[str, ...]
) -> Iterator[tuple[tuple[str, ...], click.Command]]:
    if isinstance(command, click.Group):
        for name in command.list_commands(click.Context(command)):
            under = command.get_command(click.Context(command), name)
            if under is not None and name not in ENDLESS:
                yield from _paths(under, (*path, name))
    else:
        yield path, command


def _arguments(command: click.Command, rng: random.Random, record: Path) -> Iterator[str]:
    """Mostly as many as there should be; the record, where one is asked, mostly a real one."""
    for given in command.params:
        if isinstance(given, click.Argument):
            if rng.random() < 0.9:
                yield _word(given, rng, record)
        elif rng.random() < (0.8 if given.name == "database" else 0.3):
            yield rng.choice(given.opts)
            if not getattr(given, "is_flag", False) or rng.random() < 0.02:
                yield _word(given, rng, record)
    if rng.random() < 0.05:
        yield _nasty(rng)


def _word(given: click.Parameter, rng: random.Random, record: Path) -> str:
    if given.name in ("database", "url", "source") and rng.random() < 0.7:
        return str(record)
    if isinstance(given.type, click.Choice) and rng.random() < 0.7:
        return str(rng.choice(list(given.type.choices)))
    return rng.choice(WORDS) if rng.random() < 0.6 else _nasty(rng)


def _nasty(rng: random.Random) -> str:
    """As the system hands arguments over: without NUL, which ends one; no path out of here."""
    text = texts.string(rng, paste=0).replace("\0", "").replace("/", "÷")
    return os.fsencode(text.encode("utf-8", "replace")).decode("utf-8", "replace")[:500]


@contextmanager
def _inside(folder: Path) -> Iterator[None]:
    folder.mkdir(parents=True, exist_ok=True)
    before = Path.cwd()
    os.chdir(folder)
    try:
        yield
    finally:
        os.chdir(before)
        sys.stdout.flush()
