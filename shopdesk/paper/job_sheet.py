"""The job sheet for work on paper: its open lines, with room to write."""

from collections.abc import Iterator
from datetime import datetime

from shopdesk.paper.blocks import Block, Table, Words
from shopdesk.paper.page import Paper
from shopdesk.paper.words import HANDWRITING_MM, local, pressure, whose
from shopdesk.procedure import types as doc
from shopdesk.rules import verdicts
from shopdesk.rules.generated import Issue
from shopdesk.rules.sheet import LineState, State
from shopdesk.rules.slots import Ask, Slot
from shopdesk.views.sheets import SheetView, tag

TITLE = "Job sheet"
_NOTE = (
    "Lines that only an answer brings up (dispositions, rework) are not on this sheet. Enter what "
    "was read at a terminal the same day; signatures are made there, with the PIN, by the people "
    "themselves. A gate that is shut on the record is shut on paper too."
)


def laid(view: SheetView, at: datetime) -> Paper:
    name, heading = tag(view.heading.number), view.heading
    return Paper(
        name=f"{name}-job-sheet",
        title=TITLE,
        shop=view.sheet.shop.name,
        foot=f"{name}  {TITLE}, {local(at)}  {heading.model} revision {heading.revision}",
        made_at=at,
        blocks=tuple(_blocks(view)),
        tag=name,
        later=f"{TITLE}  {name}  serial {heading.serial}",
    )


def _blocks(view: SheetView) -> Iterator[Block]:
    yield whose(view.heading)
    state = pressure(view.sheet.facts.gas_state.value)
    yield Words("", (f"Pressure: {state}", f"Waits for: {_waits(view)}"), boxed=True)
    for section in view.sheet.sections:
        yield from _section(view, section)
    yield Words("", (_NOTE,))


def _waits(view: SheetView) -> str:
    heading = view.heading
    return f"{heading.waiting_for}; move: {heading.waiting_on or 'nobody'}"


def _section(view: SheetView, section: str) -> Iterator[Block]:
    lines = view.sheet.section(section)
    rows = tuple(row for state in lines if state.open for row in _rows(state))
    if not rows:
        return
    cautions = [*view.sheet.shop.cautions_for(section)]
    cautions += [s.line.text for s in lines if s.state is State.SHOWN]
    if cautions:
        yield Words("", tuple(f"CAUTION  {' '.join(text.split())}" for text in cautions))
    heads = (section, "To read or do", "Limit (source)", "Written", "By, at")
    yield Table(heads, (36, 26, 32, 22, 16), rows, room=HANDWRITING_MM)


def _rows(state: LineState) -> Iterator[tuple[str, ...]]:
    """One row for each thing asked and not yet answered; what the office answers is not."""
    line, first = state.line, True
    asked = [slot for slot in state.slots if slot.name not in state.given] or [*state.slots[:1]]
    for slot in asked:
        if slot.ask is Ask.OFFICE:
            continue
        said = _asks(slot, line)
        caution = f" CAUTION {' '.join(line.caution.split())}" if line.caution and first else ""
        label = line.label + caution if first else ""
        yield label, said, verdicts.own_limit(line) if first else "", "", ""
        first = False


def _asks(slot: Slot, line: doc.Line) -> str:
    """What is to be written, in words that hold on paper."""
    match line, slot.ask:
        case _, Ask.SIGN:
            return f"{slot.prompt}, at a terminal"
        case Issue(mates=mates), Ask.LOT if mates:
            return f"lot no., of one set with {' and '.join(part for _, part, _ in mates)}"
        case _, Ask.LOT:
            return "lot no."
        case doc.Wait(), _:
            return f"ended, {line.duration.typed} later, at" if slot.name == "ended" else "begun at"
    said = f"{slot.prompt}, {slot.unit}" if slot.unit else slot.prompt
    if slot.options:
        said = f"{said}: {' / '.join(slot.options)}"
    instrument = getattr(line, "instrument", "")
    return f"{said} ({instrument} no. ____)" if instrument and slot.unit else said
