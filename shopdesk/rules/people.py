"""Who may do what, and who may witness whom."""

from typing import TYPE_CHECKING

from shopdesk.errors import BadInput
from shopdesk.rules.refusals import Refusal

if TYPE_CHECKING:
    from shopdesk.procedure import types as doc
    from shopdesk.rules.sheet import LineState, Sheet

ROLES = ("counter", "technician", "manager")

# What each role may do; a manager may do everything.
MAY = {
    "receive a core": {"counter", "technician"},
    "record an entry": {"counter", "technician"},
    "report a hiss": {"counter", "technician"},
    "quarantine": {"counter", "technician"},
    "take a job": {"technician"},
    "make a quote": {"counter"},
    "record an answer": {"counter"},
    "ship": {"counter"},
    "scrap": {"counter", "technician"},
    "receive stock": {"counter"},
    "order": {"counter"},
    "count stock": {"counter"},
    "recount stock": {"counter", "technician"},
    "record a cost": {"counter", "technician"},
    "judge a core": {"counter", "technician"},
    "pay a credit": {"counter"},
    "mark a bottle": {"counter", "technician"},
    "bring in a procedure": {"technician"},
    "propose an interchange": {"counter", "technician"},
    "hold a part": {"counter", "technician"},
    "concede": set(),
    "approve a count": set(),
    "approve an interchange": set(),
    "change a promise": set(),
    "keep people": set(),
    "keep procedures": set(),
    "keep the shop's rules": set(),
    "keep instruments": set(),
}


def initials(typed: str) -> str:
    """What somebody is to sign with. Raises BadInput for anything but 2 to 8 letters or digits."""
    code = typed.strip().upper()
    if not (code.isalnum() and 1 < len(code) <= 8):
        raise BadInput(
            f"read initials {typed.strip()[:20]!r}; expected 2 to 8 letters or digits, such as MK"
        )
    return code


def pin(typed: str) -> str:
    """A PIN to be kept. Raises BadInput for anything but 4 to 12 digits."""
    if not (typed.isascii() and typed.isdigit() and 4 <= len(typed) <= 12):
        raise BadInput("a PIN has 4 to 12 digits")
    return typed


def refused(role: str, action: str) -> Refusal | None:
    """Why this role may not do this; None if it may. Raises KeyError for an unknown action."""
    if role == "manager" or role in MAY[action]:
        return None
    allowed = [*sorted(MAY[action]), "manager"]
    return Refusal(
        f"to {action} takes a {' or '.join(allowed)}; this is a {role}", (), " or ".join(allowed)
    )


def signature_refused(sheet: "Sheet", state: "LineState", person: str, role: str) -> Refusal | None:
    """Why this person may not sign this line: the wrong role, or a witness to own work."""
    from shopdesk.procedure import types as doc
    from shopdesk.rules.claims import About, Again

    line = state.line
    if isinstance(line, About | Again) and role != "manager":
        return Refusal(
            f"{line.text}: that it cannot be measured takes a manager's signature; {person} is a "
            f"{role}",
            (line.key,),
            "manager",
        )
    if not isinstance(line, doc.Signature):
        return None
    if line.role and role not in (line.role, "manager"):
        return Refusal(
            f"{line.text}: takes a {line.role}'s signature; {person} is a {role}",
            (line.key,),
            line.role,
        )
    if line.witness and person in witnessed(sheet, line):
        return Refusal(
            f"{line.text}: {person} did part of this work; a second person has to sign",
            (line.key,),
            "a second person",
        )
    return None


def witnessed(sheet: "Sheet", line: "doc.Signature") -> frozenset[str]:
    """Initials of those who worked on the lines since the section's last witness: who recorded
    or signed them, also what was corrected since, but not the work of a record now void."""
    from shopdesk.procedure import types as doc

    people: set[str] = set()
    for state in sheet.section(line.section):
        if state.line.key == line.key:
            break
        if isinstance(state.line, doc.Signature):
            if state.line.witness:
                people.clear()
            else:
                people.update(answer.witness for answer in state.given.values())
            continue
        people.update(answer.person for answer in state.given.values())
        people.update(a.person for a in state.past if a.set_aside in ("", "remeasure"))
    return frozenset(people)
