"""Distributions the calculations need, from the standard library alone.

Normal, Student t, chi-square, Poisson and negative binomial, through the regularised incomplete
gamma and beta functions. Source of the formulas: Abramowitz and Stegun chapters 6 and 26; continued
fractions by Lentz's method (from memory).
"""

import math
from collections.abc import Callable
from statistics import NormalDist

from shopdesk.calc._numeric import above_zero, finite, not_below_zero, root
from shopdesk.errors import BadInput, OutOfRange

_TINY = 1e-300
_EPSILON = 1e-16
_MOST_TERMS = 200_000
_SMALLEST_TAIL = 1e-12
_MOST_DEGREES = 1e6


def share(value: float, what: str) -> float:
    """The value itself; BadInput unless it lies between 0 and 1, both excluded."""
    if not 0.0 < finite(value, what) < 1.0:
        raise BadInput(
            f"{what} was read as {value:g}; give a share between 0 and 1, such as 0.95 for 95 %."
        )
    return value


def normal_quantile(probability: float) -> float:
    """z with P(Z <= z) = ``probability`` for the standard normal. Source: ``statistics``."""
    return NormalDist().inv_cdf(share(probability, "Probability"))


def student_t_quantile(probability: float, degrees: float) -> float:
    """t with P(T <= t) = ``probability`` for 1 to 1e6 ``degrees`` of freedom or infinite ones.

    Source: P(T > t) = I_x(ν/2, 1/2)/2 with x = ν/(ν + t²).
    """
    if degrees == math.inf:
        return normal_quantile(probability)
    _quantile_inputs(probability, degrees)
    if probability == 0.5:
        return 0.0
    tail = min(probability, 1.0 - probability)

    def excess(log_t: float) -> float:
        squared = math.exp(2.0 * log_t)
        x, y = degrees / (degrees + squared), squared / (degrees + squared)
        return math.log(max(0.5 * _beta(0.5 * degrees, 0.5, x, y), _TINY) / tail)

    size = math.exp(_falling_root(excess))
    return size if probability > 0.5 else -size


def _quantile_inputs(probability: float, degrees: float) -> None:
    share(probability, "Probability")
    if not _SMALLEST_TAIL <= probability <= 1.0 - _SMALLEST_TAIL:
        raise OutOfRange(f"Probability was read as {probability:g}; 1e-12 to 1 - 1e-12 is covered.")
    if not 1.0 <= finite(degrees, "Degrees of freedom") <= _MOST_DEGREES:
        raise OutOfRange(f"Degrees of freedom were read as {degrees:g}; 1 to 1e6 is covered.")


def _falling_root(f: Callable[[float], float]) -> float:
    """Root of a falling function of a logarithm, the bracket widened from about 1."""
    low, high = -1.0, 1.0
    while f(low) < 0.0:
        low *= 2.0
    while f(high) > 0.0:
        high *= 2.0
    return root(f, low, high, 1e-14)


def chi_square_quantile(probability: float, degrees: float) -> float:
    """x with P(χ² <= x) = ``probability`` for 1 to 1e6 ``degrees`` of freedom: P(ν/2, x/2)."""
    _quantile_inputs(probability, degrees)

    def excess(log_x: float) -> float:
        above = gamma_upper(0.5 * degrees, 0.5 * math.exp(log_x))
        return above - (1.0 - probability)

    def shortfall(log_x: float) -> float:
        return probability - gamma_lower(0.5 * degrees, 0.5 * math.exp(log_x))

    return math.exp(_falling_root(excess if probability > 0.5 else shortfall))


def gamma_lower(a: float, x: float) -> float:
    """Regularised lower incomplete gamma P(a, x), a > 0, x >= 0."""
    if x <= 0.0:
        return 0.0
    return _gamma_series(a, x) if x < a + 1.0 else 1.0 - _gamma_fraction(a, x)


def gamma_upper(a: float, x: float) -> float:
    """Regularised upper incomplete gamma Q(a, x) = 1 - P(a, x), small tails kept."""
    if x <= 0.0:
        return 1.0
    return 1.0 - _gamma_series(a, x) if x < a + 1.0 else _gamma_fraction(a, x)


