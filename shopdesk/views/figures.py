"""What a line's answers come to in one row: the value, its limit with the source, its entries."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from shopdesk import quantities
from shopdesk.procedure import types as doc
from shopdesk.rules import bores, pressures
from shopdesk.rules.answers import Answer
from shopdesk.rules.moving import MOVED
from shopdesk.rules.sheet import LineState, Sheet, line_verdict
from shopdesk.rules.slots import cannot

Given = Mapping[str, Answer]

# Dispositions that say the first measurement was doubted, not that the part was worked on.
DOUBTED = frozenset({"measure again", "read again", "set again", "pull again", "test again"})


@dataclass(frozen=True, slots=True)
class Figure:
    """One answered line. ``when`` is "received" or "final"; ``verdict`` "within", "outside" or
    "none"; ``measured``: a quantity, that may have a limit; ``entries`` the ids of the record's
    entries it stands on."""

    line: str
    label: str
    when: str
    value: str
    limit: str
    source: str
    verdict: str
    measured: bool
    disposition: str
    conceded: bool
    instruments: tuple[str, ...]
    entries: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Defect:
    """One inspected part: "good", or what was found, where, how bad, and what was decided."""

    line: str
    part: str
    when: str
    condition: str
    detail: str
    disposition: str
    conceded: bool
    entries: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Vented:
    """The vent record that stands: who let the gas down, who saw it, when that was signed."""

    by: str
    witness: str
    at: datetime
    entries: tuple[int, ...]


def rounds(state: LineState) -> tuple[Given, ...]:
    """The line's answers each time it was gone through, the first time first; corrected entries
    give way to their corrections, and a round that was doubted to the one after it."""
    answers = sorted(
        [a for a in (*state.past, *state.given.values()) if not a.superseded], key=lambda a: a.id
    )
    found: list[dict[str, Answer]] = []
    for answer in answers:
        if not found or answer.slot in found[-1]:
            found.append({})
        found[-1][answer.slot] = answer
    return tuple(each for each in found if not _doubted(state.line, each))


def _doubted(line: doc.Line, given: Given) -> bool:
    """Measured anew because nobody believed it, or signed anew because work changed under it."""
    if isinstance(line, doc.Signature):
        return any(answer.set_aside in ("rework", MOVED) for answer in given.values())
    said = given.get("disposition")
    return said is not None and bool(said.set_aside) and said.answer in DOUBTED


def as_received(sheet: Sheet, state: LineState) -> tuple[Figure, ...]:
    """The line as first found, and as it stands at the end where it was worked on between."""
    gone = rounds(state)
    if not gone:
        return ()
    first = figure(sheet, state, gone[0], "received")
    if len(gone) == 1 or state.line.section == "vent":
        return (first,)
    return (first, figure(sheet, state, gone[-1], "final"))


def figure(sheet: Sheet, state: LineState, given: Given, when: str = "final") -> Figure:
    """One row of a line from these answers of it."""
    line = state.line
    judged = max((a for a in given.values() if a.limit_text), key=lambda a: a.id, default=None)
    said = given.get("disposition")
    return Figure(
        line=line.key,
        label=line.label,
        when=when,
        value=value(sheet, line, given),
        limit=judged.limit_text if judged else "",
        source=judged.limit_source if judged else "",
        verdict=line_verdict(line, given).value,
        measured=any(a.value_si is not None for a in given.values()),
        disposition=said.answer if said else "",
        conceded=_conceded(state, given),
        instruments=tuple(dict.fromkeys(a.instrument for a in given.values() if a.instrument)),
        entries=tuple(sorted(a.id for a in given.values())),
    )


def defects(state: LineState) -> tuple[Defect, ...]:
    """What inspection found, first and, where the part was worked on between, at the end."""
    line, gone = state.line, rounds(state)
    if not isinstance(line, doc.Finding) or not gone:
        return ()
    whens = [(gone[0], "received")] + ([(gone[-1], "final")] if len(gone) > 1 else [])
    return tuple(_defect(state, line, given, when) for given, when in whens)


def _defect(state: LineState, line: doc.Finding, given: Given, when: str) -> Defect:
    def said(slot: str) -> str:
        return given[slot].answer if slot in given else ""

    detail = ", ".join(part for part in map(said, ("place", "severity", "extent")) if part)
    return Defect(
        line=line.key,
        part=f"{line.part}, {line.position}" if line.position else line.part,
        when=when,
        condition=said("condition"),
        detail=detail,
        disposition=said("disposition"),
        conceded=_conceded(state, given),
        entries=tuple(sorted(a.id for a in given.values())),
    )


def _conceded(state: LineState, given: Given) -> bool:
    """Whether it is these answers, not others of the line, that were conceded."""
    counting = {answer.id for answer in state.given.values()}
    return state.conceded and any(answer.id in counting for answer in given.values())


def value(sheet: Sheet, line: doc.Line, given: Given) -> str:
    """The answers of a line as one piece of text, in the procedure's units."""
    if cannot(given):
        return next(iter(given.values())).answer
    match line:
        case doc.Charge() | doc.Leak():
            return _pressure(sheet, line, given)
        case doc.Survey():
            return _survey(line, given)
        case doc.Repeat():
            return _repeat(line, given)
        case doc.Wait() if {"started", "ended"} <= set(given):
            held = given["ended"].at - given["started"].at
            return f"{line.duration.typed} asked, held {_duration(held.total_seconds())}"
        case doc.Regulator() if {"gas_temperature", "setting"} <= set(given):
            return f"{given['setting'].answer} for gas at {given['gas_temperature'].answer}"
        case doc.Torque():
            return _torque(line, given)
    return " at ".join(a.answer for name, a in given.items() if name != "disposition")


