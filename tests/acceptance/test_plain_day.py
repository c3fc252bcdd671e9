"""One accumulator, door to door, by key presses on each database: what is seen, what is kept."""

from datetime import timedelta
from io import BytesIO

from pypdf import PdfReader
from sqlalchemy import func, select

from shopdesk.paper import certificate
from shopdesk.records import chain
from shopdesk.records.tables import Entry, Event, Job, Lot, Part, Shipment, StockMove
from shopdesk.views import board, certificates
from tests.acceptance.conftest import Day
from tests.acceptance.filling import fill
from tests.acceptance.terminal import Terminal, terminal


async def test_one_accumulator_door_to_door(day: Day) -> None:
    async with terminal(day.shop) as t:
        number = await _counter(t, day)
        await _vent(t, day, number)
        await _teardown(t, day)
        await _office(t, day, number)
        await _parts_and_build(t, day, number)
        await _proof_and_charge(t, day)
        await _hold_and_release(t, day)
        await _ships_vented(t, day, number)
        assert "mouse" not in " ".join(t.pressed)
    _certificate_stands(day, number)
    _reconciles(day, number)


async def _counter(t: Terminal, day: Day) -> int:
    """1. The clerk logs the core; its serial brings back the visit two years ago."""
    await t.press("f6")
    await t.enter("SK 2690")
    await t.press("n")
    await t.write("K204")
    await t.settled()
    t.shows("K20418", "PA-016", "Charge read back", "Bore, from the gas end", "OR-219-N90")
    await t.press("down", "enter")
    t.shows("Rescue Station Ytre Odde", "Date offered: 2026-12-07")
    await t.enter("pressure sags overnight")
    await t.press("enter", "enter", "enter")
    number = t.sheet.number
    t.shows("GAS UNKNOWN: counts as charged", "due 2026-12-07", f"J-{number}")
    await fill(t, day, day.crew.one("SK"), until="vent", said={"receipt.gas_told": "not known"})
    await t.press("f12")
    t.shows(f"J-{number}", "Serial K20418")
    await t.press("s")
    t.shows("PRESSURE UNKNOWN - TREAT AS CHARGED")
    await t.press("escape")
    return number


async def _vent(t: Terminal, day: Day, number: int) -> None:
    """2. The bench scans the tag; what follows is shut until a second person signs."""
    await t.press("f6")
    await t.enter("RT 9046")
    await t.press("f3")
    await t.enter(f"J-{number}")
    assert t.line == "vent.pressure"
    t.shows("CAUTION", "VENT 0 of 10")
    await t.press(*["down"] * 10)
    assert t.line == "teardown.relief_depth"
    t.shows("Closed:", "needs its vent record complete", "a second person")
    await t.enter("8.12 mm")
    t.shows("counts as charged")
    assert not day.view(number).sheet.section("teardown")[0].given
    await t.press("escape", "f8")
    await t.enter("62 bar at 21 C")
    t.shows("scan the pressure gauge")
    await t.enter("G-11")
    t.shows("61.8 bar at 20 C", "when shipped 20", "months, 0.33", "bar a month", "GAS CHARGED")
    await fill(t, day, day.hands.bench, until="vent.witness")
    await t.enter("RT 9046")
    t.shows("a second person has to sign", "GAS CHARGED")
    await t.enter("JV 0000")
    t.shows("initials and PIN do not fit")
    await t.enter("JV 3178")
    t.shows("gas vented", "TEARDOWN")


async def _teardown(t: Terminal, day: Day) -> None:
    """3. Readings are judged as they are entered; the bore is drawn; a seal is to be replaced."""
    await t.enter("D-01")
    for depth in ("8.12", "8.14", "8.13 mm"):
        await t.enter(depth if "mm" in depth else f"{depth} mm")
    t.shows("mean 8.130 mm, spread 0.020 mm", "WITHIN")
    await fill(
        t,
        day,
        day.hands.bench,
        until="teardown.bore",
        said={
            "teardown.gas_side_oil": "6 mL",
            "teardown.piston_seal": ["nibbled", "4 o'clock", "light", "3 mm", "replace"],
            "teardown.piston": "good",
            "teardown.relief_cartridge": "good",
        },
    )
    t.shows("6.0 mL")
    await t.enter("K-01")
    bore = ("40.012", "40.018", "40.010", "40.013", "40.006", "40.008")
    for at, reading in enumerate(bore):
        await t.enter(f"{reading} mm")
        if at == 0:
            t.shows("WITHIN 40.000 mm to 40.039 mm (shop drawing GS-016-02 rev C)", "a 0")
    t.shows("out-of-round 0.006 mm, taper 0.010 mm")
    await fill(t, day, day.hands.bench, until="decision")


