"""What to order and when: a part's demand over its lead time, what a supplier's order holds."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import lru_cache

from shopdesk.calc import stores
from shopdesk.calc.stores import CountPoint, LeadDemand

YEAR_DAYS = 365.25
ENOUGH_LEADS = 3
"""Deliveries from which on what a supplier did counts, not what he quotes. Common practice."""
ENOUGH_USES = 2
"""A part used less often in the whole history is bought when a job needs it."""


@dataclass(frozen=True, slots=True)
class Reordering:
    """The shop's own figures: ``service`` the share of lead times without running out, ``critical``
    for parts marked so, an order's cost, holding as a share of the price a year."""

    service: float = 0.95
    critical: float = 0.99
    order_cents: int = 1500
    holding: float = 0.20
    history_days: int = 730
    review_days: int = 1


@dataclass(frozen=True, slots=True)
class Uses:
    """What jobs drew in ``days`` days: how many took some, pieces in all, and their squares."""

    days: int
    times: int = 0
    pieces: int = 0
    squares: int = 0

    @property
    def per_day(self) -> float:
        return self.pieces / self.days


@dataclass(frozen=True, slots=True)
class Lead:
    """Days from order to shelf: observed where enough came, else as quoted."""

    days: float
    sigma: float
    observed: int
    quoted: int

    @property
    def said(self) -> str:
        if not self.observed:
            return f"{self.quoted} days quoted"
        return f"{self.days:.0f} ± {self.sigma:.0f} days in {self.observed} deliveries"


@dataclass(frozen=True, slots=True)
class Need:
    """Pieces an open job still needs and holds none of; ``on`` the day it is promised for,
    ``model`` its unit's."""

    job: int
    on: date
    pieces: int
    waits: bool = False
    model: str = ""


@dataclass(frozen=True, slots=True)
class Stocked:
    """A part as it stands today. ``prices`` are (from pieces, cents a piece), the plain one first;
    ``shelf_days`` None where its material has no storage limit."""

    free: int
    on_order: int
    minimum: int
    critical: bool
    pack: int
    prices: tuple[tuple[int, int], ...]
    shelf_days: int | None
    uses: Uses
    lead: Lead
    needs: tuple[Need, ...] = ()

    @property
    def coming(self) -> int:
        return self.free + self.on_order


@dataclass(frozen=True, slots=True)
class Advice:
    """``least`` pieces free or on order to have; below it ``pieces`` are ordered, in whole packs.
    ``point`` is the order point its demand asks for, None where it was not computed;
    ``lasts_until`` None where nothing draws on the part."""

    least: int
    point: int | None
    pieces: int
    usual: int
    demand: LeadDemand
    service: float
    wanted_service: float
    known: int
    lasts_until: date | None
    why: str

    @property
    def due(self) -> bool:
        return self.pieces > 0


def lead_of(taken: Sequence[int], quoted: int) -> Lead:
    """Mean and deviation of the days deliveries took; the quoted time until there are enough."""
    if len(taken) < ENOUGH_LEADS:
        return Lead(float(quoted), 0.0, 0, quoted)
    mean = sum(taken) / len(taken)
    spread = math.sqrt(sum((days - mean) ** 2 for days in taken) / (len(taken) - 1))
    return Lead(mean, spread, len(taken), quoted)


def expected(ordered: date, due: date, today: date, taken: Sequence[int]) -> date:
    """The day an open purchase is to be reckoned with: the one it is due on. Once that has passed,
    what the supplier's deliveries that took longer still took on average, and at least until
    tomorrow.

    Source: mean residual life of the lead times observed, any text on reliability.
    """
    if due >= today:
        return due
    waited = (today - ordered).days
    longer = [days for days in taken if days > waited]
    left = math.ceil(sum(longer) / len(longer) - waited) if longer else 1
    return today + timedelta(days=max(1, left))


def lead_demand(uses: Uses, days: float, sigma_days: float) -> LeadDemand:
    """Demand over a lead time: jobs come at random, each draws a varying number of pieces, and the
    lead time varies. Mean λLm, variance λL(m² + s²) + (λm)²σL².

    Source: compound Poisson and the law of total variance, any probability text.
    """
    if not uses.times:
        return LeadDemand(0.0, 0.0)
    size = uses.pieces / uses.times
    spread = math.sqrt(max(uses.squares / uses.times - size**2, 0.0))
    demand = stores.compound_demand(uses.times / uses.days * max(days, 1.0), size, spread)
    return LeadDemand(demand.mean, demand.variance + (uses.per_day * sigma_days) ** 2)


