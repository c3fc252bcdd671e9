"""A report of the office on paper and as plain text."""

from datetime import UTC, datetime, time

from shopdesk.desk.reports.made import Part, Report, shown
from shopdesk.paper import page
from shopdesk.paper.blocks import COLUMNS, Block, Table, Words, as_text
from shopdesk.paper.page import Paper


def text(report: Report) -> str:
    """For a terminal of 80 columns."""
    head = Words(report.title, report.said)
    return as_text([head, *_blocks(report)])


def pdf(report: Report, *, letter: bool = False) -> bytes:
    """As few pages as it takes; the same report of the same day has the same bytes."""
    paper = Paper(
        name=report.name,
        title=report.title,
        shop="",
        foot=f"{report.name}, {report.today.isoformat()}",
        made_at=datetime.combine(report.today, time(), UTC),
        blocks=(Words("", report.said), *_blocks(report)),
    )
    return page.pdf(paper, letter=letter)


def _blocks(report: Report) -> list[Block]:
    return [block for part in report.parts for block in _of_part(part, report)]


def _of_part(part: Part, report: Report) -> list[Block]:
    """Its table, under its title where that would not fit over the first column."""
    if not part.lines:
        return [Words(part.title, (part.empty,))]
    titles = tuple(column.title for column in part.columns)
    rows = tuple(
        tuple(
            shown(cell, column.kind, report.today)
            for cell, column in zip(line.cells, part.columns, strict=True)
        )
        for line in part.lines
    )
    spare = max(0, COLUMNS - len(titles) - sum(column.width for column in part.columns))
    parts = sum(column.share for column in part.columns) or 1
    shares = tuple(column.width + spare * column.share / parts for column in part.columns)
    head = (part.title, *("" for _ in titles[1:])) if part.title else titles
    if len(part.title) > shares[0] and any(titles):
        return [Words(part.title, ()), Table(titles, shares, rows, cut=part.cut)]
    if part.title and any(titles):
        rows = (titles, *rows)
    return [Table(head, shares, rows, cut=part.cut)]
