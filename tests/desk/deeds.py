"""Every deed of the desk that somebody answers for, with what it takes in a shop made for it: who
may do it is tried by role, what text does by every text field."""

import dataclasses
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import Any

from sqlalchemy import Connection, insert, select, update

from shopdesk.desk import (
    bench,
    calibrating,
    cores,
    costs,
    counter,
    counting,
    counts,
    entries,
    interchange,
    keeping,
    lots,
    mating,
    moving,
    office,
    procedures,
    purchases,
    staff,
    stores,
)
from shopdesk.desk.shop import Deed as Transaction
from shopdesk.desk.shop import Shop
from shopdesk.desk.trade import columns, incoming
from shopdesk.desk.trade.files import Line, Table
from shopdesk.errors import ShopError
from shopdesk.records import chain
from shopdesk.records.tables import CoreDeposit, Lot, StockCount, Unit
from tests.desk.floor import Floor
from tests.desk.stocked import DATA, matched_set, variant

NOTHING = "0" * 64
WASHERS = Table(("part", "lot", "pieces"), (Line(2, ("WASHER", "W-7", "3")),))


@dataclass(frozen=True, slots=True)
class Deed:
    """``who`` is the parameter that says who does it, ``signed`` whether by PIN; ``fixed`` is what
    nobody types."""

    do: Callable[..., object]
    action: str
    given: Mapping[str, Any]
    who: str = "who"
    signed: bool = False
    fixed: tuple[str, ...] = ()

    @property
    def name(self) -> str:
        return f"{self.do.__module__.removeprefix('shopdesk.desk.')}.{self.do.__name__}"

    def by(self, who: str, given: Mapping[str, Any] | None = None) -> Callable[[Floor], object]:
        """``who`` as "CC 2222"; initials alone are enough for what is not signed."""
        said = who if self.signed else who.split()[0]
        return lambda floor: self.do(floor.shop, **{self.who: said, **(given or self.given)})

    def with_text(self, text: str) -> Iterator[tuple[str, dict[str, Any]]]:
        """The same with the text in one text field after the other."""
        for name, value in self.given.items():
            for place, changed in _with_text(value, text):
                if not f"{name}{place}".startswith(self.fixed or "-"):
                    yield f"{name}{place}", {**self.given, name: changed}


def _with_text(value: Any, text: str) -> Iterator[tuple[str, Any]]:
    if isinstance(value, str):
        yield "", text
    elif isinstance(value, tuple) and value:
        for place, changed in _with_text(value[0], text):
            yield f"[0]{place}", (changed, *value[1:])
    elif isinstance(value, dict):
        yield ".value", dict.fromkeys(value, text)
    elif dataclasses.is_dataclass(value) and not isinstance(value, type):
        for field in dataclasses.fields(value):
            for place, changed in _with_text(getattr(value, field.name), text):
                new = dataclasses.replace(value, **{field.name: changed})
                yield f".{field.name}{place}", new


def _counted(db: Connection, floor: Floor, lot: str, recount_of: int | None = None) -> int:
    """A count that waits for its recount, or a recount that waits for a manager."""
    again = recount_of is not None
    lot_id = db.execute(select(Lot.id).where(Lot.number == lot)).scalar_one()
    made = insert(StockCount).values(
        lot_id=lot_id,
        first_id=recount_of,
        step="recount" if again else "count",
        counted=1,
        expected=2,
        outcome="to be approved" if again else "to be recounted",
        reason="",
        person_id=4 if again else 3,
        at=floor.clock(),
    )
    return int(db.execute(made.returning(StockCount.id)).scalar_one())


@dataclass(frozen=True, slots=True)
class Jobs:
    """Numbers: of a job to be handed over, one just received (its unit on the exchange shelf), one
    with a reading outside its limit, one whose customer is asked, one scrapped (``core``), one
    short of a part that another may stand in for; ``entry`` may be corrected."""

    done: int
    new: int
    outside: int
    quoted: int
    entry: int
    core: int
    short: int


