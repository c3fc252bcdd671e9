"""Fluid cleanliness as an ISO 4406 code from particle counts.

Limits are the standard's table, not doublings: 640, 1300 and 2500 aren't powers of two.
"""

import bisect
from collections.abc import Sequence

from shopdesk.calc._numeric import above_zero, not_below_zero
from shopdesk.errors import BadInput

SIZES_UM = (4, 6, 14)
"""µm(c), particles of this size and larger."""
UPPER_LIMITS_PER_ML = (
    0.01, 0.02, 0.04, 0.08, 0.16, 0.32, 0.64, 1.3, 2.5, 5.0, 10.0, 20.0, 40.0, 80.0, 160.0, 320.0,
    640.0, 1300.0, 2500.0, 5000.0, 10e3, 20e3, 40e3, 80e3, 160e3, 320e3, 640e3, 1.3e6, 2.5e6,
)  # fmt: skip
"""Largest count of scale numbers 0 to 28. Source: ISO 4406 table as printed by a filter maker and a
trade journal (identical)."""
FEWEST_COUNTED = 20


def per_ml(count: float, volume_ml: float) -> float:
    """Particles per millilitre from a count in a volume, 100 ml as laboratories report."""
    above_zero(volume_ml, "Volume counted in ml")
    return not_below_zero(count, "Particles counted") / volume_ml


def scale_number(count_per_ml: float, counted: int | None = None) -> str:
    """ISO 4406 scale number of a count per ml: the first whose upper limit isn't below it.

    ">28" above the table. With fewer than 20 particles ``counted`` in all it is marked ">=", since
    so few say little. Source: ISO 4406:2017 as printed in two open places.
    """
    not_below_zero(count_per_ml, "Count per ml")
    if counted is not None:
        not_below_zero(counted, "Particles counted")
    # A count scaled from 100 ml may land a rounding above the limit it equals.
    number = bisect.bisect_left(UPPER_LIMITS_PER_ML, count_per_ml * (1.0 - 1e-12))
    if number == len(UPPER_LIMITS_PER_ML):
        return f">{number - 1}"
    return f">={number}" if counted is not None and counted < FEWEST_COUNTED else str(number)


def code(counts_per_ml: Sequence[float], counted: Sequence[int | None] | None = None) -> str:
    """ISO 4406 code, "22/18/13", of counts per ml at 4, 6 and 14 µm(c) and larger.

    ``counted``: particles counted in all at each size, None where unknown. BadInput for other than
    3 counts, or a larger size with more particles than a smaller one. Source: as ``scale_number``.
    """
    seen = [None] * len(counts_per_ml) if counted is None else list(counted)
    if len(counts_per_ml) != len(SIZES_UM) or len(seen) != len(SIZES_UM):
        raise BadInput(
            f"{len(counts_per_ml)} counts were read; the code needs 3: at 4, 6 and 14 µm(c) and "
            "larger, per ml."
        )
    numbers = [scale_number(c, n) for c, n in zip(counts_per_ml, seen, strict=True)]
    if not counts_per_ml[0] >= counts_per_ml[1] >= counts_per_ml[2]:
        read = ", ".join(f"{count:g}" for count in counts_per_ml)
        raise BadInput(
            f"Counts were read as {read}; each counts its size and larger, so they can't rise: "
            "give 4, 6 and 14 µm(c) in that order."
        )
    return "/".join(numbers)
