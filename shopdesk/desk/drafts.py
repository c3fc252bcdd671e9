"""What is typed and not yet committed: kept per terminal, offered back after a killed process."""

from sqlalchemy import delete, insert, select

from shopdesk.desk.shop import Deed, Shop
from shopdesk.records.tables import Draft

LONGEST = 2000


def keep(shop: Shop, place: str, text: str) -> None:
    """Keeps ``text`` as this terminal's draft for a place such as "J-1047/vent.arrival/value";
    an empty text drops it. No event: a draft is not yet a deed."""

    def work(deed: Deed) -> None:
        spent(deed, place)
        if text:
            deed.db.execute(
                insert(Draft).values(
                    terminal=deed.terminal, place=place[:200], text=text[:LONGEST], at=deed.now
                )
            )

    shop.write(work)


def spent(deed: Deed, place: str) -> None:
    """What was typed for the place is recorded by this deed: its draft goes with it."""
    mine = (Draft.terminal == deed.terminal) & (Draft.place == place[:200])
    deed.db.execute(delete(Draft).where(mine))


def kept(shop: Shop, place: str) -> str:
    """The draft of this terminal for the place, "" if none."""
    with shop.read() as db:
        found = db.execute(
            select(Draft.text).where(Draft.terminal == shop.terminal, Draft.place == place[:200])
        ).scalar()
    return found or ""


def kept_places(shop: Shop) -> tuple[tuple[str, str], ...]:
    """Every draft of this terminal as (place, text), newest first."""
    with shop.read() as db:
        rows = db.execute(
            select(Draft.place, Draft.text)
            .where(Draft.terminal == shop.terminal)
            .order_by(Draft.at.desc(), Draft.id.desc())
        ).all()
    return tuple((row.place, row.text) for row in rows)
