"""Costs recorded and cores judged, on both databases."""

from collections.abc import Callable
from datetime import date, datetime

from sqlalchemy import select, update

from shopdesk.desk import cores, costs, keeping, office, stores
from shopdesk.errors import BadInput, NotFound
from shopdesk.records import witness
from shopdesk.records.tables import CoreDeposit, CoreGrade, Job, JobCost, Lot, Unit
from shopdesk.views import cores as core_views
from shopdesk.views import costs as money
from shopdesk.views import money as months
from shopdesk.views import monthends
from tests.desk.floor import Floor, reconcile
from tests.desk.stocked import DATA

At = Callable[..., Floor]
GRADES = """
[cores]
late_percent = 50
source = "test rule 12"
[cores.grades]
A = 100
C = 40
D = 0
"""


def job_of(floor: Floor) -> money.JobMoney:
    with floor.shop.read() as db:
        return money.job(db, floor.number)


def position_of(floor: Floor) -> dict[str, tuple[int, int]]:
    with floor.shop.read() as db:
        rows = money.position(db, floor.clock().date())
    return {row.what: (row.count, row.cents) for row in rows}


def test_parts_cost_what_their_lots_cost(at: At) -> None:
    floor = at("build")
    seen = job_of(floor)
    parts = {line.name: line.actual_cents for line in seen.lines if line.cause == "pieces"}
    assert parts == {"SEAL-N90": 2 * 400, "WASHER": 150}  # as tests/desk/stocked.py receives them
    assert seen.quoted_cents == floor.sheet.facts.quote.total_cents  # type: ignore[union-attr]
    stores.give_back(floor.shop, "TT", floor.number, "S-OLD", 1, "left over")
    assert dict(job_of(floor).causes)["pieces"] == -400
    before = position_of(floor)["work in progress"]
    assert before == (1, job_of(floor).cost_cents)
    costs.record_bill(floor.shop, "CC", floor.number, "outside", 12_000, "plating, bill 17")
    costs.record_bill(floor.shop, "CC", floor.number, "freight", 900, "to the plater")
    costs.record_hours(floor.shop, "TT", floor.number, "build", "1:30", rework=True)
    after = job_of(floor)
    assert (
        dict(after.causes).items()
        >= {
            "outside": 12_000,
            "freight": 900,
            "rework": 9_000,  # 1.5 h at the 60.00 of tests/desk/data/shop.toml
        }.items()
    )
    assert position_of(floor)["work in progress"] == (1, before[1] + 12_000 + 900 + 9_000)
    costs.record_bill(floor.shop, "CC", floor.number, "outside", -12_000, "was another job's")
    assert "outside" not in dict(job_of(floor).causes)
    with floor.shop.record.write() as db:
        assert witness.fault(db) is None
        db.execute(update(JobCost).values(note="nothing"))
        assert "job_cost is not what event" in str(witness.fault(db))
    reconcile(floor)


def test_recorded_hours_stand_above_the_answers_times(at: At) -> None:
    floor = at("build")
    costs.record_hours(floor.shop, "TT", floor.number, "teardown", "45 min")
    teardown = next(x for x in job_of(floor).lines if x.name == "labour teardown")
    assert (teardown.actual_cents, "recorded" in teardown.why) == (4_500, True)


def test_nonsense_is_refused_and_nothing_written(at: At) -> None:
    floor = at("build")
    for hours in ("", "x", "1:75", "0", "0 min", "1e3", "99999"):
        with floor.refused(kind=BadInput):
            costs.record_hours(floor.shop, "TT", floor.number, "build", hours)
    with floor.refused(kind=BadInput, says="expected a section"):
        costs.record_hours(floor.shop, "TT", floor.number, "lunch", "1")
    with floor.refused(kind=BadInput, says="whose bill"):
        costs.record_bill(floor.shop, "CC", floor.number, "freight", 100, " ")
    with floor.refused(kind=NotFound):
        costs.record_hours(floor.shop, "TT", 99, "build", "1")
    assert floor.value(JobCost.id) is None


def test_stock_is_worth_what_its_lots_cost(floor: Floor) -> None:
    worth = position_of(floor)
    # as tests/desk/stocked.py receives them; S-GONE of 1Q2005 is over its time
    assert worth["stock to be used"] == (6, 40 * 400 + 10 * 900 + 10 * 150 + 2 * 12_000 + 30_000)
    assert worth["stock over its time"] == (1, 5 * 400)


def exchanged(floor: Floor) -> int:
    text = (DATA / "shop.toml").read_text().replace('revision = "1"', 'revision = "9"', 1)
    keeping.adopt_document(floor.shop.laying_out(), "MM", "shop", text + GRADES)
    floor.take_in("PT-1", "X-1", customer="HOUSE", kind="exchange")
    with floor.shop.record.write() as db:  # as if rebuilt: on the shelf
        db.execute(update(Job).values(closed_at=floor.clock()))
        db.execute(update(Unit).values(pool=True))
    return office.exchange(
        floor.shop, "CC", "X-1", "C02", deposit_cents=45_000, carrier="collected"
    )


