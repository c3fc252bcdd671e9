"""Lines of columns that fit the terminal: cut with a mark, never wrapped, never markup."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from functools import lru_cache

from rich.cells import cell_len, set_cell_size
from rich.text import Text


@dataclass(frozen=True, slots=True)
class Column:
    """``width`` cells at least; ``share`` of what a wider terminal leaves over."""

    title: str
    width: int
    share: int = 0
    right: bool = False


@lru_cache(maxsize=64)
def widths(columns: tuple[Column, ...], total: int) -> tuple[int, ...]:
    """The columns' widths on a line of ``total`` cells, one space before each."""
    spare = max(0, total - sum(column.width + 1 for column in columns))
    shares = sum(column.share for column in columns) or 1
    return tuple(column.width + spare * column.share // shares for column in columns)


def fitted(text: str, width: int, *, right: bool = False) -> str:
    """The text in exactly ``width`` cells, its end cut with a mark where it is too long."""
    clean = plain(text)
    if cell_len(clean) > width:
        return set_cell_size(clean, max(0, width - 1)) + "…" if width else ""
    pad = " " * (width - cell_len(clean))
    return pad + clean if right else clean + pad


def plain(text: str) -> str:
    """The text on one line, signs that a terminal would obey shown as a dot."""
    if text.isprintable():
        return text
    return "".join(sign if sign.isprintable() else "·" for sign in text)


def laid(
    columns: tuple[Column, ...], total: int, cells: Sequence[str], loud: Sequence[int] = ()
) -> Text:
    """One line; the cells whose index is in ``loud`` in bold."""
    fit = [
        fitted(cell, width, right=column.right)
        for column, width, cell in zip(columns, widths(columns, total), cells, strict=True)
    ]
    line = Text(" " + " ".join(fit), no_wrap=True)
    for index in loud:
        start = sum(len(cell) + 1 for cell in fit[:index])
        line.stylize("bold", start, start + len(fit[index]) + 1)
    return line


def titles(columns: tuple[Column, ...], total: int) -> Text:
    return laid(columns, total, [column.title for column in columns])


def day(when: date, today: date) -> str:
    """ "14 Mar", with the year where it is another one."""
    return f"{when.day} {when:%b}" if when.year == today.year else f"{when.day} {when:%b %y}"


def local_day(moment: datetime, today: date) -> str:
    return day(moment.astimezone().date(), today)


def days_since(moment: datetime, now: datetime) -> str:
    """ "today", "1 day", "12 days"."""
    days = (now.astimezone().date() - moment.astimezone().date()).days
    return "today" if days < 1 else "1 day" if days == 1 else f"{days} days"
