"""What a job waits for and whose move it is, from its sheet."""

from dataclasses import dataclass

from shopdesk.procedure import types as doc
from shopdesk.rules import claims, gates, kits
from shopdesk.rules.answers import Road
from shopdesk.rules.generated import APPROVAL, QUOTED
from shopdesk.rules.sheet import LineState, Sheet, State

SHORT = "part short: "


@dataclass(frozen=True, slots=True)
class Waiting:
    reason: str
    owner: str


def waiting(sheet: Sheet) -> Waiting:
    """The reason and the owner of the next move, in the shop's words."""
    state = sheet.cursor
    if sheet.facts.closed:
        return Waiting("nothing: closed", "")
    if state is None:
        return Waiting("to be handed over", "counter")
    if state.state is State.UNRESOLVED:
        return _unresolved(state)
    return _by_section(sheet, state)


def _unresolved(state: LineState) -> Waiting:
    word = state.given["disposition"].answer if "disposition" in state.given else ""
    if word == "ask customer":
        return Waiting(f"customer's word: {state.line.text}", "customer")
    if word == "scrap":
        return Waiting(f"consent to scrap: {state.line.text}", "office")
    return Waiting(f"outside limit: {state.line.text}", "manager" if word == "reuse" else "bench")


def _by_section(sheet: Sheet, state: LineState) -> Waiting:
    bench = sheet.facts.assigned or "bench"
    section = state.line.section
    if state.line.key == QUOTED:
        return Waiting("quote to make", "office")
    if state.line.key == APPROVAL:
        return Waiting("customer's answer to the quote", "customer")
    if state.line.key in claims.DECISION:
        return Waiting("claim to decide", "manager")
    if section in claims.SECTIONS and gates.whose_move(state) == "manager":
        return Waiting(f"signature: {state.line.text}", "manager")
    if section == "parts":
        return _parts(sheet, bench)
    if section == "receipt":
        return Waiting("receipt to finish", "counter")
    if section in ("shipment", Road.DECLINED, Road.SCRAPPED):
        return Waiting(f"{section}: {state.line.text}", "counter")
    if isinstance(state.line, doc.Signature) and state.line.witness:
        return Waiting(f"second person: {state.line.text}", "a second person")
    if isinstance(state.line, doc.Wait) and "started" in state.given:
        return Waiting(f"{state.line.duration.typed} hold running", bench)
    return Waiting(f"{section}: {state.line.text}", bench)


def _parts(sheet: Sheet, bench: str) -> Waiting:
    short = short_parts(sheet)
    if short:
        return Waiting(SHORT + ", ".join(short), "stores")
    return Waiting("parts to issue", bench)


def short_parts(sheet: Sheet) -> tuple[str, ...]:
    """Part numbers the open kit lines need and the shelf cannot give to this job."""
    return tuple(dict.fromkeys(line.part for line, _ in kits.short(sheet)))


def parts_waited_for(reason: str) -> tuple[str, ...]:
    """The part numbers a waiting reason names as short."""
    return tuple(reason.removeprefix(SHORT).split(", ")) if reason.startswith(SHORT) else ()
