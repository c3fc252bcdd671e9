"""What a gas-charged model's procedure must hold before anybody may follow it."""

from shopdesk.procedure import types as doc
from shopdesk.procedure.amounts import kind_of
from shopdesk.procedure.draft import Draft
from shopdesk.procedure.groups import Placed
from shopdesk.quantities import Dimension

ZERO_PA = 1e5
"""A reading that proves zero allows at most 1 bar gauge: below what a bench gauge shows surely."""


def check_safety(draft: Draft) -> None:
    if draft.gas_charged:
        _vent(draft)
    else:
        _without_gas(draft)
    _pressures(draft)
    _charge(draft)
    _release(draft)
    _doubts(draft)


def _without_gas(draft: Draft) -> None:
    """gas_charged = false lifts the gates of a gas unit, so nothing may speak of gas."""
    for name, found in (("gas_charge", draft.charge), ("precharge_limit", draft.precharge_limit)):
        if found is not None:
            draft.place.at(name).add(
                "given though gas_charged = false; set gas_charged = true or leave it out"
            )
    for placed in draft.lines:
        if _lets_down(placed.line, "gas"):
            placed.place.add("lets down gas though gas_charged = false; set gas_charged = true")


def _asked(draft: Draft, section: str) -> list[Placed]:
    """The section's lines that every job answers: no condition can leave them out."""
    return [
        placed
        for placed in draft.section(section)
        if placed.line is not None
        and not placed.line.when
        and not isinstance(placed.line, doc.Caution)
    ]


def _vent(draft: Draft) -> None:
    place = draft.place.at("vent")
    if not draft.sound("vent"):
        return
    lines = _asked(draft, "vent")
    sides = [n for n, each in enumerate(lines) if _lets_down(each.line, "gas")]
    if not sides:
        place.add("holds no vent line with side = 'gas' that is always asked; a gas unit needs one")
    zero = [n for n, each in enumerate(lines) if _proves_zero(each.line)]
    if not zero:
        place.add(
            "holds no pressure reading that proves zero; add one with limit.high of at most 1 bar "
            "that is always asked"
        )
    elif sides and zero[-1] < sides[-1]:
        place.add("proves zero before the gas is let down; put the reading after the vent line")
    last = draft.section("vent")[-1:]
    if not last or not _signed(last[0].line, witness=True):
        place.add(
            "does not end with a signature of a second person; the last line is kind = 'signature' "
            "with witness = true and no when"
        )


def _lets_down(line: doc.Line | None, side: str) -> bool:
    return isinstance(line, doc.Vent) and line.side == side


def _proves_zero(line: doc.Line | None) -> bool:
    return (
        isinstance(line, doc.Reading)
        and kind_of(line.unit) is Dimension.PRESSURE
        and line.limit is not None
        and line.limit.high is not None
        and line.limit.high.value_si <= ZERO_PA
    )


def _signed(line: doc.Line | None, *, witness: bool) -> bool:
    return isinstance(line, doc.Signature) and not line.when and (line.witness or not witness)


def _pressures(draft: Draft) -> None:
    """The target below both ratings, each said apart, the precharge limit within the rating."""
    rated, limit, charge = draft.rated_pressure, draft.precharge_limit, draft.charge
    if rated is not None and limit is not None and limit.value.value_si > rated.value.value_si:
        draft.place.at("precharge_limit").at("value").refuse(
            limit.value.typed, f"no more than the rated pressure {rated.value.typed}"
        )
    if charge is None:
        return
    for rating, name in ((limit, "precharge limit"), (rated, "rated pressure")):
        if rating is not None and charge.target.value_si > rating.value.value_si:
            draft.place.at("gas_charge").at("target").refuse(
                charge.target.typed, f"no more than the {name} {rating.value.typed}"
            )


def _charge(draft: Draft) -> None:
    place = draft.place.at("charge")
    for placed in draft.lines:
        if isinstance(placed.line, doc.Regulator | doc.Charge):
            kind = type(placed.line).__name__.lower()
            if placed.line.section != "charge":
                placed.place.add(f"a {kind} line stands in the charge section, nowhere else")
            if draft.charge is None:
                placed.place.add(f"a {kind} line needs [gas_charge], which says what is charged")
    if draft.charge is None or not draft.sound("charge"):
        return
    lines = _asked(draft, "charge")
    setting = [n for n, each in enumerate(lines) if isinstance(each.line, doc.Regulator)]
    reading = [n for n, each in enumerate(lines) if isinstance(each.line, doc.Charge)]
    for found, kind in ((setting, "regulator"), (reading, "charge")):
        if not found:
            place.add(f"holds no line of kind = '{kind}' that is always asked; a charge needs one")
    if setting and reading and reading[-1] < setting[-1]:
        place.add("reads the charge back before the regulator is set; exchange the lines")
    if not draft.charge.before_proof and not draft.section("proof"):
        draft.place.at("proof").add(
            "holds no line; a unit is proved before it is charged, unless before_proof = true"
        )


def _release(draft: Draft) -> None:
    last = draft.section("release")[-1:]
    if last and last[0].line is None:
        return
    if not last or not _signed(last[0].line, witness=False):
        draft.place.at("release").add(
            "does not end with a signature; the last line is kind = 'signature' with no when"
        )


def _doubts(draft: Draft) -> None:
    """What may be meant so, and is said once when the document is checked."""
    if not draft.gas_charged:
        return
    place = draft.place
    for name in ("rated_pressure", "precharge_limit"):
        if getattr(draft, name) is None:
            place.at(name).warn("missing; nothing is charged on this model until it is stated")
    if draft.charge is None:
        place.at("gas_charge").warn("missing; nothing is charged on this model until it is stated")
    else:
        _charge_doubts(draft, draft.charge)
    oil = any(_lets_down(each.line, "oil") for each in draft.section("vent"))
    if not oil and draft.sound("vent"):
        place.at("vent").warn("lets down no oil side; add a vent line with side = 'oil' if it has")


def _charge_doubts(draft: Draft, charge: doc.GasCharge) -> None:
    place, limit = draft.place, draft.precharge_limit
    if draft.highest_service_temperature is None:
        place.at("highest_service_temperature").warn(
            "missing; the charge cannot be judged at the hottest service"
        )
    top = charge.target.value_si + charge.tolerance.value_si
    if limit is not None and charge.target.value_si <= limit.value.value_si < top:
        place.at("gas_charge").at("tolerance").warn(
            f"{charge.tolerance.typed!r} above the target reaches past the precharge limit "
            f"{limit.value.typed}"
        )
    if not any(isinstance(each.line, doc.Leak) for each in draft.lines) and draft.sound("hold"):
        place.at("hold").warn("holds no leak line; nothing shows that the charge stays")
