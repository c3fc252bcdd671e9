"""Reordering against scipy, against sums over the distributions, and by what always holds."""

import math
from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from shopdesk.calc.stores import LeadDemand
from shopdesk.rules import reorder
from shopdesk.rules.reorder import Lead, Need, Reordering, Stocked, Uses

TODAY = date(2026, 3, 4)
SHOP = Reordering()
QUOTED = Lead(9.0, 0.0, 0, 9)


def part(free: int = 0, /, **changes: object) -> Stocked:
    plain: dict[str, object] = {
        "on_order": 0,
        "minimum": 0,
        "critical": False,
        "pack": 1,
        "prices": ((0, 400),),
        "shelf_days": None,
        "uses": Uses(730),
        "lead": QUOTED,
    }
    return Stocked(free=free, **{**plain, **changes})  # type: ignore[arg-type]


@given(st.floats(0.01, 60), st.floats(1.01, 9), st.floats(0.5, 0.999))
@settings(max_examples=60, deadline=None)
def test_the_order_point_is_scipys_quantile(mean: float, ratio: float, service: float) -> None:
    """scipy.stats.nbinom with the same mean and variance: p = m/v, n = m²/(v - m)."""
    variance = mean * ratio
    found = reorder.point_for(LeadDemand(mean, variance), service)
    law = stats.nbinom(mean**2 / (variance - mean), mean / variance)
    assert law.cdf(found.point) >= service - 1e-9
    assert found.point == 0 or law.cdf(found.point - 1) < service + 1e-9
    assert found.service == pytest.approx(law.cdf(found.point), abs=1e-9)


@given(st.floats(0.01, 60), st.floats(0.5, 0.999))
@settings(max_examples=40, deadline=None)
def test_single_pieces_at_random_are_poisson(mean: float, service: float) -> None:
    found = reorder.point_for(LeadDemand(mean, mean), service)
    law = stats.poisson(mean)
    assert law.cdf(found.point) >= service - 1e-9
    assert found.point == 0 or law.cdf(found.point - 1) < service + 1e-9


def test_a_least_set_by_hand_is_said_where_it_decides() -> None:
    used = Uses(730, 6, 6, 6)
    for least, said in ((30, True), (1, False)):
        asked = part(uses=used, minimum=least, lead=Lead(30.0, 0.0, 0, 30))
        advice = reorder.advise(asked, TODAY, SHOP, exact=True)
        assert (f"least {least} set by hand" in advice.why) is said


def test_three_uses_a_year_are_no_normal_curve() -> None:
    """3 a year in single pieces, 30 days and the day between two looks: mean 0.255, so P(D = 0) is
    77.5 % and P(D <= 1) 97.3 %: order at 1, which is to have 2."""
    used = Uses(730, 6, 6, 6)
    asked = part(uses=used, lead=Lead(30.0, 0.0, 0, 30))
    advice = reorder.advise(asked, TODAY, SHOP)
    law = stats.poisson(6 / 730 * 31)
    assert advice.least == law.ppf(0.95) + 1 == 2
    assert advice.service == pytest.approx(law.cdf(1))


def test_lead_time_demand_by_the_law_of_total_variance() -> None:
    """Var = E(L) Var(D) + E(D)² Var(L) (Silver, Pyke and Thomas, Inventory and Production
    Management in Supply Chains, lead times that vary; from memory). Day's demand compound Poisson:
    40 jobs in 730 days, half draw 1 and half 3, so λ = 40/730, m = 2, E(X²) = 5."""
    found = reorder.lead_demand(Uses(730, 40, 80, 200), 20.0, 4.0)
    rate = 40 / 730
    assert found.mean == pytest.approx(rate * 2 * 20)
    assert found.variance == pytest.approx(20 * rate * 5 + (rate * 2) ** 2 * 16)


def test_a_suppliers_lead_time_is_what_he_did_once_he_did_it_three_times() -> None:
    assert reorder.lead_of((30, 40), 9) == QUOTED
    found = reorder.lead_of((10, 12, 17), 9)
    assert (found.days, found.observed) == (13.0, 3)
    assert found.sigma == pytest.approx(math.sqrt(13))  # statistics of a sample: n - 1
    assert "13 ± 4 days in 3 deliveries" in found.said


uses = st.builds(
    lambda times, sizes: Uses(730, times, sum(sizes[:times]), sum(s * s for s in sizes[:times])),
    st.integers(0, 30),
    st.lists(st.integers(1, 12), min_size=30, max_size=30),
)


@given(
    uses=uses,
    free=st.integers(0, 60),
    pack=st.integers(1, 25),
    minimum=st.integers(0, 10),
    critical=st.booleans(),
    sigma=st.floats(0, 9),
    pieces=st.integers(0, 4),
)
@settings(max_examples=80, deadline=None)
def test_advice_always(
    uses: Uses, free: int, pack: int, minimum: int, critical: bool, sigma: float, pieces: int
) -> None:
    needs = (Need(1047, TODAY + timedelta(days=3), pieces, waits=True),) if pieces else ()
    asked = part(
        free,
        uses=uses,
        pack=pack,
        minimum=minimum,
        critical=critical,
        lead=Lead(9.0, sigma, 5, 9),
        needs=needs,
    )
    quick = reorder.advise(asked, TODAY, SHOP)
    exact = reorder.advise(asked, TODAY, SHOP, exact=True)
    assert quick.pieces == exact.pieces  # the bound spares work and changes nothing
    assert quick.pieces % pack == 0
    assert quick.due == (free < exact.least)
    if quick.due:
        assert free + quick.pieces >= exact.least
    assert exact.least >= max(minimum, pieces)
    if needs:
        assert "J-1047 waits for it" in exact.why


