"""People: who works here; a manager signs every change in place."""

from collections.abc import Hashable, Sequence
from datetime import datetime
from typing import TYPE_CHECKING, Any, ClassVar

from textual.binding import Binding

from shopdesk.tui.columns import Column, laid
from shopdesk.tui.filling import Choice, Field
from shopdesk.tui.forms import FormScreen
from shopdesk.tui.lines import Row
from shopdesk.tui.places import ListScreen

if TYPE_CHECKING:
    from shopdesk.desk.shop import Shop
    from shopdesk.views.staff import PersonRow

ROLES = (
    Choice("counter", "takes in and hands over, quotes, orders, receives"),
    Choice("technician", "records at the bench, signs there"),
    Choice("manager", "everything, and what only a manager may"),
)
MANAGER = Field(
    "signs", "Manager: initials, space, PIN", secret=True, hint="a manager signs for this in place"
)


class PeopleScreen(ListScreen):
    HEADING = "People: who works here"
    HELP = (
        "Whoever works here signs with initials or badge and a PIN. Every change is signed by a "
        "manager and stands in the event chain; who has left stays in the list, and what they "
        "signed stands. A forgotten PIN is replaced with N: nobody can read the old one."
    )
    LETTERS = "anrbx"
    OWN_KEYS = "A Add   N New PIN   R Role   B Badge   X left, or back again   F7 Find   Esc Back"
    FINDS = "person's initials, name, role or badge"
    EMPTY = " nobody"
    COLUMNS: ClassVar[tuple[Column, ...]] = (
        Column("initials", 8),
        Column("name", 20, share=2),
        Column("role", 11),
        Column("badge", 10, share=1),
        Column("signs", 20, share=1),
    )
    BINDINGS = [
        Binding("a,A", "add", "Add", id="people.add", tooltip="Somebody new"),
        Binding("n,N", "pin", "New PIN", id="people.pin", tooltip="A new PIN for a forgotten one"),
        Binding("r,R", "role", "Role", id="people.role", tooltip="What the person may do"),
        Binding("b,B", "badge", "Badge", id="people.badge", tooltip="Another badge, or none"),
        Binding("x,X", "leave", "Left", id="people.leave", tooltip="Signs no more, or again"),
        Binding("escape", "back", "Back", id="people.back", tooltip="Back to the office"),
    ]

    def ask(self, shop: "Shop", text: str) -> Any:
        from shopdesk.views import staff

        with shop.read() as db:
            return staff.people(db, text)

    def rows(self) -> Sequence[Row]:
        return [
            Row(laid(self.COLUMNS, self.width, _cells(one)), one.initials) for one in self.answer
        ]

    def action_back(self) -> None:
        self.dismiss()

    def action_add(self) -> None:
        def deed(shop: "Shop", given: dict[str, str]) -> str:
            from shopdesk.desk import keeping

            initials, pin = initials_and_pin(given["new"])
            keeping.add_person(
                shop,
                given["signs"],
                initials=initials,
                name=given["name"],
                role=given["role"],
                pin=pin,
                badge=given["badge"],
            )
            return f"{initials} works here from now on as {given['role']}"

        self._form(
            "Somebody new",
            (
                Field("name", "Name"),
                Field("role", "Role", choices=ROLES, hint="a number or the word"),
                Field(
                    "new", "Initials, space, PIN", secret=True, hint="the PIN has 4 to 12 digits"
                ),
                Field("badge", "Badge", optional=True, hint="scan it, or leave it empty"),
            ),
            deed,
        )

    def action_pin(self) -> None:
        def deed(shop: "Shop", given: dict[str, str]) -> str:
            from shopdesk.desk import staff

            initials, pin = initials_and_pin(given["new"])
            staff.change_pin(shop, given["signs"], initials, pin)
            return f"{initials} signs with the new PIN"

        one = self._person()
        if one is not None:
            new = Field(
                "new",
                "Initials, space, new PIN",
                f"{one.initials} ",
                secret=True,
                hint="the PIN has 4 to 12 digits",
            )
            self._form(f"A new PIN for {one.name}", (new,), deed)

    def action_role(self) -> None:
        one = self._person()
        if one is None:
            return

        def deed(shop: "Shop", given: dict[str, str]) -> str:
            from shopdesk.desk import staff

            staff.change_role(shop, given["signs"], one.initials, given["role"])
            return f"{one.initials} is {given['role']}"

        role = Field("role", "Role", one.role, choices=ROLES, hint="a number or the word")
        self._form(f"What {one.name} may do", (role,), deed)

    def action_badge(self) -> None:
        one = self._person()
        if one is None:
            return

        def deed(shop: "Shop", given: dict[str, str]) -> str:
            from shopdesk.desk import staff

            staff.change_badge(shop, given["signs"], one.initials, given["badge"])
            return f"{one.initials}: badge {given['badge'] or 'taken away'}"

        badge = Field("badge", "Badge", one.badge, optional=True, hint="scan it; empty for none")
        self._form(f"{one.name}'s badge", (badge,), deed)

    def action_leave(self) -> None:
        one = self._person()
        if one is None:
            return

        def deed(shop: "Shop", given: dict[str, str]) -> str:
            from shopdesk.desk import staff

            (staff.retire if one.active else staff.take_back)(shop, given["signs"], one.initials)
            return f"{one.initials} {'signs no more' if one.active else 'signs again'}"

        heading = f"{one.name} has left" if one.active else f"{one.name} is back"
        self._form(heading, (), deed)

    def _person(self) -> "PersonRow | None":
        key: Hashable = self.lines.cursor_key
        return next((one for one in self.answer or () if one.initials == key), None)

    def _form(self, heading: str, fields: Sequence[Field], deed: Any) -> None:
        if self.is_current:
            self.app.push_screen(FormScreen(heading, (*fields, MANAGER), deed))


def initials_and_pin(typed: str) -> tuple[str, str]:
    """Raises BadInput where it is not two words."""
    from shopdesk.errors import BadInput

    words = typed.split()
    if len(words) != 2:
        raise BadInput("initials, a space, and the PIN are asked: RT 4711")
    return words[0].upper(), words[1]


def _cells(one: "PersonRow") -> tuple[str, ...]:
    return (one.initials, one.name, one.role, one.badge, _signs(one))


def _signs(one: "PersonRow") -> str:
    if not one.active:
        return "has left"
    if not one.wrong_tries:
        return ""
    when: datetime | None = one.wrong_at
    at = f", {when.astimezone():%d %b %H:%M}" if when is not None else ""
    return f"{one.wrong_tries} wrong{at}"