@lru_cache(maxsize=2**17)
def point_for(demand: LeadDemand, service: float) -> CountPoint:
    """The smallest number of pieces that meets a lead time's demand with the service level: by
    Poisson, and by a negative binomial where the spread is wider. Never by a normal curve."""
    if demand.variance > demand.mean * (1 + 1e-6):
        return stores.lumpy_order_point(demand.mean, demand.variance, service)
    return stores.poisson_order_point(demand.mean, service)


def advise(part: Stocked, today: date, shop: Reordering, *, exact: bool = False) -> Advice:
    """Whether the part is to be ordered today, how many, and why. Where a bound shows that there
    is plenty the order point is not computed, unless ``exact``; the decision is the same."""
    wanted = shop.critical if part.critical else shop.service
    cover = part.lead.days + shop.review_days
    demand = lead_demand(part.uses, cover, part.lead.sigma)
    horizon = today + timedelta(days=math.ceil(cover))
    known = sum(need.pieces for need in part.needs)
    soon = sum(need.pieces for need in part.needs if need.waits or need.on <= horizon)
    least, reached, at = max(part.minimum, known), 1.0, None
    often = part.uses.times >= ENOUGH_USES
    if often and (exact or _may_run_short(part, demand, wanted, known)):
        point = point_for(demand, wanted)
        beyond = max(0, math.ceil(soon - demand.mean))  # jobs at hand above what is usual
        # Ordered at the point or below it, so one more is to be free or on its way.
        least = max(least, point.point + 1 + beyond)
        reached, at = point.service, point.point
    usual, lasts = usual_quantity(part, shop), _lasts(part, today)
    pieces = 0
    if part.coming < least:
        pieces = stores.packed(max(least - part.coming, usual), part.pack)
    return Advice(
        least=least,
        point=at,
        pieces=pieces,
        usual=usual,
        demand=demand,
        service=reached,
        wanted_service=wanted,
        known=known,
        lasts_until=lasts,
        why=_why(part, demand, cover, wanted, least, today, lasts),
    )


@dataclass(frozen=True, slots=True)
class Mate:
    """One part of a matched set: ``each`` pieces of it in one, ``least`` in one order."""

    part: str
    each: int
    pack: int
    least: int
    advice: Advice

    def packed(self, sets: int) -> int:
        return stores.packed(sets * self.each, self.pack, self.least)