def test_rubber_is_not_bought_for_longer_than_it_keeps() -> None:
    """12 a year at 0.10 with 15.00 an order: EOQ √(2·12·1500/(0.2·10)) = 134; 7 years' storage
    life (ISO 2230 group A) caps it at 3.5 years' use, 42."""
    used = Uses(730, 24, 24, 24)
    cheap: dict[str, object] = {"uses": used, "prices": ((0, 10),)}
    assert reorder.usual_quantity(part(0, **cheap), SHOP) == 135
    assert reorder.usual_quantity(part(0, **cheap, shelf_days=2557), SHOP) == 43


def test_a_lower_price_is_taken_where_it_pays() -> None:
    """Heizer and Render, Operations Management, quantity discounts (from memory): D 5000, S 49,
    I 20 %, 5.00, from 1000 at 4.80, from 2000 at 4.75: order 1000."""
    used = Uses(1461, 4000, 20000, 100000)  # four years: 5000 a year
    shop = Reordering(order_cents=4900, holding=0.20)
    prices = ((0, 500), (1000, 480), (2000, 475))
    assert reorder.usual_quantity(part(uses=used, prices=prices), shop) == 1000


def test_what_will_be_missing_when() -> None:
    """Four free, three come on the 10th: the job promised first is served first, a later delivery
    does not help an earlier promise."""
    needs = (
        Need(3, date(2026, 3, 12), 4),
        Need(1, date(2026, 3, 6), 3),
        Need(2, date(2026, 3, 9), 2),
        Need(4, date(2026, 3, 13), 1),
    )
    found = reorder.missing(4, needs, ((date(2026, 3, 10), 3), (date(2026, 3, 20), 5)))
    assert [(one.need.job, one.pieces, one.comes) for one in found] == [
        (2, 1, date(2026, 3, 10)),
        (3, 1, date(2026, 3, 20)),
        (4, 1, date(2026, 3, 20)),
    ]


def test_an_order_is_filled_up_with_what_is_next_due() -> None:
    ahead = [(date(2026, 9, 1), "C", 900), (date(2026, 4, 1), "A", 300), (date(2026, 5, 1), "B", 5)]
    assert reorder.fill_up(2000, 2000, ahead) == ()
    assert reorder.fill_up(1700, 2000, ahead) == ("A",)
    assert reorder.fill_up(1699, 2000, ahead) == ("A", "B")
    assert reorder.fill_up(100, 9000, ahead) == ()  # even all of it is not enough


@given(
    st.integers(0, 400),
    st.integers(0, 30),
    st.booleans(),
    st.lists(st.integers(1, 12), max_size=40),
    st.integers(0, 60),
    st.floats(0, 10),
)
@settings(max_examples=150, deadline=None)
def test_what_plainly_has_plenty_is_never_due(
    free: int, minimum: int, critical: bool, drawn: list[int], lead: int, sigma: float
) -> None:
    """Against the exact decision, which knows nothing of the bound."""
    uses = Uses(730, len(drawn), sum(drawn), sum(pieces**2 for pieces in drawn))
    lead_time = Lead(float(lead), sigma, 5, lead)
    one = part(free, minimum=minimum, critical=critical, uses=uses, lead=lead_time)
    if reorder.plenty(one, SHOP):
        assert not reorder.advise(one, TODAY, SHOP, exact=True).due


@given(
    st.lists(
        st.tuples(st.integers(0, 40), st.integers(1, 9), st.integers(1, 25), st.integers(0, 30)),
        min_size=2,
        max_size=3,
    )
)
def test_mates_come_as_sets(
    drawn: list[tuple[int, int, int, int]],
) -> None:
    """By definition of a set: each part's order holds the pieces of every set that any asks for."""
    advice = reorder.advise(part(), TODAY, SHOP)
    mates = [
        reorder.Mate(f"P-{n}", each, pack, least, replace(advice, pieces=pieces))
        for n, (pieces, each, pack, least) in enumerate(drawn)
    ]
    found = reorder.as_sets(mates)
    if not any(pieces for pieces, *_ in drawn):
        assert not any(one.due for one in found)
        return
    sets = {one.pieces // mate.each for one, mate in zip(found, mates, strict=True)}
    for (pieces, _, pack, least), one in zip(drawn, found, strict=True):
        assert one.pieces >= max(pieces, least)
        assert one.pieces % pack == 0
    least_sets = min(sets)
    assert all(least_sets * each >= pieces for pieces, each, *_ in drawn)
    assert f"{least_sets} set" in found[0].why
