"""A customer put on the list while their core is taken in."""

import re
from typing import TYPE_CHECKING

from shopdesk.tui.filling import Field
from shopdesk.tui.forms import FormScreen

if TYPE_CHECKING:
    from shopdesk.desk.shop import Shop
    from shopdesk.tui.app import ShopApp

_NUMBERED = re.compile(r"C([0-9]{1,6})")


def new_customer(app: "ShopApp", name: str) -> FormScreen:
    """Asks for one; ``name`` is what was typed of it."""

    def deed(shop: "Shop", given: dict[str, str]) -> str:
        from shopdesk.desk import keeping
        from shopdesk.views import lists

        code = given["code"].strip().upper()
        if not code:
            with shop.read() as db:
                code = _next([one.code for one in lists.customers(db, limit=100_000)])
        keeping.add_customer(
            shop,
            app.person,
            code=code,
            name=given["name"],
            phone=given["phone"],
            email=given["mail"],
            place=given["place"],
        )
        return f"{code} is {given['name'].strip()}"

    fields = (
        Field("name", "Name", name),
        Field("code", "Code", hint="short; empty for the next number", optional=True),
        Field("phone", "Telephone", optional=True),
        Field("mail", "Mail", optional=True),
        Field("place", "Place", optional=True),
    )
    return FormScreen("A new customer", fields, deed, commit="put on the list")


def _next(codes: list[str]) -> str:
    """ "C17" after C01 to C16 and whatever else there is."""
    numbers = [int(found[1]) for code in codes if (found := _NUMBERED.fullmatch(code))]
    return f"C{max(numbers, default=0) + 1:02d}"
