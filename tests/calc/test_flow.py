"""Flow time: queues against a sum over states, and the limits every model must meet."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shopdesk.calc import flow
from shopdesk.errors import BadInput, OutOfRange

USED = st.floats(0.01, 0.97)
SERVERS = st.integers(1, 30)


def by_states(offered: float, servers: int) -> tuple[float, float]:
    """Probability of an empty station and mean number in it, summed over 5000 states.

    Source: birth and death balance, any queueing text.
    """
    chances = [1.0]
    for n in range(1, 5000):
        chances.append(chances[-1] * offered / min(n, servers))
    total = math.fsum(chances)
    return 1 / total, math.fsum(n * p for n, p in enumerate(chances)) / total


@given(used=USED, servers=SERVERS, service=st.floats(0.01, 10))
def test_mmc_against_its_states(used: float, servers: int, service: float) -> None:
    offered = used * servers
    empty, inside = by_states(offered, servers)
    found = flow.mmc(offered * service, service, servers)
    assert found.empty_probability == pytest.approx(empty, rel=1e-8)
    assert found.in_system == pytest.approx(inside, rel=1e-8)


@given(used=USED, servers=SERVERS)
def test_little_holds(used: float, servers: int) -> None:
    found = flow.mmc(used * servers, 1.0, servers)
    arrivals = used * servers
    assert flow.little_flow_time(found.in_system, arrivals) == pytest.approx(found.flow_time_s)
    assert found.in_queue == pytest.approx(arrivals * found.queue_time_s)


@given(used=USED)
def test_kingman_is_exact_for_one_random_server(used: float) -> None:
    """M/M/1 and, with half the queue, M/D/1. Source: Pollaczek-Khinchine."""
    exact = flow.mmc(used, 1.0)
    assert flow.kingman(used, 1.0, 1, 1).queue_time_s == pytest.approx(exact.queue_time_s)
    assert flow.kingman(used, 1.0, 1, 0).queue_time_s == pytest.approx(exact.queue_time_s / 2)


@given(used=st.floats(0.8, 0.97), servers=st.integers(2, 10))
def test_kingman_is_near_for_several(used: float, servers: int) -> None:
    """Sakasegawa's approximation is within 8 % of Erlang C from 80 % used (measured here)."""
    exact = flow.mmc(used * servers, 1.0, servers)
    near = flow.kingman(used * servers, 1.0, 1, 1, servers)
    assert near.queue_time_s == pytest.approx(exact.queue_time_s, rel=0.08)


@given(used=st.floats(0.1, 0.9), more=st.floats(0.01, 0.09))
def test_more_work_waits_longer(used: float, more: float) -> None:
    less, busy = (flow.kingman(u, 1.0, 1, 1.5).flow_time_s for u in (used, used + more))
    assert less < busy


@given(availability=st.floats(0.3, 1.0), repair=st.floats(0, 1e5))
def test_breakdowns_only_make_it_worse(availability: float, repair: float) -> None:
    found = flow.with_breakdowns(900, 0.05, availability, repair)
    assert found.mean_s >= 900
    assert found.cv_squared >= 0.05
    assert flow.with_breakdowns(900, 0.05, 1.0, repair) == flow.Effective(900, 0.05)


def test_refusals() -> None:
    with pytest.raises(OutOfRange, match="grows without end"):
        flow.mmc(3.0, 3.0)
    with pytest.raises(OutOfRange, match="grows without end"):
        flow.kingman(3.0, 1.0, 1, 1, 2)
    with pytest.raises(BadInput, match="Servers"):
        flow.mmc(1.0, 3.0, 0)
    with pytest.raises(BadInput, match="Availability"):
        flow.with_breakdowns(900, 0.05, 75, 100)
    with pytest.raises(BadInput, match="Throughput"):
        flow.little_flow_time(12, 0)
    with pytest.raises(BadInput, match="finite"):
        flow.kingman(math.nan, 1.0, 1, 1)
