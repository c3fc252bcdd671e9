"""A bore as measured: survey of diameters, wear, clearance and the leak past a fit; roughness.

Two-point diameters, not roundness to ISO 1101: an oval bore's roundness is about half its diameter
difference, and a three-lobed bore can read the same on every axis.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from shopdesk.calc._numeric import above_zero, finite, not_below_zero
from shopdesk.errors import BadInput

MICROINCH_M = 0.0254e-6
"""Exact."""
RQ_PER_RA_SINE = math.pi / (2.0 * math.sqrt(2.0))
"""1.11, for a pure sine. Source: ASME B46.1 and Machinery's Handbook (from memory)."""
RQ_PER_RA_REAL = (1.2, 1.3)
"""Ground and honed surfaces. Common practice, no source."""
ROUGHNESS_CAUTION = (
    "Ra and Rq of one surface have no fixed ratio: 1.11 is a pure sine, ground and honed bores run "
    "about 1.2 to 1.3. Convert to read an old drawing, never to pass or fail a bore."
)
_ECCENTRIC = 1.5


@dataclass(frozen=True)
class Survey:
    """Diameters in metres. ``out_of_round_row`` and ``taper_column`` count from 0."""

    mean_m: float
    smallest_m: float
    largest_m: float
    out_of_round_m: float
    out_of_round_row: int
    out_of_round_by_row_m: tuple[float, ...]
    taper_m: float
    taper_column: int
    taper_by_column_m: tuple[float, ...]
    mean_by_row_m: tuple[float, ...]
    bell_mouth_m: float | None


@dataclass(frozen=True)
class Clearance:
    """Bore less piston on diameter, in metres; below zero is interference."""

    smallest_m: float
    mean_m: float
    largest_m: float


@dataclass(frozen=True)
class FitLeak:
    """Flow past a close fit in m³/s: piston in the middle, and lying against the bore."""

    concentric_m3_s: float
    eccentric_m3_s: float


@dataclass(frozen=True)
class Roughness:
    """Of a measured or drawn profile, in metres; ``ratio`` is Rq/Ra."""

    ra_m: float
    rq_m: float
    ratio: float


@dataclass(frozen=True)
class RqEstimate:
    """Rq in metres an Ra may stand for: a pure sine, and the span of real ground surfaces."""

    sine_m: float
    low_m: float
    high_m: float
    caution: str = ROUGHNESS_CAUTION


def survey(rows: Sequence[Sequence[float]]) -> Survey:
    """Survey of a bore from diameters [m], rows = depths, columns = axes; 2 × 2 or more.

    Out-of-round = max - min in a plane (one row), the worst row; taper = largest max - min along
    one axis (one column); bell-mouth as ``bell_mouth``. BadInput for fewer depths or axes, rows of
    different length, a diameter not above zero.
    Source: common practice (engine and cylinder rebuild manuals), no single source.
    """
    table = _checked(rows)
    columns = list(zip(*table, strict=True))
    by_row = tuple(max(row) - min(row) for row in table)
    by_column = tuple(max(column) - min(column) for column in columns)
    cells = [cell for row in table for cell in row]
    means = tuple(math.fsum(row) / len(row) for row in table)
    return Survey(
        mean_m=math.fsum(cells) / len(cells),
        smallest_m=min(cells),
        largest_m=max(cells),
        out_of_round_m=max(by_row),
        out_of_round_row=by_row.index(max(by_row)),
        out_of_round_by_row_m=by_row,
        taper_m=max(by_column),
        taper_column=by_column.index(max(by_column)),
        taper_by_column_m=by_column,
        mean_by_row_m=means,
        bell_mouth_m=bell_mouth(means) if len(means) > 2 else None,
    )


def _checked(rows: Sequence[Sequence[float]]) -> list[list[float]]:
    axes = len(rows[0]) if rows else 0
    if len(rows) < 2 or axes < 2:
        raise BadInput(
            f"The survey was read as {len(rows)} depths of {axes} diameters; out-of-round and "
            "taper need at least 2 depths and 2 axes."
        )
    for number, row in enumerate(rows, 1):
        if len(row) != axes:
            raise BadInput(
                f"Depth {number} of the survey was read with {len(row)} diameters, the first with "
                f"{axes}; give one for every axis at every depth."
            )
    return [
        [above_zero(cell, f"Diameter {c} at depth {r} in m") for c, cell in enumerate(row, 1)]
        for r, row in enumerate(rows, 1)
    ]