async def _office(t: Terminal, day: Day, number: int) -> None:
    """4. A quote from kit, labour and margin; approved by telephone, up to a sum."""
    await t.press("f6")
    await t.enter("SK 2690")
    await t.press("f5")
    t.shows(f"J-{number}", "quote to make")
    await t.press("q")
    quote = day.view(number).sheet.facts.quote
    assert quote is not None
    assert quote.total_cents > 0
    t.shows("customer's answer to the quote")
    await t.press("a")
    t.shows("OR-219-N90", f"Agreed up to {quote.total_cents / 100:.2f}")
    await t.enter("approved")
    await t.enter("the coxswain")
    await t.enter("telephone")
    await t.enter(f"{(quote.total_cents + 5000) / 100:.2f}")
    answer = day.view(number).sheet.facts.quote
    assert answer is not None
    assert (answer.answer, answer.who, answer.how) == (
        "approved",
        "the coxswain",
        "telephone",
    ), t.screen()
    assert answer.cap_cents == quote.total_cents + 5000
    assert all(
        kit.reserved == kit.quantity
        for kit in day.view(number).sheet.facts.kit
        if kit.id in ("seal_piston", "seal_gas_cap")
    )


async def _parts_and_build(t: Terminal, day: Day, number: int) -> None:
    """5. Issued by scan, earliest lot first; torque echoed in both units; the depth restored."""
    await t.press("f6")
    await t.enter("RT 9046")
    await t.press("f3")
    await t.enter(f"J-{number}")
    assert t.line == "parts.issue_seal_piston"
    with day.shop.read() as db:
        lots = (
            db.execute(
                select(Lot.number)
                .join(Part, Part.id == Lot.part_id)
                .where(Part.number == "OR-219-N90", Lot.on_hand > 0)
                .order_by(Lot.use_by, Lot.received_at)
            )
            .scalars()
            .all()
        )
        other = (
            db.execute(
                select(Lot.number)
                .join(Part, Part.id == Lot.part_id)
                .where(Part.number == "OR-219-V90", Lot.on_hand > 0)
            )
            .scalars()
            .first()
        )
    await t.enter(other or "")
    t.shows("expected OR-219-N90, scanned OR-219-V90", "nothing was issued")
    await t.enter(lots[-1])
    t.shows("goes first")
    await t.enter(lots[0])
    t.shows(f"1 from {lots[0]}")
    await fill(t, day, day.hands.bench, until="build.ring_seen")
    await t.enter("RT 9046")
    t.shows("a second person has to sign")
    await t.enter("AD 8203")
    await fill(t, day, day.hands.bench, until="build.gas_valve")
    t.shows("adapter", "set the wrench")
    await t.enter("18.1 N·m")
    t.shows("W-05 reads 40.0 N·m to 200.0 N·m", "W-03")
    await t.enter("W-03")
    t.shows("18.1 N·m = 160.2 in-lb", "WITHIN 160 in-lb", "the wrench shows")
    await fill(t, day, day.hands.bench, until="build.bleed_screw")
    await t.enter("35")
    t.shows("in-lb", "ft-lb")
    assert not day.view(number).sheet.get("build.bleed_screw").given  # type: ignore[union-attr]
    await t.press("escape")
    await fill(t, day, day.hands.bench, until="build.relief_set")
    t.shows("teardown measured 8.130 mm")
    await t.enter("8.14 mm")
    t.shows("difference 0.010 mm", "WITHIN 8.130 mm ±")
    await fill(t, day, day.hands.bench, until="proof")


async def _proof_and_charge(t: Terminal, day: Day) -> None:
    """6. Tests pass; the charge for today's gas temperature with the sum that gives it."""
    await fill(t, day, day.hands.bench, until="charge.setting")
    t.shows("temperature of the gas")
    await t.enter("26 C")
    # Constant density from 70 bar(g) at 20 °C to 26 °C: 71.70 bar by CoolProp 8.0, ideal gas 71.45.
    t.shows("71.7 bar for gas at 26.0 °C (ideal gas 71.5 bar)", "over-set 6.0 bar (shop default)")
    t.shows("= set 77.7 bar", "fills left")
    await t.enter("420 bar")
    t.shows("above the rating of the")
    await t.press("escape")
    await t.enter("77.7 bar")
    t.shows("GAS CHARGED")
    await fill(t, day, day.hands.bench, until="charge.read_back")
    await t.enter("71.6 bar at 26 C")
    t.shows("WITHIN 70 bar ± 2 bar at 20 C", "69.9 bar at 20 C")
    await fill(t, day, day.hands.bench, until="hold")


