"""A lot counted, counted again by somebody else, approved by a manager; adjusted with a reason."""

from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Row, insert, select

from shopdesk.desk import counts, stock
from shopdesk.desk.shop import Deed, Shop, Worker
from shopdesk.errors import BadInput, Refused
from shopdesk.records.tables import StockCount
from shopdesk.rules import counting as rules
from shopdesk.rules.counting import CountClass, Outcome, Step
from shopdesk.rules.prices import MOST_PIECES
from shopdesk.views import counting as views


@dataclass(frozen=True, slots=True)
class Counted:
    """What became of a count; ``difference`` is what the ledger was changed by, ``rule`` the
    shop's, where it wants more than one count, ``losers`` the tags of jobs that give up what was
    promised to them."""

    outcome: Outcome
    difference: int = 0
    rule: str = ""
    losers: tuple[str, ...] = ()


class Meanwhile(Refused):
    """The lot was moved since the count began. ``newest`` is the last of those moves: whoever has
    read of them counts on from there."""

    def __init__(self, sentence: str, newest: int) -> None:
        super().__init__(sentence)
        self.newest = newest


def count(
    shop: Shop,
    who: str,
    part: str,
    lot: str,
    pieces: int,
    reason: str = "",
    *,
    seen: int | None = None,
    at: datetime | None = None,
) -> Counted:
    """Records what was counted, against what the ledger says at this moment. The second count of
    a lot that is to be recounted is its recount. ``seen``: the lot's newest move when the count
    began; ``at``: when it was, for one that is entered later.

    Raises Meanwhile where the lot was moved since, Refused where somebody else has to count or a
    manager to approve, BadInput where a difference that is taken has no reason.
    """
    if not 0 <= pieces <= MOST_PIECES:
        raise BadInput(f"read {str(pieces)[:20]} pieces; a count is 0 to {MOST_PIECES}")
    with shop.read() as db:  # its class is sought among all parts: before the chain is locked
        there = views.on_hand(db, part, lot)
        known = views.class_of(db, part, shop.clock()) if pieces != there else None

    def work(deed: Deed) -> Counted:
        row = stock.lot_of(deed, part, lot)
        open_ = _open(deed, row.id)
        step = Step.COUNT if open_ is None else Step.RECOUNT
        person = deed.worker(who, f"{step} stock")
        if open_ is not None:
            _may_recount(deed, row.number, open_, person)
        _nothing_moved(deed, row, pieces, seen, at)
        difference, allowed = pieces - row.on_hand, known
        if difference and pieces == there:  # it agreed a moment ago
            allowed = views.class_of(deed.db, part, deed.now)
        outcome = rules.outcome(allowed, step, row.on_hand, pieces)
        if outcome is Outcome.ADJUSTED and not reason.strip():
            raise BadInput(
                f"lot {row.number}: the ledger says another number than {pieces}. Give the reason, "
                "or count once more"
            )
        said = "" if outcome is Outcome.AGREES else reason.strip()
        first = None if open_ is None else int(open_.first_id or open_.id)
        _record(deed, person, row, first, step, allowed, pieces, row.on_hand, outcome, said)
        if outcome is Outcome.AGREES:
            return Counted(outcome)
        if outcome is not Outcome.ADJUSTED:
            return Counted(outcome, rule=views.rule(deed.db))
        losers = counts.put_right(deed, row, "count", difference, person, said)
        return Counted(outcome, int(difference), losers=losers)

    return shop.write(work)


def approve(shop: Shop, typed: str, part: str, lot: str, reason: str, *, yes: bool = True) -> int:
    """A manager, signing with initials and PIN, takes what the recount found, or has the lot
    counted anew. What moved since the recount stays as it is: the difference is taken over. Gives
    back the difference."""

    def work(deed: Deed) -> int:
        person = deed.signed(typed, "approve a count")
        row = stock.lot_of(deed, part, lot)
        open_ = _open(deed, row.id)
        if open_ is None or open_.outcome != Outcome.APPROVAL:
            raise Refused(f"no count of lot {row.number} waits to be approved")
        counters = _counters(deed, open_.first_id)
        if yes and person.id in counters:
            raise Refused(
                f"{person.initials} counted lot {row.number}: who counts does not approve it",
                (),
                "another manager",
            )
        if not reason.strip():
            raise BadInput("why is the ledger wrong? give the reason")
        difference = open_.counted - open_.expected
        if yes and row.on_hand + difference < 0:
            raise Refused(
                f"lot {row.number}: more went out since it was counted than the count found; have "
                "it counted anew"
            )
        _record(
            deed,
            person,
            row,
            open_.first_id,
            Step.ANSWER,
            None,
            row.on_hand + difference if yes else open_.counted,
            row.on_hand,
            Outcome.ADJUSTED if yes else Outcome.DISMISSED,
            reason.strip(),
            count_class=open_.count_class,
        )
        if not yes:
            return 0
        counts.put_right(deed, row, "count", difference, person, reason.strip())
        return int(difference)

    return shop.write(work)


