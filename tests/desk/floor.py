"""A whole invented shop for the desk's tests, and hands that answer its sheets."""

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from sqlalchemy import case, func, select

from shopdesk.desk import bench, counter, entries, office
from shopdesk.desk.entries import Recorded
from shopdesk.desk.shop import Shop
from shopdesk.errors import Refused, ShopError
from shopdesk.procedure import Signature, Wait
from shopdesk.records import chain
from shopdesk.records.engine import Record
from shopdesk.records.tables import Base, Draft, Event, Job, Lot, Part, StockMove
from shopdesk.rules.answers import GasState, Verdict
from shopdesk.rules.generated import APPROVAL, QUOTED
from shopdesk.rules.ledger import BESIDE
from shopdesk.rules.sheet import LineState, Sheet
from shopdesk.rules.slots import Ask
from shopdesk.views import sheets
from shopdesk.views.sheets import SheetView
from tests.desk.stocked import PINS

START = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)  # a Monday
IN_HAND = {"pressure gauge": "G-01", "bore gauge": "BG-1", "torque wrench": "W-01"}

# What a good unit answers, by line, or by line and slot; anything else asked as done is done.
GOOD: Mapping[str, str] = {
    "receipt.told": "not known",
    "receipt.plate": "readable",
    "vent.pressure/value": "62 bar",
    "vent.pressure/temperature": "21 C",
    "vent.zero": "0 bar",
    "teardown.piston": "good",
    "teardown.bore": "40.020 mm",
    "teardown.depth": "4.20 mm",
    "teardown.oil": "6 mL",
    "teardown.photo": "core.jpg",
    "teardown.said": "as expected",
    "teardown.rod": "19.98 mm",
    "parts.issue_seal": "S-OLD",
    "parts.issue_washer": "W-1",
    "parts.issue_piston": "P-1",
    "parts.issue_barrel": "B-1",
    "parts.tool_torque_wrench": "W-01",
    "build.screw": "4.22 mm",
    "proof.port": "plugged",
    "proof.held": "118 bar",
    "proof.relief": "110 bar",
    "proof.dry": "dry",
    "proof.leak": "0.5 mL/min",
    "charge.bottle": "N2-1",
    "charge.hose": "H-1",
    "charge.rig": "R-1",
    "charge.set/gas_temperature": "20 C",
    "charge.set/setting": "75 bar",
    "charge.read_back/value": "70 bar",
    "charge.read_back/temperature": "20 C",
    "hold.leak/value": "69.8 bar",
    "hold.leak/temperature": "20 C",
    "shipment.ships_as": "vented",
    "shipment.gas_port": "capped",
    "shipment.port": "plugged",
    "declined.bagged": "one bag of seals",
    "scrapped.gas_zero": "by its signed vent record",
    "quarantined.fluid": "mineral oil, by the laboratory",
    "quarantined.safe": "yes",
}
GLAND = {"GT-1": "160 in-lb", "PT-1": "2.5 Nm"}


class Clock:
    """A clock that stands until it is moved."""

    def __init__(self, now: datetime = START) -> None:
        self.now = now

    def __call__(self) -> datetime:
        return self.now

    def on(self, **span: float) -> None:
        self.now += timedelta(**span)


_WRITTEN = select(
    *(
        select(func.count()).select_from(table).scalar_subquery().label(table.name)
        for table in Base.metadata.sorted_tables
        if table.name not in (Draft.__tablename__, Event.__tablename__)
    ),
    # a wrong PIN is recorded though what it should have signed is not
    select(func.count())
    .select_from(Event)
    .where(Event.kind != "wrong PIN")
    .scalar_subquery()
    .label("event"),
    *(
        select(func.sum(figure)).scalar_subquery().label(f"sum of {figure}")
        for figure in (Job.version, Part.on_hand, Part.reserved, Lot.on_hand)
    ),
    *(
        select(func.min(word) + "/" + func.max(word)).scalar_subquery().label(f"{word}")
        for word in (Job.road, Job.gas_state, Job.stage)
    ),
)


