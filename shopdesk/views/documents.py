"""The shop's documents as the rules use them: its rules, side roads, procedures by revision."""

from functools import lru_cache

from sqlalchemy import Connection, select

from shopdesk import procedure
from shopdesk.errors import NotFound
from shopdesk.procedure import Line, Procedure
from shopdesk.records.tables import ProcedureRevision, ShopDocument
from shopdesk.rules import shop as shop_rules
from shopdesk.rules.answers import SIDE_ROADS
from shopdesk.rules.shop import ShopRules

Roads = dict[str, tuple[Line, ...]]


def rules(db: Connection) -> ShopRules:
    """The shop's rules in force. Raises NotFound on a database without a shop."""
    return shop_rules.read(_latest(db, "shop"))


def roads(db: Connection) -> Roads:
    """The lines of each side road."""
    return _roads(_latest(db, "roads"))


def _latest(db: Connection, kind: str) -> str:
    text = db.execute(
        select(ShopDocument.document)
        .where(ShopDocument.kind == kind)
        .order_by(ShopDocument.id.desc())
        .limit(1)
    ).scalar()
    if text is None:
        raise NotFound(
            f"this database holds no {kind} document yet; set up a shop in it first, "
            "or open the sample with: shopdesk sample"
        )
    return text


@lru_cache(maxsize=4)
def _roads(text: str) -> Roads:
    return dict(procedure.side_roads(text, name="roads.toml", roads=SIDE_ROADS))


def revision(db: Connection, revision_id: int) -> Procedure:
    """The procedure of one adopted revision; each text is parsed once per process."""
    text = db.execute(
        select(ProcedureRevision.document).where(ProcedureRevision.id == revision_id)
    ).scalar_one()
    return _procedure(text)


@lru_cache(maxsize=128)
def _procedure(text: str) -> Procedure:
    return procedure.loads(text, name="adopted procedure")
