"""The count sheet. It does not say how many there should be: who reads that, counts that."""

from shopdesk.paper.blocks import Table, Words
from shopdesk.paper.page import Paper
from shopdesk.paper.words import by_hand, day, local
from shopdesk.rules.counting import Outcome
from shopdesk.views.counting import CountSheet, ToCount

_HEADS = ("Bin", "Part", "What", "Lot", "Use by", "Counted", "Again")
_SHARES = (10, 18, 34, 18, 14, 12, 12)
_ROW_MM = 6.0


def laid(facts: CountSheet) -> Paper:
    title = f"Count sheet, {_which(facts)}"
    plain = "due" if facts.due else "".join(sign for sign in facts.bins if sign.isalnum())
    return Paper(
        name="-".join(part for part in ("count-sheet", plain) if part),
        title=title,
        shop=facts.shop,
        foot=f"{title}, {local(facts.at)}",
        made_at=facts.at,
        blocks=(
            Words(
                "",
                (
                    "Count what lies there, not what should. A lot not listed: write it down. "
                    "Write the time: what is moved between it and the entry is told then.",
                    *((f"What is counted when, and twice: {facts.rule}.",) if facts.rule else ()),
                ),
            ),
            Table(_HEADS, _SHARES, tuple(map(_row, facts.lots)), room=_ROW_MM),
            by_hand("Also found", "Counted by", "At"),
        ),
    )


def _which(facts: CountSheet) -> str:
    if facts.due:
        return f"what is due on {day(facts.at.astimezone().date())}"
    return f"bins {facts.bins}..." if facts.bins else "all bins"


def _row(lot: ToCount) -> tuple[str, ...]:
    use_by = "QUARANTINE" if lot.quarantined else day(lot.use_by)
    again = f"NOT BY {lot.by}: " if lot.state == Outcome.RECOUNT else ""
    mate = f", set {lot.matched_set}" if lot.matched_set else ""
    return (lot.bin or "-", lot.part, again + lot.description + mate, lot.lot, use_by, "", "")
