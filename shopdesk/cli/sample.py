"""``shopdesk sample``: an invented shop with two years of past jobs, to look round in."""

import tempfile
from datetime import date
from pathlib import Path

import click

from shopdesk.cli.opening import require_terminal, run_app
from shopdesk.cli.options import day
from shopdesk.cli.progress import bar
from shopdesk.cli.shell import leave, say
from shopdesk.errors import BadInput


@click.command()
@click.option("--database", metavar="FILE", help="Build it there and keep it.")
@click.option("--seed", type=int, default=7, show_default=True, help="Another seed, other jobs.")
@click.option(
    "--date",
    "today",
    metavar="ISO",
    callback=day,
    help="The shop's today; the real one without it.",
)
@click.option("--build-only", is_flag=True, help="Build it and stop; needs --database.")
def sample(database: str | None, seed: int, today: date | None, build_only: bool) -> None:
    """Build the sample shop and open it.

    Without --database it stands on a throwaway database that is gone when you leave.
    """
    if build_only and database is None:
        raise BadInput("--build-only needs --database FILE: a throwaway one would be gone at once.")
    if not build_only:
        require_terminal()
    if database is not None:
        _in(database, seed, today, build_only)
        return
    with tempfile.TemporaryDirectory(prefix="shopdesk-sample-") as folder:
        url = _built(str(Path(folder) / "sample.db"), seed, today)
        status = run_app(url)
    leave(status)


def _in(database: str, seed: int, today: date | None, build_only: bool) -> None:
    url = _built(database, seed, today)
    if build_only:
        from shopdesk.records import faults

        say(f"the sample shop is in {faults.where(url)}")
    else:
        leave(run_app(url))


def _built(database: str, seed: int, today: date | None) -> str:
    from shopdesk import settings
    from shopdesk.desk.sample import build

    url = settings.database_url(database)
    with bar("Building") as progress:
        build(url, seed=seed, today=today, progress=progress)
    return url
