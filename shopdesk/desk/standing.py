"""After every deed: where the job stands, what it waits for, since when; its gas state."""

from collections.abc import Sequence
from dataclasses import replace

from sqlalchemy import bindparam, func, insert, select, update

from shopdesk.desk import stock
from shopdesk.desk.shop import Deed, Worker
from shopdesk.procedure import Line, Reading, Signature
from shopdesk.records.tables import Entry, Job, Part, Reopening
from shopdesk.rules.answers import GasState, Road
from shopdesk.rules.dispositions import vent_lines
from shopdesk.rules.sheet import State, vent_asked
from shopdesk.rules.waiting import short_parts, waiting
from shopdesk.views import documents, sheets
from shopdesk.views.sheets import SheetView

LONGEST_REASON = 160
"""What a job keeps of why it waits."""
_GAS = update(Job).where(Job.id == bindparam("job_id")).values(gas_state=bindparam("gas"))
_STANDS = (
    update(Job)
    .where(Job.id == bindparam("job_id"))
    .values(
        stage=bindparam("now_stage"),
        waiting_for=bindparam("now_for"),
        waiting_on=bindparam("now_on"),
        waiting_since=bindparam("since"),
        version=Job.version + 1,
    )
)


def settle(deed: Deed, number: int, who: Worker | None, view: SheetView | None = None) -> SheetView:
    """Brings the job's row up to what its sheet says now and gives back the sheet; ``view`` is
    that sheet where it is at hand."""
    if view is None:
        view = sheets.load(deed.db, number, deed.now)
    view = _vented(deed, view, who)
    view = _quarantine_over(deed, view, who)
    says = waiting(view.sheet)
    heading = view.heading
    same = (heading.waiting_for, heading.waiting_on) == (says.reason, says.owner)
    since = heading.waiting_since if same else deed.now
    deed.db.execute(
        _STANDS,
        {
            "job_id": heading.job_id,
            "now_stage": view.sheet.stage,
            "now_for": says.reason[:LONGEST_REASON],
            "now_on": says.owner[:60],
            "since": since,
        },
    )
    return SheetView(
        replace(
            heading,
            stage=view.sheet.stage,
            waiting_for=says.reason,
            waiting_on=says.owner,
            waiting_since=since,
        ),
        view.sheet.with_facts(replace(view.sheet.facts, version=view.sheet.facts.version + 1)),
    )


def promise_kit(deed: Deed, view: SheetView, who: Worker) -> None:
    """Reserves what the shelf has of the job's kit, and tells the jobs that are left without."""
    stock.reserve_kit(deed, view.sheet, who)
    for part_id in stock.parts_of(deed, view.sheet):
        shelf_empty(deed, part_id, view.heading.job_id, who)


def shelf_empty(deed: Deed, part_id: int, but_job: int, who: Worker) -> None:
    """Where no free piece of the part is left, jobs that still need one wait for it from now."""
    part = deed.db.execute(select(Part.number).where(Part.id == part_id)).scalar_one()
    asked = {mate for number, mate in documents.asked(deed.db) if number == part}
    if asked and all(stock.on_shelf(deed, part, mate=mate)[1] > 0 for mate in asked):
        return
    at_parts = select(Job.number).where(
        Job.closed_at.is_(None), Job.stage == "parts", Job.id != but_job
    )
    for number in deed.db.execute(at_parts.order_by(Job.number)).scalars().all():
        view = sheets.load(deed.db, number, deed.now)
        if part in short_parts(view.sheet) and part not in view.heading.waiting_for:
            settle(deed, number, who, view)


def _vented(deed: Deed, view: SheetView, who: Worker | None) -> SheetView:
    """A complete vent record makes the unit vented."""
    sheet = view.sheet
    if not sheet.procedure.gas_charged or sheet.facts.gas_state is GasState.VENTED:
        return view
    if not vent_asked(sheet):
        return view
    skipped = (State.SHOWN, State.NOT_ASKED)
    lines = [state for state in sheet.section("vent") if state.state not in skipped]
    if not lines or any(state.state is not State.DONE for state in lines):
        return view
    return set_gas(deed, view, GasState.VENTED, who)


