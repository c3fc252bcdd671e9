"""What is typed and not yet committed: kept per terminal, offered back after a killed process, at
another window of the computer where the killed one is gone."""

from sqlalchemy import bindparam, delete, insert, select

from shopdesk import settings
from shopdesk.desk.shop import Deed, Shop
from shopdesk.records.tables import Draft

LONGEST = 2000
_HELD = select(Draft.id, Draft.terminal).where(Draft.place == bindparam("place"))
_DROP = delete(Draft).where(Draft.id == bindparam("draft_id"))


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
    for row in deed.db.execute(_HELD, {"place": place[:200]}).all():
        if _reachable(row.terminal, deed.terminal):
            deed.db.execute(_DROP, {"draft_id": row.id})


def kept(shop: Shop, place: str) -> str:
    """The draft of this terminal for the place, "" if none."""
    return dict(kept_places(shop)).get(place[:200], "")


def kept_places(shop: Shop) -> tuple[tuple[str, str], ...]:
    """Every draft of this terminal as (place, text), newest first; and where it has none of a line
    or form, those of a window of this computer that is gone."""
    with shop.read() as db:
        rows = db.execute(
            select(Draft.place, Draft.text, Draft.terminal).order_by(
                Draft.at.desc(), Draft.id.desc()
            )
        ).all()
    found = [row for row in rows if _reachable(row.terminal, shop.terminal)]
    whose: dict[str, str] = {}
    for row in sorted(found, key=lambda row: row.terminal != shop.terminal):
        whose.setdefault(_form(row.place), row.terminal)
    return tuple((row.place, row.text) for row in found if whose[_form(row.place)] == row.terminal)


def _reachable(terminal: str, here: str) -> bool:
    return terminal == here or settings.hung_up(terminal)


def _form(place: str) -> str:
    return place.rpartition("/")[0]
