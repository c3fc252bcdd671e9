"""Life data: a two-parameter Weibull fit with units still running, B-life, and an MTBF bound.

Times in any one unit (hours, months, cycles); results in the same.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from shopdesk.calc._numeric import above_zero, not_below_zero, root
from shopdesk.calc.stats import chi_square_quantile, share
from shopdesk.errors import BadInput

FEW_FAILURES = 10
_STEEPEST = 1e4
_ALL_GONE = 700.0


@dataclass(frozen=True)
class Weibull:
    """``shape`` below 1 early failures, near 1 random, above 1 wear-out; ``scale`` the life 63.2 %
    don't reach."""

    shape: float
    scale: float
    failures: int
    running: int
    log_likelihood: float
    cautions: tuple[str, ...]


def weibull_fit(failed: Sequence[float], running: Sequence[float] = ()) -> Weibull:
    """Maximum-likelihood shape and scale from lives at failure and ages of units still running.

    Solves Σ tᵇ ln t/Σ tᵇ - 1/b - mean ln t(failed) = 0 over all units, then scale = (Σ tᵇ/r)^(1/b).
    Leaving the running ones out, or calling them failed, gives too short a life. BadInput for fewer
    than 2 failures, or failures all alike with nothing older. Source: Lawless, Statistical Models
    and Methods for Lifetime Data (from memory).
    """
    if len(failed) < 2:
        raise BadInput(
            f"A Weibull fit needs 2 failures or more, {len(failed)} read: with fewer use the MTBF "
            "bound."
        )
    ends = [above_zero(time, "Life at failure") for time in failed]
    ages = [above_zero(time, "Age of a running unit") for time in running]
    longest = max(ends + ages)
    logs = [math.log(time / longest) for time in ends + ages]
    mean_log = math.fsum(logs[: len(ends)]) / len(ends)
    shape = _shape(logs, mean_log)
    total = math.fsum(math.exp(shape * x) for x in logs)
    scale = longest * (total / len(ends)) ** (1.0 / shape)
    return Weibull(
        shape=shape,
        scale=scale,
        failures=len(ends),
        running=len(ages),
        log_likelihood=_log_likelihood(shape, scale, ends, ages),
        cautions=_cautions(len(ends)),
    )


def _shape(logs: Sequence[float], mean_log: float) -> float:
    def score(log_shape: float) -> float:
        b = math.exp(log_shape)
        powers = [math.exp(b * x) for x in logs]
        weighted = math.fsum(p * x for p, x in zip(powers, logs, strict=True))
        return weighted / math.fsum(powers) - 1.0 / b - mean_log

    low, high = 0.0, 0.0
    while score(low) > 0.0:
        low -= 1.0
    while score(high) < 0.0:
        high += 1.0
        if math.exp(high) > _STEEPEST:
            raise BadInput(
                "Failures were read as all (nearly) alike and nothing older; a Weibull shape has "
                "no value for them: check the readings."
            )
    return math.exp(low if low == high else root(score, low, high, 1e-13))


def _log_likelihood(
    shape: float, scale: float, ends: Sequence[float], ages: Sequence[float]
) -> float:
    density = math.fsum(
        math.log(shape / scale) + (shape - 1.0) * math.log(time / scale) for time in ends
    )
    return density - math.fsum((time / scale) ** shape for time in [*ends, *ages])


def _cautions(failures: int) -> tuple[str, ...]:
    if failures >= FEW_FAILURES:
        return ()
    return (f"Only {failures} failures: the shape is uncertain and reads high; a first guess.",)


def b_life(of: Weibull, failed_share: float) -> float:
    """Life by which a share has failed, 0.10 for B10: scale (-ln(1 - F))^(1/shape).

    Source: Weibull distribution.
    """
    share(failed_share, "Share failed")
    return of.scale * math.pow(-math.log1p(-failed_share), 1.0 / of.shape)


def survival(of: Weibull, time: float) -> float:
    """Share still running at a time: exp(-(t/scale)^shape). Source: Weibull distribution."""
    if not_below_zero(time, "Time") == 0.0:
        return 1.0
    log_hazard = of.shape * math.log(time / of.scale)
    return math.exp(-math.exp(log_hazard)) if log_hazard < _ALL_GONE else 0.0


def mtbf_bound(
    total_time: float, failures: int, confidence: float = 0.9, failure_terminated: bool = False
) -> float:
    """One-sided lower bound of mean time between failures: 2T/χ²(confidence, 2r + 2).

    T time of all units together, r failures; 2r where the count stopped at a failure. Only for
    failures at random (Weibull shape near 1). BadInput for no failures with ``failure_terminated``.
    Source: MIL-HDBK-781 and reliability texts (from memory).
    """
    above_zero(total_time, "Total time")
    not_below_zero(failures, "Failures")
    if failure_terminated and failures == 0:
        raise BadInput("0 failures were read of a count that stopped at a failure; give 1 or more.")
    degrees = 2 * failures + (0 if failure_terminated else 2)
    return 2.0 * total_time / chi_square_quantile(confidence, degrees)
