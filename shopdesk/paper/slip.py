"""The packing slip: what is in the box, in what state, and what is due."""

from shopdesk.paper.blocks import Block, Table, Words, numbers
from shopdesk.paper.page import Paper
from shopdesk.paper.words import by_hand, charged_cautions, day, local, pressure, whose
from shopdesk.rules.shop import money
from shopdesk.views.sheets import tag
from shopdesk.views.slips import Said, Slip

TITLE = "Packing slip"


def laid(facts: Slip) -> Paper:
    name = tag(facts.heading.number)
    return Paper(
        name=f"{name}-packing-slip",
        title=TITLE,
        shop=facts.shop,
        foot=f"{name}  {TITLE}  shop rules revision {facts.rules_revision}",
        made_at=facts.shipped_at or facts.heading.opened_at,
        blocks=tuple(block for block in _blocks(facts) if block is not None),
        tag=name,
        later=f"{TITLE}  {name}  serial {facts.heading.serial}",
    )


def _blocks(facts: Slip) -> tuple[Block | None, ...]:
    return (
        whose(facts.heading),
        Words("", (_sent(facts),)),
        Words("", facts.part) if facts.part else None,
        Words("", tuple(_state(facts)), boxed=True),
        _table("Packed", "What", (Said("1 unit", _unit(facts), ()), *facts.bags)),
        _table("Ports", "Left", facts.ports),
        _fitted(facts),
        _not_as_asked(facts),
        _left_over(facts),
        _fee(facts),
        _cautions(facts),
        by_hand("Packed by", "Received by", "On"),
        Words("", ("Numbers after # are entries of the shop's record.",)),
    )


def _cautions(facts: Slip) -> Words | None:
    said = (*charged_cautions(facts.gas_state, facts.charge, ""), *facts.cautions)
    return Words("Cautions", said) if said else None


def _unit(facts: Slip) -> str:
    return f"{facts.heading.model}, serial {facts.heading.serial}"


def _sent(facts: Slip) -> str:
    to = ", ".join(part for part in (facts.heading.customer, facts.place) if part)
    if facts.shipped_at is None:
        return f"To {to}. Not yet handed over."
    by = f" by {facts.carrier}" if facts.carrier else ""
    return f"To {to}{by}, {local(facts.shipped_at)}."


def _state(facts: Slip) -> list[str]:
    lines = [f"Pressure: {pressure(facts.gas_state)}{_proof(facts)}"]
    if facts.declined:
        lines.append("GOES BACK AS IT IS: not repaired, not tested. DO NOT PRESSURISE.")
        lines += [f"{one.label}: {one.value} ({numbers(one.entries)})" for one in facts.condition]
    return lines


def _proof(facts: Slip) -> str:
    if facts.vent is not None:
        vent = facts.vent
        return f", let down by {vent.by}, seen by {vent.witness}, {local(vent.at)}"
    return f", {facts.charge}" if facts.charge else ""


def _table(title: str, second: str, said: tuple[Said, ...]) -> Table | None:
    if not said:
        return None
    rows = tuple((one.label, one.value, numbers(one.entries)) for one in said)
    return Table((title, second, "Entry"), (34, 60, 10), rows)


def _fitted(facts: Slip) -> Table | None:
    rows = tuple(
        (f"{lot.pieces} x {lot.part}", lot.description, lot.lot, lot.cured or "-", day(lot.use_by))
        for lot in facts.fitted
    )
    heads = ("With the unit", "Part", "Lot", "Cured", "Use by")
    return Table(heads, (22, 40, 20, 10, 12), rows) if rows else None


def _not_as_asked(facts: Slip) -> Words | None:
    said = tuple(f"{lot.not_as_asked}." for lot in facts.fitted if lot.not_as_asked)
    return Words("", said) if said else None


def _left_over(facts: Slip) -> Table | None:
    rows = tuple(
        (f"{own.pieces} x {own.part}", own.description, own.lot) for own in facts.left_over
    )
    heads = ("Your own parts, returned", "Part", "Lot")
    return Table(heads, (30, 50, 24), rows) if rows else None


def _fee(facts: Slip) -> Words | None:
    if facts.fee_cents is None:
        return None
    due = money(facts.fee_cents, facts.currency)
    return Words("", (f"Inspection fee due: {due} (shop rules {facts.fee_rules})",), boxed=True)
