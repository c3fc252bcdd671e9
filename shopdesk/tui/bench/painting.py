"""A sheet as rows of text: sections, lines, answers, verdicts, what no longer counts."""

import textwrap
from collections.abc import Sequence
from itertools import groupby

from rich.text import Text

from shopdesk.procedure import Survey
from shopdesk.rules import quoting
from shopdesk.rules.answers import Answer, GasState, Verdict
from shopdesk.rules.bores import survey_result
from shopdesk.rules.sheet import LineState, Sheet, State
from shopdesk.tui.columns import plain
from shopdesk.tui.lines import Row

NARROW = 40
_LEAST = 24
"""Cells a line's own words keep, however long its answer is."""
_MOST = 3
"""Rows an answer set aside takes beneath its line."""
GAS_WORDS = {
    GasState.CHARGED: "GAS CHARGED",
    GasState.UNKNOWN: "GAS UNKNOWN: counts as charged",
    GasState.VENTED: "gas vented",
    GasState.NONE: "holds no gas",
}
VERDICT_WORDS = {Verdict.WITHIN: "within", Verdict.OUTSIDE: "OUTSIDE", Verdict.NONE: ""}


Kept = dict[str, tuple[LineState, int, int, Sequence[Row]]]
"""By line: how it stood, its number, the width, the rows made of it."""


def rows(sheet: Sheet, width: int, kept: Kept) -> list[Row]:
    """Every section with its lines, in ``width`` cells; the key of a row is its line's key. A line
    that stands as it did when its rows were ``kept`` has the very same."""
    width = max(NARROW, width)
    painted: list[Row] = []
    for section in sheet.sections:
        if not any(s.numbered or s.state is State.SHOWN for s in sheet.section(section)):
            continue
        painted.append(Row(Text(_section_head(sheet, section), style="bold")))
        if section == sheet.facts.road.value and sheet.facts.road_reason:
            painted.append(Row(Text(f"     {plain(sheet.facts.road_reason)}", no_wrap=True)))
        painted.extend(_section_rows(sheet, section, width, kept))
    return painted


def _section_head(sheet: Sheet, section: str) -> str:
    asked = [s for s in sheet.section(section) if s.state not in (State.SHOWN, State.NOT_ASKED)]
    done = sum(not s.open for s in asked)
    here = "  < here" if section == sheet.stage else ""
    if not asked:
        return f"{section.upper()}  not asked"
    return f"{section.upper()}  {done} of {len(asked)}{here}"


def _section_rows(sheet: Sheet, section: str, width: int, kept: Kept) -> Sequence[Row]:
    painted: list[Row] = []
    number = 0
    for state in sheet.section(section):
        if state.state is State.SHOWN:
            painted.append(Row(Text(f"     CAUTION {state.line.text}")))
            continue
        if not state.numbered:
            continue
        number += 1
        key, said = state.line.key, quoting.said(sheet, state.line)
        if said:
            painted.extend(_line_rows(number, state, width, said))
            continue
        if key not in kept or kept[key][:3] != (state, number, width):
            kept[key] = (state, number, width, _line_rows(number, state, width))
        painted.extend(kept[key][3])
    return painted


def _line_rows(number: int, state: LineState, width: int, told: str = "") -> Sequence[Row]:
    line = Row(Text(_line(number, state, width, told), no_wrap=True), key=state.line.key)
    return (line, *(Row(Text(text, no_wrap=True)) for text in _beneath(state, width)))


def _line(number: int, state: LineState, width: int, told: str) -> str:
    """Who answered, when and the verdict are never cut; then the answer gives way, then the line's
    words."""
    room = width - 6
    said, tail = (told, "") if told else answer_parts(state)
    if state.state is State.NOT_ASKED:
        tail = f"{tail}, not asked" if said else "not asked"
    spare = room - len(tail) - (1 if tail else 0)
    text = _cut(state.line.text, max(_LEAST, spare - len(said) - 2 if said else spare))
    said = _cut(said, max(0, spare - len(text) - 2))
    right = " ".join(part for part in (said, tail) if part)
    return f"{_mark(state)}{number:>3} {text} {right.rjust(room - len(text))}".rstrip()


def _cut(text: str, room: int) -> str:
    return text if len(text) <= room else text[: max(0, room - 1)].rstrip() + "…"


def _mark(state: LineState) -> str:
    return {State.UNRESOLVED: "!", State.DONE: " ", State.OPEN: "·"}.get(state.state, "-")


def answer_parts(state: LineState) -> tuple[str, str]:
    """The line's answers in one phrase, and what stands behind them: "62.0 bar at 21.0 °C",
    "within RT 08:12"."""
    if not state.given:
        return "", ""
    answers = [state.given[slot.name] for slot in state.slots if slot.name in state.given]
    last = max(answers, key=lambda answer: answer.id)
    conceded = " conceded" if state.conceded else ""
    verdict = VERDICT_WORDS[state.verdict]
    when = f"{last.person} {last.at.astimezone():%H:%M}"
    said = _summary(state, answers)
    return said, " ".join(part for part in (verdict + conceded, when) if part)


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


def _beneath(state: LineState, width: int) -> list[str]:
    """Answers that no longer count stay visible under their line, those set aside together as
    one."""
    said = [
        f"DOUBTED: {answer.instrument} {answer.doubt} at its next check"
        for answer in state.given.values()
        if answer.doubt
    ]
    by_id = {a.supersedes: a for a in (*state.given.values(), *state.past) if a.supersedes}
    for superseded, together in groupby(state.past, lambda a: a.superseded and a.id):
        answers = list(together)
        if superseded:
            said.append(_corrected(answers[0], by_id.get(answers[0].id)))
        else:
            rounds = groupby(answers, lambda a: (a.set_aside, a.aside_for))
            said.extend(_set_aside(list(each), *why) for why, each in rounds)
    return [row for text in said for row in _wrapped(text, width)]


def _corrected(old: Answer, new: Answer | None) -> str:
    by = f" ({new.reason}, {new.person})" if new else ""
    return f"was {old.answer} by {old.person}: corrected{by}"


def _set_aside(answers: Sequence[Answer], cause: str, why: str) -> str:
    last = answers[-1]
    said = ", ".join(answer.answer for answer in answers)
    was = f"was {said} by {last.person} {last.at.astimezone():%d %b %H:%M}"
    return f"{was}: {aside_words(cause, why)}" if cause else f"{was}: no longer asked"


def aside_words(cause: str, why: str) -> str:
    """Why answers were set aside. That a line is measured again is said by what asked for it."""
    return why if cause == "remeasure" else f"{cause} ({why})"


def _wrapped(text: str, width: int) -> list[str]:
    return textwrap.wrap(
        text,
        width,
        initial_indent="      ",
        subsequent_indent="          ",
        max_lines=_MOST,
        placeholder=" …",
    )


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
