"""What to order and when: order quantity, order point, service level, and ABC classes.

Demand and lead time share one unit of time of the caller's (day, week, year); money is in one unit.
The order is placed when stock on hand and on order, less what is promised, is at the order point or
below it.
"""

import itertools
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from shopdesk.calc._numeric import above_zero, finite, not_below_zero
from shopdesk.calc.stats import (
    negative_binomial_below_or_at,
    normal_quantile,
    poisson_below_or_at,
    share,
)
from shopdesk.errors import BadInput, OutOfRange

A_SHARE, B_SHARE = 0.80, 0.95
"""Shares of yearly value where classes end. Common practice, no source."""
_MOST_DEMAND = 1e6
_MOST_STOCK = 1e8
_NEGLIGIBLE = 1e-17


@dataclass(frozen=True)
class OrderQuantity:
    """``annual_cost`` of ordering and holding, without the price of the parts."""

    quantity: float
    orders_per_year: float
    annual_cost: float


@dataclass(frozen=True)
class BreakQuantity:
    """The cheapest quantity over price breaks; ``annual_cost`` with the price of the parts."""

    quantity: float
    unit_price: float
    annual_cost: float
    considered: tuple[tuple[float, float, float], ...]
    """Every (quantity, unit price, annual cost) compared."""


@dataclass(frozen=True)
class OrderPoint:
    """Order at ``point`` or below; ``sigma`` is of demand over the lead time."""

    point: float
    safety_stock: float
    lead_demand: float
    sigma: float
    z: float


@dataclass(frozen=True)
class CountPoint:
    """Order point in whole parts: ``service`` is the probability that the lead time's demand is met
    from it, ``expected_shortage`` the mean number short each time round."""

    point: int
    service: float
    expected_shortage: float
    safety_stock: float


@dataclass(frozen=True)
class LeadDemand:
    """Mean and variance of demand over a lead time."""

    mean: float
    variance: float


def order_quantity(demand_per_year: float, order_cost: float, holding_cost: float) -> OrderQuantity:
    """Order quantity that costs least: Q = √(2 D S/H), H per part and year.

    Demand steady, all of it delivered at once. Source: Harris; Heizer and Render (from memory).
    """
    _positive(demand_per_year, order_cost, holding_cost)
    quantity = math.sqrt(2.0 * demand_per_year * order_cost / holding_cost)
    return OrderQuantity(
        quantity=quantity,
        orders_per_year=demand_per_year / quantity,
        annual_cost=_running_cost(quantity, demand_per_year, order_cost, holding_cost),
    )


def _positive(demand_per_year: float, order_cost: float, holding_cost: float) -> None:
    above_zero(demand_per_year, "Demand a year")
    above_zero(order_cost, "Cost of an order")
    above_zero(holding_cost, "Cost of holding one part a year")


def _running_cost(quantity: float, demand: float, order_cost: float, holding_cost: float) -> float:
    return demand / quantity * order_cost + 0.5 * quantity * holding_cost


def order_quantity_with_breaks(
    demand_per_year: float,
    order_cost: float,
    holding_share: float,
    breaks: Sequence[tuple[float, float]],
) -> BreakQuantity:
    """Cheapest quantity where the price falls with it; ``breaks`` are (from quantity, unit price).

    Holding costs ``holding_share`` of the price a year. For each price the order quantity, raised
    to its break; D P + D S/Q + Q H/2 compared. BadInput for no breaks, quantities that don't rise
    or prices that do. Source: all-units discount, Heizer and Render (from memory).
    """
    _check_breaks(breaks)
    above_zero(holding_share, "Holding share a year")
    _positive(demand_per_year, order_cost, holding_share)
    tried = []
    for number, (start, price) in enumerate(breaks):
        holding = holding_share * price
        best = math.sqrt(2.0 * demand_per_year * order_cost / holding)
        quantity = max(best, start)
        if number + 1 < len(breaks) and quantity >= breaks[number + 1][0]:
            continue
        running = _running_cost(quantity, demand_per_year, order_cost, holding)
        tried.append((quantity, price, demand_per_year * price + running))
    quantity, price, cost = min(tried, key=lambda one: one[2])
    return BreakQuantity(quantity, price, cost, tuple(tried))


