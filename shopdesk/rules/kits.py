"""Stock policy: what a job needs, which lot goes first, what is refused."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from shopdesk.procedure import types as doc
from shopdesk.rules.generated import Issue
from shopdesk.rules.refusals import Refusal
from shopdesk.rules.sheet import LineState, Sheet, State


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
    origin: str = "bought"
    job: int | None = None  # whose customer brought it, or whose unit it was harvested from
    grade: str = ""
    bin: str = ""
    set_number: str = ""
    set_broken: bool = False
    lone: bool = False  # of a set of which nothing else has come yet

    @property
    def on_shelf(self) -> bool:
        return self.origin == "bought"

    @property
    def matched(self) -> bool:
        """Whether it is a mate of a whole set, which stays together."""
        return bool(self.set_number) and not self.set_broken


def issued(state: LineState) -> int:
    """Pieces the line's answers count on."""
    return sum(round(answer.value_si or 0) for answer in state.given.values())


def issued_said(pieces: int, lot: LotState, asked: str) -> str:
    """What a scan is recorded as: "2 from L-1", or "2 SEAL-V90 from L-1" where that stands in."""
    part = "" if lot.part == asked else f"{lot.part} "
    return f"{pieces} {part}from {lot.number}"


def issued_as(answer: str, asked: str) -> tuple[str, str]:
    """Part and lot of what was so recorded on a line that asks for the part."""
    head, _, lot = answer.rpartition(" from ")
    return head.partition(" ")[2] or asked, lot


def needs(sheet: Sheet) -> tuple[tuple[doc.KitLine, int], ...]:
    """Kit lines the job asks for now, with the pieces not yet issued."""
    found = []
    for kit in sheet.procedure.kit:
        state = sheet.get(f"parts.issue_{kit.id}")
        if state is None or state.state is State.NOT_ASKED:
            continue
        left = kit.quantity - issued(state)
        if left > 0:
            found.append((kit, left))
    return tuple(found)


def may_reserve(sheet: Sheet) -> bool:
    """Whether the job is one that holds its kit: at its parts or its build, with its quote approved
    where there is one."""
    quote = sheet.facts.quote
    return sheet.stage in ("parts", "build") and (quote is None or quote.answer == "approved")


def to_reserve(sheet: Sheet) -> tuple[tuple[doc.KitLine, int], ...]:
    """Kit lines that need pieces of the shelf: what the customer brought is taken off."""
    own = {kit.part: kit.own for kit in sheet.facts.kit}
    found = []
    for kit, pieces in needs(sheet):
        brought = min(own.get(kit.part, 0), pieces)
        if brought:
            own[kit.part] -= brought
        if pieces > brought:
            found.append((kit, pieces - brought))
    return tuple(found)


def short(sheet: Sheet) -> tuple[tuple[doc.KitLine, int], ...]:
    """Kit lines whose pieces the shelf cannot give to this job, and how many it lacks: what may
    not be issued is no help though it is promised."""
    by_id = {kit.id: kit for kit in sheet.facts.kit}
    found = []
    for line, left in to_reserve(sheet):
        kit = by_id.get(line.id)
        there = 0 if kit is None else max(0, kit.reserved + kit.available)
        if there < left:
            found.append((line, left - there))
    return tuple(found)


def good_lots(
    lots: Sequence[LotState], today: date, *, matched: bool = False
) -> tuple[LotState, ...]:
    """The shelf's lots that may be issued, the one that expires first first, then the oldest: to a
    ``matched`` line mates of whole sets alone, to all others what is of none."""
    usable = [
        lot
        for lot in lots
        if lot.on_shelf
        and lot.matched is matched
        and not lot.lone
        and lot_refused(lot, today) is None
    ]
    return tuple(sorted(usable, key=lambda lot: (lot.use_by or date.max, lot.received, lot.id)))


def own_lots(
    lots: Sequence[LotState], job: int, today: date, *, matched: bool = False
) -> tuple[LotState, ...]:
    """What the customer of this job brought for it and may be fitted; it goes first."""
    own = (
        lot
        for lot in lots
        if lot.origin == "customer" and lot.job == job and lot.matched is matched
    )
    return tuple(lot for lot in own if lot_refused(lot, today) is None)


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
    line: Issue,
    scanned: LotState,
    lots: Sequence[LotState],
    today: date,
    job: int,
    *,
    stands_in: bool = False,
    known: str = "",
) -> Refusal | None:
    """Why the scanned lot may not go to this line of the job with this number: wrong part, another
    customer's, used where a new one is asked, expired, not the first to go. ``lots`` are those of
    the part asked and of the one scanned; ``stands_in``: the scanned part is approved for the line,
    else ``known`` says what is on record between the two."""
    if scanned.part != line.part and not stands_in:
        return Refusal(
            f"expected {line.part}, scanned {scanned.part} (lot {scanned.number}): "
            "nothing was issued" + (f". {known}" if known else ""),
            (line.key,),
        )
    refusal = _whose(line, scanned, job) or lot_refused(scanned, today)
    if refusal is not None:
        return refusal
    brought = own_lots(_of(lots, line.part), job, today, matched=bool(line.mates))
    if brought and scanned.origin != "customer":
        return Refusal(
            f"lot {brought[0].number} of {line.part} is the customer's own and goes first; if it "
            "cannot be fitted, put it aside with the reason",
            (line.key,),
        )
    there = _of(lots, scanned.part)
    alone = not line.mates and not scanned.matched  # of a set, its mates decide which one goes
    return _goes_first(line, scanned, there, today) if scanned.on_shelf and alone else None


def _of(lots: Sequence[LotState], part: str) -> Sequence[LotState]:
    return [lot for lot in lots if lot.part == part]


def itself_there(
    line: Issue, scanned: LotState, lots: Sequence[LotState], spare: int, today: date
) -> str | None:
    """That the part asked is on the shelf for this job (``spare`` pieces), so that nothing has to
    stand in for it, as a question; None where it is not."""
    good = good_lots(_of(lots, line.part), today, matched=bool(line.mates))
    if spare <= 0 or not good:
        return None
    return (
        f"{line.part} itself is there, lot {good[0].number}. Is {scanned.part} to stand in for it "
        "all the same?"
    )


def _whose(line: Issue, scanned: LotState, job: int) -> Refusal | None:
    if scanned.origin == "customer" and scanned.job != job:
        return Refusal(
            f"lot {scanned.number} of {scanned.part} belongs to the customer of J-{scanned.job} "
            "and goes into that job alone",
            (line.key,),
        )
    if scanned.origin == "harvested" and line.new:
        return Refusal(
            f"{line.text}: {line.new}; lot {scanned.number} is used, grade {scanned.grade}, out of "
            f"J-{scanned.job}",
            (line.key,),
            "stores",
        )
    return None


def _goes_first(
    line: Issue, scanned: LotState, lots: Sequence[LotState], today: date
) -> Refusal | None:
    first = good_lots(lots, today)[0]
    if first.number != scanned.number and (first.use_by or date.max) < (scanned.use_by or date.max):
        return Refusal(
            f"lot {first.number} of {scanned.part} goes first: use by "
            f"{first.use_by.isoformat() if first.use_by else 'no limit'}",
            (line.key,),
        )
    return None
