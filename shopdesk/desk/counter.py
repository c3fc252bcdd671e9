"""The counter: a core taken in, a unit handed over."""

from dataclasses import dataclass
from datetime import date

from sqlalchemy import func, insert, select, update

from shopdesk.desk import lots, standing, stock
from shopdesk.desk.seen import AsSeen, require_seen
from shopdesk.desk.shop import Deed, Shop, Worker, refuse
from shopdesk.errors import BadInput, NotFound, Refused
from shopdesk.procedure import Port
from shopdesk.records.tables import (
    Claim,
    CoreDeposit,
    Customer,
    Event,
    Job,
    ProcedureRevision,
    Shipment,
    Unit,
    UnitModel,
    WorkOrder,
)
from shopdesk.rules import gates, serials
from shopdesk.rules.answers import GasState, Road
from shopdesk.rules.generated import SHIPS_AS
from shopdesk.rules.pressures import last_charge_pa
from shopdesk.rules.sheet import Sheet
from shopdesk.views import claims, documents, lists, orders, promises, sheets
from shopdesk.views.sheets import SheetView

LONGEST = {"serial": 60, "complaint": 400, "reference": 60}


@dataclass(frozen=True, slots=True)
class Core:
    """What the counter types of a core: codes of customer and model, its serial, the complaint.
    ``reference`` names the customer's order where several units belong together."""

    serial: str
    model: str
    customer: str
    complaint: str
    reference: str = ""
    kind: str = "customer"
    promised_on: date | None = None


def receive_core(shop: Shop, who: str, core: Core, *, commit_key: str | None = None) -> SheetView:
    """Opens a job for a core: tag, sheet, promise. A gas unit's state is unknown until it is
    measured. Raises Refused when the unit has an open job already."""

    def work(deed: Deed) -> SheetView:
        person = deed.worker(who, "receive a core")
        if not deed.first_time(commit_key):
            return _received_before(deed, commit_key)
        _legible(core)
        model_id, revision_id = _model(deed, core.model)
        customer_id = _customer(deed, core.customer)
        unit_id = _unit(deed, core, model_id, customer_id)
        _no_open_job(deed, unit_id, core.serial)
        earlier = _right_kind(deed, core, unit_id, customer_id, person)
        number, job_id = open_job(
            deed, person, core, unit_id, customer_id, revision_id, commit_key=commit_key
        )
        if earlier is not None:
            _claim(deed, person, job_id, earlier)
        _settle_deposit(deed, person, customer_id, model_id, job_id)
        return standing.settle(deed, number, person)

    return shop.write(work, keyed=commit_key is not None)


def open_job(
    deed: Deed,
    person: Worker,
    core: Core,
    unit_id: int,
    customer_id: int,
    revision_id: int,
    *,
    commit_key: str | None = None,
) -> tuple[int, int]:
    """Opens a job for a unit on record, in the caller's transaction: its number and id."""
    number = _insert_job(deed, core, unit_id, customer_id, revision_id)
    job_id = deed.db.execute(select(Job.id).where(Job.number == number)).scalar_one()
    deed.event(
        "job opened",
        person,
        {
            "number": number,
            "serial": core.serial,
            "model": core.model,
            "customer": core.customer,
            "complaint": core.complaint,
            "order": core.reference.strip(),
            "kind": core.kind,
        },
        job_id=job_id,
        commit_key=commit_key,
    )
    return number, job_id


def _received_before(deed: Deed, commit_key: str | None) -> SheetView:
    """The commit was recorded before (its answer never arrived): the job it opened."""
    number = deed.db.execute(
        select(Job.number).join(Event, Event.job_id == Job.id).where(Event.commit_key == commit_key)
    ).scalar_one()
    return sheets.load(deed.db, number, deed.now)


def _legible(core: Core) -> None:
    if not serials.key(core.serial):
        raise BadInput(
            "the serial is missing; read it off the plate, or give the unit one and tag it"
        )
    if not core.complaint.strip():
        raise BadInput("the complaint is missing: what did the customer say of it?")
    if core.kind not in ("customer", "warranty", "exchange"):
        raise BadInput(f"read {core.kind!r}; a job is customer, warranty or exchange")
    for field, longest in LONGEST.items():
        text = str(getattr(core, field))
        if len(text) > longest or not all(c.isprintable() for c in text):
            raise BadInput(f"{field}: expected at most {longest} printable characters")