def _gamma_series(a: float, x: float) -> float:
    term = total = 1.0 / a
    for n in range(1, _MOST_TERMS):
        term *= x / (a + n)
        total += term
        if term < total * _EPSILON:
            break
    return total * math.exp(a * math.log(x) - x - math.lgamma(a))


def _gamma_fraction(a: float, x: float) -> float:
    b = x + 1.0 - a
    c, d = 1.0 / _TINY, 1.0 / b
    h = d
    for n in range(1, _MOST_TERMS):
        factor = -n * (n - a)
        b += 2.0
        d = 1.0 / _kept(factor * d + b)
        c = _kept(b + factor / c)
        h *= c * d
        if abs(c * d - 1.0) < 4.0 * _EPSILON:
            break
    return h * math.exp(a * math.log(x) - x - math.lgamma(a))


def _kept(value: float) -> float:
    return value if abs(value) > _TINY else _TINY


def beta_regularised(a: float, b: float, x: float) -> float:
    """Regularised incomplete beta I_x(a, b), a and b > 0, 0 <= x <= 1."""
    return _beta(a, b, x, 1.0 - x)


def _beta(a: float, b: float, x: float, y: float) -> float:
    """I_x(a, b) with y = 1 - x given, so that neither end loses its digits."""
    if x <= 0.0 or y <= 0.0:
        return 0.0 if x <= 0.0 else 1.0
    front = math.exp(
        math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b) + a * math.log(x) + b * math.log(y)
    )
    if x < (a + 1.0) / (a + b + 2.0):
        return front * _beta_fraction(a, b, x) / a
    return 1.0 - front * _beta_fraction(b, a, y) / b


def _beta_fraction(a: float, b: float, x: float) -> float:
    c, d = 1.0, 1.0 / _kept(1.0 - (a + b) * x / (a + 1.0))
    h = d
    for m in range(1, _MOST_TERMS):
        even = m * (b - m) * x / ((a + 2 * m - 1.0) * (a + 2 * m))
        odd = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1.0))
        for factor in (even, odd):
            d = 1.0 / _kept(1.0 + factor * d)
            c = _kept(1.0 + factor / c)
            h *= c * d
        if abs(c * d - 1.0) < 4.0 * _EPSILON:
            break
    return h


def poisson_below_or_at(count: int, mean: float) -> float:
    """P(D <= count) for a Poisson demand: Q(count + 1, mean). 0 below a count of 0."""
    not_below_zero(mean, "Mean demand")
    return gamma_upper(count + 1.0, mean) if count >= 0 else 0.0


def negative_binomial_below_or_at(count: int, mean: float, variance: float) -> float:
    """P(D <= count) for a negative binomial of given mean and variance > mean: I_p(r, count + 1).

    p = mean/variance, r = mean²/(variance - mean). BadInput where variance <= mean (use Poisson).
    """
    above_zero(mean, "Mean demand")
    if finite(variance, "Variance of demand") <= mean:
        raise BadInput(
            f"Variance of demand was read as {variance:g} for a mean of {mean:g}; lumpy demand "
            "varies more than its mean: use the Poisson calculation for this part."
        )
    if count < 0:
        return 0.0
    r = mean * mean / (variance - mean)
    return _beta(r, count + 1.0, mean / variance, (variance - mean) / variance)


def proportion_bounds(count: int, of: int, confidence: float = 0.95) -> tuple[float, float]:
    """Two-sided exact bounds of a share, ``count`` seen in ``of`` trials (at least 1).

    Beta quantiles: low of B(k, n - k + 1), high of B(k + 1, n - k). Source: Clopper and Pearson,
    Biometrika 26 (1934) 404-413.
    """
    share(confidence, "Confidence")
    if not 0 <= count <= of or of < 1:
        raise BadInput(f"{count} of {of} was read; give at least one trial and no more seen.")
    tail = (1.0 - confidence) / 2.0
    low = 0.0 if count == 0 else _beta_quantile(tail, count, of - count + 1)
    high = 1.0 if count == of else _beta_quantile(1.0 - tail, count + 1, of - count)
    return low, high


def _beta_quantile(probability: float, a: float, b: float) -> float:
    return root(lambda x: beta_regularised(a, b, x) - probability, 0.0, 1.0, 1e-13)
