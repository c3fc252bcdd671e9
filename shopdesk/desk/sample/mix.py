"""Which units came when, and what befell them: the two years of the sample, as a list of visits."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from random import Random

from shopdesk.desk.sample import plans, saying
from shopdesk.desk.sample.clock import at, working
from shopdesk.desk.sample.plans import Plan
from shopdesk.desk.sample.reading import HOUSE, Unit
from shopdesk.desk.sample.visits import Visit
from shopdesk.procedure import Procedure

CLOSED = 162
DAYS = 735  # over which they came
LAST_DAYS = 38  # the last of them came so many days ago
REST_DAYS = 100  # no unit comes back sooner
WARRANTY_DAYS, WARRANTY_SHARE = 330, 0.3
HOUSE_UNITS = 4
LENGTH = 1.7  # how much rarer a long sheet is than a short one
EACH = 3  # visits that every model has at least

# What befalls a visit: how many of the closed ones.
FATES = {
    "declined": 9,
    "scrapped": 4,
    "quarantine": 3,
    "hiss": 3,
    "failed test": 9,
    "worn bore": 14,
    "replaced": 26,
    "over-pulled": 4,
    "conceded": 3,
    "slip": 14,
}


def _claimed(visits: Sequence[Visit]) -> Iterator[Visit]:
    """The same visits; one that claims on work the unit never got, since it was declined, is the
    customer's."""
    before: dict[tuple[str, str], str] = {}
    for visit in visits:
        unit = (visit.model, visit.serial)
        undone = visit.kind == "warranty" and before.get(unit) != "repair"
        before[unit] = visit.fate
        yield replace(visit, kind="customer") if undone else visit