async def _hold_and_release(t: Terminal, day: Day) -> None:
    """7. A day's hold, one reading corrected to one temperature, release."""
    await t.enter()
    await t.enter()
    t.shows("the hold is not over")
    day.on(hours=24, minutes=5)
    await t.enter()
    assert t.line == "hold.leak"
    await t.enter("70.4 bar at 23 C")
    t.shows("both at reference: lost", "WITHIN loss at most")
    await fill(t, day, day.hands.bench, until="release.signed")
    await t.enter("OB 7314")


async def _ships_vented(t: Terminal, day: Day, number: int) -> None:
    """7. At the customer's wish it ships vented, with a new vent record."""
    assert t.line == "shipment.ships_as"
    await t.enter("vented")
    assert t.line == "vent.pressure"
    t.shows("VENT 10 open, then shipment", "vent void", "GAS CHARGED")
    await fill(t, day, day.hands.bench, until="shipment")
    t.shows("gas vented")
    await t.press("f6")
    await t.enter("SK 2690")
    await fill(t, day, day.crew.one("SK"), until="nothing is left")
    t.shows("every line done")
    await t.press("f2")
    t.shows(f"J-{number}")
    await t.press("h")
    await t.enter("the coxswain, by hand")
    await t.press(*["enter"] * t.screen().count("> Note"))
    assert day.view(number).sheet.facts.closed, t.screen()


def _certificate_stands(day: Day, number: int) -> None:
    """7. One page, identical when printed again; every figure on it points to its entry."""
    with day.shop.read() as db:
        facts = certificates.certificate(db, number, day.clock())
        again = certificates.certificate(db, number, day.clock() + timedelta(days=90))
        figures = {
            entry
            for figure in (*facts.received, *facts.torques, *facts.settings, *facts.tests)
            for entry in figure.entries
        }
        known = set(
            db.execute(
                select(Entry.id).where(Entry.job_id == day.view(number).heading.job_id)
            ).scalars()
        )
    assert figures
    assert figures <= known
    document = certificate.pdf(facts)
    assert document == certificate.pdf(again)
    assert len(PdfReader(BytesIO(document)).pages) == 1


def _reconciles(day: Day, number: int) -> None:
    """Stock, cost and events agree; every value of the certificate points to an entry."""
    with day.shop.read() as db:
        for part, on_hand, reserved in db.execute(
            select(Part.id, Part.on_hand, Part.reserved)
        ).all():
            ledger = db.execute(
                select(
                    func.coalesce(func.sum(StockMove.on_hand_change), 0),
                    func.coalesce(func.sum(StockMove.reserved_change), 0),
                ).where(StockMove.part_id == part)
            ).one()
            assert tuple(ledger) == (on_hand, reserved)
            shelf = db.execute(
                select(func.coalesce(func.sum(Lot.on_hand), 0)).where(Lot.part_id == part)
            ).scalar_one()
            assert shelf == on_hand
        job = db.execute(select(Job.id).where(Job.number == number)).scalar_one()
        entries = set(db.execute(select(Entry.id).where(Entry.job_id == job)).scalars())
        in_chain = {
            payload["entry"]
            for payload in db.execute(
                select(Event.payload).where(Event.job_id == job, Event.kind == "entry")
            ).scalars()
        }
        assert entries == in_chain
        report = chain.verify(db)
        assert report.broken is None
        shipped = db.execute(select(Shipment).where(Shipment.job_id == job)).one()
        assert shipped.gas_state == "vented"
        cost = sum(
            -row.on_hand_change * row.unit_cost_cents
            for row in db.execute(
                select(StockMove.on_hand_change, Lot.unit_cost_cents)
                .join(Lot, Lot.id == StockMove.lot_id)
                .where(StockMove.job_id == job)
            )
        )
        issued = db.execute(
            select(func.count(StockMove.id)).where(
                StockMove.job_id == job, StockMove.kind == "issue"
            )
        ).scalar_one()
        assert cost > 0
        assert issued >= 11
        assert not any(row.number == number for row in board.floor(db))
