"""Whatever is tried, in whatever order: nothing is opened charged, nothing charged unproved.

A person who types anything anywhere, corrects, concedes, reports and moves on, driven through
the desk on a real record; what was let through is judged afterwards by the gates' own words.
"""

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)
from sqlalchemy import func

from shopdesk.desk import bench, counter, office
from shopdesk.errors import ShopError
from shopdesk.procedure import Regulator, Signature, Wait
from shopdesk.records.engine import Record, open_record
from shopdesk.records.tables import Entry
from shopdesk.rules.answers import GasState, Road
from shopdesk.rules.sheet import Sheet, State
from tests import sharing
from tests.desk.conftest import Stages
from tests.desk.floor import GOOD, Clock, Floor, opened, reconcile
from tests.desk.stocked import PINS

TYPED = (
    "",
    "0 bar",
    "40 bar",
    "70 bar at 20 C",
    "60 bar at 20 C",
    "20 C",
    "75 bar",
    "119 bar",
    "200 bar",
    "good",
    "scored",
    "replace",
    "reuse",
    "measure again",
    "rework",
    "charge again",
    "ask customer",
    "scrap",
    "1",
    "2",
    "160 in-lb",
    "300 in-lb",
    "40.02 mm",
    "4.2 mm",
    "11 mL",
    "cannot: worn",
    "N2-1",
    "AR-1",
    "R-1",
    "R-60",
    "H-1",
    "W-01",
    "S-OLD",
    "W-1",
    "plugged",
    "capped",
    "open",
    "vented",
    "charged",
    "TT 3333",
    "UU 4444",
    "MM 1111",
    "110 bar",
    "118 bar",
)
PEOPLE = ("TT", "UU", "MM")
OPENING = ("teardown", "build")