class Book:
    """Draws up the visits. ``units`` are given out so that none is in the shop twice."""

    def __init__(
        self, seed: int, today: datetime, units: tuple[Unit, ...], by_model: Mapping[str, Procedure]
    ) -> None:
        self.chance = Random(f"{seed}/mix")
        self.today = today
        self.by_model = by_model
        self.units = [unit for unit in units if unit.model in by_model]
        self.last: dict[tuple[str, str], datetime] = {}
        self.gone: set[tuple[str, str]] = set()  # scrapped
        self.house = self._set_aside()

    def closed(self, count: int = CLOSED, days: int = DAYS) -> list[Visit]:
        """The visits that are over, the oldest first."""
        visits = [
            self._visit(moment, model)
            for moment, model in zip(self._moments(count, days), self._models(count), strict=True)
        ]
        for fate, share in FATES.items():
            self._befall(visits, fate, max(1, round(share * count / CLOSED)))
        return [*_claimed(visits), *self._house(days)]

    def _moments(self, count: int, days: int) -> Iterator[datetime]:
        first = self.today - timedelta(days=days)
        span = days - LAST_DAYS
        for index in range(count):
            day = first + timedelta(days=span * (index + self.chance.random()) / count)
            yield working(at(day.date(), self.chance.uniform(6, 14)))

    def _models(self, count: int) -> list[str]:
        """A model for each visit: all of them some times, short sheets more often."""
        units = Counter(unit.model for unit in self.units)
        codes = sorted(units)
        weights = [units[code] * len(self.by_model[code].lines) ** -LENGTH for code in codes]
        least = codes * min(EACH, count // max(1, len(codes)))
        models = least + self.chance.choices(codes, weights, k=count - len(least))
        self.chance.shuffle(models)
        return models

    def _visit(self, opened: datetime, model: str) -> Visit:
        before = dict(self.last)
        unit = self.unit(model, opened)
        last = before.get((model, unit.serial))
        soon = last is not None and (opened - last).days < WARRANTY_DAYS
        warranty = soon and self.chance.random() < WARRANTY_SHARE
        return Visit(
            serial=unit.serial,
            model=model,
            customer=unit.customer,
            complaint=self.chance.choice(saying.NO_BETTER if warranty else saying.COMPLAINTS),
            opened=opened,
            kind="warranty" if warranty else "customer",
            skill=self._skill(model),
            pace=self.chance.triangular(0.5, 1.6, 0.9),
        )

    def _rested(self, unit: Unit, opened: datetime) -> bool:
        if (unit.model, unit.serial) in self.gone:
            return False
        last = self.last.get((unit.model, unit.serial))
        return last is None or (opened - last).days >= REST_DAYS

    def unit(self, model: str, opened: datetime) -> Unit:
        """A unit of the model for a visit that begins then."""
        free = [unit for unit in self.units if unit.model == model and self._rested(unit, opened)]
        found = self.chance.choice(free)
        self.last[found.model, found.serial] = opened
        return found

    def _house(self, days: int) -> Iterator[Visit]:
        """The shop's own exchange units: some go out and the customer's core comes in for them,
        for one a core is owed still, and one stands on the shelf."""
        shares = (0.25, 0.45, 0.9, 0.6)
        for index, (own, core) in enumerate(self.house):
            opened = self.today - timedelta(days=days - (days - 20) * shares[index])
            yield Visit(
                serial=own.serial,
                model=own.model,
                customer=HOUSE,
                complaint="rebuilt for the shelf",
                opened=working(at(opened.date(), 8 + index)),
                kind="exchange",
                skill=self._skill(own.model),
                pace=0.7,
                swap=core if index < 3 else None,
                swap_comes=index < 2,
            )

    def _skill(self, model: str) -> str:
        return "gas" if self.by_model[model].gas_charged else ""

    def _set_aside(self) -> tuple[tuple[Unit, Unit], ...]:
        """Pairs of one model, taken off the list: the shop's own unit and a customer's core."""
        by_model: dict[str, list[Unit]] = {}
        for unit in self.units:
            by_model.setdefault(unit.model, []).append(unit)
        longest = sorted(by_model.values(), key=lambda units: (-len(units), units[0].model))
        pairs = tuple((units[-1], units[-2]) for units in longest[:HOUSE_UNITS] if len(units) > 3)
        taken = {(unit.model, unit.serial) for pair in pairs for unit in pair}
        self.units = [unit for unit in self.units if (unit.model, unit.serial) not in taken]
        return pairs

    def _befall(self, visits: list[Visit], fate: str, count: int) -> None:
        """Gives the fate to ``count`` visits that it fits and that have none yet."""
        fit = [
            index
            for index, visit in enumerate(visits)
            if visit.fate == "repair"
            and not visit.plan.outside
            and not visit.hiss
            and not visit.quarantine
            and self._fits(visit, fate)
        ]
        for index in self.chance.sample(fit, min(count, len(fit))):
            visits[index] = self._with(visits[index], fate)
            if fate == "scrapped":
                self.gone.add((visits[index].model, visits[index].serial))

    def _fits(self, visit: Visit, fate: str) -> bool:
        procedure = self.by_model[visit.model]
        if fate in ("hiss", "quarantine"):
            return procedure.gas_charged
        if fate == "scrapped" and self.last[visit.model, visit.serial] != visit.opened:
            return False  # it was here once more
        if fate in ("declined", "scrapped", "conceded"):
            return visit.kind == "customer" and self._with(visit, fate) is not visit
        return self._with(visit, fate) is not visit

    def _with(self, visit: Visit, fate: str) -> Visit:
        """The visit with its fate; the same visit where the procedure has no room for it."""
        procedure, chance = self.by_model[visit.model], plans.draw(visit.serial, visit.opened, fate)
        match fate:
            case "declined":
                return replace(visit, fate="declined")
            case "hiss":
                return replace(visit, hiss=True)
            case "quarantine":
                return replace(visit, quarantine=True)
            case "slip":
                slips = plans.slip(procedure, chance)
                return replace(visit, plan=Plan(slips=slips)) if slips else visit
        found = {
            "scrapped": plans.beyond_repair,
            "failed test": plans.failed_test,
            "worn bore": plans.worn_bore,
            "replaced": plans.replaced,
            "over-pulled": plans.over_pulled,
            "conceded": plans.for_the_customer,
        }[fate](procedure, chance)
        if not found:
            return visit
        after = "scrapped" if fate == "scrapped" else "repair"
        return replace(visit, fate=after, plan=Plan(outside=found))