def test_a_core_comes_back_is_judged_and_its_credit_paid(floor: Floor) -> None:
    deposit = exchanged(floor)
    assert position_of(floor)["cores owed to the shop"] == (1, 45_000)
    with floor.refused(says="has not come back"):
        cores.judge(floor.shop, "TT", deposit, "A")
    floor.take_in("PT-1", "OLD-7", customer="C02")
    assert position_of(floor)["cores back, not judged"] == (1, -45_000)
    for wrong, says in ((("B",), "expected one of A, C, D"), (("A", ("NOPE",)), "no part")):
        with floor.refused(kind=BadInput, says=says):
            cores.judge(floor.shop, "TT", deposit, *wrong)
    with floor.refused(says="not judged yet"):
        cores.pay(floor.shop, "CC", deposit)
    said = cores.judge(floor.shop, "TT", deposit, "A", ("piston", "washer"), "plate legible")
    assert "328.50 EUR of 450.00 EUR go back" in said  # less 120.00 and 1.50
    view = floor.look()
    assert (view.heading.customer, view.sheet.facts.kind) == ("Dry Fork Test Shop", "exchange")
    with floor.refused(says="judged already"):
        cores.judge(floor.shop, "TT", deposit, "C")
    assert position_of(floor)["credits for cores"] == (1, -32_850)
    cores.pay(floor.shop, "CC", deposit)
    with floor.refused(says="was paid on"):
        cores.pay(floor.shop, "CC", deposit)
    assert position_of(floor)["credits for cores"] == (0, 0)
    with floor.shop.read() as db:
        assert core_views.deposits(db, date(2026, 3, 2)) == ()
        assert db.execute(select(CoreGrade.missing)).scalar_one() == ["PISTON", "WASHER"]
        assert witness.fault(db) is None
    with floor.shop.record.write() as db:
        db.execute(update(CoreGrade).values(credit_cents=45_000))
        assert "core_grade is not what event" in str(witness.fault(db))
        db.execute(update(CoreGrade).values(credit_cents=32_850))
    reconcile(floor)


def test_a_late_core_brings_less(floor: Floor) -> None:
    deposit = exchanged(floor)
    due = floor.value(CoreDeposit.due_on)
    floor.clock.on(days=31)
    with floor.shop.read() as db:
        assert [one.state for one in core_views.deposits(db, floor.clock().date())] == ["LATE"]
    floor.take_in("PT-1", "OLD-7", customer="C02")
    assert floor.clock().date() > due
    assert "225.00 EUR of 450.00 EUR go back, it came after" in cores.judge(
        floor.shop, "TT", deposit, "A"
    )


def test_yield_counts_what_became_of_cores(at: At) -> None:
    floor = at("decision")
    with floor.shop.record.write() as db:
        db.execute(update(Job).values(closed_at=floor.clock(), road="scrapped"))
    with floor.shop.read() as db:
        rows = core_views.yields(db)
    assert [(row.model, row.rebuilt, row.scrapped, row.percent) for row in rows] == [
        ("GT-1", 0, 1, 0.0)
    ]


def test_a_lot_far_too_large_is_still_summed(floor: Floor) -> None:
    """9,999,999 pieces at 120.00, mistyped: more cents than a 32-bit integer counts."""
    stores.receive(floor.shop, "CC", stores.Delivery("PISTON", "P-99", 9_999_999))
    cost = floor.value(Lot.unit_cost_cents, Lot.number == "P-99")
    with floor.shop.read() as db:
        worth = {one.what: one.cents for one in money.position(db, floor.clock().date())}
        still = months.still(db, floor.clock())
    assert worth["stock to be used"] > 9_999_999 * cost
    assert still > 9_999_999 * cost


def test_what_was_tied_up_then_is_what_was_said_then(at: At) -> None:
    """The same question asked on the day and reckoned back from a later one."""
    floor = at("decision")
    floor.quote()
    moments: list[datetime] = []
    said: list[monthends.TiedUp] = []
    for days in (9, 30, 3):
        with floor.shop.read() as db:
            moments.append(floor.clock())
            said.extend(monthends.tied_up(db, [floor.clock()]))
        floor.clock.on(days=days)
        floor.go({9: "build", 30: "shipment", 3: "done"}[days])
        stores.receive(floor.shop, "CC", stores.Delivery("PISTON", f"P-{days}", 2, ""))
    with floor.shop.read() as db:
        again = monthends.tied_up(db, moments)
        today = {one.what: one.cents for one in money.position(db, floor.clock().date())}
        (now,) = monthends.tied_up(db, [floor.clock()])
    assert list(again) == said
    assert [one.quotes > 0 for one in said] == [True, False, False]
    assert said[1].work > said[0].work
    assert len({one.stock for one in said}) == len(said)
    assert now.work == today["work in progress"]
    own = (
        "stock to be used",
        "stock over its time",
        "used parts from cores",
        "stock in quarantine",
    )
    assert now.stock == sum(today[what] for what in own)
