"""The bore drawn by depth: each axis a letter on a scale from limit to limit."""

from collections.abc import Mapping

from shopdesk import quantities
from shopdesk.procedure import Survey
from shopdesk.rules.answers import Answer

SCALE = 31
MARKS = "abcdefgh"


def profile(line: Survey, given: Mapping[str, Answer]) -> list[str]:
    """One line a depth, its readings beside it; what lies outside the limits is drawn at "<" or
    ">". Empty until a first reading is there, or where the limit has an open end."""
    low, high = line.limit.low, line.limit.high
    if low is None or high is None or not any(name.startswith("d") for name in given):
        return []
    axes = "  ".join(f"{mark} {axis}" for mark, axis in zip(MARKS, line.axes, strict=False))
    drawn = [f" {'':>8} {low.typed.ljust(SCALE - len(high.typed))}{high.typed}  {axes}"]
    for row, depth in enumerate(line.depths, 1):
        cells = [given.get(f"d{row}a{column}") for column in range(1, len(line.axes) + 1)]
        values = [cell.value_si if cell else None for cell in cells]
        scale = _scale(values, low.value_si, high.value_si)
        shown = "  ".join(
            quantities.text(value, line.unit) for value in values if value is not None
        )
        drawn.append(f" {depth.typed:>8} {scale}  {shown}")
    return drawn


def _scale(values: list[float | None], low: float, high: float) -> str:
    marks = [*"|", *"·" * (SCALE - 2), *"|"]
    for mark, value in zip(MARKS, values, strict=False):
        if value is None:
            continue
        place = round((value - low) / (high - low) * (SCALE - 1)) if high > low else 0
        if place < 0 or value < low:
            marks[0] = "<"
        elif place >= SCALE or value > high:
            marks[-1] = ">"
        else:
            marks[place] = "*" if marks[place] in MARKS else mark
    return "".join(marks)
