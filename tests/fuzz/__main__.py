"""Random and nasty strings through everything that reads what people type.

    python -m tests.fuzz [--strings 100000] [--seed 1]

Prints what was read and each traceback found with the string that made it, shortest first. Exit
status 1 when there was one, or when a string took longer than two seconds.
"""

import argparse
import random
import sys
import time
from collections.abc import Callable
from datetime import date
from functools import partial

from shopdesk import procedure, quantities
from shopdesk.desk import answering
from shopdesk.desk.calculator import readers
from shopdesk.errors import ShopError
from shopdesk.rules import shop
from shopdesk.tui.dates import read_date

SLOW_S = 2.0
PASTE = 1_000_000
HOSTILE = (
    "\0", "\x1b[31m", "[/]", "[bold]", "\u202e", "🛢️", "'; DROP TABLE entry;--", "=1+1", "\ud800",
    "1e999", "-1e-999", "nan", "inf", "٣٤", "²", "½", "1/0", "3 5/0 in", "1_000", "𝟙", "9" * 400,
)  # fmt: skip
SPOKEN = (
    "35 in-lb", "62 bar at 21 C", "3 5/16 in", "five thou", "1,234.5", "31.2.2026", "2Q2019",
    "0 h=1 bar@2 C", "1/5 in", "half", "12 %",
)  # fmt: skip
UNITS = ("mm", "bar", "N·m", "°C", "mL", "N", "kg", "s")
READERS: dict[str, Callable[[str], object]] = {
    **{unit: partial(quantities.parse, unit=unit) for unit in UNITS},
    "money": shop.cents,
    "shop rules": shop.read,
    "date": partial(read_date, today=date(2026, 1, 1)),
    "procedure": partial(procedure.check_text, name="typed"),
    "answer": answering.clean,
    "choice": partial(answering.pick, options=("yes", "no")),
    "number": readers.number,
    "atmosphere": readers.atmosphere,
}


def string(rng: random.Random) -> str:
    kind = rng.random()
    if kind < 0.4:
        return " ".join(rng.choices(HOSTILE + SPOKEN, k=rng.randint(1, 4)))
    if kind < 0.7:
        top = rng.choice((0x7F, 0x2FFF, 0x10FFFF))
        return "".join(chr(rng.randint(0, top)) for _ in range(rng.randint(0, 12)))
    if kind < 0.9995:
        bent = list(rng.choice(SPOKEN))
        for _ in range(rng.randint(1, 4)):
            bent.insert(rng.randint(0, len(bent)), rng.choice("0123456789 ./-,eE°²½٣@=\0"))
        return "".join(bent)
    paste = rng.choice(("9", "a", "1 ", "[", "½", "-", "1/", "\0"))
    return paste * (PASTE // len(paste))


def faults(strings: int, seed: int) -> list[tuple[str, str, str]]:
    """What went wrong: the reader, the string, the fault."""
    rng = random.Random(seed)
    quantities.warm()
    names = list(READERS)
    found = []
    for _ in range(strings):
        name, typed = rng.choice(names), string(rng)
        began = time.perf_counter()
        try:
            READERS[name](typed)
        except ShopError:
            pass
        except Exception as fault:
            found.append((name, typed, repr(fault)))
        if (took := time.perf_counter() - began) > SLOW_S:
            found.append((name, typed, f"took {took:.1f} s"))
    return sorted(found, key=lambda one: len(one[1]))


def main() -> int:
    asked = argparse.ArgumentParser(prog="tests.fuzz")
    asked.add_argument("--strings", type=int, default=100_000)
    asked.add_argument("--seed", type=int, default=1)
    given = asked.parse_args()
    found = faults(given.strings, given.seed)
    lines = [f"{given.strings} strings, {len(READERS)} readers, {len(found)} faults"]
    lines += [f"{name}: {typed[:80]!a}: {fault}" for name, typed, fault in found[:20]]
    sys.stdout.write("\n".join(lines) + "\n")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