def _check_breaks(breaks: Sequence[tuple[float, float]]) -> None:
    if not breaks:
        raise BadInput("No price breaks were read; give one price or more, each from a quantity.")
    for start, price in breaks:
        not_below_zero(start, "Quantity a price starts from")
        above_zero(price, "Unit price")
    for (start, price), (later, lower) in itertools.pairwise(breaks):
        if later <= start or lower > price:
            raise BadInput(
                f"Price breaks were read as {price:g} from {start:g}, then {lower:g} from "
                f"{later:g}; quantities must rise and prices fall."
            )


def packed(quantity: float, pack: int = 1, minimum: int = 0) -> int:
    """Whole packs for a quantity, no fewer than the supplier's minimum. Source: definition."""
    not_below_zero(quantity, "Quantity")
    if pack < 1 or minimum < 0:
        raise BadInput(f"Pack of {pack} and minimum of {minimum} were read; give 1 and 0 or more.")
    wanted = max(quantity, minimum)
    # 12.000000000000002 parts are 12, not a pack more.
    return math.ceil(wanted / pack - 1e-9) * pack


def order_point(
    demand: float, demand_sigma: float, lead_time: float, lead_sigma: float, service: float
) -> OrderPoint:
    """Order point where demand and lead time both vary: d L + z √(L σd² + d² σL²).

    ``demand`` and its deviation per unit of time, ``service`` the share of lead times without
    running out. For parts that go often; slow ones by ``poisson_order_point``.
    Source: Heizer and Render (from memory).
    """
    not_below_zero(demand, "Demand")
    not_below_zero(demand_sigma, "Deviation of demand")
    not_below_zero(lead_time, "Lead time")
    not_below_zero(lead_sigma, "Deviation of lead time")
    sigma = math.sqrt(lead_time * demand_sigma**2 + (demand * lead_sigma) ** 2)
    return order_point_for(demand * lead_time, sigma, service)


def order_point_for(lead_demand: float, sigma: float, service: float) -> OrderPoint:
    """Order point from mean and deviation of demand over the lead time: mean + z σ, z exact.

    Source: Chase, Jacobs and Aquilano.
    """
    return order_point_at(lead_demand, sigma, normal_quantile(share(service, "Service level")))


def order_point_at(lead_demand: float, sigma: float, z: float) -> OrderPoint:
    """As ``order_point_for`` with z given, as printed tables round it (1.65 for 95 %)."""
    not_below_zero(lead_demand, "Demand over the lead time")
    not_below_zero(sigma, "Deviation over the lead time")
    safety = finite(z, "z") * sigma
    return OrderPoint(lead_demand + safety, safety, lead_demand, sigma, z)


def tabled_order_point(probabilities: Mapping[int, float], service: float) -> CountPoint:
    """Order point from demand over the lead time as a table {parts: probability}.

    The smallest r with P(D > r) <= 1 - service. BadInput for probabilities that don't add up to 1.
    Source: definition.
    """
    share(service, "Service level")
    for demand, probability in probabilities.items():
        not_below_zero(demand, "Demand")
        not_below_zero(probability, "Probability")
    total = math.fsum(probabilities.values())
    if abs(total - 1.0) > 1e-6:
        raise BadInput(f"Probabilities were read as adding up to {total:g}; they must make 1.")
    above, mean = 1.0, math.fsum(d * p for d, p in probabilities.items())
    for point in sorted(probabilities):
        above = math.fsum(p for d, p in probabilities.items() if d > point)
        if above <= 1.0 - service + 1e-12:
            break
    short = math.fsum((d - point) * p for d, p in probabilities.items() if d > point)
    return CountPoint(point, 1.0 - above, short, point - mean)


def poisson_service(mean: float, point: int) -> float:
    """P(D <= point) for Poisson demand over the lead time.

    With base stock S, ordering at S - 1, the ready rate is this at S - 1. Source: definition.
    """
    _countable(mean)
    return poisson_below_or_at(point, mean)


def poisson_order_point(mean: float, service: float) -> CountPoint:
    """Order point of a slow part: the smallest r with P(D <= r) >= service, D Poisson.

    ``mean`` demand over the lead time, up to a million. Source: definition.
    """
    _countable(mean)
    point = _smallest(lambda r: poisson_below_or_at(r, mean), share(service, "Service level"), mean)
    return CountPoint(
        point=point,
        service=poisson_below_or_at(point, mean),
        expected_shortage=poisson_shortage(mean, point),
        safety_stock=point - mean,
    )


