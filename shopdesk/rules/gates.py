"""Gates: why a section is closed, which lines stand in the way, whose move it is."""

from shopdesk import quantities
from shopdesk.procedure import types as doc
from shopdesk.rules import claims, pressures
from shopdesk.rules.answers import GasState, Road
from shopdesk.rules.generated import SHIPS_AS, Approval, laid_out
from shopdesk.rules.refusals import Refusal
from shopdesk.rules.sheet import LineState, Sheet, State, ships_as, vent_asked
from shopdesk.rules.shop import money
from shopdesk.rules.slots import Ask

# Sections whose lines must be done one after the other: the order is itself the safety.
IN_ORDER = frozenset({"vent", "build", "charge", "hold", "release"})
CHARGEABLE = frozenset({"parts", "build", "proof", "charge", "hold"})


def closed(sheet: Sheet, section: str) -> Refusal | None:
    """Why this section may not be worked on now; None when it is open."""
    for gate in (_finished, _quarantine, _claim, _vent, _earlier, _approval, _build, _charge):
        refusal = gate(sheet, section)
        if refusal is not None:
            return refusal
    return None


def closed_line(sheet: Sheet, key: str) -> Refusal | None:
    """Why this line may not be answered now: its section's gate, or a line before it."""
    state = sheet.get(key)
    if state is None:
        return Refusal(no_line(sheet, key))
    section = state.line.section
    refusal = closed(sheet, section)
    if refusal is not None:
        return refusal
    if state.state is State.NOT_ASKED:
        return Refusal(_not_asked(sheet, state))
    if section in IN_ORDER or key in claims.DECISION:
        before = _first_open_before(sheet, state)
        if before is not None:
            return Refusal(
                f"{section}: the lines are done in order; {_name(sheet, before)} comes first",
                (before.line.key,),
                whose_move(before),
            )
    return _hold_before(sheet, state)


def no_line(sheet: Sheet, key: str) -> str:
    """Why the sheet has no line of this key, in the line's words where the procedure has it."""
    known = next((line for line in laid_out(sheet.procedure) if line.key == key), None)
    if known is None:
        return f"this sheet has no line {key[:60]!r}; look at the sheet for its lines"
    return f"{known.text}: not done on this unit, which is {sheet.facts.road.value}"


def _not_asked(sheet: Sheet, state: LineState) -> str:
    """That a line is not asked, and what it hangs on."""
    name = _name(sheet, state)
    if state.line.section == "vent" and not vent_asked(sheet):
        return (
            f"{name}: not asked now; the unit was charged since, and its vent record is made anew "
            "when it is opened or leaves vented"
        )
    on = [sheet.get(key) for condition in state.line.when for key in condition.lines]
    words = dict.fromkeys(other.line.text for other in on if other is not None)
    hangs = f"; it hangs on: {', '.join(words)}" if words else ""
    return f"{name}: not asked on this job as it stands{hangs}"


def _hold_before(sheet: Sheet, state: LineState) -> Refusal | None:
    """What comes after a timed hold is not answered before the hold is over."""
    for other in sheet.section(state.line.section):
        if other.line.key == state.line.key:
            return None
        if other.open and isinstance(other.line, doc.Wait):
            return Refusal(
                f"{_name(sheet, other)}: {other.line.duration.typed} have to pass first",
                (other.line.key,),
                whose_move(other),
            )
    return None


def _first_open_before(sheet: Sheet, state: LineState) -> LineState | None:
    for other in sheet.section(state.line.section):
        if other.line.key == state.line.key:
            return None
        if other.open:
            return other
    return None


def _name(sheet: Sheet, state: LineState) -> str:
    """ "line 3, Gas side vented" as the sheet numbers it, where it does."""
    keys = [s.line.key for s in sheet.section(state.line.section) if s.numbered]
    if not state.numbered:
        return state.line.text
    return f"line {keys.index(state.line.key) + 1}, {state.line.text}"


def _finished(sheet: Sheet, section: str) -> Refusal | None:
    if sheet.facts.closed:
        return Refusal("the job is closed; a unit that comes back gets a new job", (), "counter")
    return None


def _quarantine(sheet: Sheet, section: str) -> Refusal | None:
    if sheet.facts.road is Road.QUARANTINED and section != "quarantined":
        first = next((s for s in sheet.section("quarantined") if s.open), None)
        return Refusal(
            "the unit is in quarantine: its fluid is not known; the quarantine lines come first"
            + (f": {first.line.text}" if first else ""),
            _open_keys(sheet, "quarantined"),
            whose_move(first) if first else "manager",
        )
    return None


