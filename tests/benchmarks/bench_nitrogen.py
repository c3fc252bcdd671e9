"""Nitrogen density beside CoolProp's general call, interleaved, best of several rounds.

Run from the checkout: python tests/benchmarks/bench_nitrogen.py. Exit status 1 if slower.
"""

import random
import sys
import time
from collections.abc import Callable

from CoolProp.CoolProp import PropsSI

from shopdesk.calc import nitrogen

ROUNDS, POINTS = 5, 1000


def theirs(pressure_pa: float, temperature_k: float) -> float:
    return float(PropsSI("D", "T", temperature_k, "P", pressure_pa, "Nitrogen"))


def microseconds(call: Callable[[float, float], float], points: list[tuple[float, float]]) -> float:
    start = time.perf_counter()
    for pressure_pa, temperature_k in points:
        call(pressure_pa, temperature_k)
    return (time.perf_counter() - start) / len(points) * 1e6


def main() -> int:
    draw = random.Random(1)
    points = [(draw.uniform(1e5, 600e5), draw.uniform(243.15, 373.15)) for _ in range(POINTS)]
    rounds = [
        (microseconds(nitrogen.density, points), microseconds(theirs, points))
        for _ in range(ROUNDS)
    ]
    ours_us, theirs_us = (min(times) for times in zip(*rounds, strict=True))
    worst = max(abs(nitrogen.density(p, t) / theirs(p, t) - 1) for p, t in points)
    sys.stdout.write(
        f"{POINTS} points, each at its own temperature: shopdesk {ours_us:.1f} µs, "
        f"PropsSI {theirs_us:.1f} µs, ratio {ours_us / theirs_us:.2f}; "
        f"largest difference {worst:.1e}\n"
    )
    return 0 if ours_us <= theirs_us else 1


if __name__ == "__main__":
    sys.exit(main())
