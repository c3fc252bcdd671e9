"""The office: quotes and their answers, side roads, exchange units, promises."""

from datetime import date, timedelta

from sqlalchemy import insert, select, update

from shopdesk.desk import standing, stock
from shopdesk.desk.seen import AsSeen, require_seen
from shopdesk.desk.shop import Deed, Shop, Worker, refuse
from shopdesk.errors import BadInput, NotFound, Refused
from shopdesk.records.tables import (
    Approval,
    CoreDeposit,
    Customer,
    Job,
    Part,
    Quote,
    QuoteLine,
    Shipment,
    Unit,
)
from shopdesk.rules import gates, quoting, serials
from shopdesk.rules.answers import GasState, Road
from shopdesk.rules.pressures import last_charge_pa
from shopdesk.rules.refusals import Refusal
from shopdesk.rules.shop import money
from shopdesk.views import sheets
from shopdesk.views.sheets import SheetView


def make_quote(
    shop: Shop,
    who: str,
    number: int,
    *,
    known: SheetView | None = None,
    seen: AsSeen | None = None,
) -> SheetView:
    """Draws up the quote from kit, labour and margin as the teardown stands. A later quote
    replaces an earlier one, and needs its own answer. ``known``: the sheet as last read. Raises
    Stale when the job is no longer as ``seen``."""

    def work(deed: Deed) -> SheetView:
        person = deed.worker(who, "make a quote")
        view = sheets.load(deed.db, number, deed.now, known=known)
        sheet = view.sheet
        if sheet.facts.closed or sheet.facts.road is not Road.REPAIR:
            raise Refused("only a unit under repair is quoted")
        require_seen(deed, view, seen)
        refuse(gates.not_quoted(sheet))
        if not all(sheet.complete(name) for name in ("receipt", "vent", "teardown")):
            refuse(
                Refusal(
                    "the quote comes after the teardown: its findings decide the parts",
                    tuple(s.line.key for s in sheet.section("teardown") if s.open),
                )
            )
        items = quoting.draw_up(sheet, *_costs(deed, view))
        total = sum(item.cents for item in items)
        quote_id = deed.db.execute(
            insert(Quote)
            .values(job_id=view.heading.job_id, at=deed.now, person_id=person.id, total_cents=total)
            .returning(Quote.id)
        ).scalar_one()
        ids = _part_ids(deed, [item.part for item in items if item.part])
        deed.db.execute(
            insert(QuoteLine),
            [
                {
                    "quote_id": quote_id,
                    "kind": item.kind,
                    "text": item.text[:200],
                    "quantity": item.quantity,
                    "cents": item.cents,
                    "part_id": ids.get(item.part),
                }
                for item in items
            ],
        )
        deed.event(
            "quote", person, {"quote": quote_id, "total_cents": total}, job_id=view.heading.job_id
        )
        return standing.settle(deed, number, person, sheets.quoted(deed.db, view))

    return shop.write(work)


def _part_ids(deed: Deed, numbers: list[str]) -> dict[str, int]:
    rows = deed.db.execute(select(Part.number, Part.id).where(Part.number.in_(numbers)))
    return {row.number: row.id for row in rows}


def _costs(deed: Deed, view: SheetView) -> tuple[dict[str, int], dict[str, str]]:
    numbers = {kit.part for kit in view.sheet.procedure.kit}
    rows = deed.db.execute(
        select(Part.number, Part.unit_cost_cents, Part.description).where(Part.number.in_(numbers))
    ).all()
    missing = numbers - {row.number for row in rows}
    if missing:
        raise NotFound(f"not in stores, so not to be quoted: {', '.join(sorted(missing))}")
    return (
        {row.number: row.unit_cost_cents for row in rows},
        {row.number: row.description for row in rows},
    )


