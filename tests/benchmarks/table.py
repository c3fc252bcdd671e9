"""A figure beside its baseline, and the table they make."""

import math
from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Figure:
    """``ours`` and ``theirs`` in ms unless ``unit`` says otherwise; ``goal`` is the most their
    ratio may be, ``least`` the least, ``most`` the most ours may be."""

    name: str
    ours: float
    theirs: float | None = None
    goal: float | None = None
    most: float | None = None
    unit: str = "ms"
    least: float | None = None

    @property
    def ratio(self) -> float | None:
        return None if self.theirs is None else self.ours / self.theirs

    @property
    def met(self) -> bool:
        if self.most is not None and self.ours > self.most:
            return False
        if self.ratio is None:
            return True
        return (self.least or 0.0) <= self.ratio <= (self.goal or math.inf)


def p50(values: Sequence[float]) -> float:
    return _share(values, 0.5)


def p99(values: Sequence[float]) -> float:
    return _share(values, 0.99)


def p95(values: Sequence[float]) -> float:
    return _share(values, 0.95)


def _share(values: Sequence[float], share: float) -> float:
    """The smallest value that so great a share of all do not exceed."""
    ordered = sorted(values)
    return ordered[min(len(ordered) - 1, int(len(ordered) * share))]


HEAD = "| figure | ours | beside it | ratio | goal | |\n|---|--:|--:|--:|--:|---|"
"""What stands above the lines of a table, as Markdown."""


def line(figure: Figure) -> str:
    beside = "" if figure.theirs is None else f"{figure.theirs:.2f} {figure.unit}".rstrip()
    ours = f"{figure.ours:.2f} {figure.unit}".rstrip()
    ratio = "" if figure.ratio is None else f"{figure.ratio:.2f}"
    limit = _limit(figure)
    verdict = "" if figure.met else "MISSED"
    return f"| {figure.name} | {ours} | {beside} | {ratio} | {limit} | {verdict} |"


def _limit(figure: Figure) -> str:
    if figure.goal is not None:
        return f"≤ {figure.goal:g} ×"
    if figure.least is not None:
        return f"≥ {figure.least:g} ×"
    return "" if figure.most is None else f"≤ {figure.most:g} {figure.unit}"