def _claim(sheet: Sheet, section: str) -> Refusal | None:
    """The fault of a unit back under warranty is measured before the vent or the spanner takes
    the evidence away."""
    claim = sheet.facts.claim
    if claim is None or section not in ("vent", claims.FAULT, "teardown"):
        return None
    where = (claims.CLAIM,) if section in ("vent", claims.FAULT) else claims.SECTIONS
    missing = [state for name in where for state in sheet.section(name) if state.open]
    if not missing or not sheet.complete("receipt"):
        return None
    named = ", ".join(state.line.text for state in missing[:3])
    more = f" and {len(missing) - 3} more" if len(missing) > 3 else ""
    unsafe = (
        ". A unit that is not safe as it stands is made safe first; say so there"
        if sheet.facts.gas_state.counts_as_charged
        else ""
    )
    return Refusal(
        f"this is a claim on J-{claim.job}: its fault is measured, as the unit came, before "
        f"{'it is vented' if section == 'vent' else 'it is opened'}; missing: {named}{more}. "
        f"What cannot be measured is answered 'cannot: why', signed by a manager{unsafe}",
        tuple(state.line.key for state in missing),
        whose_move(missing[0]),
    )


def _vent(sheet: Sheet, section: str) -> Refusal | None:
    """No opening of a gas unit without a complete vent record signed by a second person."""
    if section not in ("teardown", "build") or not sheet.procedure.gas_charged:
        return None
    missing = tuple(s.line.key for s in sheet.section("vent") if s.state is State.OPEN)
    witness = _vent_witness(sheet)
    unresolved = tuple(s.line.key for s in sheet.section("vent") if s.state is State.UNRESOLVED)
    if missing or unresolved or not witness or sheet.facts.gas_state is not GasState.VENTED:
        first = next((s for s in sheet.section("vent") if s.open), None)
        return Refusal(
            f"{section} of a gas unit needs its vent record complete, with a second person's "
            "signature"
            + (f"; first open: {_name(sheet, first)}" if first else "")
            + f"; the gas is {sheet.facts.gas_state.value}, which counts as charged",
            missing + unresolved or tuple(s.line.key for s in sheet.section("vent")),
            "technician and a second person",
        )
    return None


def _vent_witness(sheet: Sheet) -> bool:
    return any(
        isinstance(s.line, doc.Signature) and s.line.witness and s.state is State.DONE
        for s in sheet.section("vent")
    )


def _earlier(sheet: Sheet, section: str) -> Refusal | None:
    for name in sheet.sections:
        if name == section:
            return None
        if not sheet.complete(name):
            return Refusal(
                f"{section} opens when {name} is complete; {_open_lines(_open_keys(sheet, name))}, "
                f"first: {_first_open_text(sheet, name)}",
                _open_keys(sheet, name),
                whose_move(next(state for state in sheet.section(name) if state.open)),
            )
    return None


def _open_lines(keys: tuple[str, ...]) -> str:
    return "1 line is open" if len(keys) == 1 else f"{len(keys)} lines are open"


def _first_open_text(sheet: Sheet, section: str) -> str:
    state = next(s for s in sheet.section(section) if s.open)
    why = " (outside its limit, nothing decided)" if state.state is State.UNRESOLVED else ""
    return state.line.text + why


def _open_keys(sheet: Sheet, section: str) -> tuple[str, ...]:
    return tuple(state.line.key for state in sheet.section(section) if state.open)


def whose_move(state: LineState) -> str:
    """Who can clear this open line."""
    line = state.line
    if isinstance(line, claims.About | claims.Again):
        slot = state.next_slot
        return "manager" if slot is not None and slot.ask is Ask.SIGN else "technician"
    if isinstance(line, doc.Signature) and (line.witness or line.role):
        return "a second person" if line.witness else line.role
    if isinstance(line, Approval):
        return "customer"
    return _MOVERS.get(line.section, "technician")


_MOVERS = {"receipt": "counter", "decision": "office", "shipment": "counter", "declined": "counter"}


def _approval(sheet: Sheet, section: str) -> Refusal | None:
    """No chargeable work before the customer's approval, none beyond its cap."""
    if section not in CHARGEABLE or not sheet.customers:
        return None
    quote = sheet.facts.quote
    if quote is None or quote.answer != "approved":
        whose = "office" if quote is None else "customer"
        return Refusal(
            f"{section} is chargeable work and the customer has not approved a quote",
            ("decision.approval",),
            whose,
        )
    return beyond_cap(sheet)


def not_quoted(sheet: Sheet) -> Refusal | None:
    """Why the customer is not to be quoted this work."""
    if sheet.customers:
        return None
    undecided = tuple(
        state.line.key
        for state in sheet.section("decision")
        if state.open and state.line.key in claims.DECISION
    )
    if undecided:
        return Refusal(
            "whether the claim is covered is not decided yet; the quote comes after that",
            undecided,
            "manager",
        )
    return Refusal(f"this is {sheet.facts.kind} work: the customer is not quoted")


