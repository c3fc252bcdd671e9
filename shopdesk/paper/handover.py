"""The shift hand-over sheet: every unit in the house, what may hold pressure first."""

from collections import Counter

from shopdesk.paper.blocks import Block, Table, Words
from shopdesk.paper.page import Paper
from shopdesk.paper.words import by_hand, local, pressure
from shopdesk.views.board import JobRow
from shopdesk.views.handover import Handover

_HEADS = ("Pressure", "Unit", "Whose", "Waits for", "Move, since", "Promised")
_SHARES = (9, 14, 14, 24, 13, 10)


def laid(facts: Handover) -> Paper:
    title = f"Shift hand-over {local(facts.at)}"
    return Paper(
        name=f"handover-{facts.at.astimezone():%Y-%m-%d-%H%M}",
        title=title,
        shop=facts.shop,
        foot=f"{title}  shop rules revision {facts.revision}  chain head {facts.head[:16]}",
        made_at=facts.at,
        blocks=tuple(_blocks(facts)),
    )


def _blocks(facts: Handover) -> list[Block]:
    rows = tuple(map(_row, facts.units))
    found: list[Block] = [Words("", (_sum(facts),), boxed=True)]
    if facts.incidents:
        lines = tuple(
            (f"J-{one.job}", local(one.at), one.what, one.saw, one.by) for one in facts.incidents
        )
        heads = ("Incidents, last 24 h", "At", "What", "Seen", "By")
        found.append(Table(heads, (18, 15, 8, 40, 6), lines))
    if rows:
        found.append(Table(_HEADS, _SHARES, rows))
    found.append(by_hand("Handed over by", "Taken over by", "At"))
    chain = (
        f"Times are the shop's. The record was read up to event {facts.event}; head of its chain "
        f"{facts.head}."
    )
    return [*found, Words("", (chain,))]


def _sum(facts: Handover) -> str:
    """ "3 charged, 2 of unknown pressure: treat 5 as charged. 4 vented, 1 without gas." """
    count = Counter(unit.gas_state for unit in facts.units)
    if not facts.units:
        return "No unit is in the house."
    charged, unknown = count["charged"], count["unknown"]
    return (
        f"{charged} charged, {unknown} of unknown pressure: treat {charged + unknown} as charged. "
        f"{count['vented']} vented, {count['none']} without gas."
    )


def _row(unit: JobRow) -> tuple[str, ...]:
    return (
        pressure(unit.gas_state),
        f"J-{unit.number} {unit.model} {unit.serial}",
        unit.customer,
        unit.waiting_for,
        f"{unit.waiting_on or 'nobody'}, {local(unit.waiting_since)}",
        unit.promised_on.isoformat(),
    )
