"""Which parts the procedures in force ask for as one matched set."""

from sqlalchemy import Connection

from shopdesk.rules.generated import mates_of
from shopdesk.views import documents


def mates(db: Connection, part: str) -> str:
    """The parts that it is always fitted with, out of one set; "" where some kit takes it alone."""
    lines = [(doc.kit, kit) for doc in documents.newest(db) for kit in doc.kit if kit.part == part]
    if not all(kit.matched for _, kit in lines):
        return ""
    found = (mate.part for of, kit in lines for mate in mates_of(of, kit.id))
    return " and ".join(dict.fromkeys(found))