def stand(floor: Floor) -> Jobs:
    """Brings a shop whose job is about to be shipped there; its core was given back for another."""
    floor.go("done")
    done = floor.look().heading
    new = floor.take_in("PT-1", "K-2")
    outside = floor.take_in("PT-1", "K-3")
    floor.go("teardown")
    entry = floor.say(LINE, "19.90 mm").entry_id
    floor.say(LINE, "ask customer")
    quoted = floor.take_in("PT-1", "K-4")
    floor.go("decision.approval")
    plain = (DATA / "plain.toml").read_text().replace('revision = "A"', 'revision = "B"', 1)
    plain = plain.replace("first issue", "read again")
    keeping.adopt_procedure(floor.shop, "MM 1111", plain)
    keeping.adopt_procedure(floor.shop, "MM 1111", matched_set("WASHER"))
    purchases.order(floor.shop, "MM", "S01", (("WASHER", 5),))
    procedures.bring_in(floor.shop, "TT 3333", variant("GT-9"), "", name="gas.toml")
    core = _scrapped_core(floor)
    short = _short(floor)
    picks = (("WASHER", "W-1", 1), ("PISTON", "P-1", 1))
    mating.make_up(floor.shop, "MM", "M-5", picks, "lapped here")
    with floor.shop.record.write() as db:
        db.execute(update(Unit).where(Unit.serial == "K-2").values(pool=True))
        _counted(db, floor, "V-1")
        _counted(db, floor, "P-1", recount_of=_counted(db, floor, "P-1"))
        db.execute(
            insert(CoreDeposit).values(
                customer_id=1,
                unit_model_id=1,
                shipped_unit_id=done.unit_id,
                cents=100_00,
                due_on=date(2026, 9, 1),
                at=floor.clock(),
                settled_job_id=done.job_id,
            )
        )
    return Jobs(done.number, new, outside, quoted, entry, core, short)


def _short(floor: Floor) -> int:
    """Interchange 1 is approved, 2 waits for a manager; a job is short of what 1 is for."""
    counts.put_aside(floor.shop, "CC", "BARREL", "B-1", "looks bent")
    for part in ("BARREL", "WASHER"):
        interchange.propose(floor.shop, "TT", part, "PISTON", "the same bar, bored")
    interchange.approve(floor.shop, "MM 1111", 1)
    short = floor.take_in("GT-1", "K-6")
    floor.go("teardown.bore")
    floor.say("teardown.bore", *["40.30 mm"] * 4, "replace")
    floor.go("parts.issue_barrel")
    return short


def _scrapped_core(floor: Floor) -> int:
    """Of a model that takes a washer, which may be kept."""
    plain = (DATA / "plain.toml").read_text().replace('"PT-1"', '"PT-9"', 1)
    keeping.adopt_procedure(floor.shop, "MM 1111", plain.replace("[[receipt]]", WASHER, 1))
    core = floor.take_in("PT-9", "K-5")
    office.scrap(floor.shop, "CC", core, "Ole", "letter", "cracked")
    return core


class Undone(Exception):
    """Takes what was tried out of the record again."""


def undone(floor: Floor, deed: Callable[[Floor], object], look: Callable[[Connection], Any]) -> Any:
    """What stands in the record after the deed, which is then taken back; or what it says."""
    found: list[Any] = []

    class Trying(Shop):
        def write(self, work: Callable[[Transaction], Any], *, keyed: bool = False) -> Any:
            def run(db: Connection) -> None:
                work(self._deed(db, chain.Tip(*chain.lock(db))))
                found.append(look(db))
                raise Undone

            self.record.run(run, keyed=keyed)

    shop = Trying(floor.shop.record, floor.clock, floor.shop.terminal)
    try:
        deed(Floor(shop, floor.clock, floor.number, floor.hands))
    except Undone:
        return found[0]
    except ShopError as fault:
        return fault
    raise AssertionError("it wrote nothing")


