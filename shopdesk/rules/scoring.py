"""Forecasts against what happened: how often a stated date held, and how narrow it was said."""

import math
import statistics
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date

from shopdesk.calc.stats import proportion_bounds

PLAIN_LEAST = 5
PLAIN_DEVIATIONS = 2


@dataclass(frozen=True, slots=True)
class Said:
    """One forecast of a job and when it was done; ``done_on`` None while it is open."""

    number: int
    made_on: date
    by_50: date
    by_80: date
    by_95: date
    by_plain: date | None
    done_on: date | None


@dataclass(frozen=True, slots=True)
class Score:
    """``kept`` of ``count`` dates held, with exact 95 % bounds of that share; ``ahead_days`` the
    mean from saying it to the date."""

    rule: str
    stated: float
    count: int
    kept: int
    low: float
    high: float
    ahead_days: float

    @property
    def share(self) -> float:
        return self.kept / self.count


@dataclass(frozen=True, slots=True)
class Scored:
    """Calibration by stated probability, the plain rule beside it; ``width_days`` is the mean from
    the 50 % to the 95 % date (sharpness)."""

    scores: tuple[Score, ...]
    jobs: int
    width_days: float


PLAIN = f"mean + {PLAIN_DEVIATIONS} deviations"
PLAIN_STATED = statistics.NormalDist().cdf(PLAIN_DEVIATIONS)  # what it would hold of normal times
RULES: tuple[tuple[str, float, Callable[[Said], date | None]], ...] = (
    ("50 % date", 0.50, lambda said: said.by_50),
    ("80 % date", 0.80, lambda said: said.by_80),
    ("95 % date", 0.95, lambda said: said.by_95),
    (PLAIN, PLAIN_STATED, lambda said: said.by_plain),
)


def scored(said: Sequence[Said], today: date) -> Scored:
    """Scores of every rule, over the dates that are past: of those to come only the kept ones
    would be known. A date that had passed when it was said is left out too."""
    scores = []
    for rule, stated, of in RULES:
        dated = [(s, on) for s in said if (on := of(s)) is not None and on >= s.made_on]
        known = [(each, on) for each, on in dated if on < today]
        if not known:
            continue
        kept = sum(each.done_on is not None and each.done_on <= on for each, on in known)
        low, high = proportion_bounds(kept, len(known))
        ahead = statistics.fmean((on - each.made_on).days for each, on in known)
        scores.append(Score(rule, stated, len(known), kept, low, high, ahead))
    width = statistics.fmean((each.by_95 - each.by_50).days for each in said) if said else 0.0
    return Scored(tuple(scores), len({each.number for each in said}), width)


def first_of_each(said: Sequence[Said]) -> tuple[Said, ...]:
    """The first forecast of every job: later ones of the same job say little new."""
    first: dict[int, Said] = {}
    for each in sorted(said, key=lambda each: (each.made_on, each.number)):
        first.setdefault(each.number, each)
    return tuple(first.values())


def plain_days(days: Sequence[int]) -> int | None:
    """Working days by the plain rule, mean plus two deviations of past jobs; None with few."""
    if len(days) < PLAIN_LEAST:
        return None
    return math.ceil(statistics.fmean(days) + PLAIN_DEVIATIONS * statistics.stdev(days))