def record_answer(
    shop: Shop,
    who: str,
    number: int,
    *,
    approved: bool,
    by: str,
    how: str,
    cap_cents: int = 0,
    known: SheetView | None = None,
    seen: AsSeen | None = None,
) -> SheetView:
    """The customer's answer: who said it, how, and up to how much. Approval reserves the kit;
    a refusal sends the unit down the declined road and gives the parts back. ``known``: the
    sheet as last read. Raises Stale when the job is no longer as ``seen``."""

    def work(deed: Deed) -> SheetView:
        person = deed.worker(who, "record an answer")
        view = sheets.load(deed.db, number, deed.now, known=known)
        require_seen(deed, view, seen)
        quote = view.sheet.facts.quote
        if view.sheet.facts.closed or view.sheet.facts.road is not Road.REPAIR:
            raise Refused("only a unit under repair waits for an answer; this one does not")
        if quote is None:
            raise Refused("there is no quote to answer", ("decision.quoted",), "office")
        if quote.answer:
            raise Refused(f"answered already: {quote.answer} by {quote.who}")
        if not by.strip() or not how.strip():
            raise BadInput("an answer needs who gave it and how (telephone, e-mail, in person)")
        if approved and cap_cents < quote.total_cents:
            rules = view.sheet.shop
            raise BadInput(
                f"the quote is {money(quote.total_cents, rules.currency)}; agreed up to "
                f"{money(cap_cents, rules.currency)} does not cover it: make a new quote"
            )
        _insert_answer(deed, view, quote.id, approved, by, how, cap_cents, person)
        if approved:
            standing.promise_kit(deed, view, person)
            return standing.settle(deed, number, person, sheets.quoted(deed.db, view))
        _leave_repair(deed, view, Road.DECLINED, person, f"declined by {by.strip()}")
        return standing.settle(deed, number, person)

    return shop.write(work)


def _insert_answer(
    deed: Deed,
    view: SheetView,
    quote_id: int,
    approved: bool,
    by: str,
    how: str,
    cap_cents: int,
    who: Worker,
) -> None:
    values = {
        "answer": "approved" if approved else "declined",
        "who": by.strip()[:120],
        "how": how.strip()[:120],
        "cap_cents": cap_cents,
    }
    deed.db.execute(
        insert(Approval).values(quote_id=quote_id, person_id=who.id, at=deed.now, **values)
    )
    deed.event("answer", who, {"quote": quote_id, **values}, job_id=view.heading.job_id)


def _leave_repair(deed: Deed, view: SheetView, road: Road, who: Worker, reason: str) -> SheetView:
    if view.sheet.facts.closed or view.sheet.facts.road not in (Road.REPAIR, Road.DECLINED):
        raise Refused(f"J-{view.heading.number} is not under repair")
    stock.release_kit(deed, view.heading.job_id, who, reason)
    return standing.set_road(deed, view, road, who, reason)


def scrap(
    shop: Shop,
    who: str,
    number: int,
    consent_by: str,
    consent_how: str,
    reason: str,
    *,
    seen: AsSeen | None = None,
) -> SheetView:
    """Unrepairable, and the owner consents that it is scrapped. Raises Stale when the job is no
    longer as ``seen``."""

    def work(deed: Deed) -> SheetView:
        person = deed.worker(who, "scrap")
        if not consent_by.strip() or not consent_how.strip():
            raise BadInput("scrapping needs the owner's consent: who gave it, and how")
        view = sheets.load(deed.db, number, deed.now)
        require_seen(deed, view, seen)
        said = f"{reason.strip()}; consent: {consent_by.strip()}, {consent_how.strip()}"
        _leave_repair(deed, view, Road.SCRAPPED, person, said)
        return standing.settle(deed, number, person)

    return shop.write(work)


