"""Who works here, once they are on the list: roles, PINs, badges, who has left.

A manager signs for it with initials and PIN, in place; a new PIN of one's own takes the old one.
"""

from typing import Any

from sqlalchemy import Row, func, select, update

from shopdesk.desk import pins, signing
from shopdesk.desk.shop import Deed, Shop, refuse
from shopdesk.errors import BadInput, NotFound, Refused
from shopdesk.records.tables import Person
from shopdesk.rules import people
from shopdesk.rules.people import ROLES

Found = Row[*tuple[Any, ...]]


def change_role(shop: Shop, signs: str, initials: str, role: str) -> None:
    """Raises Refused where the shop would be left without a manager."""
    if role not in ROLES:
        raise BadInput(f"read role {role!r}; expected one of {', '.join(ROLES)}")

    def work(deed: Deed) -> None:
        person = _keep(deed, signs, initials, {"role": role})
        if person.role == "manager" and role != "manager":
            _still_managed(deed)

    shop.write(work)


def change_badge(shop: Shop, signs: str, initials: str, badge: str) -> None:
    """An empty badge takes the old one away."""
    code = badge.strip().upper() or None

    def work(deed: Deed) -> None:
        if code is not None:
            holds = select(Person.initials).where(Person.badge == code)
            holder = deed.db.execute(holds).scalar()
            if holder is not None and holder != initials.strip().upper():
                raise Refused(f"badge {code} is {holder}'s; give that one another first")
        _keep(deed, signs, initials, {"badge": code})

    shop.write(work)


def change_pin(shop: Shop, signs: str, initials: str, pin: str, *, cost: int = pins.COST) -> None:
    """A new PIN, by a manager or by the person with the old one. Wrong tries are forgotten."""
    stored = pins.hashed(pin, cost=cost)

    def work(deed: Deed) -> None:
        who = signing.sign(deed, signs)
        person = _person(deed, initials)
        if who.id != person.id:
            refuse(people.refused(who.role, "keep people"))
        values = {"pin_hash": stored, "wrong_tries": 0, "wrong_at": None}
        deed.db.execute(update(Person).where(Person.id == person.id).values(**values))
        deed.event("person", who, {"initials": person.initials, "changed": "PIN"})

    shop.write(work)


def retire(shop: Shop, signs: str, initials: str) -> None:
    """The person signs nothing here any more; what they signed stands. Raises Refused for the
    last manager."""

    def work(deed: Deed) -> None:
        person = _keep(deed, signs, initials, {"active": False})
        if person.role == "manager":
            _still_managed(deed)

    shop.write(work)


def take_back(shop: Shop, signs: str, initials: str) -> None:
    """Somebody who had left works here again, under the same initials and PIN."""
    shop.write(lambda deed: _keep(deed, signs, initials, {"active": True}))


def _keep(deed: Deed, signs: str, initials: str, values: dict[str, object]) -> Found:
    """Changes the person and gives it as it was."""
    manager = deed.signed(signs, "keep people")
    person = _person(deed, initials)
    deed.db.execute(update(Person).where(Person.id == person.id).values(**values))
    deed.event("person", manager, {"initials": person.initials, **values})
    return person


def _person(deed: Deed, initials: str) -> Found:
    code = initials.strip().upper()
    found = deed.db.execute(
        select(Person.id, Person.initials, Person.role).where(Person.initials == code)
    ).one_or_none()
    if found is None:
        raise NotFound(f"nobody here has the initials {code[:20]!r}")
    return found


def _still_managed(deed: Deed) -> None:
    left = select(func.count(Person.id)).where(Person.role == "manager", Person.active)
    if deed.db.execute(left).scalar_one() == 0:
        raise Refused("a shop needs a manager: make somebody else one first")