@dataclass
class Floor:
    """The shop with one job in hand, ``number``. Entries are made by ``TT`` unless said."""

    shop: Shop
    clock: Clock
    number: int = 0
    hands: dict[str, str] = field(default_factory=lambda: dict(IN_HAND))

    # Looking -----------------------------------------------------------------------------------

    def look(self, number: int | None = None) -> SheetView:
        with self.shop.read() as db:
            return sheets.load(db, number or self.number, self.clock())

    @property
    def sheet(self) -> Sheet:
        return self.look().sheet

    @property
    def stage(self) -> str:
        return self.sheet.stage

    def gas(self) -> GasState:
        return self.sheet.facts.gas_state

    def state(self, key: str) -> LineState:
        found = self.sheet.get(key)
        assert found is not None, key
        return found

    def entry(self, key: str, slot: str | None = None) -> int:
        """The id of the counted answer of a line."""
        given = self.state(key).given
        return given[slot or next(iter(given))].id

    def value(self, column: Any, *where: Any) -> Any:
        with self.shop.read() as db:
            return db.execute(select(column).where(*where)).scalar()

    def shelf(self, part: str) -> tuple[int, int]:
        """On hand and reserved."""
        with self.shop.read() as db:
            row = db.execute(select(Part.on_hand, Part.reserved).where(Part.number == part)).one()
        return int(row[0]), int(row[1])

    def written(self) -> dict[str, object]:
        """How much stands in every table but drafts, and the figures that may be changed."""
        with self.shop.read() as db:
            return dict(db.execute(_WRITTEN).one()._mapping)

    # Doing -------------------------------------------------------------------------------------

    def take_in(self, model: str = "GT-1", serial: str = "K-1", **core: Any) -> int:
        given = {"customer": "C01", "complaint": "sags overnight", **core}
        view = counter.receive_core(self.shop, "CC", counter.Core(serial, model, **given))
        self.number = view.heading.number
        return self.number

    def say(self, key: str, *typed: str, who: str = "TT", **options: Any) -> Recorded:
        """Answers the line's next slots with each of ``typed``; gives back the last."""
        given = {"in_hand": self.hands, **options}
        for text in typed:
            done = entries.record_entry(self.shop, who, self.number, key, text, **given)
        return done

    def correct(
        self,
        key: str,
        typed: str,
        why: str = "misread",
        slot: str | None = None,
        who: str = "TT",
        **options: Any,
    ) -> Recorded:
        given = {"in_hand": self.hands, **options}
        return entries.correct_entry(
            self.shop, who, self.number, self.entry(key, slot), typed, why, **given
        )

    def sign(self, key: str, who: str, *, at: str = "TT") -> Recorded:
        return self.say(key, f"{who} {PINS[who]}", who=at)

    def concede(self, key: str, signed: str = "MM 1111") -> SheetView:
        return bench.concede(
            self.shop, self.number, key, "fit for a season", signed, "Ole Yard", "by telephone"
        )

    def hiss(self, who: str = "TT") -> SheetView:
        return bench.report_hiss(self.shop, who, self.number, "at the first turn")

    def quote(self) -> SheetView:
        return office.make_quote(self.shop, "CC", self.number)

    def answer(self, approved: bool = True, cap_cents: int | None = None) -> SheetView:
        quote = self.sheet.facts.quote
        cap = (quote.total_cents if quote else 0) if cap_cents is None else cap_cents
        return office.record_answer(
            self.shop,
            "CC",
            self.number,
            approved=approved,
            by="Ole Yard",
            how="telephone",
            cap_cents=cap,
        )

    def go(self, until: str, **answers: str) -> SheetView:
        """Answers as a good unit does, in order, up to a section, a line, or "done". Keywords
        say otherwise for a line, with ``__`` for the dot."""
        told = {**GOOD, **{key.replace("__", "."): text for key, text in answers.items()}}
        view = self.look()
        while view.sheet.cursor is not None:
            state = view.sheet.cursor
            if until in (state.line.section, state.line.key):
                return view
            view = self._next(state, told)
        assert until == "done", f"nothing is open, {until} was not reached"
        return view

    def _next(self, state: LineState, told: Mapping[str, str]) -> SheetView:
        key, slot = state.line.key, state.next_slot
        assert slot is not None, f"{key} stands outside its limit"
        if key == QUOTED:
            return self.quote()
        if key == APPROVAL:
            return self.answer()
        if isinstance(state.line, Wait) and slot.name == "ended":
            self.clock.on(seconds=state.line.duration.value_si)
        return self.say(key, self._good(state, told), confirmed=True).view

    def _good(self, state: LineState, told: Mapping[str, str]) -> str:
        key, slot = state.line.key, state.next_slot
        assert slot is not None
        if slot.ask is Ask.SIGN:
            assert isinstance(state.line, Signature)
            who = "UU" if state.line.witness else (state.line.role and "MM") or "TT"
            return told.get(key, f"{who} {PINS[who]}")
        found = told.get(f"{key}/{slot.name}", told.get(key))
        if found is None and key == "build.gland":
            return GLAND["PT-1" if self.sheet.procedure.model == "PT-1" else "GT-1"]
        if found is None:
            assert slot.ask is Ask.DONE, f"nothing is known to answer {key}/{slot.name}"
            return ""
        return found

    # Not doing ---------------------------------------------------------------------------------

    @contextmanager
    def refused(
        self,
        *missing: str,
        says: str = "",
        whose: str = "",
        kind: type[ShopError] = Refused,
    ) -> Iterator[None]:
        """What is tried inside is refused, names these lines and whose move it is, and leaves
        nothing written."""
        before = self.written()
        with pytest.raises(kind) as caught:
            yield
        fault = caught.value
        assert says.casefold() in str(fault).casefold(), str(fault)
        if isinstance(fault, Refused):
            assert set(missing) <= set(fault.missing), (fault.missing, str(fault))
            assert whose in fault.whose_move, (fault.whose_move, str(fault))
        assert "\n" not in str(fault)
        assert self.written() == before


def reconcile(floor: Floor) -> None:
    """Parts, lots and ledger agree, nothing is promised twice, and the chain is whole."""
    with floor.shop.read() as db:
        for part in db.execute(select(Part.id, Part.on_hand, Part.reserved)).all():
            of_part = StockMove.part_id == part.id
            shelf = case((StockMove.kind.in_(BESIDE), 0), else_=StockMove.on_hand_change)
            sums = db.execute(
                select(
                    func.coalesce(func.sum(shelf), 0),
                    func.coalesce(func.sum(StockMove.reserved_change), 0),
                ).where(of_part)
            ).one()
            lots = db.execute(
                select(func.coalesce(func.sum(Lot.on_hand), 0)).where(
                    Lot.part_id == part.id, Lot.origin == "bought"
                )
            ).scalar()
            assert (part.on_hand, part.reserved) == tuple(sums)
            assert part.on_hand == lots
        moved = select(func.sum(StockMove.on_hand_change)).where(StockMove.lot_id == Lot.id)
        for lot in db.execute(select(Lot.on_hand, moved.scalar_subquery().label("moved"))):
            assert lot.on_hand == lot.moved
        assert chain.verify(db).broken is None


def within(recorded: Recorded) -> bool:
    return recorded.verdict is Verdict.WITHIN


def opened(record: Record, clock: Clock) -> Shop:
    return Shop(record, clock, "bench-1")


NewFloor = Callable[..., Floor]
