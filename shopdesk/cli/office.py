"""``shopdesk office``: the office's reports as text, CSV, JSON or a printed page."""

import json
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

import click

from shopdesk.cli.shell import STDOUT, put
from shopdesk.cli.stores.printing import delivered, opened
from shopdesk.errors import BadInput

if TYPE_CHECKING:
    from shopdesk.desk.reports.made import Part, Report, Tell

LAST = (
    "Reports: morning, backlog, promises, promise:1047 (one job), calibration, load, quality, "
    'returns, drift (drift:SERIAL), money. Narrowed: "backlog:late over 7", promises:late, '
    '"promises:likely late", returns:30 (days), money:work.'
)


@click.command(epilog=LAST)
@click.argument("name", default="morning")
@delivered("Which part CSV gives; the first without it.")
def office(
    name: str,
    shape: str | None,
    letter: bool,
    part: str,
    out: str | None,
    database: str | None,
) -> None:
    """The office's report NAME; without it the morning page.

    Money in exports is in cents, shares are fractions, dates are ISO.
    """
    from shopdesk.desk import reports

    with opened(database) as shop, _progress() as tell:
        report = reports.make(shop, name, tell)
    deliver(report, shape, part=part, letter=letter, out=out)


def deliver(
    report: "Report", shape: str | None, *, part: str = "", letter: bool = False, out: str | None
) -> None:
    """Puts the report where it is wanted: text, CSV, JSON, or a page to print."""
    if shape == "pdf":
        from shopdesk.paper import report as papers

        target = out or f"{report.name.replace(':', '-')}.pdf"
        put(papers.pdf(report, letter=letter), target, "the report")
        return
    put(_written(report, shape, part).encode(), out or STDOUT, "the report")


def _written(report: "Report", shape: str | None, part: str) -> str:
    if shape == "json":
        return json.dumps(as_json(report), ensure_ascii=False, indent=1) + "\n"
    if shape == "csv":
        from shopdesk.desk.reports.made import as_csv

        return as_csv(_part(report, part))
    from shopdesk.paper import report as papers

    return papers.text(report)


def _part(report: "Report", name: str) -> "Part":
    try:
        return report.part(name)
    except (KeyError, StopIteration, IndexError):
        there = ", ".join(part.name for part in report.parts) or "none"
        raise BadInput(f"{report.name} has no part {name[:30]!r}; there are: {there}") from None


def as_json(report: "Report") -> dict[str, Any]:
    from shopdesk.desk.reports.made import exported

    return {
        "report": report.name,
        "title": report.title,
        "day": report.today.isoformat(),
        "said": list(report.said),
        "parts": {
            part.name: [
                {
                    column.key: exported(cell)
                    for column, cell in zip(part.columns, line.cells, strict=True)
                }
                for line in part.lines
            ]
            for part in report.parts
        },
    }


@contextmanager
def _progress() -> "Iterator[Tell]":
    """A bar on stderr; where that is no terminal, nothing is drawn."""
    if not sys.stderr.isatty():
        yield lambda _: True
        return
    with click.progressbar(length=100, label="Forecasting", file=sys.stderr, width=30) as bar:

        def tell(share: float) -> bool:
            bar.update(max(0, round(100 * min(share, 1.0)) - bar.pos))
            return True

        yield tell
