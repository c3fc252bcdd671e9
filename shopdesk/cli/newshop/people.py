"""The first manager, and who else signs."""

from dataclasses import dataclass

from shopdesk.cli.asking import readers
from shopdesk.cli.asking.asker import Asked, Asker
from shopdesk.cli.newshop.setting_up import SettingUp
from shopdesk.errors import BadInput


@dataclass(frozen=True)
class _Person:
    label: str
    name: str
    initials: str
    role: str
    pin: str


def add(up: SettingUp) -> None:
    """Asks for the manager and the others, and puts them on the list."""
    from shopdesk.desk import keeping

    people = up.ask.through(_people, whole=False)
    for one in people:
        keeping.add_person(
            up.shop,
            up.signs,
            initials=one.initials,
            name=one.name,
            role=one.role,
            pin=one.pin,
        )
        up.signs = up.signs or f"{one.initials} {one.pin}"
    up.done(f"{', '.join(one.initials for one in people)} may sign here.")


def _people(ask: Asker) -> list[_Person]:
    from shopdesk.rules import people

    ask.head("People", "The first is the manager, who adds others, keeps procedures and concedes.")
    name = ask.ask(Asked("manager", "The manager's name", readers.words(80), "Mara Kolb"))
    first = ask.ask(
        Asked("manager initials", "Initials to sign with", people.initials, "MK", _short(name))
    )
    rows = [("manager", name, first, "manager")]
    ask.head(
        "Who else signs",
        "A gas unit's vent record takes a second person. One by one, or NAME; INITIALS; ROLE; "
        "Enter where there are no more.",
    )

    def fields(label: str) -> list[Asked]:
        return [
            Asked(label, "Name", readers.maybe(readers.words(80)), "Ole Lind", ""),
            Asked(
                f"{label} initials",
                "Initials",
                lambda text: _other(people.initials(text), [row[2] for row in rows]),
                "OL",
                follows=lambda before: _short(str(before[0])),
            ),
            Asked(
                f"{label} role",
                f"Works as {', '.join(people.ROLES[:-1])} or {people.ROLES[-1]}?",
                readers.one_of(*people.ROLES),
                usual="technician",
            ),
        ]

    while (row := ask.row(fields(label := f"person {len(rows)}"))) is not None:
        rows.append((label, *row))
    return [_Person(*row, pin=_pin(ask, row[0], row[2])) for row in rows]


def _pin(ask: Asker, label: str, initials: str) -> str:
    """Typed twice at a terminal, where it cannot be seen."""
    from shopdesk.rules import people

    asked = f"{label} PIN"
    while True:
        pin = ask.secret(asked, f"A PIN for {initials}, 4 to 12 digits", people.pin)
        if not ask.twice(asked) or pin == ask.secret(asked, "The same once more", str):
            return pin
        ask.complain(asked, BadInput("the two do not agree; type it again"))


def _other(code: str, taken: list[str]) -> str:
    if code in taken:
        raise BadInput(f"{code} signs here already; choose other initials")
    return code


def _short(name: str) -> str:
    letters = [word[0] for word in name.upper().split() if word[0].isalnum()]
    return "".join(letters[:3]) if len(letters) > 1 else name.upper()[:2]