def exchange(
    shop: Shop,
    who: str,
    serial: str,
    customer: str,
    *,
    deposit_cents: int,
    carrier: str,
    days: int = 30,
) -> int:
    """Ships a unit off the exchange shelf now; the customer owes a core of its model. Gives back
    the deposit's id."""

    def work(deed: Deed) -> int:
        person = deed.worker(who, "ship")
        units = deed.db.execute(
            select(Unit.id, Unit.unit_model_id).where(
                Unit.serial_key == serials.key(serial), Unit.pool
            )
        ).all()
        if not units:
            raise NotFound(f"serial {serial.strip()[:40]!r} is not on the exchange shelf")
        if len(units) > 1:
            raise Refused(f"two models on the shelf carry serial {serial.strip()[:40]!r}; tag one")
        unit = units[0]
        if deposit_cents < 0 or days < 1:
            raise BadInput("a deposit is 0 or more, and the core is owed in a day or more")
        customer_id = deed.db.execute(
            select(Customer.id).where(Customer.code == customer.strip().upper())
        ).scalar()
        if customer_id is None:
            raise NotFound(f"no customer with code {customer.strip()[:20]!r}")
        if not carrier.strip():
            raise BadInput("who takes it? name the carrier, or who collected it")
        return _send_exchange(
            deed,
            unit.id,
            unit.unit_model_id,
            customer_id,
            deposit_cents,
            carrier.strip(),
            days,
            person,
        )

    return shop.write(work)


def _send_exchange(
    deed: Deed,
    unit_id: int,
    model_id: int,
    customer_id: int,
    deposit_cents: int,
    carrier: str,
    days: int,
    who: Worker,
) -> int:
    due = deed.today + timedelta(days=days)
    job = deed.db.execute(
        select(Job.id, Job.number).where(Job.unit_id == unit_id).order_by(Job.id.desc()).limit(1)
    ).one()
    sheet = sheets.load(deed.db, job.number, deed.now).sheet
    refuse(gates.gas_may_leave(sheet))
    gas = sheet.facts.gas_state
    deed.db.execute(
        insert(Shipment).values(
            job_id=job.id,
            customer_id=customer_id,
            gas_state=gas.value,
            charge_pa=last_charge_pa(sheet) if gas is GasState.CHARGED else None,
            ports={},
            carrier=carrier,
            note="exchange unit",
            person_id=who.id,
            at=deed.now,
        )
    )
    deed.db.execute(
        update(Unit).where(Unit.id == unit_id).values(pool=False, customer_id=customer_id)
    )
    deposit_id = deed.db.execute(
        insert(CoreDeposit)
        .values(
            customer_id=customer_id,
            unit_model_id=model_id,
            shipped_unit_id=unit_id,
            cents=deposit_cents,
            due_on=due,
            at=deed.now,
        )
        .returning(CoreDeposit.id)
    ).scalar_one()
    deed.event(
        "exchange",
        who,
        {"deposit": deposit_id, "cents": deposit_cents, "due_on": due.isoformat()},
        job_id=job.id,
    )
    return int(deposit_id)


def change_promise(
    shop: Shop,
    manager_signs: str,
    number: int,
    promised_on: date,
    reason: str,
    *,
    seen: AsSeen | None = None,
) -> SheetView:
    """A new date for the customer; the first one stays beside it. Raises Stale when the job is no
    longer as ``seen``."""

    def work(deed: Deed) -> SheetView:
        manager = deed.signed(manager_signs, "change a promise")
        if not reason.strip():
            raise BadInput("a new promise needs its reason")
        view = sheets.load(deed.db, number, deed.now)
        if view.sheet.facts.closed:
            raise Refused("the job is closed; nothing is promised any more")
        require_seen(deed, view, seen)
        deed.db.execute(
            update(Job).where(Job.id == view.heading.job_id).values(promised_on=promised_on)
        )
        deed.event(
            "promise",
            manager,
            {
                "was": view.heading.promised_on.isoformat(),
                "is": promised_on.isoformat(),
                "reason": reason.strip(),
            },
            job_id=view.heading.job_id,
        )
        return standing.settle(deed, number, manager)

    return shop.write(work)
