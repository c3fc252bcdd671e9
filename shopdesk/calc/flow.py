"""How long work takes to get through a station: Little, M/M/c, Kingman, and what breakdowns do.

Times in seconds, rates per second; any one unit of time for all of them serves as well.
"""

import math
from dataclasses import dataclass

from shopdesk.calc._numeric import above_zero, finite, not_below_zero
from shopdesk.errors import BadInput, OutOfRange

_MOST_SERVERS = 1000


@dataclass(frozen=True)
class Queue:
    """Long-run means of a station: waiting (queue) and waiting with service (system).

    ``wait_probability``: an arrival finds every server busy. ``empty_probability``: nobody there.
    Both None where the model doesn't say (Kingman).
    """

    utilisation: float
    in_queue: float
    in_system: float
    queue_time_s: float
    flow_time_s: float
    wait_probability: float | None
    empty_probability: float | None


@dataclass(frozen=True)
class Effective:
    """Process time with its breakdowns: mean, and squared coefficient of variation."""

    mean_s: float
    cv_squared: float


def little_flow_time(in_system: float, throughput_1_s: float) -> float:
    """Mean flow time [s] from work in the shop and throughput: W = L/λ. Source: Little 1961."""
    return not_below_zero(in_system, "Units in the shop") / above_zero(
        throughput_1_s, "Throughput per second"
    )


def mmc(arrival_1_s: float, service_1_s: float, servers: int = 1) -> Queue:
    """M/M/c: random arrivals and service at ``servers`` alike (1 to 1000), by Erlang C.

    OutOfRange where arrivals reach what the servers can do: the queue grows without end.
    Source: Erlang C, any queueing text.
    """
    above_zero(arrival_1_s, "Arrivals per second")
    offered = arrival_1_s / above_zero(service_1_s, "Service rate per second")
    used = _utilisation(offered, servers)
    wait = _erlang_c(offered, servers)
    in_queue = wait * used / (1.0 - used)
    queue_time = in_queue / arrival_1_s
    return Queue(
        utilisation=used,
        in_queue=in_queue,
        in_system=in_queue + offered,
        queue_time_s=queue_time,
        flow_time_s=queue_time + 1.0 / service_1_s,
        wait_probability=wait,
        empty_probability=_empty(offered, servers),
    )


def _utilisation(offered: float, servers: int) -> float:
    if not 1 <= servers <= _MOST_SERVERS:
        raise BadInput(f"Servers were read as {servers}; give 1 to {_MOST_SERVERS}.")
    used = offered / servers
    if used >= 1.0:
        raise OutOfRange(
            f"Work arrives at {100 * used:.4g} % of what the station can do; from 100 % the queue "
            "grows without end: less work, more people or shorter times."
        )
    return used


def _erlang_c(offered: float, servers: int) -> float:
    blocked = 1.0
    for n in range(1, servers + 1):
        blocked = offered * blocked / (n + offered * blocked)
    used = offered / servers
    return blocked / (1.0 - used * (1.0 - blocked))


def _empty(offered: float, servers: int) -> float:
    logs = [n * math.log(offered) - math.lgamma(n + 1) for n in range(servers)]
    last = servers * math.log(offered) - math.lgamma(servers + 1)
    logs.append(last - math.log1p(-offered / servers))
    top = max(logs)
    return math.exp(-top) / math.fsum(math.exp(one - top) for one in logs)


def kingman(
    arrival_1_s: float, process_s: float, arrival_cv2: float, process_cv2: float, servers: int = 1
) -> Queue:
    """Flow time at any variability: CTq = (ca² + ce²)/2 · u^(√(2(c+1)) - 1)/(c (1 - u)) · te.

    ``*_cv2`` squared coefficients of variation: 1 random, 0 clockwork. Exact for M/M/1 and M/D/1,
    an approximation otherwise. With c > 1 (Sakasegawa) within 8 % of Erlang C from 80 % used up,
    too long below: there use ``mmc``. OutOfRange as ``mmc``.
    Source: Kingman 1961; Hopp and Spearman, Factory Physics (from memory).
    """
    above_zero(arrival_1_s, "Arrivals per second")
    above_zero(process_s, "Process time in s")
    not_below_zero(arrival_cv2, "Squared variation of arrivals")
    not_below_zero(process_cv2, "Squared variation of process time")
    offered = arrival_1_s * process_s
    used = _utilisation(offered, servers)
    crowd = used ** (math.sqrt(2.0 * (servers + 1)) - 1.0) / (servers * (1.0 - used))
    queue_time = 0.5 * (arrival_cv2 + process_cv2) * crowd * process_s
    return Queue(
        utilisation=used,
        in_queue=arrival_1_s * queue_time,
        in_system=arrival_1_s * queue_time + offered,
        queue_time_s=queue_time,
        flow_time_s=queue_time + process_s,
        wait_probability=None,
        empty_probability=None,
    )


def with_breakdowns(
    process_s: float,
    process_cv2: float,
    availability: float,
    repair_s: float,
    repair_cv2: float = 1.0,
) -> Effective:
    """Effective process time: te = t0/A, ce² = c0² + (1 + cr²) A (1 - A) mr/t0.

    A share of time the station is up, mr mean time to repair; breakdowns random, at work. BadInput
    for an availability outside 0 to 1. Source: Hopp and Spearman, Factory Physics (from memory).
    """
    above_zero(process_s, "Process time in s")
    not_below_zero(process_cv2, "Squared variation of process time")
    not_below_zero(repair_s, "Repair time in s")
    not_below_zero(repair_cv2, "Squared variation of repair time")
    if not 0.0 < finite(availability, "Availability") <= 1.0:
        raise BadInput(f"Availability was read as {availability:g}; give a share above 0 up to 1.")
    down = availability * (1.0 - availability) * repair_s / process_s
    return Effective(process_s / availability, process_cv2 + (1.0 + repair_cv2) * down)