def deeds(jobs: Jobs) -> tuple[Deed, ...]:
    job = {"number": jobs.quoted}
    lot = {"part": "WASHER", "lot": "W-1"}
    return (
        Deed(counter.receive_core, "receive a core", {"core": CORE}),
        Deed(keeping.add_customer, "receive a core", CUSTOMER),
        Deed(
            entries.record_entry,
            "record an entry",
            {"number": jobs.new, "line": "receipt.plate", "typed": "readable"},
        ),
        Deed(
            entries.correct_entry,
            "record an entry",
            {
                "number": jobs.outside,
                "entry_id": jobs.entry,
                "typed": "19.91 mm",
                "reason": "misread",
            },
        ),
        Deed(
            stores.give_back,
            "record an entry",
            {"number": jobs.done, "lot": "S-OLD", "pieces": 1, "reason": "over"},
        ),
        Deed(bench.report_hiss, "report a hiss", {**job, "saw": "at the first turn"}),
        Deed(bench.quarantine, "quarantine", {**job, "reason": "smells"}),
        Deed(bench.take_job, "take a job", {**job, "technician": "TT"}),
        Deed(office.make_quote, "make a quote", job),
        Deed(
            office.record_answer,
            "record an answer",
            {**job, "approved": True, "by": "Ole", "how": "telephone", "cap_cents": 90000_00},
        ),
        Deed(
            counter.hand_over,
            "ship",
            {"number": jobs.done, "carrier": "Coast Haulage", "note": "with tag"},
        ),
        Deed(
            office.exchange,
            "ship",
            {"serial": "K-2", "customer": "C02", "deposit_cents": 1, "carrier": "own van"},
        ),
        Deed(
            office.scrap,
            "scrap",
            {**job, "consent_by": "Ole", "consent_how": "letter", "reason": "cracked"},
        ),
        Deed(
            stores.receive,
            "receive stock",
            {"delivery": purchases.Delivery("SEAL-N90", "S-7", 3, "1Q2026", "as ordered")},
        ),
        Deed(
            incoming.take_in,
            "receive stock",
            {"kind": "lots", "table": WASHERS, "of": SAME, "name": "a.csv", "sha256": NOTHING},
            fixed=("kind", "of", "table.headers", "sha256"),
        ),
        Deed(stores.add_supplier, "order", SUPPLIER),
        Deed(stores.add_part, "order", {"new": PART}),
        Deed(purchases.order, "order", {"supplier": "S01", "lines": (("WASHER", 5),)}),
        Deed(
            purchases.put_off,
            "order",
            {"number": 501, "on": date(2026, 9, 9), "reason": "the mill stands"},
        ),
        Deed(
            purchases.call_off,
            "order",
            {"number": 501, "part": "WASHER", "reason": "not made any more"},
        ),
        Deed(
            purchases.set_prices,
            "order",
            {"part": "WASHER", "supplier": "S01", "prices": ((1, 130), (10, 120))},
        ),
        Deed(
            columns.remember,
            "order",
            {"kind": "lots", "headers": ("Part", "Lot"), "columns": {"part": "Part"}},
        ),
        Deed(counting.count, "count stock", {**lot, "pieces": 9, "reason": "counted"}),
        Deed(
            counting.count,
            "recount stock",
            {"part": "SEAL-V90", "lot": "V-1", "pieces": 9, "reason": "counted"},
        ),
        Deed(counts.scrap, "count stock", {**lot, "pieces": 1, "reason": "bent"}),
        Deed(counts.put_aside, "count stock", {**lot, "reason": "doubtful"}),
        Deed(counts.move_bin, "count stock", {"part": "WASHER", "to": "B2-03"}),
        Deed(counts.transfer, "count stock", {**lot, "to": "B2-03"}),
        Deed(
            mating.make_up,
            "count stock",
            {
                "typed": "M-7",
                "picks": (("WASHER", "W-1", 1), ("PISTON", "P-1", 1)),
                "reason": "lapped here",
            },
            fixed=("picks",),
        ),
        Deed(mating.take_apart, "count stock", {"typed": "M-5", "reason": "not lapped"}),
        Deed(
            lots.harvest,
            "judge a core",
            {
                "number": jobs.core,
                "part": "WASHER",
                "pieces": 1,
                "grade": "B",
                "lot": "W-USED",
                "left_by": "Ole",
            },
        ),
        Deed(
            interchange.propose,
            "propose an interchange",
            {"part": "SEAL-N90", "stand_in": "SEAL-V90", "reason": "the same size", "only_in": ""},
        ),
        Deed(
            interchange.hold,
            "hold a part",
            {"number": jobs.short, "part": "BARREL", "stand_in": "PISTON"},
        ),
        Deed(costs.record_hours, "record a cost", {**job, "section": "teardown", "hours": "1.5"}),
        Deed(
            costs.record_bill,
            "record a cost",
            {**job, "kind": "freight", "cents": 40_00, "note": "carrier's bill"},
        ),
        Deed(
            cores.judge,
            "judge a core",
            {"deposit": 1, "grade": "complete", "missing": ("WASHER",), "note": "rod scored"},
        ),
        Deed(cores.pay, "pay a credit", {"deposit": 1}),
        Deed(calibrating.bottle_empty, "mark a bottle", {"code": "N2-1"}),
        Deed(
            calibrating.record_calibration,
            "keep instruments",
            {"code": "G-01", "certificate": "C-1", "due": datetime(2027, 1, 4, tzinfo=UTC)},
        ),
        Deed(calibrating.retire, "keep instruments", {"code": "G-01", "why": "dropped"}),
        Deed(calibrating.open_rechecks, "keep instruments", {"code": "G-01"}),
        Deed(keeping.add_instrument, "keep instruments", {"new": TOOL}),
        Deed(keeping.add_bottle, "keep instruments", BOTTLE),
        *_signed(jobs),
    )


