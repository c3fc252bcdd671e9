"""What follows from a disposition: lines asked again, and under which cause."""

from dataclasses import dataclass

from shopdesk.procedure import types as doc
from shopdesk.rules.answers import GasState
from shopdesk.rules.generated import Issue, issue_key
from shopdesk.rules.sheet import Sheet

AGAIN = frozenset(
    {
        "measure again",
        "test again",
        "read again",
        "set again",
        "pull again",
        "dress",
        "hone or lap",
        "outside process",
    }
)


@dataclass(frozen=True, slots=True)
class Follow:
    """``lines`` are set aside and asked again, under ``cause`` of a reopening."""

    cause: str
    lines: tuple[str, ...]


def follows(sheet: Sheet, line: doc.Line, word: str) -> Follow | None:
    """What the disposition ``word`` on this line reopens; None when it reopens nothing. A
    one-time part whose fitting is undone is spent: a new one has to be issued."""
    what = _follows(sheet, line, word)
    if what is None:
        return None
    spent = tuple(key for key in _spent(sheet, what.lines) if key not in what.lines)
    return Follow(what.cause, (*spent, *what.lines))


def _spent(sheet: Sheet, lines: tuple[str, ...]) -> tuple[str, ...]:
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
    if word in AGAIN:
        return Follow("remeasure", (line.key,))
    if word == "rework":
        start = line.rework_from if isinstance(line, doc.Test) else "build"
        return Follow("rework", between(sheet, start, line.key))
    if word == "charge again":
        charged = tuple(
            s.line.key for s in sheet.section("charge") if not isinstance(s.line, doc.Fit)
        )
        return Follow("rework", tuple(dict.fromkeys((*charged, line.key))))
    if word == "open and replace" and isinstance(line, doc.Torque) and line.over is not None:
        again = tuple(issue_key(kit) for kit in line.over.again)
        return Follow("consequence", (*again, *line.over.reopen, line.key))
    return None


def between(sheet: Sheet, start: str, end: str) -> tuple[str, ...]:
    """Keys of answered lines from the section or line ``start`` up to ``end``, in order. Parts
    already issued stay issued, but for those spent by it."""
    keys = []
    inside = False
    for state in sheet.lines:
        key = state.line.key
        inside = inside or key == start or state.line.section == start
        if inside and state.given and not isinstance(state.line, Issue):
            keys.append(key)
        if key == end:
            break
    return tuple(keys) or (end,)


def opens_after_proof(sheet: Sheet, what: Follow) -> bool:
    """Whether a unit with a gas side that stood under pressure for proof is to be opened again:
    that its sides are open to air was true before the proof."""
    if what.cause != "rework" or sheet.facts.gas_state is not GasState.VENTED:
        return False
    sections = {state.line.section for state in sheet.lines if state.line.key in what.lines}
    return "build" in sections and "proof" in sections


def vent_lines(sheet: Sheet) -> tuple[str, ...]:
    """The vent record's lines, for voiding it."""
    return tuple(state.line.key for state in sheet.section("vent"))
