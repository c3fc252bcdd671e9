"""Two years of the sample shop: everything that happened, in the order it happened."""

import heapq
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from datetime import date, datetime, timedelta

from shopdesk.calc import shelf
from shopdesk.desk import calibrating, counting, counts, keeping, office, purchases, stores
from shopdesk.desk.sample import plans, reading, saying
from shopdesk.desk.sample.clock import at, working, working_days
from shopdesk.desk.sample.mix import CLOSED, Book
from shopdesk.desk.sample.plans import Plan, draw
from shopdesk.desk.sample.reading import SampleShop
from shopdesk.desk.sample.today import open_visits
from shopdesk.desk.sample.visits import Going, Shopfloor, Visit
from shopdesk.errors import NotFound
from shopdesk.procedure import Procedure
from shopdesk.views import counting as due_counts
from shopdesk.views import documents, ordering
from shopdesk.views import stores as shelves

Progress = Callable[[str, float], None]
Life = Iterator[datetime]

REVIEW_DAYS, REVIEW_FROM_DAYS, REVIEW_UNTIL_DAYS = 7, 700, 9
FIRST_BOTTLE = reading.Bottle(766, "N2-01", "nitrogen", 0.05, 200e5, 200e5)
FIRST_STOCK_DAYS = 740
DEPOSIT_CENTS = 25000
COUNTED_DAYS, COUNTED_LOTS = 5, 4
SEAL_AGE = 200  # days since the cure of a seal bought today


