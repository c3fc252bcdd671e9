"""What squeeze, depth and width a gland is usually cut for, by its use and the ring's section.

The charts are data (``calc/data/glands.csv``), each row with source and confidence. Lengths in
metres, squeeze as a share.
"""

import csv
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from itertools import pairwise

from shopdesk.calc._numeric import above_zero
from shopdesk.calc.torque import INCH_M
from shopdesk.errors import BadInput, OutOfRange

SERVICES = ("static", "reciprocating")
GLANDS = ("piston", "rod", "face")
FILL_TARGET = 0.75
"""About three quarters, 0.85 at most (``seals.FULLEST_GLAND``): several open pages, 70 to 85 %."""
_SAME_SECTION_M = 0.1e-3  # 3.53 mm and .139 in are one section, 3.6 mm as well


@dataclass(frozen=True)
class Advised:
    """Spans a gland is cut for; ``between`` where no row has the section and two were used.

    The squeeze spans what the tolerances of ring and gland leave of it.
    """

    use: str
    squeeze: tuple[float, float]
    depth_m: tuple[float, float]
    width_m: tuple[float, float]
    between: bool
    confidence: str
    source: str


@dataclass(frozen=True)
class _Row:
    use: str
    section_m: float
    squeeze: tuple[float, float]
    depth_m: tuple[float, float]
    width_m: tuple[float, float]
    confidence: str
    source: str


def use_of(gland: str, service: str) -> str:
    """The chart for a gland and whether the parts move: both radial glands share one.

    BadInput for an unknown word and for a face that moves.
    """
    if gland not in GLANDS or service not in SERVICES:
        raise BadInput(
            f"Gland was read as {gland!r}, service as {service!r}; known are "
            f"{', '.join(GLANDS)} and {', '.join(SERVICES)}."
        )
    if gland == "face" and service != "static":
        raise BadInput("A face gland was read as reciprocating; between faces nothing slides.")
    return "reciprocating" if service == "reciprocating" else f"static {_kind(gland)}"


def _kind(gland: str) -> str:
    return "face" if gland == "face" else "radial"


def advised(gland: str, service: str, section_m: float) -> Advised:
    """The usual squeeze, gland depth and groove width for a section, without a backup ring.

    Between two sections of the chart in a straight line. OutOfRange outside the chart's sections,
    BadInput as ``use_of``. Source: each row of ``glands.csv``.
    """
    above_zero(section_m, "Section in m")
    rows = [row for row in _rows() if row.use == use_of(gland, service)]
    nearest = min(rows, key=lambda row: abs(row.section_m - section_m))
    if abs(nearest.section_m - section_m) <= _SAME_SECTION_M:
        return _between(nearest, nearest, 0.0)
    for thin, thick in pairwise(rows):
        if thin.section_m < section_m < thick.section_m:
            at = (section_m - thin.section_m) / (thick.section_m - thin.section_m)
            return _between(thin, thick, at)
    raise OutOfRange(
        f"Section was read as {section_m * 1e3:.4g} mm; the chart has "
        f"{rows[0].section_m * 1e3:.4g} to {rows[-1].section_m * 1e3:.4g} mm: take the seal "
        "maker's for this one."
    )


def _between(thin: _Row, thick: _Row, at: float) -> Advised:
    def along(one: tuple[float, float], other: tuple[float, float]) -> tuple[float, float]:
        return (one[0] + at * (other[0] - one[0]), one[1] + at * (other[1] - one[1]))

    return Advised(
        use=thin.use,
        squeeze=along(thin.squeeze, thick.squeeze),
        depth_m=along(thin.depth_m, thick.depth_m),
        width_m=along(thin.width_m, thick.width_m),
        between=thin is not thick,
        confidence=thin.confidence,
        source=thin.source,
    )


@lru_cache(maxsize=1)
def _rows() -> tuple[_Row, ...]:
    text = (files("shopdesk.calc") / "data" / "glands.csv").read_text(encoding="utf-8")
    return tuple(_row(row) for row in csv.DictReader(text.splitlines()))


def _row(row: dict[str, str]) -> _Row:
    def span(name: str, unit: str, scale: float) -> tuple[float, float]:
        return (
            float(row[f"{name}_low_{unit}"]) * scale,
            float(row[f"{name}_high_{unit}"]) * scale,
        )

    return _Row(
        use=row["use"],
        section_m=float(row["section_in"]) * INCH_M,
        squeeze=span("squeeze", "pct", 0.01),
        depth_m=span("depth", "in", INCH_M),
        width_m=span("width", "in", INCH_M),
        confidence=row["confidence"],
        source=row["source"],
    )