def _duration(seconds: float) -> str:
    minutes = round(seconds / 60)
    return f"{minutes} min" if minutes < 120 else f"{minutes // 60} h {minutes % 60:02d} min"


def _torque(line: doc.Torque, given: Given) -> str:
    if line.snug:
        said = given["done"].answer if "done" in given else ""
        return "snug" if said in ("", "done") else f"snug: {said}"
    pulls = [given[f"p{n}"].answer for n in range(1, len(line.passes) + 1) if f"p{n}" in given]
    joints = f", all {line.count}" if line.count > 1 else ""
    return (pulls[-1] if pulls else "") + joints


def _survey(line: doc.Survey, given: Given) -> str:
    found = bores.survey_result(line, given)
    if found is None:
        return ", ".join(a.answer for name, a in given.items() if name != "disposition")
    values = [a.value_si for a in given.values() if a.value_si is not None]
    low, high = (quantities.text(each, line.unit) for each in (min(values), max(values)))
    span = low if low == high else f"{low.rpartition(' ')[0]} to {high}"
    return (
        f"{span}, out-of-round "
        f"{quantities.span_text(found.out_of_round_m, line.unit)}, taper "
        f"{quantities.span_text(found.taper_m, line.unit)}"
    )


def _repeat(line: doc.Repeat, given: Given) -> str:
    values = [a.value_si for a in given.values() if a.value_si is not None]
    spread = bores.spread_m(line, given)
    if spread is None or not values:
        return ", ".join(a.answer for name, a in given.items() if name != "disposition")
    mean = quantities.text(sum(values) / len(values), line.unit)
    return f"{mean}, mean of {line.count}, spread {quantities.span_text(spread, line.unit)}"


def _pressure(sheet: Sheet, line: doc.Charge | doc.Leak, given: Given) -> str:
    if not {"value", "temperature"} <= set(given):
        return ", ".join(a.answer for a in given.values())
    read = f"{given['value'].answer} at {given['temperature'].answer}"
    now = pressures.at_reference(sheet, given)
    if now is None:
        return read
    said = reference_text(sheet, now)
    said = read if read == said else f"{read} = {said}"
    start = sheet.get(line.start) if isinstance(line, doc.Leak) else None
    before = pressures.at_reference(sheet, start.given) if start is not None else None
    if isinstance(line, doc.Leak) and before is not None:
        loss = before - now
        word = "lost" if loss >= 0 else "gained"
        said += f", {word} {quantities.span_text(abs(loss), line.loss.unit)}"
    return said


def reference_text(sheet: Sheet, pressure_pa: float) -> str:
    """ "70.4 bar at 20 °C" """
    plan = sheet.procedure.charge
    unit = plan.target.unit if plan else "bar"
    reference_k = plan.reference.value_si if plan else sheet.shop.reference_k
    kelvin = plan.reference.unit if plan else "°C"
    return f"{quantities.text(pressure_pa, unit)} at {quantities.text(reference_k, kelvin)}"


def last_charge(sheet: Sheet) -> tuple[str, datetime, tuple[int, ...]] | None:
    """The newest charge or leak reading that counts, at reference, when, and its entries."""
    found = [
        (max(a.id for a in state.given.values()), state.given)
        for state in sheet.lines
        if isinstance(state.line, doc.Charge | doc.Leak)
        and pressures.at_reference(sheet, state.given) is not None
    ]
    if not found:
        return None
    given = max(found, key=lambda each: each[0])[1]
    pressure = pressures.at_reference(sheet, given)
    assert pressure is not None
    ids = tuple(sorted(a.id for a in given.values()))
    return reference_text(sheet, pressure), max(a.at for a in given.values()), ids


def vented(sheet: Sheet) -> Vented | None:
    """The vent record that stands now, None without one."""
    let_down = _first(sheet, lambda line: isinstance(line, doc.Vent) and line.side == "gas")
    seen = _first(sheet, lambda line: isinstance(line, doc.Signature) and line.witness)
    if not let_down or not seen:
        return None
    signed = seen[-1]
    ids = tuple(sorted(a.id for a in (*let_down, *seen)))
    return Vented(let_down[-1].person, signer(signed), signed.at, ids)


def _first(sheet: Sheet, wanted: Callable[[doc.Line], bool]) -> Sequence[Answer]:
    return [
        answer
        for state in sheet.section("vent")
        if wanted(state.line)
        for answer in state.given.values()
    ]


def signer(answer: Answer) -> str:
    """Initials of who signed, which may be another than who recorded it."""
    return answer.witness or answer.person