def _open(deed: Deed, lot_id: int) -> Row[*tuple[Any, ...]] | None:
    """The newest step of a count of the lot that is not at its end."""
    row = deed.db.execute(
        select(StockCount.__table__)
        .where(StockCount.lot_id == lot_id)
        .order_by(StockCount.id.desc())
        .limit(1)
    ).one_or_none()
    waits = (Outcome.RECOUNT, Outcome.APPROVAL)
    return row if row is not None and row.outcome in waits else None


def _may_recount(deed: Deed, lot: str, open_: Row[*tuple[Any, ...]], person: Worker) -> None:
    by = _by(views.rule(deed.db))
    if open_.outcome == Outcome.APPROVAL:
        raise Refused(
            f"lot {lot} was counted twice, and twice beyond what is allowed: a manager approves it "
            f"or has it counted anew{by}",
            (),
            "manager",
        )
    if open_.person_id == person.id:
        raise Refused(
            f"lot {lot}: your count is beyond what is allowed; somebody else counts it again{by}",
            (),
            "a second person",
        )


def _counters(deed: Deed, first: int) -> frozenset[int]:
    people = deed.db.execute(
        select(StockCount.person_id).where(
            (StockCount.id == first) | (StockCount.first_id == first)
        )
    ).scalars()
    return frozenset(people)


def _nothing_moved(
    deed: Deed,
    lot: Row[*tuple[Any, ...]],
    pieces: int,
    seen: int | None,
    at: datetime | None,
) -> None:
    moves = views.moved_since(deed.db, lot.id, seen, at)
    if moves:
        told = "; ".join(move.said for move in moves[-3:])
        raise Meanwhile(
            f"lot {lot.number} was moved since your count began: {told}. Look again; entered once "
            f"more, {pieces} counts as what lies there now",
            moves[-1].id,
        )


def _record(
    deed: Deed,
    who: Worker,
    lot: Row[*tuple[Any, ...]],
    first: int | None,
    step: Step,
    allowed: CountClass | None,
    counted: int,
    expected: int,
    outcome: Outcome,
    reason: str,
    *,
    count_class: str = "",
) -> None:
    values = {
        "lot_id": lot.id,
        "first_id": first,
        "step": step.value,
        "count_class": allowed.name if allowed is not None else count_class,
        "counted": counted,
        "expected": expected,
        "outcome": outcome.value,
        "reason": reason,
    }
    made = insert(StockCount).values(person_id=who.id, at=deed.now, **values)
    count_id = deed.db.execute(made.returning(StockCount.id)).scalar_one()
    deed.event("count", who, {"count": count_id, **values})


def told(done: Counted, pieces: int) -> str:
    """What became of a count, in words that do not say what the ledger has."""
    match done.outcome:
        case Outcome.AGREES:
            return f"{pieces}, as the ledger says"
        case Outcome.ADJUSTED:
            given_up = counts.given_up(done.losers)
            return f"{pieces} now, {done.difference:+d} by count{given_up}"
        case Outcome.RECOUNT:
            kept, next_ = "beyond what is allowed", "somebody else counts it again"
        case _:
            kept, next_ = "beyond what is allowed again", "a manager approves it"
    return f"{pieces} is kept, and {kept}: {next_}{_by(done.rule)}"


def _by(rule: str) -> str:
    return f" ({rule})" if rule else ""


def moment_of(typed: str, now: datetime) -> datetime | None:
    """A time of today such as 10:05; None for nothing typed. Raises BadInput."""
    text = typed.strip()
    if not text:
        return None
    hour, colon, minute = text.partition(":")
    digits = f"{hour}{minute}"
    if not (colon and digits.isascii() and digits.isdigit() and len(minute) == 2):
        raise BadInput(f"time: read {text[:20]!r}, expected a time of today such as 10:05")
    if int(hour) > 23 or int(minute) > 59:
        raise BadInput(f"time: read {text[:20]!r}, expected 00:00 to 23:59")
    local = now.astimezone()
    at = local.replace(hour=int(hour), minute=int(minute), second=0, microsecond=0)
    if at > local:
        raise BadInput(f"time: {text} is still to come; when was it counted?")
    return at.astimezone(UTC)
