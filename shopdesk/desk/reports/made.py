"""A report as every face shows it: parts of plain rows, a few sentences, drawings."""

import csv
import io
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING

from shopdesk.desk.calculator.curves import Drawing

if TYPE_CHECKING:
    from shopdesk.desk.shop import Shop

Cell = str | int | float | date | None
Tell = Callable[[float], bool]
HALF_A_YEAR = 182  # days; a date nearer than that needs no year


@dataclass(frozen=True, slots=True)
class Column:
    """``key`` names it in exports; ``kind`` is text, date, days, count, share, money (cents),
    hours, number or month; ``width`` cells at least, ``share`` of what a wide terminal leaves
    over."""

    key: str
    title: str
    width: int
    kind: str = "text"
    share: int = 0

    @property
    def right(self) -> bool:
        return self.kind in ("count", "share", "money", "hours", "days", "number")


@dataclass(frozen=True, slots=True)
class Line:
    """``opens``: a job's number, another report's name, or a drawing."""

    cells: tuple[Cell, ...]
    opens: "int | str | Drawing | None" = None


@dataclass(frozen=True, slots=True)
class Part:
    """``cut``: in a terminal a line stays one line, whatever that cuts off; paper has all."""

    name: str
    title: str
    columns: tuple[Column, ...]
    lines: tuple[Line, ...]
    empty: str = "nothing"
    cut: bool = False


@dataclass(frozen=True, slots=True)
class Report:
    """``today`` is the day it speaks of."""

    name: str
    title: str
    today: date
    parts: tuple[Part, ...]
    said: tuple[str, ...] = ()
    drawing: Drawing | None = None

    def part(self, name: str) -> Part:
        """Raises KeyError."""
        return next(part for part in self.parts if part.name == name) if name else self.parts[0]


Maker = Callable[["Shop", Tell | None], Report]


def shown(cell: Cell, kind: str, today: date) -> str:
    """A cell as people read it."""
    if cell is None:
        return "-"
    if isinstance(cell, datetime):
        cell = cell.astimezone().date()
    if isinstance(cell, date):
        return f"{cell:%b %Y}" if kind == "month" else _day(cell, today)
    if kind == "money" and isinstance(cell, int | float):
        return f"{round(cell / 100):,}"
    if kind == "share" and isinstance(cell, int | float):
        return f"{cell:.0%}".replace("-0%", "0%") if abs(cell) < 0.01 else f"{cell:.0%}"
    if kind in ("hours", "days") and isinstance(cell, int | float):
        return f"{cell:.1f}"
    if kind == "number" and isinstance(cell, int | float):
        return f"{cell:.3g}"
    return str(cell)


def _day(when: date, today: date) -> str:
    near = abs((when - today).days) <= HALF_A_YEAR
    return f"{when.day} {when:%b}" if near else f"{when.day} {when:%b %y}"


def exported(cell: Cell) -> str | int | float | None:
    """A cell as programs read it: dates in ISO form, shares as fractions, money in cents."""
    if isinstance(cell, date):
        return cell.isoformat()
    return round(cell, 4) if isinstance(cell, float) else cell


def as_csv(part: Part) -> str:
    """The part with its columns' keys as the first row."""
    from shopdesk.records.cells import as_text

    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow([column.key for column in part.columns])
    for line in part.lines:
        cells = [exported(cell) for cell in line.cells]
        writer.writerow([as_text(cell) if isinstance(cell, str) else cell for cell in cells])
    return out.getvalue()
