"""O-rings: the AS568 sizes, and what a ring does when stretched into a groove and squeezed.

Lengths in metres; sizes are exact inches in ``calc/data/as568.csv``, transcribed facts of the
standard that nobody here has seen itself. Glands are in ``glands``.
"""

import csv
import math
import re
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files

from shopdesk.calc._numeric import above_zero, finite, not_below_zero, root
from shopdesk.calc.torque import INCH_M
from shopdesk.errors import BadInput, OutOfRange

_DASH = re.compile(r"(?:AS ?568[A-F]?)?[ -]*(\d{1,3})", re.IGNORECASE)
HANDBOOK_LIMIT = 0.25
MOST_STRETCH = 0.05
"""Installed stretch more than this is not advised. Source: two seal makers' guides (1 to 5 %)."""
MOST_CRUSH = 0.03
"""A ring larger than its groove by more tends to buckle. Common practice, no source."""
FULLEST_GLAND = 0.85
"""Design target about 75 %, limit about 85 to 90 %. Common practice, no source."""


@dataclass(frozen=True)
class Ring:
    """An AS568 ring in metres; ``kind`` general or boss (straight-thread fitting).

    ``confidence`` is the lowest of the row's: how well the sources agree.
    """

    dash: str
    kind: str
    inside_m: float
    inside_tol_m: float
    section_m: float
    section_tol_m: float
    confidence: str
    note: str

    @property
    def name(self) -> str:
        return f"AS568-{self.dash}"

    @property
    def outside_m(self) -> float:
        return self.inside_m + 2.0 * self.section_m


@dataclass(frozen=True)
class Match:
    """A size near a measured ring; ``inside_tolerance`` where both measures lie within its own.

    Deviations are measured less nominal, in metres.
    """

    ring: Ring
    inside_off_m: float
    section_off_m: float
    inside_tolerance: bool


@dataclass(frozen=True)
class Span:
    """Smallest and largest a share takes over the tolerances."""

    low: float
    high: float


@lru_cache(maxsize=1)
def rings() -> tuple[Ring, ...]:
    """The 369 sizes, in order of dash number. Source: ``as568.csv``."""
    text = (files("shopdesk.calc") / "data" / "as568.csv").read_text(encoding="utf-8")
    return tuple(_ring(row) for row in csv.DictReader(text.splitlines()))


def _ring(row: dict[str, str]) -> Ring:
    confidences = {row["id_confidence"], row["id_tol_confidence"], row["w_confidence"]}
    return Ring(
        dash=row["dash"],
        kind=row["kind"],
        inside_m=float(row["id_in"]) * INCH_M,
        inside_tol_m=float(row["id_tol_in"]) * INCH_M,
        section_m=float(row["w_in"]) * INCH_M,
        section_tol_m=float(row["w_tol_in"]) * INCH_M,
        confidence=next(c for c in ("low", "medium", "high") if c in confidences),
        note=row["note"],
    )


def ring(dash: str) -> Ring:
    """The ring of a dash number: "214", "-214", "AS568-214", "AS568A-214", "12" for 012.

    BadInput for what can't be read as one and for a number AS568 doesn't have.
    """
    match = _DASH.fullmatch(dash.strip())
    if match is None:
        raise BadInput(f"Dash size was read as {dash!r}; write it as -214 or AS568-214.")
    wanted = match[1].zfill(3)
    for found in rings():
        if found.dash == wanted:
            return found
    raise BadInput(
        f"Dash size was read as {dash!r}; AS568 has no -{wanted} (001-050, 102-178, 201-284, "
        "309-395, 425-475, 901-932 with gaps): measure inside diameter and section instead."
    )


def look_up(inside_m: float, section_m: float, count: int = 3) -> tuple[Match, ...]:
    """The sizes nearest a measured inside diameter and section [m], best first.

    Nearest by the larger of the two deviations, each over its own tolerance; a size within both is
    marked. Used rings are swollen or flattened: measure a new one or the groove if none fits.
    Source: AS568 nominals and tolerances.
    """
    above_zero(inside_m, "Inside diameter in m")
    above_zero(section_m, "Section in m")
    if count < 1:
        raise BadInput(f"{count} sizes were asked for; ask for 1 or more.")
    near = sorted(rings(), key=lambda r: _misfit(r, inside_m, section_m))
    return tuple(
        Match(
            ring=found,
            inside_off_m=inside_m - found.inside_m,
            section_off_m=section_m - found.section_m,
            inside_tolerance=_misfit(found, inside_m, section_m) <= 1.0 + 1e-9,
        )
        for found in near[:count]
    )


def _misfit(of: Ring, inside_m: float, section_m: float) -> float:
    return max(
        abs(inside_m - of.inside_m) / of.inside_tol_m,
        abs(section_m - of.section_m) / of.section_tol_m,
    )


def stretch(inside_m: float, on_m: float) -> float:
    """Share a ring is stretched over a diameter: (on - inside)/inside; below zero it is loose."""
    above_zero(inside_m, "Inside diameter in m")
    return (above_zero(on_m, "Diameter the ring sits on in m") - inside_m) / inside_m


def stretched_section(inside_m: float, section_m: float, on_m: float) -> float:
    """Section [m] of a ring stretched over ``on_m``, as a torus of constant volume.

    Solves W'² (D' + W') = W² (D + W), D the inside diameter, D' the one it sits on. Source:
    constant volume of rubber (Poisson's ratio near 0.5), computed.
    """
    above_zero(inside_m, "Inside diameter in m")
    above_zero(section_m, "Section in m")
    above_zero(on_m, "Diameter the ring sits on in m")
    volume = section_m**2 * (inside_m + section_m)
    high = section_m * max(1.0, ((inside_m + section_m) / on_m) ** 0.5) * 1.001
    return root(lambda w: w * w * (on_m + w) - volume, 0.0, high, 1e-15 * section_m)


