"""Matched sets: parts lapped or ground to one another go through stores and into a unit together.

A set is the lots that carry its number, each a mate: one part, with the pieces that belong to this
set alone. That such parts are not exchanged for one another's is common practice of hydraulics.
"""

import re
from collections.abc import Sequence
from datetime import date

from shopdesk.errors import BadInput
from shopdesk.rules.generated import Issue
from shopdesk.rules.kits import LotState, lot_refused
from shopdesk.rules.refusals import Refusal

LONGEST_SET = 30
"""Characters of a set's number."""
_OF_SET = re.compile(r"(?P<lot>\S+)\s+of\s+set\s+(?P<set>\S.*)", re.IGNORECASE)
_PICK = re.compile(
    r"(?:(?P<pieces>[0-9]{1,6})\s+)?(?P<part>\S+)\s+lot\s+(?P<lot>\S+)", re.IGNORECASE
)


def scan_refused(
    line: Issue,
    scanned: LotState,
    of_set: Sequence[LotState],
    taken: Sequence[LotState],
    left: int,
    today: date,
) -> Refusal | None:
    """Why a lot may not go to this line for its mates' sake. ``of_set`` are the lots of the scanned
    one's set, ``taken`` those the line's mates were issued from, ``left`` the pieces to come."""
    if not line.mates:
        return _alone(line, scanned, of_set)
    parts = " and ".join(part for _, part, _ in line.mates)
    expected = next(iter(taken), None)
    if expected is not None and not expected.matched:
        what = f"set {expected.set_number} is not whole any more"
        alone = f"{expected.part} lot {expected.number} that this job has is of no set"
        return Refusal(
            f"{what if expected.set_number else alone}: give {expected.part} lot "
            f"{expected.number} back, then issue a whole set",
            (line.key,),
            "stores",
        )
    if expected is not None and scanned.set_number != expected.set_number:
        of = f"set {scanned.set_number}" if scanned.set_number else "no set"
        return Refusal(
            f"expected {line.part} of set {expected.set_number}, the mate of {expected.part} lot "
            f"{expected.number} that this job has; scanned lot {scanned.number} of {of}: nothing "
            "was issued",
            (line.key,),
        )
    if not scanned.set_number:
        return Refusal(
            f"lot {scanned.number} of {scanned.part} is of no matched set: {line.part} goes in "
            f"with {parts} of its own set",
            (line.key,),
            "stores",
        )
    if scanned.set_broken:
        return Refusal(
            f"lot {scanned.number} of {scanned.part}: set {scanned.set_number} is not whole any "
            "more, and it is mate to nothing",
            (line.key,),
            "stores",
        )
    return _whole(line, scanned, of_set, {lot.part for lot in taken}, left, today)


def _alone(line: Issue, scanned: LotState, of_set: Sequence[LotState]) -> Refusal | None:
    if not scanned.matched:
        return None
    return Refusal(
        f"lot {scanned.number} of {scanned.part} is one of matched set {scanned.set_number} with "
        f"{said(scanned, of_set)}: it goes where the procedure asks for the set; take a lot that "
        "is of none",
        (line.key,),
        "stores",
    )


def _whole(
    line: Issue,
    scanned: LotState,
    of_set: Sequence[LotState],
    taken: set[str],
    left: int,
    today: date,
) -> Refusal | None:
    """Refused while anything is missing of the set: half of one in a unit would be left there."""
    wanted = [(line.part, left), *((part, n) for _, part, n in line.mates if part not in taken)]
    for part, pieces in wanted:
        mate = scanned if part == line.part else _mate(of_set, part)
        what = f"set {scanned.set_number}: {part}"
        if mate is None:
            return Refusal(f"{what} is not in it; nothing was issued", (line.key,), "stores")
        refusal = lot_refused(mate, today)
        if refusal is not None:
            return Refusal(f"set {scanned.set_number}: {refusal.sentence}", (line.key,), "stores")
        if mate.on_hand < pieces:
            return Refusal(
                f"{what} lot {mate.number} has {mate.on_hand} of the {pieces} this job needs; "
                "nothing was issued",
                (line.key,),
                "stores",
            )
    return None


def _mate(of_set: Sequence[LotState], part: str) -> LotState | None:
    return next((lot for lot in of_set if lot.part == part), None)


def lot_and_set(typed: str) -> tuple[str, str]:
    """The lot and its set as typed in one: "B-7 of set M-7"; the set "" where none is said."""
    read = _OF_SET.fullmatch(typed.strip())
    return (read["lot"], read["set"]) if read else (typed.strip(), "")


def picks(typed: str) -> tuple[tuple[str, str, int], ...]:
    """Part, lot and pieces of each mate as typed: "BORE-40 lot L-3; 9 SHOE lot L-4".
    Raises BadInput."""
    found = []
    for one in filter(None, (piece.strip() for piece in typed.replace(",", ";").split(";"))):
        read = _PICK.fullmatch(one)
        if read is None:
            raise BadInput(
                f"mates: read {one[:40]!r}, expected a part and its lot such as BORE-40 lot L-3, "
                "with the pieces before it where they are more than one"
            )
        found.append((read["part"].upper(), read["lot"].upper(), int(read["pieces"] or 1)))
    if not found:
        raise BadInput("mates: nothing was read, expected a part and its lot: BORE-40 lot L-3")
    return tuple(found)


def said(lot: LotState, of_set: Sequence[LotState]) -> str:
    """The lot's mates in words: "BORE-40 lot M-7"."""
    others = [f"{one.part} lot {one.number}" for one in of_set if one.id != lot.id]
    return " and ".join(others) or "no other lot"
