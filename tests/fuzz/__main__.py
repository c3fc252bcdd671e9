"""Random and nasty strings through everything that reads what people type, bursts of keys and
pastes into the app, nasty arguments to the command line.

    python -m tests.fuzz [--strings 100000] [--bursts 20000] [--commands 2000] [--seed 1]

Prints what was done and each traceback found with what made it. Exit status 1 when there was one,
or when something took too long.
"""

import argparse
import random
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import date
from functools import partial
from pathlib import Path

from shopdesk import procedure, quantities
from shopdesk.desk import answering
from shopdesk.desk.calculator import readers
from shopdesk.errors import ShopError
from shopdesk.rules import shop
from shopdesk.tui.dates import read_date
from tests.fuzz import commands, keys, texts

SLOW_S = 2.0
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
    "leak rate": readers.leak_rate,
}


def faults(strings: int, seed: int) -> list[tuple[str, str, str]]:
    """What went wrong: the reader, the string, the fault."""
    rng = random.Random(seed)
    quantities.warm()
    names = list(READERS)
    found = []
    for _ in range(strings):
        name, typed = rng.choice(names), texts.string(rng)
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
    asked.add_argument("--bursts", type=int, default=20_000)
    asked.add_argument("--commands", type=int, default=2_000)
    asked.add_argument("--seed", type=int, default=1)
    given = asked.parse_args()
    read = [
        (f"{name}: {typed[:80]!a}", said) for name, typed, said in faults(given.strings, given.seed)
    ]
    told = [f"{given.strings} strings, {len(READERS)} readers, {len(read)} faults"]
    with tempfile.TemporaryDirectory() as name:
        pressed, screens = keys.faults(given.bursts, given.seed, Path(name))
        told.append(f"{given.bursts} bursts of keys, {len(screens)} screens, {len(pressed)} faults")
        ran = commands.faults(given.commands, given.seed, Path(name))
        told.append(f"{given.commands} command lines, {len(ran)} faults")
    found = [*read, *pressed, *ran]
    told += [f"{where}: {said}" for where, said in found[:20]]
    sys.stdout.write("\n".join(told) + "\n")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
