"""A bar for what takes a while."""

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

import click

Progress = Callable[[str, float], None]


@contextmanager
def bar(label: str) -> Iterator[Progress]:
    """On stderr; where that is no terminal, nothing is drawn."""
    if not sys.stderr.isatty():
        yield lambda what, share: None
        return
    with click.progressbar(length=100, label=label, file=sys.stderr, width=30) as drawn:

        def progress(what: str, share: float) -> None:
            drawn.label = what
            drawn.update(max(0, round(100 * min(share, 1.0)) - drawn.pos))

        yield progress