class History:
    """Everything that goes on at once, each at its own moments; the earliest goes next."""

    def __init__(
        self,
        floor: Shopfloor,
        found: SampleShop,
        today: date,
        by_model: Mapping[str, Procedure],
        progress: Progress | None,
    ) -> None:
        self.floor, self.found, self.today, self.progress = floor, found, today, progress
        self._by_model = by_model
        self._minimum = {one.code: one.minimum_order_cents for one in found.suppliers}
        self._lead = {one.code: one.lead_days for one in found.suppliers}
        self._supplier = {part.number: part.supplier for part in found.parts}
        self._pack = {part.number: part.pack for part in found.parts}
        self._rubber = {lot.delivery.part for lot in found.lots if lot.delivery.cured}
        self._told = -1
        self._waiting: list[tuple[datetime, int, Life]] = []
        self._count = 0
        self._lots = 30000
        self._manager = found.crew.role("manager")[0].initials
        self._desk = found.crew.role("counter")[0].initials

    def add(self, life: Life) -> None:
        """Takes its first moment; a life without one is over."""
        moment = next(life, None)
        if moment is not None:
            self._count += 1
            heapq.heappush(self._waiting, (moment, self._count, life))

    def run(self) -> None:
        clock, begun = self.floor.clock, self.floor.clock.now
        span = (self.floor.ends - begun).total_seconds()
        while self._waiting:
            moment, order, life = heapq.heappop(self._waiting)
            clock.until(moment)
            after = next(life, None)
            if after is not None:
                heapq.heappush(self._waiting, (after, order, life))
            self._tell((clock.now - begun).total_seconds() / span)
        self._tell(1.0)

    def _tell(self, share: float) -> None:
        percent = min(100, int(share * 100))
        if self.progress is not None and percent != self._told:
            self._told = percent
            self.progress(f"{self.floor.clock.now:%B %Y}", percent / 100)

    # What goes on -------------------------------------------------------------------------------

    def visit(self, visit: Visit) -> Life:
        yield from Going(self.floor, visit, self.rush).life()
        if visit.swap is not None:
            yield from self._exchanged(visit, visit.swap)

    def _exchanged(self, visit: Visit, core: reading.Unit) -> Life:
        """The rebuilt unit goes out from the shelf; the customer's own comes in for it, later."""
        chance = draw(self.floor.seed, visit.serial, "exchange")
        yield working_days(self.floor.clock.now, chance.uniform(3, 12))
        office.exchange(
            self.floor.shop,
            self._desk,
            visit.serial,
            core.customer,
            deposit_cents=DEPOSIT_CENTS,
            carrier=chance.choice(saying.CARRIERS),
        )
        if not visit.swap_comes:
            return
        back = replace(
            visit,
            serial=core.serial,
            customer=core.customer,
            kind="customer",
            complaint="core for the exchange unit",
            opened=working_days(self.floor.clock.now, chance.uniform(6, 16)),
            swap=None,
        )
        yield from Going(self.floor, back, self.rush).life()

    def short(self, visit: Visit) -> Life:
        """A visit that will wait for a part: none of it was found fit for use."""
        yield visit.opened
        line, part, lots = self._rare_part(visit)
        for lot, pieces in lots:
            counts.scrap(self.floor.shop, self._desk, part, lot, pieces, "corroded in the bin")
        yield from Going(
            self.floor, replace(visit, plan=Plan(defects=0.0, outside={line: "replace"})), self.rush
        ).life()

    def _rare_part(self, visit: Visit) -> tuple[str, str, tuple[tuple[str, int], ...]]:
        """The part of the model's kit with the fewest pieces, promised to nobody and not on order,
        with the line whose "replace" asks for it and its lots."""
        found = []
        doc = self._by_model[visit.model]
        with self.floor.shop.read() as db:
            for kit in doc.kit:
                line = plans.kit_line(doc, kit)
                row = shelves.part(db, self.floor.clock.now.date(), kit.part)
                if line and row is not None and not row.reserved and not row.on_order:
                    rows = shelves.lots_of(db, kit.part)
                    lots = tuple((lot.number, lot.on_hand) for lot in rows)
                    found.append((row.on_hand, line, kit.part, lots))
        if not found:
            raise NotFound(f"sample: no part of {visit.model} can be made short")
        _, line, part, lots = min(found)
        return line, part, lots

    def deliveries(self) -> Life:
        """What the file of lots says came in, each on its day; the first stock was there before."""
        for lot in sorted(self.found.lots, key=lambda one: (-one.days_ago, one.delivery.lot)):
            yield at(self.today - timedelta(days=lot.days_ago), 6.5)
            stores.receive(self.floor.shop, self._desk, lot.delivery)

    def purchases(self) -> Life:
        """The orders that those deliveries came against: one a supplier for what came close
        together, placed its lead time before."""
        orders: dict[tuple[datetime, str], list[tuple[str, int]]] = {}
        for lot in self.found.lots:
            supplier = self._supplier[lot.delivery.part]
            lead = self._lead[supplier]
            if lot.days_ago + lead >= FIRST_STOCK_DAYS:
                continue
            week = (lot.days_ago // REVIEW_DAYS + 1) * REVIEW_DAYS + lead
            moment = at(self.today - timedelta(days=week), 12)
            orders.setdefault((moment, supplier), []).append(
                (lot.delivery.part, lot.delivery.pieces)
            )
        for (moment, supplier), lines in sorted(orders.items()):
            yield moment
            wanted = Counter[str]()  # mates of several sets come as lots of their own
            for part, pieces in lines:
                wanted[part] += pieces
            purchases.order(self.floor.shop, self._desk, supplier, tuple(sorted(wanted.items())))

    def on_order(self) -> Life:
        """One purchase is still to come today: the parts that stand nearest to their minimum."""
        yield self.floor.ends - timedelta(days=3)
        with self.floor.shop.read() as db:
            today = self.floor.clock.now.date()
            due = {row.part for row in ordering.to_order(db, today)}
            rows = [
                row for row in shelves.parts(db, today) if row.minimum and row.number not in due
            ]
        rows.sort(key=lambda row: (row.available / row.minimum, row.number))
        slow = max(self._lead, key=lambda code: (self._lead[code], code))
        wanted = [row for row in rows if self._supplier[row.number] == slow][:2]
        if wanted:
            lines = tuple((row.number, self._pack[row.number]) for row in wanted)
            purchases.order(self.floor.shop, self._desk, slow, lines)

    def bottles(self) -> Life:
        """The file's bottles, and the one that the first charges came from."""
        for bottle in sorted(
            (FIRST_BOTTLE, *self.found.bottles), key=lambda one: (-one.days_ago, one.code)
        ):
            yield at(self.today - timedelta(days=bottle.days_ago), 7.2)
            keeping.add_bottle(
                self.floor.shop,
                self._manager,
                code=bottle.code,
                gas=bottle.gas,
                volume_m3=bottle.volume_m3,
                pressure_pa=bottle.pressure_pa,
                rating_pa=bottle.rating_pa,
            )

    def calibrations(self, begun: datetime) -> Life:
        """Every instrument goes out a few days before it is due, but for the overdue ones."""
        rounds = [
            (ends[index] - timedelta(days=4), calibrated, ends[index + 1], len(ends) - 2 - index)
            for calibrated in self.found.instruments
            if (ends := reading.dues(calibrated, begun, self.today))
            for index in range(len(ends) - 1)
        ]
        rounds.sort(key=lambda one: (one[0], one[1].new.code))
        for moment, calibrated, due, back in rounds:
            yield moment.replace(hour=8)
            calibrating.record_calibration(
                self.floor.shop,
                self._manager,
                calibrated.new.code,
                due=due,
                certificate=reading.certificate(calibrated, back),
            )
            self.floor.walker.forget_tools()

    def reviews(self) -> Life:
        """Once a week what runs short is bought."""
        for days in range(REVIEW_FROM_DAYS, REVIEW_UNTIL_DAYS - 1, -REVIEW_DAYS):
            yield at(self.today - timedelta(days=days), 13)
            with self.floor.shop.read() as db:
                rows = ordering.to_order(db, self.floor.clock.now.date())
            by_supplier: dict[str, list[ordering.OrderRow]] = {}
            for row in rows:
                by_supplier.setdefault(row.supplier, []).append(row)
            for code, wanted in by_supplier.items():
                if sum(row.cents for row in wanted) >= self._minimum[code]:
                    self.add(self._bought(code, tuple((row.part, row.pieces) for row in wanted)))

    def _bought(
        self, supplier: str, lines: tuple[tuple[str, int], ...], rush: bool = False
    ) -> Life:
        purchases.order(self.floor.shop, self._desk, supplier, lines)
        chance = draw(self.floor.seed, supplier, self.floor.clock.now)
        lead = 2 if rush else self._lead[supplier] + chance.choice((-1, 0, 0, 1, 3))
        yield working_days(self.floor.clock.now, max(1, lead * 5 / 7))
        for part, pieces in lines:
            self._lots += 7
            stores.receive(
                self.floor.shop,
                self._desk,
                stores.Delivery(
                    part, f"L-{self._lots}", pieces, self._cured(part), f"C{self._lots - 21000}"
                ),
            )

    def counted(self) -> Life:
        """The last days' counting. One lot waits for a second count, one for a manager."""
        shop, one = self.floor.shop, self._desk
        other = self.found.crew.beside((one,), "counter").initials
        for days in range(COUNTED_DAYS, 0, -1):
            yield working(at(self.today - timedelta(days=days), 12.4))
            with shop.read() as db:
                lots = due_counts.due(db, self.floor.clock.now).lots[:COUNTED_LOTS]
                there = {
                    lot.number: lot.on_hand for row in lots for lot in shelves.lots_of(db, row.part)
                }
            for n, row in enumerate(lots):
                off = 3 if days == 1 and n < 2 else 0
                counting.count(shop, one, row.part, row.lot, there[row.lot] + off)
                if off and n:
                    counting.count(shop, other, row.part, row.lot, there[row.lot] + off)

    def rush(self, part: str) -> Life:
        """A part nobody has: bought by telephone, here in two days."""
        return self._bought(self._supplier[part], ((part, max(2, self._pack[part])),), rush=True)

    def _cured(self, part: str) -> str:
        if part not in self._rubber:
            return ""
        return str(shelf.quarter_of(self.floor.clock.now.date() - timedelta(days=SEAL_AGE)))


def lay_out(
    floor: Shopfloor,
    found: SampleShop,
    today: date,
    *,
    closed: int = CLOSED,
    progress: Progress | None = None,
) -> None:
    """Everything that happened up to today: ``closed`` visits that are over, and the open ones."""
    with floor.shop.read() as db:
        by_model = {doc.model: doc for doc in documents.newest(db)}
    book = Book(floor.seed, floor.ends, found.units, by_model)
    past = book.closed(closed)
    standing = list(open_visits(book, floor.ends))
    history = History(floor, found, today, by_model, progress)
    for life in (history.deliveries(), history.bottles(), history.calibrations(floor.clock.now)):
        history.add(life)
    for life in (history.purchases(), history.reviews(), history.on_order(), history.counted()):
        history.add(life)
    for visit in past:
        history.add(history.visit(visit))
    for visit in standing:
        history.add(history.short(visit) if visit.short else history.visit(visit))
    history.run()
