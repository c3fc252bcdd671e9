"""Which parts the procedures in force ask for as one matched set."""

from collections.abc import Collection, Mapping

from sqlalchemy import Connection

from shopdesk.rules.generated import mates_of
from shopdesk.views import documents


def mates(db: Connection, part: str) -> tuple[str, ...]:
    """The parts that it is always fitted with, out of one set; none where some kit takes it
    alone."""
    lines = [(doc.kit, kit) for doc in documents.newest(db) for kit in doc.kit if kit.part == part]
    if not all(kit.matched for _, kit in lines):
        return ()
    found = (mate.part for of, kit in lines for mate in mates_of(of, kit.id))
    return tuple(dict.fromkeys(found))


def together(db: Connection, parts: Collection[str]) -> bool:
    """Whether these parts may be one set: a kit in force takes them so, or none asks for any."""
    kits = [doc.kit for doc in documents.newest(db)]
    if not any(line.part in parts for kit in kits for line in kit):
        return True
    return any(
        set(parts) <= {mate.part for mate in mates_of(kit, line.id, itself=True)}
        for kit in kits
        for line in kit
        if line.matched
    )


OneSet = tuple[tuple[str, int], ...]


def sets(db: Connection) -> Mapping[str, OneSet]:
    """Of each part that is fitted out of a matched set alone: the parts of the set, itself among
    them, with the pieces of each. Where models take different sets of it, the largest."""
    found: dict[str, OneSet] = {}
    kits = [doc.kit for doc in documents.newest(db)]
    alone = {line.part for kit in kits for line in kit if not line.matched}
    for kit in kits:
        for line in kit:
            if line.matched and line.part not in alone:
                one = tuple((m.part, m.quantity) for m in mates_of(kit, line.id, itself=True))
                found[line.part] = max(found.get(line.part, ()), one, key=len)
    return found
