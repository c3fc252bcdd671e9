"""What a charge read back brings with it: what was lost on the way from the regulator, and the
gas its bottle gave. A fill read again, or corrected, corrects both."""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from sqlalchemy import func, insert, select, update

from shopdesk import quantities
from shopdesk.calc import bottle
from shopdesk.desk.shop import Deed, Worker
from shopdesk.errors import BadInput, OutOfRange
from shopdesk.procedure import Charge, GasCharge, Regulator
from shopdesk.records.tables import Bottle, ChargeResult, Event, GasMove, Instrument, Unit
from shopdesk.rules import charging, pressures
from shopdesk.rules.answers import Answer
from shopdesk.rules.sheet import LineState, Sheet
from shopdesk.views import sheets

LEAST_KG = 1e-9  # what two sums of doubles may differ by


@dataclass(frozen=True, slots=True)
class Fill:
    """One fill as the sheet tells it now. ``entry`` is the setting first recorded for it."""

    entry: int
    rig_id: int
    bottle_id: int
    loss_pa: float
    settled_pa: float
    gas_k: float
    kg: float


def read_back(deed: Deed, number: int, who: Worker) -> None:
    """Records what the charge section says of its fill now, where that is not recorded yet: a
    result of its own, and the difference in the bottle's balance."""
    view = sheets.load(deed.db, number, deed.now)
    fill = _fill(deed, view.sheet)
    if fill is None:
        return
    job_id = view.heading.job_id
    known = deed.db.execute(
        select(
            ChargeResult.rig_id,
            ChargeResult.bottle_id,
            ChargeResult.loss_pa,
            ChargeResult.settled_pa,
        )
        .where(ChargeResult.job_id == job_id, ChargeResult.fill_entry == fill.entry)
        .order_by(ChargeResult.id.desc())
        .limit(1)
    ).one_or_none()
    says = (fill.rig_id, fill.bottle_id, fill.loss_pa, fill.settled_pa)
    if known is not None and tuple(known) == says:
        return
    model = select(Unit.unit_model_id).where(Unit.id == view.heading.unit_id)
    deed.db.execute(
        insert(ChargeResult).values(
            job_id=job_id,
            unit_model_id=deed.db.execute(model).scalar_one(),
            rig_id=fill.rig_id,
            bottle_id=fill.bottle_id,
            loss_pa=fill.loss_pa,
            settled_pa=fill.settled_pa,
            at=deed.now,
            fill_entry=fill.entry,
        )
    )
    reason = "charge read back" if known is None else "fill read again or corrected"
    taken = _taken(deed, view.sheet, fill)
    for bottle_id in dict.fromkeys((*taken, fill.bottle_id)):
        now = fill.kg if bottle_id == fill.bottle_id else 0.0
        back = taken.get(bottle_id, 0.0) - now
        if abs(back) > LEAST_KG:
            _move(deed, view.sheet, fill, bottle_id, back, reason, who)


def _taken(deed: Deed, sheet: Sheet, fill: Fill) -> Mapping[int, float]:
    """Kilograms of nitrogen by bottle that the fill has taken so far."""
    rows = deed.db.execute(
        select(GasMove.bottle_id, func.sum(-GasMove.kg))
        .where(GasMove.job_id == sheet.facts.id, GasMove.fill_entry == fill.entry)
        .group_by(GasMove.bottle_id)
    )
    taken = defaultdict(float, {bottle_id: float(kg) for bottle_id, kg in rows})
    for bottle_id, kg in _taken_once(deed, sheet, fill):
        taken[bottle_id] += kg
    return taken


def _taken_once(deed: Deed, sheet: Sheet, fill: Fill) -> Iterator[tuple[int, float]]:
    """Bottle and kilograms of what the fill took before there were moves of gas: each reading then
    took its gas anew and said "gas drawn", its result alone tells how much."""
    plan = sheet.procedure.charge
    assert plan is not None
    drawn = select(Event.id).where(
        Event.job_id == ChargeResult.job_id,
        Event.kind == "gas drawn",
        Event.at == ChargeResult.at,
    )
    rows = deed.db.execute(
        select(ChargeResult.bottle_id, ChargeResult.settled_pa, Instrument.dead_volume_m3)
        .join(Instrument, Instrument.id == ChargeResult.rig_id)
        .where(
            ChargeResult.job_id == sheet.facts.id,
            ChargeResult.fill_entry == fill.entry,
            drawn.exists(),
        )
    )
    for row in rows.all():
        pressure_pa = pressures.at_reference_pa(
            row.settled_pa, plan.reference.value_si, fill.gas_k, sheet.shop
        )
        yield row.bottle_id, _kg(sheet, plan, pressure_pa, fill.gas_k, row.dead_volume_m3 or 0.0)


