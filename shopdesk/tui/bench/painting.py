"""A sheet as rows of text: sections, lines, answers, verdicts, what no longer counts."""

from collections.abc import Sequence

from rich.text import Text

from shopdesk.procedure import Survey
from shopdesk.rules.answers import Answer, GasState, Verdict
from shopdesk.rules.bores import survey_result
from shopdesk.rules.sheet import LineState, Sheet, State
from shopdesk.tui.lines import Row

WIDTH = 77
GAS_WORDS = {
    GasState.CHARGED: "GAS CHARGED",
    GasState.UNKNOWN: "GAS UNKNOWN: counts as charged",
    GasState.VENTED: "gas vented",
    GasState.NONE: "holds no gas",
}
VERDICT_WORDS = {Verdict.WITHIN: "within", Verdict.OUTSIDE: "OUTSIDE", Verdict.NONE: ""}


def rows(sheet: Sheet) -> list[Row]:
    """Every section with its lines; the key of a row is its line's key."""
    painted: list[Row] = []
    for section in sheet.sections:
        painted.append(Row(Text(_section_head(sheet, section), style="bold")))
        painted.extend(_section_rows(sheet, section))
    return painted


def _section_head(sheet: Sheet, section: str) -> str:
    asked = [s for s in sheet.section(section) if s.state not in (State.SHOWN, State.NOT_ASKED)]
    done = sum(not s.open for s in asked)
    here = "  < here" if section == sheet.stage else ""
    if not asked:
        return f"{section.upper()}  not asked"
    return f"{section.upper()}  {done} of {len(asked)}{here}"


def _section_rows(sheet: Sheet, section: str) -> Sequence[Row]:
    painted: list[Row] = []
    number = 0
    for state in sheet.section(section):
        if state.state is State.SHOWN:
            painted.append(Row(Text(f"     CAUTION {state.line.text}")))
            continue
        number += 1
        painted.append(Row(Text(_line(number, state), no_wrap=True), key=state.line.key))
        painted.extend(Row(Text(f"      {text}", no_wrap=True)) for text in _beneath(state))
    return painted


def _line(number: int, state: LineState) -> str:
    said = answer_text(state)
    if state.state is State.NOT_ASKED:
        said = "not asked"
    room = WIDTH - 5 - len(said)
    text = state.line.text
    if len(text) > room - 1:
        text = text[: max(8, room - 2)] + "…"
    return f"{_mark(state)}{number:>3} {text.ljust(room)}{said}"


def _mark(state: LineState) -> str:
    return {State.UNRESOLVED: "!", State.DONE: " ", State.OPEN: "·"}.get(state.state, "-")


def answer_text(state: LineState) -> str:
    """The line's answers in one phrase: "62.0 bar at 21.0 °C within RT 08:12"."""
    if not state.given:
        return ""
    answers = [state.given[slot.name] for slot in state.slots if slot.name in state.given]
    last = max(answers, key=lambda answer: answer.id)
    conceded = " conceded" if state.conceded else ""
    verdict = VERDICT_WORDS[state.verdict]
    said = _summary(state, answers)
    when = f"{last.person} {last.at.astimezone():%H:%M}"
    return " ".join(part for part in (said, verdict + conceded, when) if part)


def _summary(state: LineState, answers: Sequence[Answer]) -> str:
    line = state.line
    if isinstance(line, Survey):
        cells = [answer for answer in answers if answer.slot != "disposition"]
        total = len(line.depths) * len(line.axes)
        done = survey_result(line, state.given) is not None
        said = f"{len(cells)} of {total}" + ("" if done else f", last {cells[-1].answer}")
        return _with_disposition(said, answers)
    if {"value", "temperature"} <= {answer.slot for answer in answers}:
        said = f"{state.given['value'].answer} at {state.given['temperature'].answer}"
        return _with_disposition(said, answers)
    return ", ".join(answer.answer for answer in answers)


def _with_disposition(said: str, answers: Sequence[Answer]) -> str:
    decided = [answer.answer for answer in answers if answer.slot == "disposition"]
    return f"{said}, {decided[0]}" if decided else said


def _beneath(state: LineState) -> list[str]:
    """Answers that no longer count stay visible under their line."""
    shown = [
        f"DOUBTED: {answer.instrument} {answer.doubt} at its next check"
        for answer in state.given.values()
        if answer.doubt
    ]
    by_id = {a.supersedes: a for a in (*state.given.values(), *state.past) if a.supersedes}
    for answer in state.past:
        if answer.superseded:
            new = by_id.get(answer.id)
            why = f" ({new.reason}, {new.person})" if new else ""
            shown.append(f"was {answer.answer} by {answer.person}: corrected{why}")
        else:
            shown.append(
                f"was {answer.answer} by {answer.person} "
                f"{answer.at.astimezone():%d %b %H:%M}: {answer.set_aside} ({answer.aside_for})"
            )
    return shown


def heading(sheet: Sheet, promised: str, today_past: bool) -> str:
    """The second line of the sheet: gas state first, then section and what follows it."""
    gas = GAS_WORDS[sheet.facts.gas_state]
    stage = sheet.stage
    if stage == "done":
        where = "every line done"
    else:
        order = sheet.sections
        later = [name for name in order[order.index(stage) + 1 :] if not sheet.complete(name)]
        where = f"{stage.upper()} {_count(sheet, stage)}" + (f", then {later[0]}" if later else "")
    late = " OVERDUE" if today_past else ""
    return f"{gas}   {where}   due {promised}{late}"


def _count(sheet: Sheet, section: str) -> str:
    left = sum(state.open for state in sheet.section(section))
    return f"{left} open"
