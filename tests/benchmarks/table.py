"""A figure beside its baseline, and the table they make."""

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Figure:
    """``ours`` and ``theirs`` in ms unless ``unit`` says otherwise; ``goal`` is the most their
    ratio may be, ``most`` the most ours may be."""

    name: str
    ours: float
    theirs: float | None
    goal: float | None
    most: float | None = None
    unit: str = "ms"

    @property
    def ratio(self) -> float | None:
        return None if self.theirs is None else self.ours / self.theirs

    @property
    def met(self) -> bool:
        within = self.most is None or self.ours <= self.most
        return within and (self.goal is None or self.ratio is None or self.ratio <= self.goal)


def p50(values: Sequence[float]) -> float:
    return _share(values, 0.5)


def p95(values: Sequence[float]) -> float:
    return _share(values, 0.95)


def _share(values: Sequence[float], share: float) -> float:
    """The smallest value that so great a share of all do not exceed."""
    ordered = sorted(values)
    return ordered[min(len(ordered) - 1, int(len(ordered) * share))]


def table(figures: Sequence[Figure]) -> str:
    """One line a figure, as Markdown."""
    lines = ["| figure | ours | beside it | ratio | at most | |", "|---|--:|--:|--:|--:|---|"]
    lines += [_line(figure) for figure in figures]
    return "\n".join(lines)


def _line(figure: Figure) -> str:
    beside = "" if figure.theirs is None else f"{figure.theirs:.2f} {figure.unit}"
    ratio = "" if figure.ratio is None else f"{figure.ratio:.2f}"
    if figure.goal is not None:
        limit = f"{figure.goal:g} ×"
    else:
        limit = "" if figure.most is None else f"{figure.most:g} {figure.unit}"
    verdict = "" if figure.met else "MISSED"
    return (
        f"| {figure.name} | {figure.ours:.2f} {figure.unit} | {beside} | {ratio} | {limit} |"
        f" {verdict} |"
    )