class Attempts(RuleBasedStateMachine):
    """One job, and everything that can be done to it."""

    stages: Stages
    folder: Path
    made = 0

    def __init__(self) -> None:
        super().__init__()
        self.record: Record | None = None
        self.rough = False

    @initialize(
        section=st.sampled_from(["vent", "teardown", "build", "proof", "charge", "hold"]),
        rough=st.integers(0, 3),
    )
    def begin(self, section: str, rough: int) -> None:
        self.rough = rough == 0
        path, now, number = self.stages.job("GT-1", section)
        Attempts.made += 1
        copy = self.folder / f"{Attempts.made}.db"
        shutil.copyfile(path, copy)
        self.record = open_record(f"sqlite:///{copy}")
        clock = Clock(now)
        self.floor = Floor(opened(self.record, clock), clock, number)
        self.sheet = self.floor.sheet

    def attempt(self, deed: Callable[[], object]) -> None:
        """Does it if it is let, and judges what was let."""
        before = self.sheet
        newest = int(self.floor.value(func.coalesce(func.max(Entry.id), 0)))
        try:
            deed()
        except ShopError:
            return
        self.sheet = self.floor.sheet
        for line, slot in _new(self.sheet, newest):
            self._judge(before, line, slot)

    def _judge(self, before: Sheet, key: str, slot: str) -> None:
        state = before.get(key)
        assert state is not None
        section = state.line.section
        assert not before.facts.closed
        if slot in state.given or section not in before.sections:
            return  # a correction
        if section in OPENING:
            assert before.facts.gas_state is GasState.VENTED, key
            assert before.complete("vent"), key
        if before.facts.road is Road.QUARANTINED:
            assert section == "quarantined", key
        if section == "build":
            assert before.complete("parts"), key
            quote = before.facts.quote
            assert quote is not None, key
            assert quote.answer == "approved", key
            assert quote.total_cents + before.facts.extra_cents <= quote.cap_cents
        if section == "charge":
            assert before.complete("proof"), key
        if section in ("release", "shipment"):
            assert all(before.complete(name) for name in ("proof", "charge", "hold")), key

    @rule(pick=st.integers(0, 10**6), typed=st.sampled_from(TYPED), who=st.sampled_from(PEOPLE))
    def answer_anything(self, pick: int, typed: str, who: str) -> None:
        line = self.sheet.lines[pick % len(self.sheet.lines)]
        self.attempt(lambda: self.floor.say(line.line.key, typed, who=who, confirmed=True))

    @rule(times=st.integers(1, 6), who=st.sampled_from(PEOPLE))
    def go_on(self, times: int, who: str) -> None:
        for _ in range(times):
            self.attempt(lambda: self._good(who))

    def _good(self, who: str) -> None:
        state = self.sheet.cursor
        if state is None or state.next_slot is None:
            return
        key, slot = state.line.key, state.next_slot.name
        if key == "decision.quoted":
            self.floor.quote()
            return
        if key == "decision.approval":
            self.floor.answer()
            return
        if isinstance(state.line, Wait):
            self.floor.clock.on(seconds=state.line.duration.value_si)
        typed = GOOD.get(f"{key}/{slot}", GOOD.get(key, ""))
        if isinstance(state.line, Signature):
            typed = f"{who} {PINS[who]}"
        if key == "build.gland":
            typed = "160 in-lb"
        self.floor.say(key, typed, who=who, confirmed=True)

    @rule(pick=st.integers(0, 10**6), typed=st.sampled_from(TYPED), who=st.sampled_from(PEOPLE))
    def correct_anything(self, pick: int, typed: str, who: str) -> None:
        given = [(s.line.key, name) for s in self.sheet.lines for name in s.given]
        if given:
            key, slot = given[pick % len(given)]
            self.attempt(lambda: self.floor.correct(key, typed, slot=slot, who=who, confirmed=True))

    @rule(pick=st.integers(0, 10**6))
    def concede_anything(self, pick: int) -> None:
        wide = [s.line.key for s in self.sheet.lines if s.verdict.value == "outside"]
        if wide:
            self.attempt(lambda: self.floor.concede(wide[pick % len(wide)]))

    @rule()
    def hiss(self) -> None:
        self.attempt(self.floor.hiss)
        if not self.sheet.facts.closed:
            assert self.sheet.facts.gas_state is GasState.CHARGED

    @rule()
    def quarantine(self) -> None:
        floor = self.floor
        self.attempt(lambda: bench.quarantine(floor.shop, "TT", floor.number, "smells"))

    @precondition(lambda self: self.rough)
    @rule(approved=st.booleans())
    def quote_anew(self, approved: bool) -> None:
        self.attempt(self.floor.quote)
        self.attempt(lambda: self.floor.answer(approved))

    @precondition(lambda self: self.rough)
    @rule()
    def scrap(self) -> None:
        floor = self.floor
        self.attempt(
            lambda: office.scrap(floor.shop, "CC", floor.number, "Ole", "telephone", "worn")
        )

    @rule()
    def to_the_door(self) -> None:
        floor = self.floor
        self.attempt(lambda: counter.hand_over(floor.shop, "CC", floor.number, "Coast Haulage"))

    @invariant()
    def vented_means_a_whole_record_seen_by_another(self) -> None:
        if self.record is None:
            return
        sheet = self.sheet
        if sheet.facts.gas_state is GasState.VENTED:
            asked = [s for s in sheet.section("vent") if s.state is not State.NOT_ASKED]
            assert all(s.state is State.DONE for s in asked)
            signed = sheet.get("vent.seen")
            assert signed is not None
            witness = signed.given["signed"].witness
            workers = {a.person for s in asked if s is not signed for a in s.given.values()}
            assert witness not in workers

    @invariant()
    def nothing_is_set_above_the_rating(self) -> None:
        if self.record is None:
            return
        for state in self.sheet.section("charge"):
            put = state.given.get("setting")
            if isinstance(state.line, Regulator) and put is not None:
                assert put.value_si is not None
                assert put.value_si <= 120e5
                rig = self.sheet.get("charge.rig")
                assert rig is not None
                assert rig.given["instrument"].answer == "R-1"

    @invariant()
    def nothing_left_charged(self) -> None:
        if self.record is not None and self.sheet.facts.closed:
            assert self.sheet.facts.gas_state is GasState.VENTED
            assert not any(state.open for state in self.sheet.lines)

    def teardown(self) -> None:
        if self.record is not None:
            reconcile(self.floor)
            self.record.close()


def _new(sheet: Sheet, newest: int) -> list[tuple[str, str]]:
    return [
        (a.line, a.slot)
        for s in sheet.lines
        for a in (*s.given.values(), *s.past)
        if a.id > newest and a.supersedes is None
    ]


@pytest.fixture
def stages(sqlite_pattern: Path, tmp_path_factory: pytest.TempPathFactory) -> Stages:
    return Stages(sqlite_pattern, sharing.folder(tmp_path_factory))


def test_no_order_of_attempts_gets_round_the_gates(stages: Stages, tmp_path: Path) -> None:
    machine = type("Attempts", (Attempts,), {"stages": stages, "folder": tmp_path})
    run_state_machine_as_test(
        machine,
        settings=settings(
            max_examples=12,
            stateful_step_count=30,
            deadline=None,
            derandomize=True,
            phases=(Phase.generate,),
            suppress_health_check=list(HealthCheck),
        ),
    )