def set_gas(deed: Deed, view: SheetView, gas: GasState, who: Worker | None) -> SheetView:
    """Records the unit's gas state, and gives back the sheet with it; what the state closes or
    opens among the lines shows when it is next laid out."""
    if view.sheet.facts.gas_state is gas:
        return view
    job_id = view.heading.job_id
    deed.db.execute(_GAS, {"job_id": job_id, "gas": gas.value})
    deed.event(
        "gas state", who, {"was": view.sheet.facts.gas_state.value, "is": gas.value}, job_id=job_id
    )
    return SheetView(view.heading, view.sheet.with_facts(replace(view.sheet.facts, gas_state=gas)))


def _quarantine_over(deed: Deed, view: SheetView, who: Worker | None) -> SheetView:
    sheet = view.sheet
    if sheet.facts.road is not Road.QUARANTINED or not sheet.complete("quarantined"):
        return view
    return set_road(deed, view, Road.REPAIR, who, "quarantine lines complete")


def set_road(deed: Deed, view: SheetView, road: Road, who: Worker | None, reason: str) -> SheetView:
    job_id = view.heading.job_id
    deed.db.execute(update(Job).where(Job.id == job_id).values(road=road.value))
    deed.event(
        "road",
        who,
        {"was": view.sheet.facts.road.value, "is": road.value, "reason": reason},
        job_id=job_id,
    )
    return sheets.load(deed.db, view.heading.number, deed.now)


def newest_entry(deed: Deed, job_id: int) -> int:
    """The job's last entry so far, 0 for none."""
    newest = select(func.coalesce(func.max(Entry.id), 0)).where(Entry.job_id == job_id)
    return int(deed.db.execute(newest).scalar_one())


def reopen(
    deed: Deed, view: SheetView, cause: str, lines: tuple[str, ...], reason: str, who: Worker
) -> None:
    """Sets the lines' answers so far aside; they stay in the record and on the sheet."""
    job_id = view.heading.job_id
    newest = newest_entry(deed, job_id)
    deed.db.execute(
        insert(Reopening).values(
            job_id=job_id,
            cause=cause,
            lines=list(lines),
            up_to_entry=newest,
            reason=reason,
            person_id=who.id,
            at=deed.now,
        )
    )
    deed.event(
        "reopening",
        who,
        {"cause": cause, "lines": list(lines), "up_to_entry": newest, "reason": reason},
        job_id=job_id,
    )


def void_vent(
    deed: Deed, view: SheetView, reason: str, who: Worker, gas: GasState = GasState.CHARGED
) -> None:
    """Re-pressurising or a hiss: the vent record no longer stands; the unit is charged, or what
    it holds is not known."""
    if any(state.given for state in view.sheet.section("vent")):
        reopen(deed, view, "vent void", vent_lines(view.sheet), reason, who)
    set_gas(deed, view, gas, who)


def unsigned(deed: Deed, view: SheetView, changed: Sequence[Line], who: Worker) -> bool:
    """Sets aside the signatures given over lines that are changed now: those after one of them in
    its section, and the release. Without its second person a vent record proves nothing."""
    sheet = view.sheet
    place = {state.line.key: n for n, state in enumerate(sheet.lines)}
    signed = tuple(
        state.line.key
        for state in sheet.lines
        if isinstance(state.line, Signature)
        and state.given
        and any(
            place[line.key] < place[state.line.key]
            and state.line.section in (line.section, "release")
            for line in changed
        )
    )
    if signed:
        reason = f"{changed[0].text}: changed after it was signed"
        reopen(deed, view, "rework", signed, reason, who)
    vent = any(line.section == "vent" for line in changed)
    if vent and signed and sheet.facts.gas_state is GasState.VENTED:
        set_gas(deed, view, GasState.UNKNOWN, who)
    return bool(signed)


def shows_gas(line: Line, value_si: float | None) -> bool:
    """Whether a reading in the vent section says there is gas: above what its limit takes for
    zero, or above zero where it has none."""
    if not isinstance(line, Reading) or value_si is None:
        return False
    high = line.limit.high if line.limit is not None else None
    return value_si > (high.value_si if high is not None else 0.0)