def _signed(jobs: Jobs) -> tuple[Deed, ...]:
    conceded = {
        "number": jobs.outside,
        "line": LINE,
        "reason": "fit for a season",
        "customer_name": "Ole",
        "customer_how": "letter",
    }
    promise = {"number": jobs.quoted, "promised_on": date(2026, 9, 9), "reason": "asked"}
    shop = {"kind": "shop", "text": (DATA / "shop.toml").read_text()}
    keep, revision = "keep people", {"model": "GT-9", "revision": "A"}
    return (
        Deed(bench.concede, "concede", conceded, "manager_signs", True),
        Deed(office.change_promise, "change a promise", promise, "manager_signs", True),
        Deed(keeping.adopt_document, "keep the shop's rules", shop, signed=True),
        Deed(
            keeping.adopt_procedure,
            "keep procedures",
            {"text": variant("GT-8"), "name": "gas.toml"},
            signed=True,
        ),
        Deed(
            procedures.bring_in,
            "bring in a procedure",
            {"text": variant("GT-8"), "why": "first", "name": "gas.toml"},
            "signs",
            True,
        ),
        Deed(
            moving.move_over,
            "keep procedures",
            {"number": jobs.quoted, "reason": "the newer one", "dropped_reason": "", "to": "B"},
            "signs",
            True,
        ),
        Deed(procedures.approve, "keep procedures", revision, "signs", True),
        Deed(
            procedures.turn_down,
            "keep procedures",
            {**revision, "reason": "not yet"},
            "signs",
            True,
        ),
        Deed(
            counting.approve,
            "approve a count",
            {"part": "PISTON", "lot": "P-1", "reason": "miscounted"},
            "typed",
            True,
        ),
        *(
            Deed(
                do,
                "approve an interchange",
                {"interchange": number, "reason": "tried"},
                "signs",
                True,
            )
            for do, number in (
                (interchange.approve, 2),
                (interchange.turn_down, 2),
                (interchange.withdraw, 1),
            )
        ),
        Deed(keeping.add_person, keep, PERSON, signed=True),
        Deed(staff.change_role, keep, {"initials": "UU", "role": "counter"}, "signs", True),
        Deed(staff.change_badge, keep, {"initials": "UU", "badge": "B-9"}, "signs", True),
        Deed(staff.change_pin, keep, {"initials": "UU", "pin": "6666", "cost": 16}, "signs", True),
        Deed(staff.retire, keep, {"initials": "UU"}, "signs", True),
        Deed(staff.take_back, keep, {"initials": "UU"}, "signs", True),
    )


LINE = "teardown.rod"
WASHER = """[[kit]]
id = "washer"
part = "WASHER"
quantity = 1
policy = "always"

[[receipt]]"""
SAME = {"part": "part", "lot": "lot", "pieces": "pieces"}
CORE = counter.Core("K-9", "PT-1", "C01", "sags overnight", "order 12")
CUSTOMER = {
    "code": "C09",
    "name": "Far Yard",
    "phone": "1",
    "email": "a@b.example",
    "place": "Hill",
}
SUPPLIER = {
    "code": "S09",
    "name": "Ring Mill",
    "email": "",
    "lead_days": 3,
    "minimum_order_cents": 0,
}
PART = stores.NewPart("SHIM-1", "a shim", 20, supplier="S01", bin="A1-01", dash="", compound="NBR")
TOOL = keeping.NewInstrument("W-9", "torque wrench", "own", "N·m", 2.0, 60.0)
BOTTLE = {
    "code": "N2-9",
    "gas": "nitrogen",
    "volume_m3": 0.05,
    "pressure_pa": 15e6,
    "rating_pa": 20e6,
}
PERSON = {
    "initials": "ZZ",
    "name": "Zed",
    "role": "technician",
    "pin": "5555",
    "badge": "B-8",
    "pin_cost": 16,
}
