"""Bench deeds beside the sheet's lines: take a job, report a hiss."""

from sqlalchemy import insert, update

from shopdesk.desk import standing
from shopdesk.desk.seen import AsSeen, require_seen
from shopdesk.desk.shop import Deed, Shop, find_worker
from shopdesk.errors import BadInput, Refused
from shopdesk.records.tables import Concession, Job
from shopdesk.rules.answers import Road
from shopdesk.rules.dispositions import may_be_conceded
from shopdesk.rules.sheet import State
from shopdesk.views import sheets
from shopdesk.views.sheets import SheetView


def take_job(
    shop: Shop,
    who: str,
    number: int,
    technician: str,
    *,
    known: SheetView | None = None,
    seen: AsSeen | None = None,
) -> SheetView:
    """Puts the job on a technician's bench. ``known``: the sheet as last read. Raises Stale when
    the job is no longer as ``seen``."""

    def work(deed: Deed) -> SheetView:
        person = deed.worker(who, "take a job")
        taker = find_worker(deed.db, technician)
        view = sheets.load(deed.db, number, deed.now, known=known)
        if view.sheet.facts.closed:
            raise Refused("the job is closed; there is nothing to take")
        require_seen(deed, view, seen)
        deed.db.execute(
            update(Job).where(Job.id == view.heading.job_id).values(assigned_to=taker.id)
        )
        deed.event("job taken", person, {"technician": taker.initials}, job_id=view.heading.job_id)
        return standing.settle(deed, number, person, sheets.assigned_to(view, taker.initials))

    return shop.write(work)


def report_hiss(shop: Shop, who: str, number: int, saw: str = "") -> SheetView:
    """Gas where there should be none: the unit is charged, the vent record void, an incident on
    record. Anything open is closed until it is vented anew."""

    def work(deed: Deed) -> SheetView:
        person = deed.worker(who, "report a hiss")
        view = sheets.load(deed.db, number, deed.now)
        if view.sheet.facts.closed:
            raise Refused("the job is closed; the unit is not here")
        if not view.sheet.procedure.gas_charged:
            raise Refused(
                "this model holds no gas; stop, release the oil pressure, tell the manager"
            )
        deed.event(
            "incident",
            person,
            {"what": "hiss", "saw": saw.strip()[:400]},
            job_id=view.heading.job_id,
        )
        standing.void_vent(deed, view, saw.strip() or "it hissed", person)
        return standing.settle(deed, number, person)

    return shop.write(work)


def concede(
    shop: Shop,
    number: int,
    line: str,
    reason: str,
    manager_signs: str,
    customer_name: str,
    customer_how: str,
    *,
    seen: AsSeen | None = None,
) -> SheetView:
    """Accepts an outside reading as it is: a manager signs with PIN, the customer has agreed.
    Raises Stale when the job is no longer as ``seen``."""

    def work(deed: Deed) -> SheetView:
        manager = deed.signed(manager_signs, "concede")
        for said, what in (
            (reason, "the reason"),
            (customer_name, "who agreed for the customer"),
            (customer_how, "how the customer agreed"),
        ):
            if not said.strip():
                raise BadInput(f"a concession needs {what}; nothing was recorded")
        view = sheets.load(deed.db, number, deed.now)
        require_seen(deed, view, seen)
        state = view.sheet.get(line)
        if state is None or state.state not in (State.UNRESOLVED, State.OPEN):
            raise Refused("only a line that stands outside its limit can be conceded", (line,))
        outside = [a for a in state.given.values() if a.verdict.value == "outside"]
        if not outside or not may_be_conceded(state.line):
            raise Refused(
                f"{state.line.text}: this is not conceded; it has to be put right", (line,)
            )
        values = {
            "line": line,
            "entry_id": max(answer.id for answer in outside),
            "reason": reason.strip(),
            "customer_name": customer_name.strip(),
            "customer_how": customer_how.strip(),
        }
        deed.db.execute(
            insert(Concession).values(
                job_id=view.heading.job_id, manager_id=manager.id, at=deed.now, **values
            )
        )
        deed.event("concession", manager, dict(values), job_id=view.heading.job_id)
        return standing.settle(deed, number, manager)

    return shop.write(work)


def quarantine(shop: Shop, who: str, number: int, reason: str) -> SheetView:
    """Unknown fluid: nothing on the unit goes on before the quarantine lines are done."""

    def work(deed: Deed) -> SheetView:
        person = deed.worker(who, "quarantine")
        if not reason.strip():
            raise BadInput("why is it put in quarantine?")
        view = sheets.load(deed.db, number, deed.now)
        if view.sheet.facts.closed or view.sheet.facts.road is not Road.REPAIR:
            raise Refused("only a unit under repair is put in quarantine")
        view = standing.set_road(deed, view, Road.QUARANTINED, person, reason.strip())
        before = [s.line.key for s in view.sheet.section("quarantined") if s.given]
        if before:
            standing.reopen(deed, view, "rework", tuple(before), "in quarantine again", person)
        return standing.settle(deed, number, person)

    return shop.write(work)
