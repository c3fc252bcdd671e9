"""Stores: order quantities by their minimum, order points against scipy's distributions."""

import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats as reference

from shopdesk.calc import stores
from shopdesk.errors import BadInput, OutOfRange

SERVICE = st.floats(0.5, 0.9999)
COSTS = st.floats(0.1, 1e4)


@given(demand=COSTS, order=COSTS, holding=COSTS, away=st.floats(0.2, 5))
def test_order_quantity_costs_least(
    demand: float, order: float, holding: float, away: float
) -> None:
    found = stores.order_quantity(demand, order, holding)
    other = found.quantity * away
    assert demand / other * order + other / 2 * holding >= found.annual_cost * (1 - 1e-12)
    assert found.orders_per_year * found.quantity == pytest.approx(demand)


def test_quantity_discount() -> None:
    """5000 a year, 49 an order, 20 %; 5.00, from 1000 4.80, from 2000 4.75: order 1000 for 24725;
    700 would cost 25700 and 2000 24822.50. Source: Heizer and Render (from memory)."""
    found = stores.order_quantity_with_breaks(
        5000, 49, 0.20, [(0, 5.00), (1000, 4.80), (2000, 4.75)]
    )
    costs = [cost for _, _, cost in found.considered]
    assert (found.quantity, found.unit_price) == (1000, 4.80)
    assert costs == pytest.approx([25700, 24725, 24822.5])


@given(
    demand=st.floats(10, 1e4),
    order=st.floats(1, 500),
    holding=st.floats(0.05, 0.5),
    any_quantity=st.floats(1, 5000),
)
def test_no_other_quantity_is_cheaper(
    demand: float, order: float, holding: float, any_quantity: float
) -> None:
    breaks = [(0.0, 5.0), (200.0, 4.5), (1000.0, 4.4)]
    price = next(p for start, p in reversed(breaks) if any_quantity >= start)
    cost = demand * price + demand / any_quantity * order + any_quantity / 2 * holding * price
    found = stores.order_quantity_with_breaks(demand, order, holding, breaks)
    assert found.annual_cost <= cost * (1 + 1e-12)


@given(quantity=st.floats(0, 1e5), pack=st.integers(1, 500), minimum=st.integers(0, 1000))
def test_packed_is_whole_packs_and_enough(quantity: float, pack: int, minimum: int) -> None:
    found = stores.packed(quantity, pack, minimum)
    assert found % pack == 0
    assert found >= minimum
    assert quantity - 1e-3 <= found < max(quantity, minimum) + pack


def test_packed_ignores_rounding() -> None:
    assert stores.packed(12.000000000000002, 12) == 12


@given(mean=st.floats(0, 1e4), sigma=st.floats(0, 1e3), service=SERVICE)
def test_normal_point_against_scipy(mean: float, sigma: float, service: float) -> None:
    found = stores.order_point_for(mean, sigma, service)
    assert found.point == pytest.approx(mean + sigma * reference.norm.ppf(service), abs=1e-6)


@given(mean=st.floats(0.01, 2000), service=SERVICE)
def test_poisson_point_against_scipy(mean: float, service: float) -> None:
    found = stores.poisson_order_point(mean, service)
    cdf = reference.poisson.cdf
    assert cdf(found.point, mean) >= service - 1e-9
    assert found.point == 0 or cdf(found.point - 1, mean) < service + 1e-9
    assert found.service == pytest.approx(float(cdf(found.point, mean)), abs=1e-9)


@given(mean=st.floats(0.01, 500), point=st.integers(0, 800))
def test_poisson_shortage_against_scipy(mean: float, point: int) -> None:
    """Oracle: Σ P(D > k) for k from the order point on, scipy's survival function."""
    above = range(point, point + 1500)
    expected = math.fsum(reference.poisson.sf(list(above), mean).tolist())
    assert stores.poisson_shortage(mean, point) == pytest.approx(expected, rel=1e-6, abs=1e-12)


def test_a_part_nobody_asks_for() -> None:
    found = stores.poisson_order_point(0.0, 0.95)
    assert (found.point, found.service, found.expected_shortage) == (0, 1.0, 0.0)


