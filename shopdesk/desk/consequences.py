"""What follows from an answer: lines asked again, gas state, gas drawn, stock issued."""

from typing import Any

from sqlalchemy import Row, insert, select, update

from shopdesk.calc import bottle
from shopdesk.desk import instruments, standing, stock
from shopdesk.desk.answering import Given
from shopdesk.desk.shop import Deed, Worker
from shopdesk.errors import BadInput, OutOfRange
from shopdesk.procedure import Charge, GasCharge, Regulator
from shopdesk.records.tables import Bottle, ChargeResult, Instrument, Unit
from shopdesk.rules import pressures
from shopdesk.rules.answers import GasState
from shopdesk.rules.dispositions import follows
from shopdesk.rules.generated import Issue
from shopdesk.rules.sheet import LineState, Sheet
from shopdesk.rules.slots import Slot
from shopdesk.views.sheets import SheetView


def follow(
    deed: Deed, view: SheetView, state: LineState, slot: Slot, given: Given, who: Worker
) -> None:
    """Carries out, in the same transaction, what the answer brings with it."""
    line = state.line
    if slot.name == "disposition":
        _dispose(deed, view, state, given, who)
    elif isinstance(line, Issue) and given.lot is not None:
        stock.issue(deed, view.heading.job_id, line.kit, given.lot, round(given.value_si or 0), who)
    elif isinstance(line, Regulator) and slot.name == "setting":
        standing.void_vent(deed, view, "the unit is being charged", who)
    elif line.section == "vent" and standing.shows_gas(line, given.value_si):
        standing.set_gas(deed, view, GasState.CHARGED, who)
    elif isinstance(line, Charge) and slot.name == "temperature" and given.supersedes is None:
        _charged(deed, view, state, given, who)


def _dispose(deed: Deed, view: SheetView, state: LineState, given: Given, who: Worker) -> None:
    what = follows(view.sheet, state.line, given.answer)
    if what is not None:
        reason = f"{state.line.text}: {given.answer}"
        standing.reopen(deed, view, what.cause, what.lines, reason, who)


def _charged(deed: Deed, view: SheetView, state: LineState, given: Given, who: Worker) -> None:
    """Records what the charge lost on the way from the regulator, and takes its gas out of the
    bottle's balance."""
    sheet = view.sheet
    plan, scans = sheet.procedure.charge, instruments.charge_scans(sheet)
    pressure, gas_k = state.given["value"].value_si, given.value_si
    if plan is None or pressure is None or gas_k is None or not {"rig", "bottle"} <= set(scans):
        return
    rig = deed.db.execute(
        select(Instrument.id, Instrument.dead_volume_m3).where(Instrument.code == scans["rig"])
    ).one()
    bottle_row = deed.db.execute(
        select(Bottle.id, Bottle.volume_m3, Bottle.pressure_pa).where(
            Bottle.code == scans["bottle"]
        )
    ).one()
    settled = pressures.at_reference_pa(pressure, gas_k, plan.reference.value_si, sheet.shop)
    set_to = pressures.set_at_reference_pa(sheet, plan)
    if set_to is not None:
        deed.db.execute(
            insert(ChargeResult).values(
                job_id=view.heading.job_id,
                unit_model_id=_model_id(deed, view),
                rig_id=rig.id,
                bottle_id=bottle_row.id,
                loss_pa=set_to - settled,
                settled_pa=settled,
                at=deed.now,
            )
        )
    left = _bottle_left_pa(sheet, plan, pressure, gas_k, rig.dead_volume_m3 or 0.0, bottle_row)
    deed.db.execute(update(Bottle).where(Bottle.id == bottle_row.id).values(pressure_pa=left))
    deed.event(
        "gas drawn",
        who,
        {"bottle": scans["bottle"], "left_pa": left},
        job_id=view.heading.job_id,
    )


def _model_id(deed: Deed, view: SheetView) -> int:
    return deed.db.execute(
        select(Unit.unit_model_id).where(Unit.id == view.heading.unit_id)
    ).scalar_one()


def _bottle_left_pa(
    sheet: Sheet,
    plan: GasCharge,
    pressure_pa: float,
    gas_k: float,
    rig_m3: float,
    row: Row[*tuple[Any, ...]],
) -> float:
    """Gauge pressure left in the bottle by mass balance; 0 when it gave more than it held."""
    air = sheet.shop.atmosphere_pa
    try:
        taken = bottle.gas_per_fill(
            plan.volume.value_si, pressure_pa + air, air, gas_k, rig_volume_m3=rig_m3
        )
        after = bottle.bottle_after(row.volume_m3, row.pressure_pa + air, gas_k, taken)
    except OutOfRange:
        return 0.0
    except BadInput:  # the fill took no gas: nothing left the bottle
        return float(row.pressure_pa)
    return max(0.0, after - air)
