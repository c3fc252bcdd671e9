"""What the sheet says beside the line it asks: the charge's sum, the adapter's setting, the
depth to restore, a drawing of the bore."""

from collections.abc import Mapping

from sqlalchemy import Connection

from shopdesk import quantities
from shopdesk.calc import bottle as bottles
from shopdesk.errors import ShopError
from shopdesk.procedure import Charge, GasCharge, Leak, Line, Prepare, Regulator, Restore, Torque
from shopdesk.rules import charging, verdicts
from shopdesk.rules.answers import Answer
from shopdesk.rules.sheet import LineState, Sheet
from shopdesk.views import charges


def has_advice(line: Line) -> bool:
    """Whether there is ever something to compute for this kind of line."""
    return isinstance(line, Regulator | Torque | Restore | Charge | Leak)


def beside(db: Connection, sheet: Sheet, state: LineState) -> tuple[str, ...]:
    """Short sentences for the line under the cursor; empty where there is nothing to compute."""
    line = state.line
    try:
        match line:
            case Regulator():
                return _regulator(db, sheet, state.given)
            case Torque():
                return _torque(line)
            case Restore():
                return _restore(sheet, line)
            case Charge() | Leak():
                return _target_now(sheet, line, state.given)
    except ShopError as fault:
        return (str(fault),)
    return ()


def _regulator(db: Connection, sheet: Sheet, given: Mapping[str, Answer]) -> tuple[str, ...]:
    plan = sheet.procedure.charge
    gas = given.get("gas_temperature")
    if plan is None:
        return ()
    stated = f"target {plan.target.typed} at {plan.reference.typed} ({plan.source})"
    if gas is None or gas.value_si is None:
        return (f"{stated}; the gas's temperature first",)
    scans = _scans(sheet)
    advice = charging.advise(
        plan, sheet.shop, gas.value_si, charges.losses(db, sheet.procedure.model, scans["rig"])
    )
    fills = _fills(db, sheet, plan, scans["bottle"], advice.setting_pa, gas.value_si)
    return (advice.sum_text(plan.target.unit), f"{stated}; {fills}" if fills else stated)


def _scans(sheet: Sheet) -> dict[str, str]:
    scans = {"rig": "", "bottle": ""}
    for state in sheet.section("charge"):
        if isinstance(state.line, Prepare) and "instrument" in state.given:
            scans[state.line.instrument] = state.given["instrument"].answer
    return scans


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


def _torque(line: Torque) -> tuple[str, ...]:
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
    return tuple(said)


def _restore(sheet: Sheet, line: Restore) -> tuple[str, ...]:
    target = sheet.reference_value(line.reference)
    if target is None:
        test = sheet.get(line.set_by_test)
        by = f": {test.line.text}" if test is not None else ""
        return (f"no valid teardown reading: Enter leaves it to be set by its test{by}",)
    unit = line.tolerance.unit
    return (
        f"teardown measured {quantities.text(target, unit)}; restore it "
        f"± {line.tolerance.typed} ({line.source} rev {line.revision})",
    )


def _target_now(sheet: Sheet, line: Line, given: Mapping[str, Answer]) -> tuple[str, ...]:
    plan = sheet.procedure.charge
    if plan is None:
        return ()
    return (
        f"target {plan.target.typed} ± {plan.tolerance.typed} at {plan.reference.typed}; "
        "type pressure and temperature: 71.2 bar at 24 C",
    )