def _fill(deed: Deed, sheet: Sheet) -> Fill | None:
    """None while something of it is not answered."""
    plan, scans = sheet.procedure.charge, dict(charging.scans(sheet))
    regulator, charge = _state(sheet, Regulator), _state(sheet, Charge)
    if plan is None or regulator is None or charge is None or not {"rig", "bottle"} <= set(scans):
        return None
    put, read, gas = (
        regulator.given.get("setting"),
        charge.given.get("value"),
        charge.given.get("temperature"),
    )
    settled, set_to = (
        pressures.at_reference(sheet, charge.given),
        pressures.set_at_reference_pa(sheet, plan),
    )
    if put is None or read is None or gas is None or settled is None or set_to is None:
        return None
    if read.value_si is None or gas.value_si is None:
        return None
    rig = deed.db.execute(
        select(Instrument.id, Instrument.dead_volume_m3).where(Instrument.code == scans["rig"])
    ).one()
    bottle_id = deed.db.execute(
        select(Bottle.id).where(Bottle.code == scans["bottle"])
    ).scalar_one()
    kg = _kg(sheet, plan, read.value_si, gas.value_si, rig.dead_volume_m3 or 0.0)
    first = _first(regulator, put).id
    return Fill(first, rig.id, bottle_id, set_to - settled, settled, gas.value_si, kg)


def _state(sheet: Sheet, kind: type[Regulator] | type[Charge]) -> LineState | None:
    """The last line of this kind in the charge section that was answered."""
    found = [s for s in sheet.section("charge") if isinstance(s.line, kind) and s.given]
    return found[-1] if found else None


def _first(state: LineState, answer: Answer) -> Answer:
    """The answer that a chain of corrections began with."""
    past = {old.id: old for old in state.past}
    while answer.supersedes in past:
        answer = past[answer.supersedes]
    return answer


def _kg(sheet: Sheet, plan: GasCharge, pressure_pa: float, gas_k: float, rig_m3: float) -> float:
    """Nitrogen the fill took; 0 where it took none."""
    air = sheet.shop.atmosphere_pa
    try:
        return bottle.gas_per_fill(
            plan.volume.value_si, pressure_pa + air, air, gas_k, rig_volume_m3=rig_m3
        )
    except BadInput:
        return 0.0


def _move(
    deed: Deed, sheet: Sheet, fill: Fill, bottle_id: int, kg: float, reason: str, who: Worker
) -> None:
    """Takes ``-kg`` out of the bottle's balance, or puts ``kg`` back, as one row. One that gave
    more than its balance held is empty. Raises OutOfRange where the balance cannot be told."""
    row = deed.db.execute(
        select(Bottle.code, Bottle.volume_m3, Bottle.pressure_pa).where(Bottle.id == bottle_id)
    ).one()
    air = sheet.shop.atmosphere_pa
    stands = (row.volume_m3, row.pressure_pa + air, fill.gas_k)
    try:
        after = bottle.bottle_after(*stands, min(-kg, bottle.mass(*stands)))
    except OutOfRange as fault:
        raise OutOfRange(
            f"bottle {row.code} stands in the record at {quantities.text(row.pressure_pa, 'bar')}: "
            f"what this fill leaves in it cannot be told, so nothing was recorded. {fault} Put the "
            "bottle on the list anew under another code, with the pressure its gauge shows, and "
            "correct the scan."
        ) from fault
    left = max(0.0, after - air)
    deed.db.execute(update(Bottle).where(Bottle.id == bottle_id).values(pressure_pa=left))
    values = {
        "bottle_id": bottle_id,
        "fill_entry": fill.entry,
        "kg": kg,
        "left_pa": left,
        "reason": reason,
    }
    move_id = deed.db.execute(
        insert(GasMove)
        .values(job_id=sheet.facts.id, person_id=who.id, at=deed.now, **values)
        .returning(GasMove.id)
    ).scalar_one()
    deed.event("gas", who, {"move": move_id, **values}, job_id=sheet.facts.id)