def bell_mouth(mean_by_row_m: Sequence[float]) -> float:
    """How much wider [m] the wider end plane is than the mean of the planes between, 0 if neither.

    From mean diameters in order of depth, 3 or more (BadInput). A straight taper shows too: read it
    beside the taper. Source: common practice, no source.
    """
    if len(mean_by_row_m) < 3:
        raise BadInput(
            f"{len(mean_by_row_m)} depths were read; bell-mouth needs 3: both ends and between."
        )
    means = [above_zero(mean, "Mean diameter in m") for mean in mean_by_row_m]
    middle = math.fsum(means[1:-1]) / (len(means) - 2)
    return max(means[0] - middle, means[-1] - middle, 0.0)


def wear(largest_m: float, nominal_m: float) -> float:
    """Wear [m]: largest diameter less nominal; below zero the bore is still under nominal.

    Source: common practice, no source.
    """
    return above_zero(largest_m, "Largest diameter in m") - above_zero(nominal_m, "Nominal in m")


def clearance(found: Survey, piston_m: float) -> Clearance:
    """Diametral clearance [m] of a piston in a surveyed bore: bore - piston.

    Halve it for the radial clearance. Source: definition.
    """
    above_zero(piston_m, "Piston diameter in m")
    return Clearance(
        smallest_m=found.smallest_m - piston_m,
        mean_m=found.mean_m - piston_m,
        largest_m=found.largest_m - piston_m,
    )


def fit_leak(
    diameter_m: float,
    radial_clearance_m: float,
    pressure_drop_pa: float,
    viscosity_pa_s: float,
    length_m: float,
) -> FitLeak:
    """Laminar leak [m³/s] past a spool or piston: Q = π d c³ Δp/(12 μ L); 2.5 Q lying to one side.

    c radial clearance, μ dynamic viscosity, L length of the fit. BadInput for a clearance above a
    tenth of the diameter. Source: Merritt, Hydraulic Control Systems (from memory).
    """
    above_zero(diameter_m, "Diameter in m")
    not_below_zero(radial_clearance_m, "Radial clearance in m")
    if radial_clearance_m > 0.1 * diameter_m:
        raise BadInput(
            f"Radial clearance was read as {radial_clearance_m * 1e6:g} µm on a diameter of "
            f"{diameter_m * 1e3:g} mm; the formula is for close fits: check the unit."
        )
    not_below_zero(pressure_drop_pa, "Pressure drop in Pa")
    above_zero(viscosity_pa_s, "Viscosity in Pa·s")
    above_zero(length_m, "Length of the fit in m")
    flow = math.pi * diameter_m * radial_clearance_m**3 * pressure_drop_pa
    flow /= 12.0 * viscosity_pa_s * length_m
    return FitLeak(flow, (1.0 + _ECCENTRIC) * flow)


def profile_roughness(heights_m: Sequence[float]) -> Roughness:
    """Ra and Rq [m] of evenly spaced profile heights: mean |z| and root mean z² about their mean.

    No filter and no form removal. BadInput for fewer than 2 heights or a flat profile.
    Source: ASME B46.1 / ISO 4287 definitions (from memory).
    """
    if len(heights_m) < 2:
        raise BadInput(f"{len(heights_m)} profile heights were read; give 2 or more.")
    heights = [finite(height, "Profile height in m") for height in heights_m]
    mean = math.fsum(heights) / len(heights)
    ra = math.fsum(abs(z - mean) for z in heights) / len(heights)
    rq = math.sqrt(math.fsum((z - mean) ** 2 for z in heights) / len(heights))
    if ra == 0.0 or rq == 0.0:
        raise BadInput("The profile was read as flat; Rq/Ra has no value for it.")
    return Roughness(ra, rq, rq / ra)


def rq_from_ra(ra_m: float) -> RqEstimate:
    """What Rq [m] an Ra may stand for: 1.11 Ra (sine), 1.2 to 1.3 Ra (ground, honed).

    An estimate, see ``ROUGHNESS_CAUTION``. Source: ASME B46.1 (from memory); common practice.
    """
    not_below_zero(ra_m, "Ra in m")
    low, high = RQ_PER_RA_REAL
    return RqEstimate(RQ_PER_RA_SINE * ra_m, low * ra_m, high * ra_m)


def from_microinches(roughness_uin: float) -> float:
    """Roughness [m] from microinches, the same parameter: exact, 0.0254 µm each."""
    return not_below_zero(roughness_uin, "Roughness in microinches") * MICROINCH_M


def to_microinches(roughness_m: float) -> float:
    """Roughness in microinches from metres, the same parameter: exact."""
    return not_below_zero(roughness_m, "Roughness in m") / MICROINCH_M
