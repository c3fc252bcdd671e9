"""What of a part could be issued on a day: one expression for every place that says "free"."""

from sqlalchemy import Date, and_, bindparam, func, or_, select

from shopdesk.records.tables import Lot, Part

TODAY = "today"
"""The parameter every statement with ``SPOILED`` or ``FREE`` in it takes."""

NOT_ISSUED = and_(
    Lot.origin == "bought", or_(Lot.use_by < bindparam(TODAY, type_=Date), Lot.quarantined)
)
SPOILED = (
    select(func.coalesce(func.sum(Lot.on_hand), 0))
    .where(Lot.part_id == Part.id, Lot.on_hand > 0, NOT_ISSUED)
    .correlate(Part)
    .scalar_subquery()
)
"""Pieces on the shelf that may not be issued: past their use-by day, or in quarantine."""

FREE = Part.on_hand - SPOILED - Part.reserved
"""What could be issued and is promised to nobody; negative where more is promised than is good."""
