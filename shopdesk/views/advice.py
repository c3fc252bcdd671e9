"""What the sheet says beside the line it asks: the charge's sum, the adapter's setting, the
depth to restore, where a part lies and which lot of it goes first."""

from collections.abc import Mapping
from datetime import date

from sqlalchemy import Connection, select

from shopdesk import quantities
from shopdesk.calc import bottle as bottles
from shopdesk.errors import ShopError
from shopdesk.procedure import (
    Charge,
    GasCharge,
    Leak,
    Line,
    Photo,
    Prepare,
    Regulator,
    Restore,
    Torque,
)
from shopdesk.records.tables import Part
from shopdesk.rules import charging, kits, pressures, service, verdicts
from shopdesk.rules.answers import Answer
from shopdesk.rules.claims import Again
from shopdesk.rules.generated import Issue
from shopdesk.rules.service import is_arrival
from shopdesk.rules.sheet import LineState, Sheet
from shopdesk.views import charges, held, interchange, lots, photos, tools
from shopdesk.views import service as service_view
from shopdesk.views.figures import reference_text
from shopdesk.views.interchange import StandIn

NO_WRENCH = "no torque wrench of the shop's is in range and in date"


def has_advice(line: Line) -> bool:
    """Whether there is ever something to compute for this kind of line."""
    known = Regulator | Torque | Restore | Charge | Leak | Issue | Prepare | Photo | Again
    return isinstance(line, known) or is_arrival(line)


def beside(db: Connection, sheet: Sheet, state: LineState) -> tuple[str, ...]:
    """Short sentences for the line under the cursor; empty where there is nothing to compute."""
    line = state.line
    try:
        match line:
            case Regulator():
                return _regulator(db, sheet, state.given)
            case Torque():
                return _torque(db, sheet, line)
            case Restore():
                return _restore(sheet, line)
            case Photo():
                return tuple(filter(None, (photos.gone(a.answer) for a in state.given.values())))
            case Charge() | Leak():
                return _charged(sheet, line)
            case Issue():
                return _shelf(db, sheet, line)
            case Prepare() if line.instrument and state.open:
                there = tools.at_hand(db, line.instrument, sheet.facts.now)
                return (f"in date: {there}" if there else f"no {line.instrument} is in date",)
            case Again():
                return (*_earlier(sheet, line), *_served(db, sheet, state))
            case _ if is_arrival(line):
                return _served(db, sheet, state)
    except ShopError as fault:
        return (str(fault),)
    return ()


def _earlier(sheet: Sheet, line: Again) -> tuple[str, ...]:
    seen, claim = line.earlier, sheet.facts.claim
    by = ", ".join(part for part in (seen.instrument, seen.person) if part)
    job = f"J-{claim.job}" if claim is not None else "before"
    return (f"{job}: {seen.text} ({by}, {seen.at.astimezone():%Y-%m-%d})",)


def _served(db: Connection, sheet: Sheet, state: LineState) -> tuple[str, ...]:
    """What was lost in service, and when a charge made today wants making up."""
    plan, found = sheet.procedure.charge, service_view.served(db, sheet)
    if plan is None or found is None or not {a.id for a in state.given.values()} & {*found.entries}:
        return ()
    return service.said(found, sheet, plan.target.value_si, sheet.facts.now)


def _regulator(db: Connection, sheet: Sheet, given: Mapping[str, Answer]) -> tuple[str, ...]:
    plan = sheet.procedure.charge
    gas = given.get("gas_temperature")
    if plan is None:
        return ()
    stated = f"target {plan.target.typed} at {plan.reference.typed} ({plan.source})"
    if gas is None or gas.value_si is None:
        return (f"{stated}; the gas's temperature first",)
    scans = dict(charging.scans(sheet))
    losses = charges.losses(db, sheet.procedure.model, scans.get("rig", ""))
    advice = charging.advise(plan, sheet.shop, gas.value_si, losses)
    fills = _fills(db, sheet, plan, scans.get("bottle", ""), advice.setting_pa, gas.value_si)
    return (advice.sum_text(plan.target.unit), f"{stated}; {fills}" if fills else stated)


def _fills(
    db: Connection, sheet: Sheet, plan: GasCharge, code: str, setting_pa: float, gas_k: float
) -> str:
    held = charges.bottle(db, code) if code else None
    if held is None:
        return ""
    air = sheet.shop.atmosphere_pa
    found = bottles.fills_left(
        held.volume_m3, held.pressure_pa + air, gas_k, plan.volume.value_si, setting_pa + air, air
    )
    return f"bottle {code}: {found.fills_left} fills left"


def _torque(db: Connection, sheet: Sheet, line: Torque) -> tuple[str, ...]:
    if line.target is None:
        return ("snug, no figure",)
    said = []
    setting = verdicts.adapter_setting_nm(line)
    if setting is not None and line.adapter is not None:
        said.append(
            f"adapter {line.adapter.length.typed} at {line.adapter.angle.typed}: set the wrench "
            f"to {quantities.text(setting, line.unit)} for {line.target.typed} at the joint; "
            "enter the torque at the joint"
        )
    if line.pattern:
        said.append(f"pattern: {line.pattern}")
    if line.bit:
        said.append(f"bit: {line.bit}")
    if line.instrument == tools.TORQUE_KIND:
        tool = tools.for_torque(db, setting or line.target.value_si, sheet.facts.now)
        said.append(f"take {tool}, the smallest in range and in date" if tool else NO_WRENCH)
    return tuple(said)


