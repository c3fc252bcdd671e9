"""The charge by the shop's rules: what to set, what a reading means, what must not be exceeded."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from shopdesk import quantities
from shopdesk.calc import charge
from shopdesk.procedure import types as doc
from shopdesk.rules.refusals import Refusal
from shopdesk.rules.sheet import Sheet
from shopdesk.rules.shop import ShopRules


def scans(sheet: Sheet) -> tuple[tuple[str, str], ...]:
    """What was scanned in the charge section, as (kind, code): bottle, rig, hose, regulator."""
    return tuple(
        (state.line.instrument, state.given["instrument"].answer)
        for state in sheet.section("charge")
        if isinstance(state.line, doc.Prepare) and "instrument" in state.given
    )


@dataclass(frozen=True, slots=True)
class Advice:
    """What to set the regulator to, gauge pascal: corrected target plus over-set, the ideal-gas
    figure beside it, and how the over-set came about."""

    target_pa: float
    gas_k: float
    corrected_pa: float
    ideal_pa: float
    overset_pa: float
    setting_pa: float
    past: int
    learned: bool
    spread_pa: float | None

    def sum_text(self, unit: str) -> str:
        """The sum that gives the setting, to be shown beside it."""
        show = quantities.text
        how = f"median of {self.past} charges" if self.learned else "shop default"
        return (
            f"{show(self.corrected_pa, unit)} for gas at {show(self.gas_k, '°C')} "
            f"(ideal gas {show(self.ideal_pa, unit)}) + over-set "
            f"{quantities.span_text(self.overset_pa, unit)} ({how}) "
            f"= set {show(self.setting_pa, unit)}"
        )


def advise(
    plan: doc.GasCharge, shop: ShopRules, gas_k: float, past_losses_pa: Sequence[float]
) -> Advice:
    """Constant density from the reference temperature to the gas's, real nitrogen; the over-set
    from past charges of this model and rig once there are enough."""
    atmosphere = shop.atmosphere_pa
    found = charge.set_pressure(plan.target.value_si + atmosphere, plan.reference.value_si, gas_k)
    over = charge.over_set(past_losses_pa, shop.overset.default_pa, shop.overset.enough)
    corrected = found.pressure_pa_abs - atmosphere
    return Advice(
        target_pa=plan.target.value_si,
        gas_k=gas_k,
        corrected_pa=corrected,
        ideal_pa=found.ideal_pa_abs - atmosphere,
        overset_pa=over.over_set_pa,
        setting_pa=corrected + over.over_set_pa,
        past=over.count,
        learned=over.learned,
        spread_pa=over.spread_pa,
    )


def setting_refused(
    procedure: doc.Procedure,
    shop: ShopRules,
    setting_pa: float,
    ratings: Mapping[str, float | None],
) -> Refusal | None:
    """The regulator's setting never exceeds the rating of unit, rig or hose. ``ratings`` are those
    of what is attached, by name; a missing rating refuses too."""
    rated, show = procedure.rated_pressure, quantities.text
    unit = rated.value.unit if rated is not None else "bar"
    limits = dict(ratings)
    if rated is not None:
        limits[f"unit, {rated.source}"] = rated.value.value_si
    for name, rating in limits.items():
        if rating is None:
            return Refusal(
                f"{name}: no rating is on record; nothing is charged through it", (), "manager"
            )
        if setting_pa > rating:
            return Refusal(
                f"setting {show(setting_pa, unit)} is above the rating of the {name}: "
                f"{show(rating, unit)}; set it lower",
                (),
                "technician",
            )
    return None


def plan_refused(procedure: doc.Procedure, shop: ShopRules) -> Refusal | None:
    """Whether the target itself is allowed: within the precharge limit at reference, and within
    the rating at the highest service temperature."""
    plan, rated, limit = procedure.charge, procedure.rated_pressure, procedure.precharge_limit
    if plan is None or rated is None or limit is None:
        return None  # the charge's gate refuses those
    faults = charge_faults(procedure, shop, plan.target.value_si)
    if faults:
        return Refusal(f"the procedure's target is not allowed: {faults[0]}", (), "manager")
    return None


def charge_faults(
    procedure: doc.Procedure, shop: ShopRules, at_reference: float
) -> tuple[str, ...]:
    """What a charge of this gauge pressure at reference would break."""
    plan, rated, limit = procedure.charge, procedure.rated_pressure, procedure.precharge_limit
    faults = []
    show = quantities.text
    if limit is not None and at_reference > limit.value.value_si:
        faults.append(
            f"{show(at_reference, limit.value.unit)} at reference is above the precharge limit "
            f"{limit.value.typed} ({limit.source} rev {limit.revision})"
        )
    hottest = procedure.highest_service_temperature
    if plan is not None and rated is not None and hottest is not None:
        found = charge.set_pressure(
            at_reference + shop.atmosphere_pa, plan.reference.value_si, hottest.value_si
        )
        hot = found.pressure_pa_abs - shop.atmosphere_pa
        if hot > rated.value.value_si:
            faults.append(
                f"at {hottest.typed} it would stand at {show(hot, rated.value.unit)}, above the "
                f"rated {rated.value.typed} ({rated.source} rev {rated.revision})"
            )
    return tuple(faults)
