"""The pick list: what to fetch, from which bin, of which lot, what is to be used first on top."""

from shopdesk.paper.blocks import Block, Table, Words
from shopdesk.paper.page import Paper
from shopdesk.paper.words import day, local, whose
from shopdesk.views.picking import Pick, PickList
from shopdesk.views.sheets import tag

TITLE = "Pick list"
_HEADS = ("Bin", "Part", "What, where to", "Lot", "Cured", "Use by", "Pieces", "Taken")
_SHARES = (10, 16, 34, 16, 9, 12, 8, 10)
_ROW_MM = 6.0


def laid(facts: PickList) -> Paper:
    name = tag(facts.heading.number)
    return Paper(
        name=f"{name}-pick-list",
        title=TITLE,
        shop=facts.shop,
        foot=f"{name}  {TITLE}, {local(facts.at)}  procedure revision {facts.heading.revision}",
        made_at=facts.at,
        blocks=tuple(_blocks(facts)),
        tag=name,
    )


def _blocks(facts: PickList) -> list[Block]:
    if not facts.picks:
        return [whose(facts.heading), Words("", ("Nothing is to be fetched for this job.",))]
    short = [pick for pick in facts.picks if not pick.lot]
    said = "Scan each lot on the sheet as it is fitted to the job: that issues it."
    if short:
        parts = ", ".join(dict.fromkeys(pick.part for pick in short))
        said = f"{said} SHORT on the shelf: {parts}."
    if facts.offers:
        said = f"{said} Approved to take its place: {'; '.join(facts.offers)}."
    rows = tuple(map(_row, facts.picks))
    table = Table(_HEADS, _SHARES, rows, room=_ROW_MM)
    return [whose(facts.heading), table, Words("", (said,))]


def _row(pick: Pick) -> tuple[str, ...]:
    instead = f"IN PLACE OF {pick.stands_in_for}" if pick.stands_in_for else ""
    mate = f"SET {pick.set_number}" if pick.set_number else ""
    what = ", ".join(part for part in (pick.description, pick.position, instead, mate) if part)
    lot, use_by = (pick.lot, day(pick.use_by)) if pick.lot else ("SHORT", "-")
    return (pick.bin or "-", pick.part, what, lot, pick.cured or "-", use_by, str(pick.pieces), "")
