"""Matched sets in the stores' forms: what a deed on one says of its mates."""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from shopdesk.desk.shop import Shop
    from shopdesk.views.stores import LotRow


def ends(said: str, then: str, lot: "LotRow", what: str) -> str:
    """What was done to a lot, and with it to the mates of its set."""
    mates = f"{lot.mates} {what}" if lot.matched and lot.mates else ""
    return "; ".join(each for each in (said, then, mates) if each)


def brought(lot: "LotRow", what: str) -> tuple[str, ...]:
    """What a deed on one of a matched set brings with it for the others."""
    if not lot.matched:
        return ()
    return (f"One of matched set {lot.set_number}, with {lot.mates or 'nothing yet'}. {what}",)


def in_set(shop: "Shop", part: str, number: str) -> str:
    """Which set what came belongs to, or that its kit asks for one."""
    from shopdesk.views import lots, matched

    of_set = number.strip().upper()
    with shop.read() as db:
        mates = matched.mates(db, part.strip().upper())
        here = {lot.part for lot in lots.of_set(db, of_set)}
    lacks = " and ".join(mate for mate in mates if mate not in here)
    if of_set:
        return f", of matched set {of_set}" + (f"; NOT WHOLE: {lacks} is to come" if lacks else "")
    return f"; OF NO SET: it goes in only as one set with {lacks}, N makes one" if lacks else ""
