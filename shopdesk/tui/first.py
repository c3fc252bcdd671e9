"""The first start of a shop: its first manager."""

from typing import TYPE_CHECKING

from shopdesk.tui.filling import Field
from shopdesk.tui.forms import FormScreen

if TYPE_CHECKING:
    from shopdesk.desk.shop import Shop


def first_manager() -> FormScreen:
    """Asks for whom everything else in the shop is signed by."""
    return FormScreen(
        "A new shop: who is its manager?",
        (
            Field("name", "Name"),
            Field("new", "Initials, space, PIN", secret=True, hint="the PIN has 4 to 12 digits"),
            Field("again", "The same once more", secret=True, hint="so that no slip locks you out"),
        ),
        _make,
        context=(
            "Nobody works here yet. The first is a manager: who adds the others, keeps procedures "
            "and instruments, and approves what only a manager may.",
        ),
        commit="begin the shop",
    )


def _make(shop: "Shop", given: dict[str, str]) -> str:
    from shopdesk.desk import keeping
    from shopdesk.errors import BadInput
    from shopdesk.tui.office.people import initials_and_pin

    if given["new"].split() != given["again"].split():
        raise BadInput("the two do not agree; type initials and PIN again")
    initials, pin = initials_and_pin(given["new"])
    keeping.add_person(shop, "", initials=initials, name=given["name"], role="manager", pin=pin)
    return f"{initials} is the manager of this shop"
