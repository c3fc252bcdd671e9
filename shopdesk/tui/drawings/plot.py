"""A drawing on a grid of signs: what tells curves apart is the sign, never the colour."""

import math
from typing import TYPE_CHECKING, Any

from textual.app import RenderResult
from textual_plotext import PlotextPlot

if TYPE_CHECKING:
    from shopdesk.desk.calculator.curves import Curve, Drawing

LINE_MARK = "hd"
LINE_SHOWN = "▄▀"
_PAD = 0.04
_CELLS_A_TICK_ACROSS, _CELLS_A_TICK_UP = 13, 3
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
        up = padded([y for _, y in points])
        plt.xlim(*across)
        plt.ylim(*up)
        for curve in drawing.curves:
            self._curve(curve)
        wide = ticks(*across, max(2, self.size.width // _CELLS_A_TICK_ACROSS))
        plt.xticks(wide, labels(wide))
        high = max(2, self.size.height // _CELLS_A_TICK_UP)
        if drawing.names:
            plt.yticks([y for y, _ in drawing.names], [name for _, name in drawing.names])
        else:
            tall = ticks(*up, high)
            plt.yticks(tall, labels(tall))
        if drawing.right is not None:
            self._right(across[0], up, high)

    def _curve(self, curve: "Curve") -> None:
        xs, ys = [x for x, _ in curve.points], [y for _, y in curve.points]
        if not xs:
            return
        if curve.joined and len(xs) > 1:
            self.plt.plot(xs, ys, marker=curve.sign or LINE_MARK)
        else:
            self.plt.scatter(xs, ys, marker=curve.sign or LINE_MARK)

    def _right(self, corner: float, up: tuple[float, float], high: int) -> None:
        """The second scale lays its numbers beside the first's; a blank in the corner is all that
        is drawn by it."""
        plt: Any = self.plt  # which says that a side is a number
        scale = self.drawing.right
        assert scale is not None
        low, top = (scale.slope * edge + scale.offset for edge in up)
        plt.scatter([corner], [low], marker=" ", yside="right")
        plt.ylim(low, top, yside="right")
        marks = ticks(low, top, high)
        plt.yticks(marks, labels(marks), yside="right")


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
