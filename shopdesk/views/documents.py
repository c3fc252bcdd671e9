"""The shop's documents as the rules use them: its rules, side roads, procedures by revision."""

from collections.abc import Callable
from datetime import datetime
from typing import Any, TypeVar, cast

from sqlalchemy import Connection, Select, bindparam, exists, func, or_, select

from shopdesk import procedure
from shopdesk.errors import NotFound
from shopdesk.procedure import Line, Procedure
from shopdesk.records.tables import ProcedureApproval, ProcedureRevision, ShopDocument
from shopdesk.rules import shop as shop_rules
from shopdesk.rules.answers import SIDE_ROADS
from shopdesk.rules.shop import ShopRules

Roads = dict[str, tuple[Line, ...]]
Parsed = TypeVar("Parsed")


_NEWEST = select(ShopDocument.kind, ShopDocument.sha256).where(
    ShopDocument.id.in_(select(func.max(ShopDocument.id)).group_by(ShopDocument.kind))
)
_TEXT = select(ShopDocument.document).where(
    ShopDocument.kind == bindparam("kind"), ShopDocument.sha256 == bindparam("sha256")
)
_AT = (
    select(ShopDocument.sha256)
    .where(ShopDocument.kind == "shop", ShopDocument.at <= bindparam("at"))
    .order_by(ShopDocument.id.desc())
    .limit(1)
)
_REVISION = select(ProcedureRevision.sha256).where(ProcedureRevision.id == bindparam("id"))
_DOCUMENT = select(ProcedureRevision.document).where(ProcedureRevision.id == bindparam("id"))
APPROVED = or_(
    ~ProcedureRevision.proposed,
    exists().where(
        ProcedureApproval.procedure_revision_id == ProcedureRevision.id,
        ProcedureApproval.answer == "approved",
    ),
)
"""Of a procedure revision: whether jobs may run on it."""
_IN_FORCE = select(ProcedureRevision.id, ProcedureRevision.sha256).where(
    ProcedureRevision.id.in_(
        select(func.max(ProcedureRevision.id))
        .where(APPROVED)
        .group_by(ProcedureRevision.unit_model_id)
    )
)
_known: dict[tuple[str, str], Any] = {}  # what this process has parsed, by the text's hash


def rules(db: Connection) -> ShopRules:
    """The shop's rules in force. Raises NotFound on a database without a shop."""
    return in_force(db)[0]


def rules_at(db: Connection, at: datetime) -> ShopRules:
    """The shop's rules that were in force then."""
    sha256 = db.execute(_AT, {"at": at}).scalar_one()
    return _parsed(db, _TEXT, {"kind": "shop", "sha256": sha256}, sha256, shop_rules.read)


def roads(db: Connection) -> Roads:
    """The lines of each side road."""
    return in_force(db)[1]


def in_force(db: Connection) -> tuple[ShopRules, Roads]:
    """The shop's rules and side roads in force; each text is parsed once per process."""
    hashes: dict[str, str] = dict(db.execute(_NEWEST).all())
    for kind in ("shop", "roads"):
        if kind not in hashes:
            raise NotFound(
                f"this database holds no {kind} document yet; set up a shop in it first, "
                "or open the sample with: shopdesk sample"
            )
    shop, side = hashes["shop"], hashes["roads"]
    return (
        _parsed(db, _TEXT, {"kind": "shop", "sha256": shop}, shop, shop_rules.read),
        _parsed(db, _TEXT, {"kind": "roads", "sha256": side}, side, _roads),
    )


def text_in_force(db: Connection, kind: str) -> str:
    """The document itself, "shop" or "roads", as it was adopted. Raises NotFound."""
    in_force(db)
    newest = select(func.max(ShopDocument.id)).where(ShopDocument.kind == kind).scalar_subquery()
    text = select(ShopDocument.document).where(ShopDocument.id == newest)
    return str(db.execute(text).scalar_one())


def revision(db: Connection, revision_id: int) -> Procedure:
    """The procedure of one adopted revision."""
    sha256 = db.execute(_REVISION, {"id": revision_id}).scalar_one()
    return _parsed(db, _DOCUMENT, {"id": revision_id}, sha256, _procedure)


def newest_of(unit_model_id: Any) -> Select[*tuple[int]]:
    """The id of the revision in force of a model; None where nobody has approved one."""
    return select(func.max(ProcedureRevision.id)).where(
        ProcedureRevision.unit_model_id == unit_model_id, APPROVED
    )


def newest(db: Connection) -> tuple[Procedure, ...]:
    """The procedure in force of every model, by model."""
    rows = db.execute(_IN_FORCE).all()
    docs = (_parsed(db, _DOCUMENT, {"id": i}, sha256, _procedure) for i, sha256 in rows)
    return tuple(sorted(docs, key=lambda doc: doc.model))


def asked(db: Connection) -> tuple[tuple[str, bool], ...]:
    """The parts the kits in force ask for, each with whether that is as a mate of a matched set."""
    return tuple({(kit.part, bool(kit.matched)) for doc in newest(db) for kit in doc.kit})


def _parsed(
    db: Connection,
    text_of: Select[str],
    where: dict[str, object],
    sha256: str,
    how: Callable[[str], Parsed],
) -> Parsed:
    """Each text is fetched and parsed once per process; one that is not what was adopted (its
    hash does not fit) every time."""
    key = (how.__name__, sha256)
    if key in _known:
        return cast(Parsed, _known[key])
    text = db.execute(text_of, where).scalars().first() or ""
    parsed = how(text)
    if procedure.digest(text) == sha256:
        _known[key] = parsed
    return parsed


def _roads(text: str) -> Roads:
    return dict(procedure.side_roads(text, name="roads.toml", roads=SIDE_ROADS))


def _procedure(text: str) -> Procedure:
    return procedure.loads(text, name="adopted procedure")
