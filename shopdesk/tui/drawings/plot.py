"""A drawing on a grid of signs: what tells curves apart is the sign, never the colour."""

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from textual.app import RenderResult
from textual_plotext import PlotextPlot

if TYPE_CHECKING:
    from shopdesk.desk.calculator.curves import Curve, Drawing

Span = tuple[float, float]

LINE_MARK = "hd"
LINE_SHOWN = "▄▀"
_PAD = 0.04
_CELLS_A_TICK_ACROSS, _CELLS_A_TICK_UP = 13, 3
_ROWS_A_TICK = (3, 4, 2, 5)
"""Lines from one mark upright to the next, the liked ones first."""
_FEWEST_ROWS = 7
_FRAME = 3
"""Lines of a plot that are no curve's: frame above and below, numbers beneath."""
_SIDES = 2
_STEPS = (1.0, 2.0, 5.0, 10.0)


class Plot(PlotextPlot):
    """One drawing, as large as there is room."""

    def __init__(self, drawing: "Drawing") -> None:
        super().__init__()
        self.drawing = drawing
        self.theme = "clear"

    def render(self) -> RenderResult:
        self._draw()
        return super().render()

    def _draw(self) -> None:
        plt, drawing = self.plt, self.drawing
        plt.clear_figure()
        plt.theme("clear")  # before the curves: it is also what keeps them without colour
        points = [point for curve in drawing.curves for point in curve.points]
        across = padded([x for x, _ in points])
        high = max(2, self.size.height // _CELLS_A_TICK_UP)
        up, tall, named = self._upright([y for _, y in points], high)
        plt.xlim(*across)
        plt.ylim(*up)
        right = self._right_marks(up, high)
        wide_as = [max(map(len, each), default=0) for each in (named, labels(right))]
        columns = self.size.width - _SIDES - sum(wide_as)
        for curve in drawing.curves:
            self._curve(curve, Grid(across, up, columns, self.size.height - _FRAME))
        wide = ticks(*across, max(2, self.size.width // _CELLS_A_TICK_ACROSS))
        plt.xticks(wide, labels(wide))
        plt.yticks(tall, named)
        if right:
            self._right(across[0], up, right)

    def _upright(self, heights: list[float], most: int) -> tuple[Span, list[float], list[str]]:
        """The upright scale's ends, where it is marked and with what: a mark to a row, evenly."""
        rows = self.size.height - _FRAME
        if self.drawing.names:
            marks = [y for y, _ in self.drawing.names]
            found = named_rows(marks, rows)
            return found or padded(heights), marks, [name for _, name in self.drawing.names]
        level = levels(min(heights), max(heights), rows)
        if level is None:
            up = padded(heights)
            marks = ticks(*up, most)
        else:
            up, marks = level
        return up, marks, labels(marks)

    def _curve(self, curve: "Curve", grid: "Grid") -> None:
        points = curve.points if curve.sign else [grid.halved(x, y) for x, y in curve.points]
        xs, ys = [x for x, _ in points], [y for _, y in points]
        if not xs:
            return
        if curve.joined and len(xs) > 1:
            self.plt.plot(xs, ys, marker=curve.sign or LINE_MARK)
        else:
            self.plt.scatter(xs, ys, marker=curve.sign or LINE_MARK)

    def _right_marks(self, up: Span, high: int) -> list[float]:
        scale = self.drawing.right
        if scale is None:
            return []
        low, top = (scale.slope * edge + scale.offset for edge in up)
        return ticks(low, top, high)

    def _right(self, corner: float, up: Span, marks: list[float]) -> None:
        """The second scale lays its numbers beside the first's; a blank in the corner is all that
        is drawn by it."""
        plt: Any = self.plt  # which says that a side is a number
        scale = self.drawing.right
        assert scale is not None
        low, top = (scale.slope * edge + scale.offset for edge in up)
        plt.scatter([corner], [low], marker=" ", yside="right")
        plt.ylim(low, top, yside="right")
        plt.yticks(marks, labels(marks), yside="right")


@dataclass(frozen=True, slots=True)
class Grid:
    """The cells signs stand in. A line is drawn in halves of cells, which are rounded for
    themselves: ``halved`` moves a point so that the line passes through the cell a sign there
    would stand in, and the scales' marks point at both."""

    across: Span
    up: Span
    columns: int
    rows: int

    def halved(self, x: float, y: float) -> tuple[float, float]:
        return (_halved(x, self.across, self.columns), _halved(y, self.up, self.rows))


def _halved(at: float, ends: Span, cells: int) -> float:
    if cells < 1:
        return at
    low, high = ends
    share = (at - low) / (high - low)
    return low + (2.0 * (cells - 1) * share + 0.5) / (2.0 * cells - 1.0) * (high - low)


def levels(low: float, high: float, rows: int) -> tuple[Span, list[float]] | None:
    """Ends and round marks of a scale of ``rows`` lines on which every mark is as many lines from
    the next: the finest that holds it and three marks, two on few lines; None for no span."""
    span = high - low
    if rows < _FEWEST_ROWS or span <= 0.0:
        return None
    fewest = 3 if rows > 2 * max(_ROWS_A_TICK) else 2
    power = math.floor(math.log10(span / rows))
    fine = [
        (step * 10.0**exponent / each, rank, step * 10.0**exponent)
        for exponent in (power, power + 1, power + 2)
        for step in _STEPS[:-1]
        for rank, each in enumerate(_ROWS_A_TICK)
    ]
    for cell, _, step in sorted(fine):
        bottom = math.floor(low / cell + 1e-9)
        spare = rows - 1 - (math.ceil(high / cell - 1e-9) - bottom)
        bottom -= spare // 2
        ends = (bottom * cell, (bottom + rows - 1) * cell)
        # No mark beyond the one next to the curves: a share is not drawn up to 1.2.
        first = max(math.ceil(ends[0] / step - 1e-9), math.floor(low / step + 1e-9))
        last = min(math.floor(ends[1] / step + 1e-9), math.ceil(high / step - 1e-9))
        if spare >= 0 and last - first + 1 >= fewest:
            return ends, [number * step for number in range(first, last + 1)]
    return None


def named_rows(marks: list[float], rows: int) -> Span | None:
    """Ends of a scale on which marks that lie evenly do so in lines; None where they do not."""
    rising = sorted(marks)
    gaps = [b - a for a, b in pairwise(rising)]
    if not gaps or min(gaps) <= 0.0:
        return None
    count = (rising[-1] - rising[0]) / min(gaps)
    each = math.floor((rows - 1) / count + 1e-9)
    if each < 1 or any(abs(gap / min(gaps) - round(gap / min(gaps))) > 1e-6 for gap in gaps):
        return None
    cell = min(gaps) / each
    bottom = rising[0] - (rows - 1 - round(count) * each) // 2 * cell
    return bottom, bottom + (rows - 1) * cell


def padded(values: list[float]) -> tuple[float, float]:
    """Smallest and largest, with a little room around."""
    low, high = min(values), max(values)
    room = (high - low) * _PAD or abs(high) * _PAD or 1.0
    return low - room, high + room


def ticks(low: float, high: float, most: int) -> list[float]:
    """Round numbers between the two, at most about ``most``."""
    rough = (high - low) / max(1, most)
    scale = 10.0 ** math.floor(math.log10(rough))
    step = next(scale * each for each in _STEPS if scale * each >= rough * (1.0 - 1e-9))
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return [number * step for number in range(first, last + 1)]


def labels(marks: list[float]) -> list[str]:
    """As many decimals as tell neighbours apart."""
    step = marks[1] - marks[0] if len(marks) > 1 else 1.0
    decimals = max(0, -math.floor(math.log10(step) + 1e-9))
    return [f"{mark:.{decimals}f}" for mark in marks]
