"""A unit back under warranty: the lines its sheet gets beside the procedure's.

What the customer complains of is measured again as the unit came, from the lines of the earlier
certificate: the charge and what is tested charged before the vent lets it go ("claim"), what is
tested without gas after the vent and before anything is opened ("fault"). The manager's decision
stands with the other decisions.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from itertools import takewhile

from shopdesk.procedure import types as doc

CLAIM, FAULT = "claim", "fault"
SECTIONS = (CLAIM, FAULT)
ABOUT = "claim.about"
CAUSE, COVER, WHY, COVERED = (
    "decision.cause",
    "decision.cover",
    "decision.cover_why",
    "decision.cover_signed",
)
DECISION = (CAUSE, COVER, WHY, COVERED)
BORNE = ("covered", "goodwill")
"""What the shop pays for."""
NOT_COVERED = "not covered"
COVERS = (BORNE[0], NOT_COVERED, BORNE[1])
ALL = "all"
SEPARATOR = "; "
PROVED_IN = ("proof", "charge", "hold")


@dataclass(frozen=True, slots=True)
class Earlier:
    """A line of the earlier certificate. ``value_si``: what it measured, a charge in gauge pascal
    at reference; None for a choice."""

    line: doc.Line
    text: str
    value_si: float | None
    instrument: str
    person: str
    at: datetime
    entry: int

    @property
    def label(self) -> str:
        """The line's text with its position, as the certificate has it."""
        return self.line.label.replace(SEPARATOR.strip(), ",")


@dataclass(frozen=True, slots=True)
class Claim:
    """The job a claim is on. ``waits`` are its timed holds, ``charged``: its tests were made with
    the charge in."""

    job: int
    left_at: datetime
    lines: tuple[Earlier, ...]
    waits: tuple[doc.Wait, ...] = ()
    charged: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class About(doc.Line):
    """Which lines of the earlier certificate the complaint is about."""

    options: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Again(doc.Line):
    """A line of the earlier certificate measured once more, as the unit came. ``start``: the line
    a loss is counted from."""

    earlier: Earlier
    instrument: str = ""
    start: str = ""


def measurable(line: doc.Line) -> bool:
    """Whether a complaint can be about this line: a judged reading, choice, charge or leak."""
    if line.section not in PROVED_IN:
        return False
    match line:
        case doc.Test() | doc.Charge() | doc.Leak():
            return True
        case doc.Choice():
            return bool(line.outside)
    return False


def with_claim(
    lines: Sequence[doc.Line], claim: Claim, gas: bool, causes: tuple[str, ...]
) -> tuple[doc.Line, ...]:
    """The sheet's lines with those of the claim in their places."""
    receipt = [*takewhile(lambda line: line.section == "receipt", lines)]
    vent = [*takewhile(lambda line: line.section == "vent", lines[len(receipt) :])]
    rest = lines[len(receipt) + len(vent) :]
    before = [*takewhile(lambda line: line.section != "decision", rest)]
    decided = _decision(claim, causes)
    return (
        *receipt,
        _about(claim),
        *(line for each in claim.lines for line in _asked_in(CLAIM, claim, each, gas)),
        *vent,
        *(line for each in claim.lines for line in _asked_in(FAULT, claim, each, gas)),
        *before,
        *decided,
        *rest[len(before) :],
    )


def _about(claim: Claim) -> About:
    return About(
        ABOUT,
        f"Claim: which lines of J-{claim.job}'s certificate it is about",
        help=(
            "Their numbers, such as 5 6, or all. These are measured again as the unit came, before "
            "it is vented or opened: afterwards nobody can say what it was. If nothing can be "
            "measured (seized, empty, dangerous) answer 'cannot: why'; a manager signs it. "
            "A unit that is not safe as it stands is made safe first."
        ),
        options=tuple(each.label for each in claim.lines),
    )


def section_of(claim: Claim, line: doc.Line, gas: bool) -> str:
    """In which section a line of the earlier certificate is measured again."""
    return FAULT if gas and line.section == "proof" and not claim.charged else CLAIM


def key_of(claim: Claim, line: doc.Line, gas: bool) -> str:
    return f"{section_of(claim, line, gas)}.{line.key}"


_AS_CAME = "As it came: turn no adjuster, tighten and open nothing first. "
_BENCH = _AS_CAME + "Guard shut; a jet of oil goes through the skin."
_GAS = "Face shield on, valve axis away from you. " + _AS_CAME + "Let nothing down."


def _asked_in(section: str, claim: Claim, each: Earlier, gas: bool) -> Sequence[doc.Line]:
    line = each.line
    if section_of(claim, line, gas) != section:
        return ()
    again = Again(
        key_of(claim, line, gas),
        each.label,
        help=_help(claim, each),
        caution=_BENCH if line.section == "proof" else _GAS,
        earlier=each,
        instrument=getattr(line, "instrument", ""),
        start=f"{CLAIM}.{line.start}" if isinstance(line, doc.Leak) else "",
    )
    if not isinstance(line, doc.Leak):
        return (again,)
    return (*(_wait(wait) for wait in claim.waits if wait.section == line.section), again)


def _wait(wait: doc.Wait) -> doc.Wait:
    return replace(wait, key=f"{CLAIM}.{wait.key}", caution=_GAS, when=())


def _help(claim: Claim, each: Earlier) -> str:
    held = [wait for wait in claim.waits if wait.section == each.line.section == "proof"]
    hold = "".join(f" That sheet held {wait.duration.typed}: {wait.text}." for wait in held)
    rig = (
        " Leave the rig on: the vent begins with the same gauge."
        if hold == "" and (isinstance(each.line, doc.Charge))
        else ""
    )
    return (
        f"Measured as the unit came, before anything is adjusted, tightened or cleaned. "
        f"On J-{claim.job}: {each.text}.{hold}{rig} "
        "What cannot be measured is answered 'cannot: why'; a manager signs it."
    )


def _decision(claim: Claim, causes: tuple[str, ...]) -> tuple[doc.Line, ...]:
    return (
        doc.Choice(CAUSE, "Claim: cause found", options=causes),
        doc.Choice(
            COVER,
            "Claim: covered or not",
            help="Covered and goodwill are at the shop's cost; not covered is quoted to the "
            "customer and waits for approval.",
            options=COVERS,
        ),
        doc.Note(WHY, "Claim: why, in words for the customer"),
        doc.Signature(COVERED, "Claim: decided by a manager", role="manager"),
    )


def asked(claim: Claim, answer: str, gas: bool) -> frozenset[str]:
    """Keys of the lines that an answer to "about" asks for: those named, and for a loss of charge
    the reading it begins with and its hold."""
    named = answer.split(SEPARATOR)
    found: set[str] = set()
    for each in claim.lines:
        if each.label not in named:
            continue
        line = each.line
        found.add(key_of(claim, line, gas))
        if isinstance(line, doc.Leak):
            found.add(f"{CLAIM}.{line.start}")
            waits = [wait for wait in claim.waits if wait.section == line.section]
            found |= {f"{CLAIM}.{wait.key}" for wait in waits}
    return frozenset(found)


def chosen(text: str, options: Sequence[str]) -> str | None:
    """The lines meant by "all", or by numbers set apart by spaces or commas; None if not that."""
    if text.casefold() == ALL:
        return SEPARATOR.join(options)
    words = text.replace(",", " ").split()
    if not words or not all(word.isascii() and word.isdigit() and len(word) < 4 for word in words):
        return None
    numbers = sorted({int(word) for word in words})
    if not all(1 <= n <= len(options) for n in numbers):
        return None
    return SEPARATOR.join(options[n - 1] for n in numbers)
