"""One unit's visit to the sample shop, from the counter to the door or to where it stands today."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from random import Random

from shopdesk.desk import bench, counter, lots, office
from shopdesk.desk.sample import saying
from shopdesk.desk.sample.clock import Clock, working, working_days
from shopdesk.desk.sample.crew import Crew
from shopdesk.desk.sample.plans import Plan, draw
from shopdesk.desk.sample.reading import Unit
from shopdesk.desk.sample.walker import Hands, Walker
from shopdesk.desk.shop import Shop
from shopdesk.errors import Refused
from shopdesk.rules.generated import QUOTED, Issue
from shopdesk.rules.sheet import LineState
from shopdesk.views import stores as shelves
from shopdesk.views.sheets import SheetView

# Working days from one section to the next: least, most, usual.
QUEUES = {
    "claim": (0.1, 2.0, 0.5),
    "vent": (0.3, 5.0, 1.5),
    "fault": (0.05, 0.6, 0.1),
    "teardown": (0.05, 1.5, 0.3),
    "decision": (0.1, 2.0, 0.5),
    "parts": (0.2, 2.0, 0.5),
    "build": (0.1, 2.5, 0.6),
    "proof": (0.05, 1.5, 0.3),
    "charge": (0.02, 0.6, 0.1),
    "release": (0.05, 1.0, 0.2),
    "shipment": (0.1, 2.5, 0.5),
}
ANSWER_DAYS = (0.3, 9.0, 2.0)
LATE_SHARE = 0.35  # of the late jobs whose customer gets a new date

HARVESTED, GRADES = 2, "ABBC"  # parts of a scrapped unit that are kept, and how they are graded


@dataclass(frozen=True)
class Visit:
    """``fate``: repair, declined or scrapped. ``stop``: the section in which it stands today,
    ``lines`` of it done; "" for a visit that is over. ``pace`` stretches every wait."""

    serial: str
    model: str
    customer: str
    complaint: str
    opened: datetime
    kind: str = "customer"
    reference: str = ""
    fate: str = "repair"
    plan: Plan = field(default_factory=Plan)
    hiss: bool = False
    quarantine: bool = False
    pace: float = 1.0
    promised: date | None = None
    skill: str = ""
    short: bool = False  # a part it needs is not to be had
    swap: Unit | None = None  # an exchange unit goes out for this customer's core
    swap_comes: bool = True
    stop: str = ""
    lines: int = 0
    resumes: datetime | None = None  # when the last ``lines`` are done


@dataclass
class Shopfloor:
    """What every visit works with."""

    shop: Shop
    clock: Clock
    crew: Crew
    walker: Walker
    seed: int
    ends: datetime


class Going:
    """A visit under way: a chain of moments, each with the deed done when it comes."""

    def __init__(
        self, floor: Shopfloor, visit: Visit, rush: Callable[[str], Iterator[datetime]]
    ) -> None:
        self.floor, self.visit, self.rush = floor, visit, rush
        self.chance: Random = draw(floor.seed, visit.serial, visit.model, visit.opened.date())
        self.hands = self._hands()
        self.number = 0
        self.hissed = False
        self.new_date = self.chance.random() < LATE_SHARE

    def _hands(self) -> Hands:
        crew, skill = self.floor.crew, self.visit.skill
        fit = [one for one in crew.role("technician") if not skill or skill in one.skills]
        return Hands(
            self.chance.choice(fit or list(crew.role("technician"))),
            self.chance.choice(crew.role("counter")),
        )

    def life(self) -> Iterator[datetime]:
        """Runs until the unit has left, or stands where it stands today."""
        yield self.visit.opened
        self._take_in()
        while True:
            view = self.floor.walker.look(self.number)
            stage = view.sheet.stage
            if stage == "done":
                yield self._later(0.02)
                self._out(view)
                return
            if self._here(view, stage):
                yield from self._last_lines(stage)
                return
            yield from self._section(view, stage)

    def _here(self, view: SheetView, stage: str) -> bool:
        if self.visit.stop == "answer":
            return stage == "decision" and view.sheet.facts.quote is not None
        if self.visit.stop == "quote":
            return stage == "decision"
        return stage == self.visit.stop

    def _take_in(self) -> None:
        visit = self.visit
        view = counter.receive_core(
            self.floor.shop,
            self.hands.desk.initials,
            counter.Core(
                serial=visit.serial,
                model=visit.model,
                customer=visit.customer,
                complaint=visit.complaint,
                reference=visit.reference,
                kind=visit.kind,
                promised_on=visit.promised,
            ),
        )
        self.number = view.heading.number
        if visit.quarantine:
            view = bench.quarantine(
                self.floor.shop,
                self.hands.desk.initials,
                self.number,
                "smells of solvent; nobody knows what it ran on",
            )
        self.floor.walker.saw(view)

    # Moments ------------------------------------------------------------------------------------

    def _later(self, days: float) -> datetime:
        """So many working days on, at this visit's pace; quicker where today comes near."""
        now = self.floor.clock.now
        pace = self.visit.pace
        if not self.visit.stop and (self.floor.ends - now).days < 30:
            pace = min(pace, 0.3)
        return working_days(now, days * pace)

    def _queue(self, stage: str) -> datetime:
        least, most, usual = QUEUES.get(stage, (0.01, 0.05, 0.02))
        return self._later(self.chance.triangular(least, most, usual))

    def _minutes(self, wait: float) -> datetime:
        return working(self.floor.clock.now + timedelta(minutes=wait))

    # What is done ------------------------------------------------------------------------------

    def _section(self, view: SheetView, stage: str) -> Iterator[datetime]:
        yield self._queue(stage)
        if stage in ("claim", "vent", "teardown") and not view.heading.assigned:
            taker = self.hands.bench.initials
            view = bench.take_job(self.floor.shop, taker, self.number, taker, known=view)
            self.floor.walker.saw(view)
        self._change_promise(view)
        if stage == "decision":
            yield from self._decision(view)
            return
        if stage == "teardown" and self.visit.hiss and not self.hissed:
            yield from self._hiss()
            return
        steps = self.floor.walker.steps(self.number, self.hands, self.visit.plan, within=stage)
        for wait in steps:
            yield self._minutes(wait)
        yield from self._stuck(stage)

    def _decision(self, view: SheetView) -> Iterator[datetime]:
        shop, desk = self.floor.shop, self.hands.desk.initials
        if view.sheet.facts.claim is not None:
            for wait in self.floor.walker.steps(
                self.number, self.hands, self.visit.plan, QUOTED, within="decision"
            ):
                yield self._minutes(wait)
            view = self.floor.walker.look(self.number)
            if not view.sheet.customers:
                return
        quote = view.sheet.facts.quote
        if quote is None:
            view = office.make_quote(shop, desk, self.number, known=view)
            self.floor.walker.saw(view)
            quote = view.sheet.facts.quote
            if self.visit.stop == "answer":
                return
        assert quote is not None
        yield self._later(self.chance.triangular(*ANSWER_DAYS))
        approved = self.visit.fate != "declined"
        view = office.record_answer(
            shop,
            desk,
            self.number,
            approved=approved,
            by=view.heading.customer,
            how=self.chance.choice(saying.HOW),
            cap_cents=saying.cap(quote.total_cents) if approved else 0,
            known=view,
        )
        self.floor.walker.saw(view)

    def _hiss(self) -> Iterator[datetime]:
        """Two lines into the teardown gas comes out: stop, step aside, vent it again."""
        self.hissed = True
        steps = self.floor.walker.steps(self.number, self.hands, self.visit.plan, within="teardown")
        for _, wait in zip(range(3), steps, strict=False):
            yield self._minutes(wait)
        steps.close()
        bench.report_hiss(
            self.floor.shop, self.hands.bench.initials, self.number, "hissed when the cap moved"
        )

    def _stuck(self, stage: str) -> Iterator[datetime]:
        """The walker went as far as it can: a part that is short, or a unit beyond repair."""
        view = self.floor.walker.look(self.number)
        if view.sheet.stage != stage or view.sheet.cursor is None:
            return
        given = view.sheet.cursor.given
        if "disposition" in given and given["disposition"].answer == "scrap":
            yield self._later(1.5)
            office.scrap(
                self.floor.shop,
                self.hands.desk.initials,
                self.number,
                view.heading.customer,
                "by letter",
                f"{view.sheet.cursor.line.text}: beyond repair",
            )
            self._harvest(view)
        elif isinstance(view.sheet.cursor.line, Issue):
            yield from self.rush(view.sheet.cursor.line.part)
        else:
            raise Refused(f"sample: J-{self.number} is stuck at {view.sheet.cursor.line.key}")

    def _harvest(self, view: SheetView) -> None:
        """What was found good in a unit that is scrapped, and its owner leaves to the shop."""
        chance = draw(self.floor.seed, self.visit.serial, "harvest")
        today = self.floor.clock.now.date()
        kit = [one for one in view.sheet.procedure.kit if one.inspect and not one.matched]
        kept = [one for one in kit if one.quantity == 1]  # no screws
        # a part that stands in two places once: its pieces would be one lot, and of one grade
        found = {one.part: one for one in kept if _good(view.sheet.get(one.inspect))}
        for one in list(found.values())[:HARVESTED]:
            with self.floor.shop.read() as db:
                part = shelves.part(db, today, one.part)
            if part is not None and not part.compound:
                lots.harvest(
                    self.floor.shop,
                    self.hands.bench.initials,
                    self.number,
                    one.part,
                    one.quantity,
                    chance.choice(GRADES),
                    left_by=view.heading.customer,
                )

    def _change_promise(self, view: SheetView) -> None:
        today = self.floor.clock.now.date()
        if not self.new_date or self.visit.stop or today <= view.heading.promised_on:
            return
        self.new_date = False
        office.change_promise(
            self.floor.shop,
            self.floor.crew.role("manager")[0].signature,
            self.number,
            working_days(self.floor.clock.now, 6).date(),
            "parts came late",
        )

    def _last_lines(self, stage: str) -> Iterator[datetime]:
        """The lines of the section it stands in that are done today."""
        if self.visit.resumes is not None:
            yield self.visit.resumes
        steps = self.floor.walker.steps(self.number, self.hands, self.visit.plan, within=stage)
        for done, wait in enumerate(steps):
            if done == self.visit.lines:
                break
            yield self.floor.clock.now + timedelta(minutes=wait)
        steps.close()

    def _out(self, view: SheetView) -> None:
        self.floor.walker.forget(self.number)
        counter.hand_over(
            self.floor.shop,
            self.hands.desk.initials,
            self.number,
            "" if self.visit.fate == "scrapped" else self.chance.choice(saying.CARRIERS),
            known=view,
        )


def _good(state: LineState | None) -> bool:
    seen = None if state is None else state.given.get("condition")
    return seen is not None and seen.answer == "good"