def _restore(sheet: Sheet, line: Restore) -> tuple[str, ...]:
    target = sheet.reference_value(line.reference)
    if target is None:
        test = sheet.get(line.set_by_test)
        by = f": {test.line.text}" if test is not None else ""
        return (f"no valid teardown reading: Enter leaves it to be set by its test{by}",)
    return (
        f"teardown measured {quantities.text(target, line.unit)}; restore it "
        f"± {line.tolerance.typed} ({line.source} rev {line.revision})",
    )


def _shelf(db: Connection, sheet: Sheet, line: Issue) -> tuple[str, ...]:
    """The customer's own, else the shelf's next lots; used ones where they may go."""
    part = db.execute(
        select(Part.description, Part.bin).where(Part.number == line.part)
    ).one_or_none()
    if part is None:
        return ()
    state = sheet.get(line.key)
    if state is not None and state.given and not state.open:
        from_ = "; ".join(_issued_said(x) for x in lots.issued(db, sheet, line.kit, line.part))
        return (part.description, f"issued from {from_}") if from_ else (part.description,)
    today, job = sheet.facts.now.astimezone().date(), sheet.facts.number
    found = lots.of_part(db, line.part)
    mate = bool(line.mates)
    there = [_lot_said(lot) for lot in kits.good_lots(found, today, matched=mate)[:2]]
    own = [_lot_said(lot) for lot in kits.own_lots(found, job, today, matched=mate)]
    if own:
        where = f"the customer's own goes first: {', then '.join(own)}"
    else:
        where = f"bin {part.bin or 'not given'}: {', then '.join(there) or 'none that may be used'}"
    used = tuple(
        f"or used, grade {lot.grade}, out of J-{lot.job}: {_lot_said(lot)}"
        for lot in found
        if lot.origin == "harvested"
        and not line.new
        and lot.matched is mate
        and kits.lot_refused(lot, today) is None
    )
    taken = lots.issued_to_mates(db, sheet, line)
    if taken:
        number = taken[0].set_number
        own, used, part_of = [], (), [lot for lot in found if lot.set_number == number]
        lies = ", ".join(_lot_said(lot) for lot in part_of) or f"set {number}, not in stores"
        where = f"bin {part.bin or 'not given'}: {lies} alone, the mate of what is issued"
    others = () if own else _stand_ins(db, sheet, line, today)
    mates = (f"matched to {' and '.join(part for _, part, _ in line.mates)}: one set",)
    return (
        part.description,
        *(mates if mate else ()),
        where,
        *used,
        *others,
        "F11 takes in what the customer brings for it",
    )


def _stand_ins(db: Connection, sheet: Sheet, line: Issue, today: date) -> tuple[str, ...]:
    """What may take the part's place where the shelf cannot give it to the job: scanned as any lot;
    what is held for the job already comes first."""
    state = next((kit for kit in sheet.facts.kit if kit.id == line.kit), None)
    there = interchange.stand_ins(db, line.part, today, model=sheet.procedure.model, kit=line.kit)
    if state is None or not there:
        return ()
    by = {one.interchange.number: one for one in there}
    kept = held.of_job(db, sheet.facts.id, line.kit)
    holds = [(one.pieces, by[one.by]) for one in kept if one.by in by]
    if holds:
        return tuple(
            f"{pieces} {one.part} held for this job in its place ({one.interchange.source}): "
            f"scan {_next_lot(db, one, today, line)}"
            for pieces, one in holds
        )
    if state.reserved + state.available > 0:
        return ()
    return tuple(
        f"{one.said}: scan {_next_lot(db, one, today, line)}" for one in there if one.free > 0
    )


def _next_lot(db: Connection, one: StandIn, today: date, line: Issue) -> str:
    good = kits.good_lots(lots.of_part(db, one.part), today, matched=bool(line.mates))
    return f"{_lot_said(good[0])}, bin {one.bin or 'not given'}" if good else "a lot of it"


def _issued_said(lot: kits.LotState) -> str:
    until = "no storage limit" if lot.use_by is None else f"use by {lot.use_by.isoformat()}"
    cured = f", cured {lot.cured}" if lot.cured else ""
    of_set = f", set {lot.set_number}" if lot.set_number else ""
    return f"lot {lot.number}{of_set}{cured}, {until}"


def _lot_said(lot: kits.LotState) -> str:
    until = f", use by {lot.use_by.isoformat()}" if lot.use_by is not None else ""
    bin_ = f", {lot.bin}" if lot.bin else ""
    if lot.matched:
        return f"set {lot.set_number} (lot {lot.number}{bin_})"
    return f"lot {lot.number} ({lot.on_hand} there{until}{bin_})"


def _charged(sheet: Sheet, line: Charge | Leak) -> tuple[str, ...]:
    """What the reading is held against, and how it is typed."""
    plan, against = sheet.procedure.charge, ""
    if isinstance(line, Leak):
        start = sheet.get(line.start)
        before = None if start is None else pressures.at_reference(sheet, start.given)
        since = "" if before is None else f"against {reference_text(sheet, before)}, "
        source = verdicts.sourced(line.source, line.revision)
        against = f"{since}loss at most {line.loss.typed} ({source})"
    elif plan is not None:
        against = f"target {plan.target.typed} ± {plan.tolerance.typed} at {plan.reference.typed}"
    if plan is None:
        return (against,) if against else ()
    typed = f"{plan.target.typed} at {plan.reference.typed}"
    return (f"{against}; type pressure and temperature, such as {typed}",)
