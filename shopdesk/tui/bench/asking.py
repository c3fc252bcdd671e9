"""What the sheet says of the line under the cursor: cautions, why it is closed, what it asks."""

from collections.abc import Sequence
from datetime import timedelta

from shopdesk.procedure import Survey, Wait
from shopdesk.rules import gates, slots, verdicts
from shopdesk.rules.dispositions import may_be_conceded
from shopdesk.rules.generated import Issue
from shopdesk.rules.sheet import LineState, Sheet, State
from shopdesk.tui.bench.painting import aside_words
from shopdesk.tui.bench.profile import profile

HOW_TO_TYPE = (
    "Type the value as you read it, with its unit where it could be another: "
    "3 5/16 in, 2-3/8, .312, 5 thou, 210 bar, 62 bar at 21 C."
)

_SPOKEN = {"in": "inches"}
OFFICE = {"quoted": " (F5, then Q)", "answered": ", recorded at the office (F5, then A)"}
"""Where a line is answered that is not answered on the sheet."""


def asked(sheet: Sheet, state: LineState) -> list[str]:
    """Caution first, then the question or the refusal, the limit, a drawing."""
    said = [f" CAUTION  {' '.join(text.split())}" for text in _cautions(sheet, state)]
    slot = state.next_slot
    refusal = gates.closed_line(sheet, state.line.key)
    if refusal is not None:
        move = f" Move: {refusal.whose_move}." if refusal.whose_move else ""
        said.append(f" Closed: {refusal.sentence}.{move}")
    elif slot is not None and state.state is not State.DONE:
        options = numbered(slot.options)
        units = (_SPOKEN.get(unit, unit) for unit in slots.spoken(slot, sheet.shop.torque_units))
        unit = f" in {' or '.join(units)}" if slot.unit else OFFICE.get(slot.name, "")
        said.append(
            f" Asks: {slot.prompt}{unit}{_over(state)}" + (f": {options}" if options else "")
        )
    elif state.state is State.UNRESOLVED:
        said.append(f" {_unsettled(state)}")
    elif sheet.cursor is None and not sheet.facts.closed:
        said.append(" Every line is done. At the counter (F2) H hands the unit over; F12: papers.")
    again = asked_again(state)
    if again:
        said.append(f" Asked again: {again}")
    limit = verdicts.own_limit(state.line)
    if limit:
        said.append(f" Limit: {limit}")
    if isinstance(state.line, Issue):
        said += [
            f" {answer.answer}: {answer.limit_text} by {answer.limit_source}"
            for answer in state.given.values()
            if answer.limit_text
        ]
    if isinstance(state.line, Survey):
        said.extend(profile(state.line, state.given))
    return said


def numbered(options: Sequence[str]) -> str:
    """ "1 good  2 scored": what may be typed, by number or word."""
    return "  ".join(f"{n} {word}" for n, word in enumerate(options, 1))


def _unsettled(state: LineState) -> str:
    """What may be done about a line that stands outside its limit, decided but not settled."""
    said = state.given.get("disposition")
    ways = ["F7 decides anew"]
    if said is not None and said.answer == "scrap":
        ways.append("with the customer's consent the office scraps the unit (F5, then S)")
    elif may_be_conceded(state.line):
        ways.append("manager and customer concede it at the office (F5, then C)")
    return f"Not settled{f' by {said.answer!r}' if said else ''}: {'; or '.join(ways)}."


def _over(state: LineState) -> str:
    """When a hold that runs is over: ", at 08:15"."""
    started = state.given.get("started")
    if not isinstance(state.line, Wait) or started is None:
        return ""
    over = started.at.astimezone() + timedelta(seconds=state.line.duration.value_si)
    same_day = over.date() == started.at.astimezone().date()
    return f", at {over:%H:%M}" if same_day else f", on {over:%d %b at %H:%M}"


def asked_again(state: LineState) -> str:
    """Why a line answered once stands open: "vent void (the unit is being charged, RT)"."""
    if not state.open or state.given or not state.past:
        return ""
    newest = max(state.past, key=lambda answer: answer.id)
    if not newest.set_aside:
        return ""
    issued = isinstance(state.line, Issue) and verdicts.again(state)
    why = aside_words(newest.set_aside, newest.aside_for)
    return why + (f", {verdicts.AGAIN}" if issued else "")


def _cautions(sheet: Sheet, state: LineState) -> Sequence[str]:
    if not state.open:
        return ()
    if state.line.caution:
        return (state.line.caution,)
    return sheet.shop.cautions_for(state.line.section)[:1]


def help_text(sheet: Sheet, state: LineState) -> str:
    """The line's own help, what it asks, every caution of its section."""
    slot = state.next_slot
    typing = HOW_TO_TYPE if slot is not None and slot.unit else ""
    said = _cautions(sheet, state)
    cautions = "\n".join(
        text for text in sheet.shop.cautions_for(state.line.section) if text not in said
    )
    parts = (
        state.line.text,
        state.line.help,
        "\n".join(line.removeprefix(" ") for line in asked(sheet, state)),
        typing,
        cautions,
    )
    return "\n\n".join(part for part in parts if part)
