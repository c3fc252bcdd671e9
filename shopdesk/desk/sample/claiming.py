"""What is said and measured of the sample's units that come back: plausible, and of one piece."""

from random import Random

from shopdesk import quantities
from shopdesk.desk.sample import values
from shopdesk.desk.sample.plans import draw
from shopdesk.procedure import types as doc
from shopdesk.rules import claims, pressures
from shopdesk.rules.claims import Again
from shopdesk.rules.sheet import Sheet
from shopdesk.rules.slots import Slot

CONFIRMED = 0.75  # of the complaints show when they are measured again
CANNOT = 0.06
WHY_NOT = ("seized, nothing moves", "port sheared off, cannot be put on the bench")
WORDS = {
    "W": "the part was not as our sheet asks; put right at our cost",
    "P": "the seal gave way early; its lot is looked into",
    "U": "dirt in the fluid wore it; the line wants flushing before it goes back",
    "N": "nothing wrong was found on the bench; the line it works in wants looking at",
}


def about(sheet: Sheet, slot: Slot, chance: Random) -> str:
    """The numbers of the lines that the complaint is about."""
    claim = sheet.facts.claim
    if claim is None or not claim.lines or chance.random() < CANNOT:
        return f"cannot: {chance.choice(WHY_NOT)}"
    kept = [n for n, each in enumerate(claim.lines, 1) if not isinstance(each.line, doc.Leak)]
    named = chance.sample(kept or [1], min(len(kept) or 1, chance.choice((1, 2, 2, 3))))
    return " ".join(map(str, sorted(named)))


def _is_bad(sheet: Sheet, line: Again) -> bool:
    """One of the lines measured again shows the fault, where the complaint is borne out."""
    chance = draw(sheet.facts.number, "fault")
    asked = [
        state.line.key
        for name in claims.SECTIONS
        for state in sheet.section(name)
        if isinstance(state.line, Again) and (state.open or state.given)
    ]
    return chance.random() < CONFIRMED and chance.choice(asked) == line.key


def confirmed(sheet: Sheet) -> bool:
    return any(
        answer.verdict.value == "outside"
        for name in claims.SECTIONS
        for state in sheet.section(name)
        for answer in state.given.values()
    )


def quantity(sheet: Sheet, line: Again, slot: Slot, chance: Random, shop_k: float) -> str:
    """A reading taken once more: what it was on the certificate with a little drift, or bad."""
    of, before, bad = line.earlier.line, line.earlier.value_si, _is_bad(sheet, line)
    if isinstance(of, doc.Charge | doc.Leak):
        left = before if before is not None else 0.0
        held = left * (chance.uniform(0.55, 0.85) if bad else chance.uniform(0.975, 0.995))
        return values.gas(held, sheet, shop_k, slot.unit)
    assert isinstance(of, doc.Reading)
    low, high = values.bounds(of.limit, of.unit) if of.limit else (None, None)
    if bad and (low is not None or high is not None):
        return values.bad(low, high, of.unit, chance)
    was = quantities.from_si(before or 0.0, of.unit)
    now = was * chance.uniform(0.99, 1.01)
    if (low is not None and now < low) or (high is not None and now > high):
        now = was
    return values.written(now, of.unit, max(abs(was) / 200, 1e-4))


def arrived_with_pa(sheet: Sheet) -> float | None:
    """Gauge pascal at reference as the claim's measuring found it."""
    for state in sheet.section(claims.CLAIM):
        if isinstance(state.line, Again) and isinstance(
            state.line.earlier.line, doc.Charge | doc.Leak
        ):
            found = pressures.at_reference(sheet, state.given)
            if found is not None:
                return found
    return None


def choice(sheet: Sheet, line: doc.Line, slot: Slot, chance: Random) -> str | None:
    """The option typed on a claim's line; None for a line of the procedure."""
    if isinstance(line, Again) and isinstance(line.earlier.line, doc.Choice):
        of = line.earlier.line
        good = [option for option in of.options if option not in of.outside]
        return of.outside[0] if _is_bad(sheet, line) else good[0]
    if line.key == claims.CAUSE:
        wanted = chance.choices("WPU", weights=(3, 4, 3))[0] if confirmed(sheet) else "N"
        fit = [option for option in slot.options if option.startswith(wanted)]
        return fit[-1] if wanted == "N" and fit else chance.choice(fit or list(slot.options))
    if line.key == claims.COVER:
        ours, used = {"W": True, "P": True}.get(_cause(sheet), False), chance.random()
        return "covered" if ours else "goodwill" if used < 0.4 else "not covered"
    return None


def why(sheet: Sheet) -> str:
    return WORDS.get(_cause(sheet), "as the manager wrote to the customer")


def _cause(sheet: Sheet) -> str:
    state = sheet.get(claims.CAUSE)
    return state.given["answer"].answer[:1] if state and "answer" in state.given else ""