def poisson_shortage(mean: float, point: int) -> float:
    """Mean parts short each time round, Poisson: Σ (k - r) P(D = k) over k above r.

    Source: definition; small values kept by summing the tail itself.
    """
    _countable(mean)
    not_below_zero(point, "Order point")
    if mean == 0.0:
        return 0.0
    if point < mean:
        return mean - point + _tail(mean, point, point - 1, -1)
    return _tail(mean, point, point + 1, 1)


def _tail(mean: float, point: int, start: int, step: int) -> float:
    """Σ |k - point| P(D = k) from ``start`` away from the mean, until it adds nothing."""
    total, k = 0.0, start
    while k >= 0:
        term = abs(k - point) * math.exp(k * math.log(mean) - mean - math.lgamma(k + 1))
        total += term
        if term <= total * _NEGLIGIBLE:
            break
        k += step
    return total


def compound_demand(orders: float, size_mean: float, size_sigma: float) -> LeadDemand:
    """Demand in lots: ``orders`` a lead time at random (Poisson), each of a varying size.

    Mean λ m, variance λ (m² + s²). Source: compound Poisson, any probability text.
    """
    above_zero(orders, "Orders over the lead time")
    above_zero(size_mean, "Parts an order")
    not_below_zero(size_sigma, "Deviation of parts an order")
    return LeadDemand(orders * size_mean, orders * (size_mean**2 + size_sigma**2))


def lumpy_order_point(mean: float, variance: float, service: float) -> CountPoint:
    """Order point of a part whose demand is lumpy: negative binomial of mean and variance.

    The smallest r with P(D <= r) >= service. BadInput where the variance isn't above the mean.
    Source: negative binomial as the usual fit to lumpy demand (common practice).
    """
    _countable(mean)

    def met(point: int) -> float:
        return negative_binomial_below_or_at(point, mean, variance)

    point = _smallest(met, share(service, "Service level"), mean)
    up = mean + (variance - mean) / mean
    at_or_above = 1.0 - negative_binomial_below_or_at(point - 1, up, up * variance / mean)
    short = mean * at_or_above - point * (1.0 - met(point))
    return CountPoint(point, met(point), max(short, 0.0), point - mean)


def fill_rate(expected_shortage: float, quantity: float) -> float:
    """Share of demand met from the shelf: 1 - expected shortage/order quantity, not below 0.

    Source: any inventory text.
    """
    not_below_zero(expected_shortage, "Expected shortage")
    return max(1.0 - expected_shortage / above_zero(quantity, "Order quantity"), 0.0)


def abc_classes(
    yearly_value: Mapping[str, float], a_share: float = A_SHARE, b_share: float = B_SHARE
) -> dict[str, str]:
    """Class A, B or C of each part by its share of yearly value, largest first.

    A part is in the class its value starts in: the part that crosses 80 % is still A. Parts
    without value are C. BadInput for shares not in order. Source: Pareto rule, common practice.
    """
    if not 0.0 < finite(a_share, "Share of A") < finite(b_share, "Share of A and B") <= 1.0:
        raise BadInput(
            f"Class shares were read as {a_share:g} and {b_share:g}; give 0 < A < A and B <= 1."
        )
    for part, value in yearly_value.items():
        not_below_zero(value, f"Yearly value of {part}")
    total, before, classes = math.fsum(yearly_value.values()), 0.0, {}
    for part, value in sorted(yearly_value.items(), key=lambda item: (-item[1], item[0])):
        at = before / total if total else 1.0
        reached = "A" if at < a_share - 1e-12 else "B" if at < b_share - 1e-12 else "C"
        classes[part] = reached if value else "C"
        before += value
    return classes


def _countable(mean: float) -> None:
    if not_below_zero(mean, "Mean demand over the lead time") > _MOST_DEMAND:
        raise OutOfRange(
            f"Mean demand was read as {mean:g}; up to {_MOST_DEMAND:g} is covered: use the normal "
            "order point for parts that go so often."
        )


def _smallest(met: Callable[[int], float], service: float, mean: float) -> int:
    """The smallest count whose ``met`` reaches the service level."""
    high = max(1, math.ceil(mean))
    while met(high) < service:
        high *= 2
        if high > _MOST_STOCK:
            raise OutOfRange(
                f"A service level of {100 * service:.10g} % asks for more than {_MOST_STOCK:g} "
                "parts; ask for a lower one."
            )
    low = -1
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if met(middle) >= service else (middle, high)
    return high