def _model(deed: Deed, code: str) -> tuple[int, int]:
    row = deed.db.execute(
        select(UnitModel.id, func.max(ProcedureRevision.id).label("revision"))
        .join(ProcedureRevision, ProcedureRevision.unit_model_id == UnitModel.id)
        .where(UnitModel.code == code.strip().upper(), documents.APPROVED)
        .group_by(UnitModel.id)
    ).one_or_none()
    if row is None:
        known = (one.code for one in lists.models(deed.db))
        raise NotFound(
            f"no procedure in force for model {code.strip()[:30]!r}; known: {', '.join(known)}"
        )
    return row.id, row.revision


def _customer(deed: Deed, code: str) -> int:
    found = deed.db.execute(
        select(Customer.id).where(Customer.code == code.strip().upper())
    ).scalar()
    if found is None:
        raise NotFound(f"no customer with code {code.strip()[:20]!r}")
    return int(found)


def _unit(deed: Deed, core: Core, model_id: int, customer_id: int) -> int:
    """The unit with this serial and model, made known where it is new; its owner is who brings
    it."""
    key = serials.key(core.serial)
    found = deed.db.execute(
        select(Unit.id).where(Unit.unit_model_id == model_id, Unit.serial_key == key)
    ).scalar()
    if found is not None:
        deed.db.execute(
            update(Unit).where(Unit.id == found).values(customer_id=customer_id, pool=False)
        )
        return int(found)
    made = deed.db.execute(
        insert(Unit)
        .values(
            unit_model_id=model_id,
            serial=core.serial.strip(),
            serial_key=key,
            customer_id=customer_id,
            pool=False,
        )
        .returning(Unit.id)
    ).scalar_one()
    return int(made)


def _no_open_job(deed: Deed, unit_id: int, serial: str) -> None:
    number = deed.db.execute(
        select(Job.number).where(Job.unit_id == unit_id, Job.closed_at.is_(None))
    ).scalar()
    if number is not None:
        raise Refused(
            f"serial {serial.strip()} is in the shop already as J-{number}; open that job"
        )


def _right_kind(deed: Deed, core: Core, unit_id: int, customer_id: int, who: Worker) -> int | None:
    """What needs no customer's approval has its ground: the shop's own unit, or its own work; the
    id of the job whose work it is that comes back."""
    if core.kind == "exchange":
        house = select(Customer.house).where(Customer.id == customer_id)
        if not deed.db.execute(house).scalar_one():
            raise Refused("an exchange unit is the shop's own; this customer is not the shop")
    if core.kind != "warranty":
        return None
    last = claims.last_repair(deed.db, unit_id)
    if last is None:
        raise Refused(
            f"serial {core.serial.strip()} never left this shop repaired; it is no warranty return"
        )
    earlier, left = last
    rules = documents.rules(deed.db)
    if (deed.now - rules.warranty_until(left)).days > 0 and who.role != "manager":
        raise Refused(
            f"serial {core.serial.strip()} left on {left:%Y-%m-%d}, more than "
            f"{rules.warranty_months} months "
            "ago; a manager may still take it in as warranty",
            (),
            "manager",
        )
    return earlier


def _claim(deed: Deed, who: Worker, job_id: int, earlier_job_id: int) -> None:
    """Ties the job to the one its unit left with."""
    values: dict[str, object] = {"earlier_job_id": earlier_job_id}
    deed.db.execute(insert(Claim).values(job_id=job_id, person_id=who.id, at=deed.now, **values))
    deed.event("claim", who, values, job_id=job_id)


def _insert_job(deed: Deed, core: Core, unit_id: int, customer_id: int, revision_id: int) -> int:
    procedure = documents.revision(deed.db, revision_id)
    rules = documents.rules(deed.db)
    number = int(
        deed.db.execute(select(func.coalesce(func.max(Job.number), 1000) + 1)).scalar_one()
    )
    offered = promises.offer(deed.db, procedure.model, deed.now, rules.promise_days, rules.calendar)
    promised = core.promised_on or offered.on
    deed.db.execute(
        insert(Job).values(
            number=number,
            kind=core.kind,
            unit_id=unit_id,
            customer_id=customer_id,
            work_order_id=_order(deed, core.reference, customer_id),
            procedure_revision_id=revision_id,
            complaint=core.complaint.strip(),
            opened_at=deed.now,
            first_promised_on=promised,
            promised_on=promised,
            road=Road.REPAIR.value,
            stage="receipt",
            gas_state=(GasState.UNKNOWN if procedure.gas_charged else GasState.NONE).value,
            waiting_for="receipt to finish",
            waiting_on="counter",
            waiting_since=deed.now,
            version=1,
        )
    )
    return number


