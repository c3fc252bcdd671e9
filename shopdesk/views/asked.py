"""As which part a piece of the ledger was asked, where another stands in for it."""

from typing import Any

from sqlalchemy import Select, func
from sqlalchemy.orm import aliased

from shopdesk.records.tables import Interchange, Part, StockMove

ASKED = aliased(Part)
"""The part a piece stands in for; joined over the row's interchange."""
ASKED_ID = func.coalesce(Interchange.part_id, StockMove.part_id)
"""The id of the part asked, its own where nothing stands in; joined the same way."""


def with_asked(question: Select[*tuple[Any, ...]]) -> Select[*tuple[Any, ...]]:
    """A question of the ledger that may name the part asked, None where nothing stands in."""
    return question.outerjoin(Interchange, Interchange.id == StockMove.interchange_id).outerjoin(
        ASKED, ASKED.id == Interchange.part_id
    )
