"""What follows from an answer: lines asked again, gas state, gas drawn, stock issued."""

from enum import Enum

from shopdesk.desk import gas, standing, stock, stores
from shopdesk.desk.answering import Given
from shopdesk.desk.shop import Deed, Worker
from shopdesk.procedure import Charge, Leak, Line, Regulator, Restore
from shopdesk.rules import kits
from shopdesk.rules.answers import GasState
from shopdesk.rules.dispositions import (
    answered_from,
    built_since,
    follows,
    opens_after_proof,
    spent,
)
from shopdesk.rules.generated import Issue, Kept
from shopdesk.rules.sheet import LineState, State
from shopdesk.rules.slots import Slot
from shopdesk.views import sheets
from shopdesk.views.sheets import SheetView


class Moved(Enum):
    """What an answer changed beside itself: nothing of its job, its stock, or more."""

    NOTHING = 0
    STOCK = 1
    MORE = 2


def follow(
    deed: Deed, view: SheetView, state: LineState, slot: Slot, given: Given, who: Worker
) -> Moved:
    """Carries out, in the same transaction, what the answer brings with it."""
    line = state.line
    if slot.name == "disposition":
        return _dispose(deed, view, state, given, who)
    if isinstance(line, Issue) and given.lot is not None:
        pieces = round(given.value_si or 0)
        left = line.quantity - pieces - kits.issued(state)
        _issue(deed, view, line, given, who, left)
        return Moved.STOCK
    if isinstance(line, Regulator) and slot.name == "setting" and given.supersedes is None:
        standing.void_vent(deed, view, "the unit is being charged", who)
        return Moved.MORE
    if line.section == "vent" and standing.shows_gas(line, given.value_si):
        known = view.sheet.facts.gas_state is GasState.CHARGED
        standing.set_gas(deed, view, GasState.CHARGED, who)
        return Moved.NOTHING if known else Moved.MORE
    if isinstance(line, Charge) and slot.name == "temperature" and given.supersedes is None:
        gas.read_back(deed, view.heading.number, who)
    return Moved.NOTHING


def _issue(deed: Deed, view: SheetView, line: Issue, given: Given, who: Worker, left: int) -> None:
    """Who waits for a part that another stood in for is served with what it sets free."""
    lot, job_id = given.lot, view.heading.job_id
    assert lot is not None
    freed = stock.issue(
        deed,
        job_id,
        line.kit,
        lot,
        round(given.value_si or 0),
        who,
        left=left,
        interchange_id=given.stands_in.number if given.stands_in else None,
    )
    standing.shelf_empty(deed, stock.part_id_of(deed.db, lot.part), job_id, who)
    for part_id in freed:
        stores.serve_waiting(deed, part_id, who, but=view.heading.number)


def corrected(deed: Deed, number: int, line: Line, who: Worker) -> Moved:
    """What was judged by a value that is corrected, or signed over it, is asked again."""
    view = sheets.load(deed.db, number, deed.now)
    judged_by = tuple(
        state.line.key
        for state in view.sheet.lines
        if state.given and line.key in (_start(state.line), _reference(state.line))
    )
    if judged_by:
        standing.reopen(deed, view, "remeasure", judged_by, f"{line.text}: corrected", who)
    changed = (line, *(state.line for key in judged_by if (state := view.sheet.get(key))))
    unsigned = standing.unsigned(deed, view, changed, who)
    if line.section == "charge":
        gas.read_back(deed, number, who)
    return Moved.MORE if judged_by or unsigned else Moved.NOTHING


def _start(line: Line) -> str:
    return line.start if isinstance(line, Leak) else ""


def _reference(line: Line) -> str:
    return line.reference if isinstance(line, Restore) else ""


def _dispose(deed: Deed, view: SheetView, state: LineState, given: Given, who: Worker) -> Moved:
    what = follows(view.sheet, state.line, given.answer)
    if what is None:
        return Moved.NOTHING
    reason = f"{state.line.text}: {given.answer}"
    standing.reopen(deed, view, what.cause, what.lines, reason, who)
    built = any(state.line.key in what.lines for state in view.sheet.section("build"))
    if built and opens_after_proof(view.sheet, what.lines):
        standing.void_vent(deed, view, "put under pressure for proof", who, GasState.UNKNOWN)
    again = [found.line for found in map(view.sheet.get, what.lines) if found is not None]
    after = sheets.load(deed.db, view.heading.number, deed.now)
    standing.unsigned(deed, after, again, who)
    if any(isinstance(line, Issue) for line in again):
        # what replaces the parts spent is set aside, as after the customer's yes
        standing.promise_kit(deed, after, who)
    return Moved.MORE


def built_anew(deed: Deed, before: SheetView, line: Line, who: Worker) -> Moved:
    """A part found bad once the build has begun: what its replacement asks of the build undoes what
    was built on the old one, and everything that was done after the build, which proves nothing
    of the new one."""
    order = before.sheet.sections
    if "build" not in order or line.section not in order[: order.index("build")]:
        return Moved.NOTHING
    if not answered_from(before.sheet, "build"):
        return Moved.NOTHING
    view = sheets.load(deed.db, before.heading.number, deed.now)
    asked = [
        state.line
        for state in (*view.sheet.section("parts"), *view.sheet.section("build"))
        if state.open and not state.given and _not_asked(before, state)
    ]
    kits = {each.kit for each in asked if isinstance(each, Issue)}
    undone = built_since(view.sheet, kits, {each.key for each in asked})
    if asked and not undone:  # no line fits it
        undone = answered_from(view.sheet, "build", after=True)
    if not undone:
        return Moved.NOTHING
    lines = (*spent(view.sheet, undone), *undone)
    standing.reopen(deed, view, "rework", lines, f"{asked[0].text}: asked of the build", who)
    if opens_after_proof(view.sheet, lines):
        standing.void_vent(deed, view, "put under pressure for proof", who, GasState.UNKNOWN)
    if lines != undone:
        standing.promise_kit(deed, sheets.load(deed.db, before.heading.number, deed.now), who)
    return Moved.MORE


def _not_asked(before: SheetView, now: LineState) -> bool:
    """Whether the line was not asked before; a part kept, which changes nothing, does not count."""
    was = before.sheet.get(now.line.key)
    return was is not None and was.state is State.NOT_ASKED and not isinstance(now.line, Kept)
