"""A lot scanned at a kit line: whether it may go into this job, and in whose place."""

from dataclasses import dataclass, replace

from shopdesk.desk import stock
from shopdesk.desk.shop import Deed, refuse
from shopdesk.errors import BadInput, Question
from shopdesk.rules import kits, matched
from shopdesk.rules.generated import Issue
from shopdesk.rules.interchange import Interchange, between
from shopdesk.rules.kits import LotState
from shopdesk.rules.sheet import LineState, Sheet
from shopdesk.views import held, interchange, lots


@dataclass(frozen=True, slots=True)
class Scanned:
    """So many ``pieces`` of a lot for a line; ``by`` what its part stands in by."""

    line: Issue
    lot: LotState
    pieces: int
    by: Interchange | None


def scanned(deed: Deed, sheet: Sheet, state: LineState, text: str, *, confirmed: bool) -> Scanned:
    """What the scan issues. Raises BadInput, Refused, NotFound, and Question where another part
    would stand in for one that is there."""
    line = state.line
    if not isinstance(line, Issue):
        raise BadInput(f"{line.text}: takes no lot")
    if not text:
        raise BadInput(f"{line.text}: expected a lot of {line.part}; nothing was scanned")
    model = sheet.procedure.model

    def stand_ins() -> frozenset[str]:
        known = interchange.every(deed.db, line.part)
        return frozenset(
            one.stand_in for one in known if one.part == line.part and one.allows(model, line.kit)
        )

    lot = lots.scanned(deed.db, text, line.part, stand_ins)
    there, by, known = lots.of_part(deed.db, line.part), None, ""
    if lot.part != line.part:
        there += lots.of_part(deed.db, lot.part)
        pair = (line.part, lot.part)
        by, known = between(*pair, model, line.kit, interchange.every(deed.db, lot.part))
    number = sheet.facts.number
    refusal = kits.scan_refused(
        line, lot, there, deed.today, number, stands_in=by is not None, known=known
    )
    if refusal is not None and lot.on_hand <= 0 and (by or lot.part == line.part):
        went = stock.went_to(deed.db, lot.id)
        refusal = replace(refusal, sentence=f"{refusal.sentence}{went}")
    refuse(refusal)
    left = line.quantity - kits.issued(state)
    if line.mates or lot.matched:
        mates = lots.of_set(deed.db, lot.set_number)
        taken = lots.issued_to_mates(deed.db, sheet, line)
        refuse(matched.scan_refused(line, lot, mates, taken, left, deed.today))
    if by is not None and not confirmed:
        spare = _of_itself(deed, sheet, line)
        question = kits.itself_there(line, lot, there, spare, deed.today)
        if question is not None:
            raise Question(question)
    return Scanned(line, lot, min(left, lot.on_hand), by)


def _of_itself(deed: Deed, sheet: Sheet, line: Issue) -> int:
    """Pieces of the part asked that this job holds or could have."""
    part_id = stock.part_id_of(deed.db, line.part)
    kept = held.of_job(deed.db, sheet.facts.id, line.kit)
    free = sum(kit.available for kit in sheet.facts.kit if kit.id == line.kit)
    return free + sum(one.pieces for one in kept if one.part_id == part_id)
