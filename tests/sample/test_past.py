"""Two years behind the sample shop: how much happened, and that its books add up."""

from collections import Counter
from collections.abc import Iterator
from datetime import datetime
from itertools import pairwise

import pytest
from sqlalchemy import Connection, case, func, select

from shopdesk.records import chain
from shopdesk.records.engine import Record
from shopdesk.records.tables import (
    Calibration,
    Concession,
    CoreDeposit,
    Entry,
    Event,
    Instrument,
    Job,
    Lot,
    Part,
    ProcedureRevision,
    Purchase,
    PurchaseLine,
    Reopening,
    Shipment,
    StockMove,
    Unit,
    UnitModel,
)
from tests.fixtures_sample import SAMPLE_DAY

LEFT = ("shipped", "scrapped", "to the exchange shelf")


@pytest.fixture
def db(sample_to_read: Record) -> Iterator[Connection]:
    with sample_to_read.read() as connection:
        yield connection


def counted(db: Connection, kind: str) -> int:
    return db.execute(select(func.count(Event.id)).where(Event.kind == kind)).scalar_one()


def test_at_least_150_jobs_are_over_and_they_span_two_years(db: Connection) -> None:
    closed = db.execute(
        select(func.count(Job.id), func.min(Job.opened_at), func.max(Job.closed_at)).where(
            Job.closed_at.is_not(None)
        )
    ).one()
    assert closed[0] >= 150
    assert closed[1] is not None
    assert closed[2] is not None
    assert (closed[2] - closed[1]).days > 700
    assert closed[2].date() < SAMPLE_DAY


def test_every_model_was_here_and_some_serials_came_back(db: Connection) -> None:
    visits = db.execute(
        select(UnitModel.code, Unit.serial)
        .join(Unit, Unit.unit_model_id == UnitModel.id)
        .join(Job, Job.unit_id == Unit.id)
        .where(Job.closed_at.is_not(None))
    ).all()
    models = Counter(row.code for row in visits)
    procedures = db.execute(select(func.count(ProcedureRevision.id))).scalar_one()
    assert len(models) == procedures == 7
    assert min(models.values()) >= 3
    serials = Counter((row.code, row.serial) for row in visits)
    assert len(serials) >= 60
    assert sum(count > 1 for count in serials.values()) >= 15


def test_what_goes_wrong_in_a_shop_went_wrong_here(db: Connection) -> None:
    roads = dict(db.execute(select(Job.road, func.count()).group_by(Job.road)).all())
    causes = dict(db.execute(select(Reopening.cause, func.count()).group_by(Reopening.cause)).all())
    warranty = db.execute(select(func.count()).where(Job.kind == "warranty")).scalar_one()
    corrected = db.execute(select(func.count(Entry.supersedes))).scalar_one()
    assert roads["declined"] >= 5
    assert roads["scrapped"] >= 2
    assert causes["rework"] >= 5
    assert causes["remeasure"] >= 10
    assert causes["vent void"] >= 20
    assert causes["consequence"] >= 2
    assert warranty >= 8
    assert corrected >= 8
    assert counted(db, "incident") >= 2
    assert counted(db, "promise") >= 3
    assert db.execute(select(func.count(Concession.id))).scalar_one() >= 1


def test_exchange_units_went_out_and_one_core_is_owed_still(db: Connection) -> None:
    settled = db.execute(select(CoreDeposit.settled_job_id)).scalars().all()
    assert sum(job is not None for job in settled) >= 2
    assert sum(job is None for job in settled) == 1
    on_shelf = db.execute(select(func.count(Unit.id)).where(Unit.pool)).scalar_one()
    assert on_shelf >= 1


def test_every_job_that_is_over_has_left_or_stands_on_the_shelf(db: Connection) -> None:
    closed = set(db.execute(select(Job.id).where(Job.closed_at.is_not(None))).scalars())
    left = db.execute(select(Event.job_id).where(Event.kind.in_(LEFT))).scalars().all()
    assert set(left) == closed
    assert len(left) == len(closed)
    shipped = set(
        db.execute(select(Event.job_id).where(Event.kind.in_(("shipped", "scrapped")))).scalars()
    )
    assert shipped <= set(db.execute(select(Shipment.job_id)).scalars())


def test_nothing_left_with_gas_that_nobody_had_measured(db: Connection) -> None:
    states = db.execute(
        select(Shipment.gas_state, Shipment.charge_pa).where(Shipment.gas_state == "charged")
    ).all()
    assert states
    assert all(row.charge_pa is not None for row in states)