def compressed_section(inside_m: float, section_m: float, in_m: float) -> float:
    """Section [m] of a ring squeezed round into a bore ``in_m``, as a torus of constant volume.

    Solves W'² (O' - W') = W² (D + W), O' the outside diameter it is held to. BadInput for a bore
    it can't be got into. Source: as ``stretched_section``.
    """
    above_zero(inside_m, "Inside diameter in m")
    above_zero(section_m, "Section in m")
    above_zero(in_m, "Diameter the ring is held in in m")
    volume, widest = section_m**2 * (inside_m + section_m), 0.5 * in_m
    if widest**2 * (in_m - widest) < volume:
        raise BadInput(
            f"A ring of {(inside_m + 2 * section_m) * 1e3:.4g} mm outside doesn't go into "
            f"{in_m * 1e3:.4g} mm; check the groove diameter."
        )
    return root(lambda w: w * w * (in_m - w) - volume, 0.0, widest, 1e-15 * section_m)


def section_loss(stretch_share: float) -> float:
    """Share of section lost by the thin-ring formula, 1 - 1/√(1 + s); see ``stretched_section``.

    Source: constant volume with the section small beside the diameter, computed.
    """
    if finite(stretch_share, "Stretch") <= -1.0:
        raise BadInput(f"Stretch was read as {100 * stretch_share:g} %; it must be above -100 %.")
    return 1.0 - 1.0 / math.sqrt(1.0 + stretch_share)


def handbook_section_loss(stretch_share: float) -> float:
    """Share of section lost by the handbook curve, above constant volume: for a safety margin.

    In percent: Y = -0.005 + 1.19 X - 0.19 X² - 0.001 X³ + 0.008 X⁴ to 3 %, then
    Y = 0.56 + 0.59 X - 0.0046 X² below 25 %; 0 without stretch, OutOfRange above.
    Source: a US O-ring handbook, from memory.
    """
    x = 100.0 * finite(stretch_share, "Stretch")
    if x <= 0.0:
        return 0.0
    if stretch_share >= HANDBOOK_LIMIT:
        raise OutOfRange(f"Stretch was read as {x:g} %; the handbook curve ends below 25 %.")
    if x <= 3.0:
        percent = -0.005 + 1.19 * x - 0.19 * x**2 - 0.001 * x**3 + 0.008 * x**4
    else:
        percent = 0.56 + 0.59 * x - 0.0046 * x**2
    return max(percent, 0.0) / 100.0


def squeeze(section_m: float, depth_m: float) -> float:
    """Share the section is squeezed: (W - depth)/W; below zero the gland is deeper than the ring.

    Depth from groove bottom to the mating face, clearance included. Source: definition.
    """
    above_zero(section_m, "Section in m")
    return (section_m - above_zero(depth_m, "Gland depth in m")) / section_m


def squeeze_range(
    section_m: float, section_tol_m: float, depth_low_m: float, depth_high_m: float
) -> Span:
    """Least and most squeeze over the tolerances of ring and gland.

    Source: US O-ring handbook gland charts (whole percents agree, but for one printed row).
    """
    thin, thick = _limits(section_m, section_tol_m, "Section")
    _in_order(depth_low_m, depth_high_m, what="Gland depth")
    return Span(squeeze(thin, depth_high_m), squeeze(thick, depth_low_m))


def fill(section_m: float, depth_m: float, width_m: float) -> float:
    """Share of a rectangular gland the ring fills: π/4 W²/(depth × width).

    Aim at about 0.75, below 0.85 to 0.90 with swell. Source: common practice, no source.
    """
    above_zero(section_m, "Section in m")
    above_zero(depth_m, "Gland depth in m")
    above_zero(width_m, "Gland width in m")
    return 0.25 * math.pi * section_m**2 / (depth_m * width_m)


def fill_range(
    section_m: float,
    section_tol_m: float,
    depths_m: tuple[float, float],
    widths_m: tuple[float, float],
) -> Span:
    """Least and most fill over the tolerances: ``depths_m`` and ``widths_m`` are (low, high)."""
    thin, thick = _limits(section_m, section_tol_m, "Section")
    _in_order(*depths_m, what="Gland depth")
    _in_order(*widths_m, what="Gland width")
    return Span(
        fill(thin, depths_m[1], widths_m[1]),
        fill(thick, depths_m[0], widths_m[0]),
    )


def _limits(nominal_m: float, tolerance_m: float, what: str) -> tuple[float, float]:
    above_zero(nominal_m, f"{what} in m")
    if not_below_zero(tolerance_m, f"{what} tolerance in m") >= nominal_m:
        raise BadInput(
            f"{what} was read as {nominal_m * 1e3:g} ± {tolerance_m * 1e3:g} mm; the tolerance "
            "must be smaller than the size."
        )
    return nominal_m - tolerance_m, nominal_m + tolerance_m


def _in_order(low_m: float, high_m: float, what: str) -> None:
    if above_zero(low_m, f"{what} in m") > above_zero(high_m, f"{what} in m"):
        raise BadInput(
            f"{what} was read as {low_m * 1e3:g} to {high_m * 1e3:g} mm; give the smaller first."
        )
