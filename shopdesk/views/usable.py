"""What of a part could be issued on a day: one expression for every place that says "free"."""

from collections.abc import Iterable
from datetime import date

from sqlalchemy import ColumnElement, Date, String, and_, bindparam, exists, func, or_, select
from sqlalchemy.orm import aliased

from shopdesk.records.tables import Lot, Part

_TODAY = "today"
_MATES, _EVER = "mates", "ever_mates"
_asked, _mate = aliased(Part), aliased(Lot)


def _among(parameter: str) -> ColumnElement[bool]:
    numbers = bindparam(parameter, type_=String, expanding=True)
    return Lot.part_id.in_(select(_asked.id).where(_asked.number.in_(numbers)))


LONE = and_(
    Lot.set_number != "",
    ~exists().where(_mate.set_number == Lot.set_number, _mate.id != Lot.id).correlate(Lot),
)
"""Of a lot: whether it is of a set of which nothing else has come yet."""
_MATCHED = and_(Lot.set_number != "", Lot.set_broken.is_(False))
NOT_ISSUED = and_(
    Lot.origin == "bought",
    or_(
        Lot.use_by < bindparam(_TODAY, type_=Date),
        Lot.quarantined,
        and_(~_MATCHED, _among(_MATES)),
        and_(_MATCHED, or_(LONE, ~_among(_EVER))),
    ),
)
SPOILED = (
    select(func.coalesce(func.sum(Lot.on_hand), 0))
    .where(Lot.part_id == Part.id, Lot.on_hand > 0, NOT_ISSUED)
    .correlate(Part)
    .scalar_subquery()
)
"""Pieces on the shelf that may not be issued: past their use-by day, in quarantine, or of no whole
set where only mates are asked for (of one, where they never are)."""

FREE = Part.on_hand - SPOILED - Part.reserved
"""What could be issued and is promised to nobody; negative where more is promised than is good."""


def on(today: date, asked: Iterable[tuple[str, bool]]) -> dict[str, object]:
    """The parameters of every statement with ``NOT_ISSUED``, ``SPOILED`` or ``FREE`` in it: the
    day, and which parts are asked for, each with whether that is as a mate of a matched set."""
    pairs = set(asked)
    mates = {part for part, mate in pairs if mate}
    alone = {part for part, mate in pairs if not mate}
    return {_TODAY: today, _MATES: sorted(mates - alone), _EVER: sorted(mates)}