def test_the_shelf_is_what_the_ledger_says_for_every_part_and_lot(db: Connection) -> None:
    on_shelf = case((StockMove.kind == "harvest", 0), else_=StockMove.on_hand_change)
    moved = select(
        StockMove.part_id,
        func.sum(on_shelf).label("on_hand"),
        func.sum(StockMove.reserved_change).label("reserved"),
    ).group_by(StockMove.part_id)
    ledger = {row.part_id: (row.on_hand, row.reserved) for row in db.execute(moved)}
    for part in db.execute(select(Part.id, Part.number, Part.on_hand, Part.reserved)):
        assert ledger.get(part.id, (0, 0)) == (part.on_hand, part.reserved), part.number
    by_lot = select(StockMove.lot_id, func.sum(StockMove.on_hand_change)).where(
        StockMove.lot_id.is_not(None)
    )
    lots = {row[0]: row[1] for row in db.execute(by_lot.group_by(StockMove.lot_id))}
    found = db.execute(select(Lot.id, Lot.number, Lot.on_hand)).all()
    assert [(lot.number, lots.get(lot.id, 0)) for lot in found] == [
        (lot.number, lot.on_hand) for lot in found
    ]
    assert {row.part_id for row in db.execute(select(Lot.part_id))} == set(ledger)


def test_scrapped_units_left_graded_parts_and_matched_sets_are_on_the_shelf(db: Connection) -> None:
    used = db.execute(
        select(Lot.grade, Lot.on_hand, Part.compound, Job.road)
        .join(Part, Part.id == Lot.part_id)
        .join(Job, Job.id == Lot.job_id)
        .where(Lot.origin == "harvested")
    ).all()
    assert len(used) >= 3
    assert {(row.compound, row.road) for row in used} == {("", "scrapped")}
    assert {row.grade for row in used} <= {"A", "B", "C"}
    sets = db.execute(
        select(Lot.set_number, func.count(Lot.id))
        .where(Lot.set_number != "", Lot.on_hand > 0, Lot.set_broken.is_(False))
        .group_by(Lot.set_number)
    ).all()
    assert len(sets) >= 3
    assert {row[1] for row in sets} == {2}


def test_pieces_reserved_are_for_jobs_that_are_still_here(db: Connection) -> None:
    held = db.execute(
        select(Job.closed_at, func.sum(StockMove.reserved_change).label("pieces"))
        .join(Job, Job.id == StockMove.job_id)
        .group_by(Job.id, Job.closed_at)
        .having(func.sum(StockMove.reserved_change) > 0)
    ).all()
    assert held
    assert all(row.closed_at is None for row in held)


def test_stores_bought_and_one_purchase_is_still_to_come(db: Connection) -> None:
    lines = db.execute(
        select(Purchase.due_on, PurchaseLine.quantity, PurchaseLine.received).join(
            PurchaseLine, PurchaseLine.purchase_id == Purchase.id
        )
    ).all()
    assert len(lines) > 100
    due = [row.due_on for row in lines if row.received < row.quantity]
    assert 1 <= len(due) <= 4
    assert max(due) > SAMPLE_DAY


def test_the_chain_of_events_is_whole(db: Connection) -> None:
    report = chain.verify(db)
    assert report.broken is None
    assert report.rows > 10_000


def test_times_only_go_forward(db: Connection) -> None:
    moments = db.execute(select(Event.at).order_by(Event.id)).scalars().all()
    assert all(before <= after for before, after in pairwise(moments))


def test_no_pin_is_in_the_events(db: Connection) -> None:
    said = db.execute(select(Event.payload).where(Event.kind == "person")).scalars().all()
    assert len(said) >= 8
    assert all(set(payload) == {"initials", "name", "role"} for payload in said)


def test_instruments_were_in_date_when_they_were_used(db: Connection) -> None:
    used = db.execute(
        select(Entry.instrument_id, Entry.at).where(Entry.instrument_id.is_not(None))
    ).all()
    calibrations = db.execute(
        select(Calibration.instrument_id, Calibration.at, Calibration.due)
    ).all()
    periods: dict[int | None, list[tuple[datetime, datetime]]] = {}
    for tool, at, due in calibrations:
        periods.setdefault(tool, []).append((at, due))
    assert len(used) > 1000
    for tool_used, moment in used:
        assert any(at <= moment <= due for at, due in periods[tool_used])


def test_some_instruments_are_overdue_today(db: Connection) -> None:
    latest = (
        select(Instrument.code, func.max(Calibration.due).label("due"))
        .join(Calibration, Calibration.instrument_id == Instrument.id)
        .group_by(Instrument.code)
    )
    overdue = {row.code for row in db.execute(latest) if row.due.date() < SAMPLE_DAY}
    assert overdue == {"G-15", "H-02", "W-02"}
