"""As which part a piece of the ledger was asked, where another stands in for it."""

from sqlalchemy import func
from sqlalchemy.orm import aliased

from shopdesk.records.tables import Interchange, Part, StockMove

ASKED = aliased(Part)
"""The part a piece stands in for; joined over the row's interchange."""
ASKED_ID = func.coalesce(Interchange.part_id, StockMove.part_id)
"""The id of the part asked, its own where nothing stands in; joined the same way."""