def _order(deed: Deed, reference: str, customer_id: int) -> int | None:
    """The customer's open order with this reference, begun where it is new."""
    if not reference.strip():
        return None
    found = orders.find(deed.db, customer_id, reference)
    if found is not None:
        return found
    made = deed.db.execute(
        insert(WorkOrder)
        .values(customer_id=customer_id, reference=reference.strip(), at=deed.now)
        .returning(WorkOrder.id)
    ).scalar_one()
    return int(made)


def _settle_deposit(deed: Deed, who: Worker, customer_id: int, model_id: int, job_id: int) -> None:
    """A core coming in settles the oldest one this customer owes of that model."""
    owed = deed.db.execute(
        select(CoreDeposit.id)
        .where(
            CoreDeposit.customer_id == customer_id,
            CoreDeposit.unit_model_id == model_id,
            CoreDeposit.settled_job_id.is_(None),
        )
        .order_by(CoreDeposit.due_on, CoreDeposit.id)
        .limit(1)
    ).scalar()
    if owed is not None:
        deed.db.execute(
            update(CoreDeposit).where(CoreDeposit.id == owed).values(settled_job_id=job_id)
        )
        deed.event("core returned", who, {"deposit": owed}, job_id=job_id)


def hand_over(
    shop: Shop,
    who: str,
    number: int,
    carrier: str,
    note: str = "",
    *,
    known: SheetView | None = None,
    seen: AsSeen | None = None,
) -> SheetView:
    """The unit leaves: every line done, its gas state allowed to travel. Closes the job.
    ``known``: the sheet as last read. Raises Stale when the job is no longer as ``seen``."""

    def work(deed: Deed) -> SheetView:
        person = deed.worker(who, "ship")
        view = sheets.load(deed.db, number, deed.now, known=known)
        sheet = view.sheet
        if sheet.facts.closed:
            raise Refused(f"J-{number} left already")
        require_seen(deed, view, seen)
        if sheet.facts.road is Road.QUARANTINED:
            raise Refused(
                f"J-{number} is in quarantine; its lines come first",
                tuple(s.line.key for s in sheet.section("quarantined") if s.open),
            )
        refuse(gates.may_leave(sheet))
        if not carrier.strip() and sheet.facts.road is not Road.SCRAPPED:
            raise BadInput("who takes it? name the carrier, or who collected it")
        stock.release_kit(deed, view.heading.job_id, person, "job closed")
        lots.hand_back(deed, view.heading.job_id, person)
        _insert_shipment(deed, view, carrier.strip(), note.strip(), person)
        deed.db.execute(
            update(Job)
            .where(Job.id == view.heading.job_id)
            .values(
                closed_at=deed.now,
                waiting_for="nothing: closed",
                waiting_on="",
                waiting_since=deed.now,
                stage="done",
                version=Job.version + 1,
            )
        )
        return sheets.load(deed.db, number, deed.now)

    return shop.write(work)


def _insert_shipment(deed: Deed, view: SheetView, carrier: str, note: str, who: Worker) -> None:
    sheet, heading = view.sheet, view.heading
    gas = sheet.facts.gas_state
    values: dict[str, object] = {
        "gas_state": gas.value,
        "charge_pa": last_charge_pa(sheet) if gas is GasState.CHARGED else None,
        "ports": _ports(sheet),
        "carrier": carrier,
        "note": note,
    }
    customer_id = deed.db.execute(
        select(Job.customer_id).where(Job.id == heading.job_id)
    ).scalar_one()
    house = deed.db.execute(select(Customer.house).where(Customer.id == customer_id)).scalar_one()
    if house and sheet.facts.road is Road.REPAIR:
        deed.db.execute(update(Unit).where(Unit.id == heading.unit_id).values(pool=True))
        deed.event("to the exchange shelf", who, values, job_id=heading.job_id)
        return
    deed.db.execute(
        insert(Shipment).values(
            job_id=heading.job_id, customer_id=customer_id, person_id=who.id, at=deed.now, **values
        )
    )
    kind = "scrapped" if sheet.facts.road is Road.SCRAPPED else "shipped"
    deed.event(kind, who, values, job_id=heading.job_id)


def _ports(sheet: Sheet) -> dict[str, str]:
    return {
        state.line.port: state.given["left"].answer
        for state in sheet.lines
        if isinstance(state.line, Port) and "left" in state.given
    }


def ships_as(sheet: Sheet) -> str:
    """The gas state chosen to ship in, "" while nothing is chosen."""
    state = sheet.get(SHIPS_AS)
    return state.given["answer"].answer if state and "answer" in state.given else ""