@given(mean=st.floats(0.05, 200), excess=st.floats(1.01, 20), service=st.floats(0.5, 0.999))
def test_lumpy_point_against_scipy(mean: float, excess: float, service: float) -> None:
    variance = mean * excess
    r, p = mean**2 / (variance - mean), mean / variance
    found = stores.lumpy_order_point(mean, variance, service)
    assert reference.nbinom.cdf(found.point, r, p) >= service - 1e-9
    assert found.point == 0 or reference.nbinom.cdf(found.point - 1, r, p) < service + 1e-9
    above = list(range(found.point, found.point + 20000))
    expected = math.fsum(reference.nbinom.sf(above, r, p).tolist())
    assert found.expected_shortage == pytest.approx(expected, rel=1e-5, abs=1e-9)


def test_lumpy_demand_needs_more_than_poisson() -> None:
    """4 orders of 2 ± 1 parts: mean 8, variance 4 (4 + 1) = 20. Source: compound Poisson."""
    demand = stores.compound_demand(4, 2, 1)
    assert (demand.mean, demand.variance) == (8, 20)
    lumpy = stores.lumpy_order_point(demand.mean, demand.variance, 0.95)
    assert lumpy.point > stores.poisson_order_point(8, 0.95).point


@given(demands=st.lists(st.integers(0, 50), min_size=1, max_size=30), service=SERVICE)
def test_tabled_point_by_counting(demands: list[int], service: float) -> None:
    share = 1 / len(demands)
    table = {d: demands.count(d) * share for d in demands}
    found = stores.tabled_order_point(table, service)
    short = [max(d - found.point, 0) for d in demands]
    assert sum(d > found.point for d in demands) * share <= 1 - service + 1e-9
    assert found.expected_shortage == pytest.approx(sum(short) * share, abs=1e-9)


def test_fill_rate() -> None:
    """Short 2 of each 100 ordered is 98 %, by definition."""
    assert stores.fill_rate(2, 100) == pytest.approx(0.98)
    assert stores.fill_rate(200, 100) == 0.0


def test_abc_by_hand() -> None:
    """70, 15, 10, 5 and 0 of 100: the part that crosses 80 % is still A, the next to 95 % B."""
    values = {"seal kit": 70.0, "pump": 15.0, "valve": 10.0, "plug": 5.0, "tag": 0.0}
    assert stores.abc_classes(values) == {
        "seal kit": "A",
        "pump": "A",
        "valve": "B",
        "plug": "C",
        "tag": "C",
    }
    assert stores.abc_classes({}) == {}


@given(values=st.dictionaries(st.text(min_size=1), st.floats(0, 1e6), max_size=40))
def test_abc_never_ranks_less_value_higher(values: dict[str, float]) -> None:
    classes = stores.abc_classes(values)
    ranked = sorted(values, key=lambda part: -values[part])
    letters = [classes[part] for part in ranked]
    assert set(classes) == set(values)
    for more, less in pairwise(ranked):
        assert values[more] == values[less] or classes[more] <= classes[less]
    assert not values or max(values.values()) == 0 or letters[0] == "A"


def test_refusals() -> None:
    with pytest.raises(BadInput, match="Demand a year"):
        stores.order_quantity(0, 10, 1)
    with pytest.raises(BadInput, match="finite"):
        stores.order_quantity(math.inf, 10, 1)
    with pytest.raises(BadInput, match="No price breaks"):
        stores.order_quantity_with_breaks(100, 10, 0.2, [])
    with pytest.raises(BadInput, match="prices fall"):
        stores.order_quantity_with_breaks(100, 10, 0.2, [(0, 5), (10, 6)])
    with pytest.raises(BadInput, match=r"0\.95 for 95 %"):
        stores.poisson_order_point(3.2, 95)
    with pytest.raises(BadInput, match="must make 1"):
        stores.tabled_order_point({1: 0.5}, 0.95)
    with pytest.raises(BadInput, match="Poisson"):
        stores.lumpy_order_point(5, 4, 0.95)
    with pytest.raises(OutOfRange, match="normal"):
        stores.poisson_order_point(1e7, 0.95)
    with pytest.raises(BadInput, match="Lead time"):
        stores.order_point(10, 1, -1, 0, 0.95)
    with pytest.raises(BadInput, match="Pack"):
        stores.packed(10, 0)
    with pytest.raises(BadInput, match="Class shares"):
        stores.abc_classes({}, 0.95, 0.8)
