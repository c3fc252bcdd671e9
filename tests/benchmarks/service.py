"""Wanted against achieved service level over a shop's own history, printed.

    python -m tests.benchmarks.service DATABASE [--years N]

For each part that goes, its jobs come again at random as its history has them (how often, and how
many pieces each drew), deliveries take as long as its supplier's did, and the shelf is filled by
the rules' own order point and quantity. A lead time is met when nothing was short in it.
"""

import argparse
import random
import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

from sqlalchemy import func, select

from shopdesk.records.engine import open_record
from shopdesk.records.tables import Part, StockMove
from shopdesk.views import ordering


@dataclass(frozen=True, slots=True)
class Going:
    part: str
    rate: float
    sizes: Sequence[int]
    lead: float
    sigma: float
    point: int
    quantity: int
    wanted: float


def going(url: str) -> Iterator[Going]:
    """Every part with an order point of its own, as the record has it today."""
    record = open_record(url)
    today = datetime.now(UTC).date()
    drawn = func.sum(-StockMove.on_hand_change)
    with record.read() as db:
        for number in db.execute(select(Part.number).order_by(Part.number)).scalars().all():
            found = ordering.advice_for(db, number, today)
            if found is None or found[1].point is None:
                continue
            (known, advice), part = found, found[0].stocked
            sizes = db.execute(
                select(drawn)
                .where(StockMove.part_id == known.part_id, StockMove.kind.in_(("issue", "return")))
                .group_by(StockMove.job_id)
                .having(drawn > 0)
            )
            yield Going(
                number,
                part.uses.times / part.uses.days,
                [int(size) for size in sizes.scalars()],
                part.lead.days,
                part.lead.sigma,
                advice.point or 0,
                advice.usual,
                advice.wanted_service,
            )
    record.close()


def achieved(one: Going, years: int, chance: random.Random) -> tuple[int, int]:
    """(lead times without a shortage, lead times) of the part played on day by day."""
    free, arrives, short, met, rounds = one.point + one.quantity, -1, False, 0, 0
    for day in range(int(years * 365.25)):
        if day == arrives:
            free, arrives, rounds = free + one.quantity, -1, rounds + 1
            met, short = met + (not short), False
        while chance.random() < one.rate:  # jobs of one day, few enough to draw one by one
            free -= chance.choice(one.sizes)
            short = short or free < 0
        if free <= one.point and arrives < 0:
            arrives = day + max(1, round(chance.gauss(one.lead, one.sigma)))
    return met, rounds


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    asked.add_argument("database")
    asked.add_argument("--years", type=int, default=400)
    told = asked.parse_args()
    chance = random.Random(1)
    classes: dict[float, list[int]] = {}
    sys.stdout.write(f"{'part':16}{'wanted':>8}{'achieved':>10}{'lead times':>12}\n")
    for one in going(f"sqlite:///{told.database}"):
        met, rounds = achieved(one, told.years, chance)
        sums = classes.setdefault(one.wanted, [0, 0])
        sums[0], sums[1] = sums[0] + met, sums[1] + rounds
        sys.stdout.write(f"{one.part:16}{one.wanted:8.1%}{met / max(rounds, 1):10.1%}{rounds:12}\n")
    for wanted, (met, rounds) in sorted(classes.items()):
        sys.stdout.write(f"{'all parts':16}{wanted:8.1%}{met / max(rounds, 1):10.1%}{rounds:12}\n")


if __name__ == "__main__":
    main()
