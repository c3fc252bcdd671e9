"""Gas pressures on a sheet, brought to the reference temperature at constant density."""

from collections.abc import Mapping

from shopdesk.calc import charge
from shopdesk.procedure import types as doc
from shopdesk.rules.answers import Answer
from shopdesk.rules.sheet import Sheet
from shopdesk.rules.shop import ShopRules


def at_reference_pa(pressure_pa: float, gas_k: float, reference_k: float, shop: ShopRules) -> float:
    """Gauge pascal a reading would show at the reference temperature."""
    found = charge.at_reference(pressure_pa + shop.atmosphere_pa, gas_k, reference_k)
    return found.pressure_pa_abs - shop.atmosphere_pa


def at_reference(sheet: Sheet, given: Mapping[str, Answer]) -> float | None:
    pressure, temperature = given.get("value"), given.get("temperature")
    if pressure is None or temperature is None:
        return None
    if pressure.value_si is None or temperature.value_si is None:
        return None
    plan = sheet.procedure.charge
    reference_k = plan.reference.value_si if plan else sheet.shop.reference_k
    return at_reference_pa(pressure.value_si, temperature.value_si, reference_k, sheet.shop)


def last_charge_pa(sheet: Sheet) -> float | None:
    """The newest charge or leak reading that counts, gauge at reference temperature."""
    found = [
        (max(a.id for a in state.given.values()), pressure)
        for state in sheet.lines
        if isinstance(state.line, doc.Charge | doc.Leak)
        and state.given
        and (pressure := at_reference(sheet, state.given)) is not None
    ]
    return max(found)[1] if found else None


def set_at_reference_pa(sheet: Sheet, plan: doc.GasCharge) -> float | None:
    """Gauge pascal at reference that the regulator was set to on this sheet, None if not yet."""
    for state in sheet.section("charge"):
        if isinstance(state.line, doc.Regulator):
            gas, put = state.given.get("gas_temperature"), state.given.get("setting")
            if gas is not None and put is not None and gas.value_si and put.value_si is not None:
                return at_reference_pa(
                    put.value_si, gas.value_si, plan.reference.value_si, sheet.shop
                )
    return None
