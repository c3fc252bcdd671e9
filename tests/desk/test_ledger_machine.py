"""The ledger under random work from two sessions: never negative, always equal to its rows."""

from collections.abc import Callable

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)
from sqlalchemy import case, func, select

from shopdesk.desk import counting, counts, stock, stores
from shopdesk.desk.shop import Deed, Shop, find_worker
from shopdesk.errors import ShopError
from shopdesk.records.engine import open_record
from shopdesk.records.tables import Job, Lot, Part, StockMove
from shopdesk.rules.ledger import BESIDE
from shopdesk.views import lots
from tests.desk.floor import Floor, opened

PART = "WASHER"
LOTS = ("W-1", "W-2", "W-3")
OWN = "K-1"
pieces = st.integers(-1, 9)
session = st.integers(0, 1)


class Ledger(RuleBasedStateMachine):
    """Two sessions work on one part; ``on_hand`` by lot, ``held`` and ``out`` by job are what a
    person beside the shelf would have counted."""

    floor: Floor
    other: Shop

    @initialize()
    def begin(self) -> None:
        self.shops = (self.floor.shop, self.other)
        with self.floor.shop.read() as db:
            self.jobs = list(db.execute(select(Job.id).order_by(Job.id)).scalars())
            rows = db.execute(
                select(Lot.number, Lot.on_hand, Lot.origin, Lot.bin)
                .join(Part, Part.id == Lot.part_id)
                .where(Part.number == PART)
            ).all()
            self.on_hand: dict[str, int] = {
                row.number: row.on_hand for row in rows if row.origin == "bought"
            }
            self.bins = {row.number: row.bin for row in rows}
            # of the newer job's customer; None: he brought none
            self.own = next((row.on_hand for row in rows if row.number == OWN), None)
        self.held = self._promised()

    def _promised(self) -> dict[int, int]:
        with self.floor.shop.read() as db:
            rows = db.execute(
                select(StockMove.job_id, func.sum(StockMove.reserved_change))
                .join(Part, Part.id == StockMove.part_id)
                .where(Part.number == PART, StockMove.job_id.is_not(None))
                .group_by(StockMove.job_id)
            )
            return {job: int(sum_) for job, sum_ in rows if job is not None}

    def _now_on_shelf(self, lot: str, n: int) -> None:
        """The lot has n pieces now. What is left covers promises, those above it are given up, of
        the youngest job first; a job that waits may get some of what is more."""
        more = n > self.on_hand.get(lot, 0)
        self.on_hand[lot] = n
        before, self.held = self.held, self._promised()
        if not more:
            over = max(0, sum(before.values()) - sum(self.on_hand.values()))
            for job in sorted(before, reverse=True):
                given = min(over, before[job])
                over -= given
                assert self.held.get(job, 0) == before[job] - given
        assert all(self.held.get(job, 0) >= before[job] for job in before if more)

    def tried(self, deed: Callable[[], object]) -> bool:
        try:
            deed()
        except ShopError:
            return False
        return True

    @property
    def free(self) -> int:
        return sum(self.on_hand.values()) - sum(self.held.values())

    @rule(who=session, lot=st.sampled_from(LOTS), n=pieces)
    def receive(self, who: int, lot: str, n: int) -> None:
        delivery = stores.Delivery(PART, lot, n)
        assert self.tried(lambda: stores.receive(self.shops[who], "CC", delivery)) == (n > 0)
        if n > 0:
            self._now_on_shelf(lot, self.on_hand.get(lot, 0) + n)

    @rule(who=session, job=st.integers(0, 1), n=st.integers(1, 9))
    def reserve(self, who: int, job: int, n: int) -> None:
        job_id = self.jobs[job]
        done = self.tried(lambda: self._move(who, "reserve", job_id, reserved=n))
        assert done == (n <= self.free)
        if done:
            self.held[job_id] = self.held.get(job_id, 0) + n

    @rule(who=session, job=st.integers(0, 1))
    def release(self, who: int, job: int) -> None:
        job_id = self.jobs[job]

        def work(deed: Deed) -> None:
            stock.release_kit(deed, job_id, find_worker(deed.db, "CC"), "not wanted")

        self.shops[who].write(work)
        self.held[job_id] = 0

    @rule(who=session, job=st.integers(0, 1), lot=st.sampled_from(LOTS), n=st.integers(1, 9))
    def issue(self, who: int, job: int, lot: str, n: int) -> None:
        job_id, own = self.jobs[job], self.held.get(self.jobs[job], 0)
        there = self.on_hand.get(lot, 0)

        def work(deed: Deed) -> None:
            found = lots.scanned(deed.db, lot, PART)
            stock.issue(deed, job_id, "washer", found, n, find_worker(deed.db, "TT"))

        done = self.tried(lambda: self.shops[who].write(work))
        assert done == (n <= there and n - min(own, n) <= self.free)
        if done:
            self.on_hand[lot] = there - n
            self.held[job_id] = own - min(own, n)

    @precondition(lambda self: self.on_hand)
    @rule(who=session, lot=st.sampled_from(LOTS), n=pieces)
    def count(self, who: int, lot: str, n: int) -> None:
        there = self.on_hand.get(lot)
        done = self.tried(lambda: counting.count(self.shops[who], "CC", PART, lot, n, "counted"))
        assert done == (there is not None and n >= 0)
        if done:
            self._now_on_shelf(lot, n)

    @rule(who=session, lot=st.sampled_from(LOTS), n=pieces)
    def scrap(self, who: int, lot: str, n: int) -> None:
        there = self.on_hand.get(lot, 0)
        done = self.tried(lambda: counts.scrap(self.shops[who], "CC", PART, lot, n, "bent"))
        assert done == (0 < n <= there)
        if done:
            self._now_on_shelf(lot, there - n)

    @rule(who=session, lot=st.sampled_from(LOTS), to=st.sampled_from(("A1", "B2", "")))
    def transfer(self, who: int, lot: str, to: str) -> None:
        lay = self.bins.get(lot, "")
        done = self.tried(lambda: counts.transfer(self.shops[who], "CC", PART, lot, to))
        assert done == (self.on_hand.get(lot, 0) > 0 and to not in (lay, ""))
        if done:
            self.bins[lot] = to

    @rule(who=session, n=pieces)
    def bring(self, who: int, n: int) -> None:
        delivery = stores.Delivery(PART, OWN, n, job=self.floor.number)
        assert self.tried(lambda: stores.receive(self.shops[who], "CC", delivery)) == (n > 0)
        if n > 0:
            self.own = (self.own or 0) + n
            job_id = self.floor.look().heading.job_id
            before, self.held = self.held, self._promised()
            assert self.held.get(job_id, 0) == 0  # its kit asks for one washer
            # what it held is free, and the other job may have waited for it
            others = {job: held for job, held in before.items() if job != job_id}
            assert all(self.held.get(job, 0) >= held for job, held in others.items())

    @rule(who=session, n=pieces)
    def spoil(self, who: int, n: int) -> None:
        done = self.tried(lambda: counts.scrap(self.shops[who], "CC", PART, OWN, n, "bent"))
        assert done == (0 < n <= (self.own or 0))
        if done:
            self.own = (self.own or 0) - n

    def _move(self, who: int, kind: str, job_id: int, *, reserved: int) -> None:
        def work(deed: Deed) -> None:
            stock.move(
                deed,
                kind,
                stock.part_id_of(deed.db, PART),
                find_worker(deed.db, "CC"),
                reserved=reserved,
                job_id=job_id,
                kit_line="washer",
            )

        self.shops[who].write(work)

    @invariant()
    def the_record_is_what_was_done(self) -> None:
        with self.floor.shop.read() as db:
            part = db.execute(
                select(Part.id, Part.on_hand, Part.reserved).where(Part.number == PART)
            ).one()
            change = case((StockMove.kind.in_(BESIDE), 0), else_=StockMove.on_hand_change)
            ledger = db.execute(
                select(func.sum(change), func.sum(StockMove.reserved_change)).where(
                    StockMove.part_id == part.id
                )
            ).one()
            of_part = select(Lot.number, Lot.on_hand).where(Lot.part_id == part.id)
            shelf = dict(db.execute(of_part.where(Lot.origin == "bought")).all())
            own = dict(db.execute(of_part.where(Lot.origin == "customer")).all())
        assert (part.on_hand, part.reserved) == tuple(ledger)
        assert part.on_hand == sum(shelf.values())
        assert min(shelf.values()) >= 0
        assert 0 <= part.reserved <= part.on_hand
        if hasattr(self, "on_hand"):
            assert shelf == self.on_hand
            assert own == ({} if self.own is None else {OWN: self.own})
            assert part.reserved == sum(self.held.values())


@pytest.mark.parametrize("steps", [14])
def test_two_sessions_on_one_shelf(at: Callable[..., Floor], steps: int) -> None:
    floor = at("parts")
    floor.take_in(serial="K-2")
    record = open_record(floor.shop.record.url)
    other = opened(record, floor.clock)
    machine = type("Machine", (Ledger,), {"floor": floor, "other": other})
    try:
        run_state_machine_as_test(
            machine,
            settings=settings(
                max_examples=8,
                stateful_step_count=steps,
                deadline=None,
                suppress_health_check=list(HealthCheck),
            ),
        )
    finally:
        record.close()