def beyond_cap(sheet: Sheet) -> Refusal | None:
    """Whether the work goes beyond what the customer agreed to, parts issued counted in."""
    quote = sheet.facts.quote
    if quote is None or not sheet.customers:
        return None
    owed = quote.total_cents + sheet.facts.extra_cents
    if owed > quote.cap_cents:
        return Refusal(
            f"the work now stands at {money(owed, sheet.shop.currency)}, above the "
            f"{money(quote.cap_cents, sheet.shop.currency)} {quote.who} agreed to; "
            "a new quote and approval come first",
            ("decision.approval",),
            "office",
        )
    return None


def _build(sheet: Sheet, section: str) -> Refusal | None:
    """No build with an outside reading that nothing has settled. (Kit, kept parts and tools
    are lines of the parts section, which stands before the build.)"""
    if section not in ("parts", "build") or sheet.facts.road is not Road.REPAIR:
        return None
    before = [s for s in sheet.unresolved if s.line.section in ("receipt", "vent", "teardown")]
    if before:
        return Refusal(
            f"{before[0].line.text}: outside its limit and not settled; rework it, replace the "
            "part, or have it conceded by manager and customer",
            tuple(s.line.key for s in before),
            "technician or manager",
        )
    return None


def _charge(sheet: Sheet, section: str) -> Refusal | None:
    if section != "charge":
        return None
    procedure = sheet.procedure
    for missing, name in (
        (procedure.rated_pressure, "rated pressure"),
        (procedure.precharge_limit, "precharge limit"),
        (procedure.charge, "charge target"),
        (procedure.highest_service_temperature, "highest service temperature"),
    ):
        if missing is None:
            return Refusal(
                f"procedure {procedure.model} rev {procedure.revision} states no {name}; "
                "nothing is charged without it",
                (),
                "manager (a new revision of the procedure)",
            )
    if procedure.charge is not None and not procedure.charge.before_proof:
        return _proof_first(sheet)
    return None


def _proof_first(sheet: Sheet) -> Refusal | None:
    proved = any(state.state is State.DONE for state in sheet.section("proof"))
    if sheet.complete("proof") and proved:
        return None
    first = next((s for s in sheet.section("proof") if s.open), None)
    return Refusal(
        "no charge before proof: this procedure proves the unit first"
        + (f"; first open: {_name(sheet, first)}" if first else ""),
        _open_keys(sheet, "proof"),
        whose_move(first) if first else "manager (a new revision of the procedure)",
    )


def may_leave(sheet: Sheet) -> Refusal | None:
    """Why the unit may not go out of the door: open lines, a running hold, its gas state."""
    open_lines = tuple(state.line.key for state in sheet.lines if state.open)
    if open_lines:
        first = sheet.get(open_lines[0])
        text = first.line.text if first else open_lines[0]
        return Refusal(
            f"not ready to leave: {_open_lines(open_lines)}, first: {text}",
            open_lines,
            whose_move(first) if first else "technician",
        )
    said, gas = ships_as(sheet), sheet.facts.gas_state
    if said and (said == "vented") is not (gas is GasState.VENTED):
        return Refusal(
            f"its sheet says it ships {said}, its gas is {gas.value}; the unit is brought to that, "
            "or the line corrected",
            (SHIPS_AS,),
            "technician",
        )
    return gas_may_leave(sheet)


def gas_may_leave(sheet: Sheet) -> Refusal | None:
    """Judges the gas state by the transport rule, a rule of the shop with its source."""
    state = sheet.facts.gas_state
    if not state.counts_as_charged:
        return None
    if state is GasState.CHARGED:
        return _charged_may_leave(sheet)
    return _leaves_vented(sheet, f"the unit's gas is {state.value}")


def _charged_may_leave(sheet: Sheet) -> Refusal | None:
    rule = sheet.shop.transport
    charge = pressures.last_charge_pa(sheet)
    if not rule.ships_charged:
        return _leaves_vented(sheet, "this shop ships no charged unit")
    if charge is None:
        return _leaves_vented(sheet, "the unit is charged and no charge reading stands")
    if charge > rule.highest_pa:
        highest = quantities.text(rule.highest_pa, "bar")
        return _leaves_vented(
            sheet,
            f"charged to {quantities.text(charge, 'bar')}, above the {highest} that may travel",
        )
    return None


def _leaves_vented(sheet: Sheet, why: str) -> Refusal:
    rule = sheet.shop.transport
    return Refusal(
        f"{why}: by the transport rule ({rule.source}, rev {rule.revision}) it leaves vented, "
        "with a vent record",
        tuple(s.line.key for s in sheet.section("vent")),
        "technician and a second person",
    )


def may_ship_as(sheet: Sheet, answer: str) -> Refusal | None:
    """Whether "charged" may be chosen as the state to ship in."""
    if answer != "charged" or sheet.facts.gas_state is GasState.VENTED:
        return None if answer != "charged" else _not_charged(sheet)
    return gas_may_leave(sheet)


def _not_charged(sheet: Sheet) -> Refusal:
    return Refusal(
        f"the unit is {sheet.facts.gas_state.value}; it cannot leave charged", (SHIPS_AS,)
    )
