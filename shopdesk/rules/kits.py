"""Stock policy: what a job needs, which lot goes first, what is refused."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from shopdesk.procedure import types as doc
from shopdesk.rules.generated import Issue
from shopdesk.rules.refusals import Refusal
from shopdesk.rules.sheet import Sheet, State


@dataclass(frozen=True, slots=True)
class LotState:
    """A lot as the shelf has it; ``use_by`` None where its material has no limit."""

    id: int
    part: str
    number: str
    on_hand: int
    use_by: date | None
    quarantined: bool
    received: date
    cured: str = ""


def needs(sheet: Sheet) -> tuple[tuple[doc.KitLine, int], ...]:
    """Kit lines the job asks for now, with the pieces not yet issued."""
    found = []
    for kit in sheet.procedure.kit:
        state = sheet.get(f"parts.issue_{kit.id}")
        if state is None or state.state is State.NOT_ASKED:
            continue
        issued = sum(round(answer.value_si or 0) for answer in state.given.values())
        if issued < kit.quantity:
            found.append((kit, kit.quantity - issued))
    return tuple(found)


def good_lots(lots: Sequence[LotState], today: date) -> tuple[LotState, ...]:
    """Lots that may be issued, the one that expires first first, then the oldest."""
    usable = [lot for lot in lots if lot_refused(lot, today) is None]
    return tuple(sorted(usable, key=lambda lot: (lot.use_by or date.max, lot.received, lot.id)))


def lot_refused(lot: LotState, today: date) -> Refusal | None:
    if lot.quarantined:
        return Refusal(f"lot {lot.number} of {lot.part} is in quarantine", (), "manager")
    if lot.use_by is not None and lot.use_by < today:
        return Refusal(
            f"lot {lot.number} of {lot.part} (cured {lot.cured}) was to be used by "
            f"{lot.use_by.isoformat()}",
            (),
            "stores",
        )
    if lot.on_hand <= 0:
        return Refusal(f"lot {lot.number} of {lot.part} is used up", (), "stores")
    return None


def scan_refused(
    line: Issue, scanned: LotState, lots: Sequence[LotState], today: date
) -> Refusal | None:
    """Why the scanned lot may not go to this line: wrong part, expired, not the first to go."""
    if scanned.part != line.part:
        return Refusal(
            f"expected {line.part}, scanned {scanned.part} (lot {scanned.number}): "
            "nothing was issued",
            (line.key,),
        )
    refusal = lot_refused(scanned, today)
    if refusal is not None:
        return refusal
    first = good_lots(lots, today)[0]
    if first.number != scanned.number and (first.use_by or date.max) < (scanned.use_by or date.max):
        return Refusal(
            f"lot {first.number} of {line.part} goes first: use by "
            f"{first.use_by.isoformat() if first.use_by else 'no limit'}",
            (line.key,),
        )
    return None
