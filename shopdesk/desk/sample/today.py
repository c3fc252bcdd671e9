"""What stands in the sample shop today: an open job in every section, and the awkward ones."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from shopdesk.desk.sample import saying
from shopdesk.desk.sample.clock import at, working
from shopdesk.desk.sample.mix import Book
from shopdesk.desk.sample.plans import Plan
from shopdesk.desk.sample.visits import Visit
from shopdesk.procedure import Procedure, Wait

ORDER = "PO 7731"


@dataclass(frozen=True, slots=True)
class Standing:
    """``days`` ago it came in; ``stop`` the section it stands in with ``lines`` of it done."""

    days: int
    stop: str
    lines: int = 0
    gas: bool | None = True
    overdue: bool = False
    short: bool = False
    fate: str = "repair"
    quarantine: bool = False
    order: bool = False
    running: bool = False


# Longest sheets are left out: what stands here is met by everybody who looks round.
STANDING = (
    Standing(1, "receipt", 2),
    Standing(2, "vent", 0),
    Standing(6, "vent", 3),
    Standing(8, "teardown", 4),
    Standing(9, "quote", gas=None),
    Standing(16, "answer"),
    Standing(12, "parts", 3),
    Standing(8, "parts", 0, short=True),
    Standing(32, "build", 6, overdue=True),
    Standing(15, "build", 3, gas=False, order=True),
    Standing(17, "proof", 2),
    Standing(18, "charge", 5),
    Standing(19, "hold", 1, running=True),
    Standing(21, "release", 0),
    Standing(14, "shipment", 0, gas=False),
    Standing(5, "quarantined", 3, quarantine=True),
    Standing(23, "declined", 2, fate="declined"),
)


def open_visits(book: Book, ends: datetime) -> Iterator[Visit]:
    """The jobs of STANDING, and the unit of the same order that has shipped."""
    simple = [code for code, doc in book.by_model.items() if not doc.gas_charged]
    gas = [code for code, doc in book.by_model.items() if doc.gas_charged]
    gas.sort(key=lambda code: len(book.by_model[code].lines))
    gas = gas[:-1] or gas
    for index, standing in enumerate(STANDING):
        pool = simple if standing.gas is not True else gas
        pool = pool or gas
        model = pool[index % len(pool)]
        if standing.running:
            model = max(gas, key=lambda code: (_longest_hold(book.by_model[code]), code))
        yield from _visits(book, standing, model, ends)


def _visits(book: Book, standing: Standing, model: str, ends: datetime) -> Iterator[Visit]:
    opened = working(at((ends - timedelta(days=standing.days)).date(), 7 + standing.days % 7))
    opened = min(opened, ends - timedelta(hours=4))
    unit = book.unit(model, opened)
    procedure = book.by_model[model]
    visit = Visit(
        serial=unit.serial,
        model=model,
        customer=unit.customer,
        complaint=book.chance.choice(saying.COMPLAINTS),
        opened=opened,
        reference=ORDER if standing.order else "",
        fate=standing.fate,
        quarantine=standing.quarantine,
        plan=Plan(defects=0.05),
        short=standing.short,
        pace=0.25,
        promised=(ends - timedelta(days=4)).date() if standing.overdue else None,
        skill="gas" if procedure.gas_charged else "",
        stop=standing.stop,
        lines=standing.lines,
        resumes=ends - timedelta(hours=1) if standing.running else None,
    )
    yield visit
    if standing.order:
        twin = book.unit(model, opened)
        yield replace(
            visit,
            serial=twin.serial,
            stop="",
            lines=0,
            plan=Plan(defects=0.0),
            pace=0.15,
            opened=opened + timedelta(minutes=20),
        )


def _longest_hold(procedure: Procedure) -> float:
    """Seconds of the longest timed hold after the charge."""
    waits = [line for line in procedure.in_section("hold") if isinstance(line, Wait)]
    return max((line.duration.value_si for line in waits), default=0.0)
