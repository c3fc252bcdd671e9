"""What follows from a disposition: lines asked again, and under which cause."""

from collections.abc import Collection
from dataclasses import dataclass

from shopdesk.procedure import types as doc
from shopdesk.rules.answers import SIDE_ROADS, GasState
from shopdesk.rules.generated import Issue, issue_key
from shopdesk.rules.sheet import Sheet

AGAIN = frozenset(
    {
        "measure again",
        "test again",
        "read again",
        "set again",
        "pull again",
        *doc.WORKED,
    }
)

WORKING = frozenset({*doc.WORKED, "rework"})
"""After which a part is not as it was measured before."""
# What makes the unit safe, and the tests it leaves by, are not the customer's to let pass.
_NOT_CONCEDED = (doc.Test, doc.Charge, doc.Leak, doc.Regulator, doc.Vent, doc.Wait)
_CONCEDED_IN = ("receipt", "teardown", "build")


@dataclass(frozen=True, slots=True)
class Follow:
    """``lines`` are set aside and asked again, under ``cause`` of a reopening."""

    cause: str
    lines: tuple[str, ...]


def follows(sheet: Sheet, line: doc.Line, word: str) -> Follow | None:
    """What the disposition ``word`` on this line reopens; None when it reopens nothing. What was
    measured before work on the part is measured again. A one-time part whose fitting is undone is
    spent: a new one has to be issued. What is done over in the build is proved, charged, held and
    released again."""
    what = _follows(sheet, line, word)
    if what is None:
        return None
    undone = taken_apart(sheet, line, word)
    lines = (*what.lines, *undone)
    built = any(state.line.key in lines for state in sheet.section("build"))
    later = answered_from(sheet, "build", after=True) if built else ()
    return Follow(
        "rework" if undone else what.cause,
        tuple(dict.fromkeys((*spent(sheet, lines), *lines, *later))),
    )


def measured_again(sheet: Sheet, line: doc.Line, word: str) -> tuple[doc.Line, ...]:
    """Lines measured before the work that ``word`` brings on the part, as the procedure names
    them: their readings are of a part that is no more."""
    named = doc.measured_again(line) if word in WORKING else ()
    return tuple(state.line for state in sheet.lines if state.line.key in named and state.given)


def taken_apart(sheet: Sheet, line: doc.Line, word: str) -> tuple[str, ...]:
    """What was built since a part was fitted that teardown judges and that is worked on after all;
    of a part that no line fits, since the build began."""
    if word not in doc.WORKED or not _begun(sheet):
        return ()
    worked = (line, *measured_again(sheet, line, word))
    if not any(each.section == "teardown" for each in worked):
        return ()
    kits = {
        kit.id
        for kit in sheet.procedure.kit
        if line.key == kit.inspect or line.key in kit.measured_by
    }
    if any(isinstance(each, doc.Fit) and each.kit in kits for each in sheet.procedure.lines):
        return built_since(sheet, kits)
    return answered_from(sheet, "build")


def built_since(
    sheet: Sheet, kits: Collection[str], asked: Collection[str] = ()
) -> tuple[str, ...]:
    """What was built from the first line on that fits a part of ``kits``, or is one of those
    ``asked`` anew, and all that was done after the build: the build goes in order, each line on
    what the lines before it made. Nothing where no such line was reached."""
    build = sheet.section("build")
    first = next(
        (
            n
            for n, state in enumerate(build)
            if state.line.key in asked
            or (isinstance(state.line, doc.Fit) and state.line.kit in kits and state.given)
        ),
        len(build),
    )
    kept = {state.line.key for state in build[:first]}
    found = tuple(key for key in answered_from(sheet, "build") if key not in kept)
    return found if first < len(build) else ()


def _begun(sheet: Sheet) -> bool:
    return any(state.given for state in sheet.section("build"))


def spent(sheet: Sheet, lines: tuple[str, ...]) -> tuple[str, ...]:
    """Issue lines of the one-time parts that ``lines`` would fit again."""
    kits = {
        state.line.kit
        for state in sheet.lines
        if isinstance(state.line, doc.Fit) and state.given and state.line.key in lines
    }
    return tuple(
        issue_key(kit.id) for kit in sheet.procedure.kit if kit.one_time and kit.id in kits
    )


def _follows(sheet: Sheet, line: doc.Line, word: str) -> Follow | None:
    anew = tuple(each.key for each in measured_again(sheet, line, word))
    if word in AGAIN:
        return Follow("remeasure", (line.key, *anew))
    if word == "rework":
        start = line.rework_from if isinstance(line, doc.Test) else "build"
        return Follow("rework", (*anew, *(answered_from(sheet, start) or (line.key,))))
    if word == "charge again":
        fitted = {s.line.key for s in sheet.section("charge") if isinstance(s.line, doc.Fit)}
        since = answered_from(sheet, "charge")
        return Follow("rework", tuple(key for key in since if key not in fitted) or (line.key,))
    if word == "open and replace" and isinstance(line, doc.Torque) and line.over is not None:
        again = tuple(issue_key(kit) for kit in line.over.again)
        return Follow("consequence", (*again, *line.over.reopen, line.key))
    return None


def may_be_conceded(line: doc.Line) -> bool:
    """Whether manager and customer may let an answer outside its limit pass on this line."""
    return not isinstance(line, _NOT_CONCEDED) and line.section in _CONCEDED_IN


def answered_from(sheet: Sheet, start: str, *, after: bool = False) -> tuple[str, ...]:
    """Keys of answered lines from the section ``start``, or ``after`` it, until the unit is
    shipped, in order. Parts already issued stay issued, but for those spent by it."""
    order = sheet.sections
    if start not in order:
        return ()
    names = order[order.index(start) + after :]
    return tuple(
        state.line.key
        for name in names
        if name not in ("shipment", *SIDE_ROADS)
        for state in sheet.section(name)
        if state.given and not isinstance(state.line, Issue)
    )


def opens_after_proof(sheet: Sheet, lines: tuple[str, ...]) -> bool:
    """Whether a unit with a gas side that stood under pressure for proof is to be opened again:
    that its sides are open to air was true before the proof."""
    if sheet.facts.gas_state is not GasState.VENTED:
        return False
    return any(state.line.key in lines for state in sheet.section("proof"))


def vent_lines(sheet: Sheet) -> tuple[str, ...]:
    """The vent record's lines, for voiding it."""
    return tuple(state.line.key for state in sheet.section("vent"))