def as_sets(mates: Sequence[Mate]) -> tuple[Advice, ...]:
    """What is advised for each, so that as many sets come as the one that lacks most asks for: one
    that comes without its mate fits nothing."""
    sets = max(-(-mate.advice.pieces // mate.each) for mate in mates)
    if not sets:
        return tuple(mate.advice for mate in mates)
    sets = max(mate.packed(sets) // mate.each for mate in mates)
    found = []
    for mate in mates:
        others = " and ".join(other.part for other in mates if other is not mate)
        why = f"{mate.advice.why}; {sets} {'set' if sets == 1 else 'sets'} with {others}"
        found.append(replace(mate.advice, pieces=mate.packed(sets), why=why))
    return tuple(found)


def plenty(part: Stocked, shop: Reordering) -> bool:
    """Whether it is plain, without an order point, that nothing is to be ordered: no open job
    asks for the part, and what is free and on order is beyond any demand's bound. Of very many
    parts all but a few are told so; ``advise`` says the same of each."""
    if part.needs or part.coming < part.minimum:
        return False
    if part.uses.times < ENOUGH_USES:
        return True
    wanted = shop.critical if part.critical else shop.service
    days = max(part.lead.days + shop.review_days, 1.0)
    # as lead_demand: m² + s² of what a job draws is the mean of its squares
    spread = part.uses.squares / part.uses.days * days + (part.uses.per_day * part.lead.sigma) ** 2
    demand = LeadDemand(part.uses.per_day * days, spread)
    return not _may_run_short(part, demand, wanted, 0)


def _may_run_short(part: Stocked, demand: LeadDemand, service: float, known: int) -> bool:
    """False where even the one-sided Chebyshev bound, good for any demand, finds enough: a shop
    with many thousand parts computes the few that matter. Source: Cantelli's inequality."""
    far = math.sqrt(service / (1.0 - service) * demand.variance)
    return bool(known) or part.coming <= demand.mean + far + 1


def usual_quantity(part: Stocked, shop: Reordering) -> int:
    """What costs least to buy, order and hold, over all prices, in whole packs; never more than is
    used up within half the part's storage life, so that what is fitted last is not too old."""
    if part.uses.times < ENOUGH_USES or not part.prices[-1][1]:
        return part.pack
    found = stores.order_quantity_with_breaks(
        part.uses.per_day * YEAR_DAYS, float(shop.order_cents), shop.holding, part.prices
    ).quantity
    if part.shelf_days is not None:
        found = min(found, part.uses.per_day * part.shelf_days / 2)
    return stores.packed(max(found, 1.0), part.pack)


def _lasts(part: Stocked, today: date) -> date | None:
    """The day free stock is gone: by what open jobs need and by what is usually drawn, whichever
    empties it first."""
    left = part.free
    by_jobs = None
    for need in sorted(part.needs, key=lambda each: each.on):
        left -= need.pieces
        if left < 0:
            by_jobs = today if need.waits or part.free <= 0 else max(today, need.on)
            break
    if part.uses.times < ENOUGH_USES:
        return by_jobs
    days = part.free / part.uses.per_day
    by_use = today + timedelta(days=min(int(days), 36500))
    return by_use if by_jobs is None else min(by_use, by_jobs)


def _why(
    part: Stocked,
    demand: LeadDemand,
    cover: float,
    service: float,
    least: int,
    today: date,
    lasts: date | None,
) -> str:
    said = []
    waiting = [f"J-{need.job}" for need in part.needs if need.waits]
    if waiting:
        said.append(f"{', '.join(waiting)} {'waits' if len(waiting) == 1 else 'wait'} for it")
    coming = [f"J-{need.job}" for need in part.needs if not need.waits]
    if coming:
        said.append(f"{', '.join(coming)} will need it")
    on_order = f" and {part.on_order} on order" if part.on_order else ""
    said.append(f"{part.free} free{on_order}, {least} to have")
    if part.free < 0:
        said.append("more is promised than may be issued")
    if part.uses.times >= ENOUGH_USES:
        said.append(
            f"{demand.mean:.1f} ± {math.sqrt(demand.variance):.1f} go in {cover:.0f} days "
            f"({part.lead.said}), {100 * service:.0f} % wanted"
        )
    if part.minimum and least == part.minimum:
        said.append(f"least {part.minimum} set by hand")
    if lasts is not None:
        said.append("gone now" if lasts <= today else f"lasts until {lasts.day} {lasts:%b %Y}")
    return "; ".join(said)


@dataclass(frozen=True, slots=True)
class Missing:
    """Pieces a job will not find on the day it is promised for; ``comes`` when the next do."""

    need: Need
    pieces: int
    comes: date | None


def missing(
    free: int, needs: Sequence[Need], arrivals: Sequence[tuple[date, int]]
) -> tuple[Missing, ...]:
    """What the open jobs will miss, oldest promise first: free pieces and every delivery due by
    then go to the job promised first. A job gets only what the ones before it leave."""
    found = []
    ahead = sorted(arrivals)
    for need in sorted(needs, key=lambda each: (each.on, each.job)):
        while ahead and ahead[0][0] <= need.on:
            free += ahead.pop(0)[1]
        short = need.pieces - max(0, min(free, need.pieces))
        free -= need.pieces - short
        if short:
            found.append(Missing(need, short, ahead[0][0] if ahead else None))
    return tuple(found)


def fill_up(
    total_cents: int, minimum_cents: int, next_due: Sequence[tuple[date, str, int]]
) -> tuple[str, ...]:
    """Parts that go with an order so that it meets the supplier's minimum: those that run out next,
    each (day, part, cents). Nothing where even all of them would not reach it."""
    taken: list[str] = []
    if total_cents >= minimum_cents:
        return ()
    for _, part, cents in sorted(next_due):
        taken.append(part)
        total_cents += cents
        if total_cents >= minimum_cents:
            return tuple(taken)
    return ()
