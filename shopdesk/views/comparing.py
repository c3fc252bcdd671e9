"""A claim beside the job it is on: readings, torques, lots, tools and people, then and now."""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import Connection, select

from shopdesk.errors import Refused
from shopdesk.procedure import types as doc
from shopdesk.records.tables import Instrument
from shopdesk.rules import claims, comparing, pressures, service
from shopdesk.rules.answers import Answer, Verdict
from shopdesk.rules.claims import Again, Claim
from shopdesk.rules.comparing import Difference, Judged
from shopdesk.rules.sheet import LineState, Sheet, State
from shopdesk.rules.slots import cannot
from shopdesk.rules.verdicts import limit_text
from shopdesk.views import certificates, codes, costs, evidence, sheets, trace
from shopdesk.views import service as service_view
from shopdesk.views.figures import signer, value
from shopdesk.views.sheets import SheetView


@dataclass(frozen=True, slots=True)
class Pair:
    """One reading or torque then and now: "" where there is none. ``by`` is the difference with
    its doubt, ``share`` of what it was."""

    label: str
    before: str
    now: str
    by: str
    share: float | None
    judged: str
    limit: str
    tool_before: str
    tool_now: str
    who_before: str
    who_now: str


@dataclass(frozen=True, slots=True)
class Lot:
    """A lot in the unit as it left, and what took its place. ``elsewhere``: other units that left
    with pieces of it."""

    part: str
    position: str
    before: str
    cured: str
    now: str
    elsewhere: int


@dataclass(frozen=True, slots=True)
class Tool:
    code: str
    kind: str
    due: date | None
    before: bool
    now: bool
    doubt: str


@dataclass(frozen=True, slots=True)
class Hands:
    section: str
    before: str
    now: str


@dataclass(frozen=True, slots=True)
class Compared:
    """``service`` what the charge lost in service, "" where it left without one. ``cents`` is the
    cost so far, which the shop bears where ``borne``."""

    job: int
    earlier: int
    serial: str
    model: str
    customer: str
    complaint: str
    left_at: datetime
    code: str
    readings: tuple[Pair, ...]
    torques: tuple[Pair, ...]
    lots: tuple[Lot, ...]
    tools: tuple[Tool, ...]
    people: tuple[Hands, ...]
    service: tuple[str, ...]
    cover: str
    cause: str
    why: str
    decided_by: str
    cents: int
    borne: bool
    currency: str


def compared(db: Connection, number: int, now: datetime) -> Compared:
    """The claim of this number. Raises NotFound, Refused for a job that is no claim."""
    view = sheets.load(db, number, now)
    claim = view.sheet.facts.claim
    if claim is None:
        raise Refused(f"J-{number} is no claim: nothing stands beside it")
    before = sheets.load(db, claim.job, now)
    steps = _steps(db, (view.sheet, before.sheet))
    money = costs.job(db, number)
    cover = _said(view.sheet, claims.COVER)
    return Compared(
        job=number,
        earlier=claim.job,
        serial=view.heading.serial,
        model=view.heading.model,
        customer=view.heading.customer,
        complaint=view.heading.complaint,
        left_at=claim.left_at,
        code=_code(db, before, now),
        readings=tuple(_readings(view.sheet, claim, steps)),
        torques=tuple(_torques(before.sheet, view.sheet, steps)),
        lots=tuple(_lots(db, before, view, now)),
        tools=tuple(_tools(db, before.sheet, view.sheet, now)),
        people=tuple(_people(before.sheet, view.sheet)),
        service=_service(db, view.sheet, now),
        cover=cover,
        cause=_said(view.sheet, claims.CAUSE),
        why=_said(view.sheet, claims.WHY),
        decided_by=_decided_by(view.sheet),
        cents=money.cost_cents,
        borne=cover in claims.BORNE,
        currency=money.currency,
    )


def _code(db: Connection, view: SheetView, now: datetime) -> str:
    try:
        return codes.code(certificates.certificate(db, view.heading.number, now, known=view))
    except Refused:
        return ""


def _said(sheet: Sheet, key: str) -> str:
    state = sheet.get(key)
    return ", ".join(a.answer for a in state.given.values()) if state is not None else ""


def _decided_by(sheet: Sheet) -> str:
    state = sheet.get(claims.COVERED)
    return ", ".join(signer(a) for a in state.given.values()) if state is not None else ""


def _steps(db: Connection, both: Sequence[Sheet]) -> Mapping[str, float]:
    """The smallest steps of the instruments on these sheets, in SI, by code."""
    used = {
        answer.instrument
        for sheet in both
        for state in sheet.lines
        for answer in state.given.values()
        if answer.instrument
    }
    rows = db.execute(
        select(Instrument.code, Instrument.resolution_si).where(
            Instrument.code.in_(used), Instrument.resolution_si.is_not(None)
        )
    )
    return {row.code: row.resolution_si for row in rows}


# Readings ----------------------------------------------------------------------------------------


def _readings(sheet: Sheet, claim: Claim, steps: Mapping[str, float]) -> Iterator[Pair]:
    """Every line of the earlier certificate that could be measured again: those that were first."""
    again = {
        state.line.earlier.entry: state
        for name in claims.SECTIONS
        for state in sheet.section(name)
        if isinstance(state.line, Again)
    }
    order = sorted(claim.lines, key=lambda each: again[each.entry].state is State.NOT_ASKED)
    for each in order:
        state = again[each.entry]
        said = next((a for a in state.given.values()), None)
        now = value(sheet, state.line, state.given) if said else ""
        found = _apart(sheet, state, steps)
        yield Pair(
            label=each.label,
            before=each.text,
            now=now,
            by=_by(found, getattr(each.line, "unit", "")),
            share=found.share if found else None,
            judged=_judged(state, found),
            limit=_limit(each.line),
            tool_before=each.instrument,
            tool_now=said.instrument if said else "",
            who_before=each.person,
            who_now=said.person if said else "",
        )


def _apart(sheet: Sheet, state: LineState, steps: Mapping[str, float]) -> Difference | None:
    line = state.line
    assert isinstance(line, Again)
    first = state.given.get("value")
    now = first.value_si if first is not None else None
    if isinstance(line.earlier.line, doc.Charge | doc.Leak):
        now = pressures.at_reference(sheet, state.given)
    if first is None or now is None or line.earlier.value_si is None:
        return None
    return comparing.difference(
        line.earlier.value_si, now, steps.get(line.earlier.instrument), steps.get(first.instrument)
    )


def _by(found: Difference | None, unit: str) -> str:
    if found is None:
        return ""
    return comparing.with_doubt(found.by_si, found.doubt_si, unit, sign=True)


def _judged(state: LineState, found: Difference | None) -> str:
    if state.state is State.NOT_ASKED:
        return ""
    if not state.given:
        return Judged.TO_MEASURE
    if cannot(state.given):
        return Judged.NOT_MEASURED
    if found is not None:
        return comparing.judged(found, state.verdict)
    assert isinstance(state.line, Again)
    said = next(iter(state.given.values()))
    if state.verdict is Verdict.OUTSIDE:
        return Judged.OUT
    return Judged.SAME if said.answer == state.line.earlier.text else Judged.APART


def _limit(line: doc.Line) -> str:
    if isinstance(line, doc.Reading) and line.limit is not None:
        return limit_text(line.limit, line.unit)
    return f"loss at most {line.loss.typed}" if isinstance(line, doc.Leak) else ""


# Torques -----------------------------------------------------------------------------------------


def _torques(before: Sheet, now: Sheet, steps: Mapping[str, float]) -> Iterator[Pair]:
    """Joints as they were pulled then, and now where they are made again."""
    for state in before.lines:
        line = state.line
        if not isinstance(line, doc.Torque) or line.snug or not state.given:
            continue
        pulled = f"p{len(line.passes)}"
        first, after = state.given.get(pulled), now.get(line.key)
        second = after.given.get(pulled) if after is not None else None
        found = None
        if first and second and first.value_si is not None and second.value_si is not None:
            found = comparing.difference(
                first.value_si,
                second.value_si,
                steps.get(first.instrument),
                steps.get(second.instrument),
            )
        yield Pair(
            label=line.label,
            before=value(before, line, state.given),
            now=value(now, line, after.given) if after is not None and second else "",
            by=_by(found, line.unit),
            share=found.share if found else None,
            judged=_doubted(first)
            or (comparing.judged(found, after.verdict) if found and after is not None else ""),
            limit=f"{line.target.typed} ± {line.tolerance.typed}"
            if line.target and line.tolerance
            else "",
            tool_before=first.instrument if first else "",
            tool_now=second.instrument if second else "",
            who_before=first.person if first else "",
            who_now=second.person if second else "",
        )


def _doubted(answer: Answer | None) -> str:
    return f"in doubt: {answer.doubt}" if answer is not None and answer.doubt else ""


# Lots, tools, people -----------------------------------------------------------------------------


def _lots(db: Connection, before: SheetView, now: SheetView, at: datetime) -> Iterator[Lot]:
    fresh: dict[tuple[str, str], list[str]] = {}
    for lot in evidence.fitted(db, now.sheet, at):
        fresh.setdefault((lot.asked, lot.position), []).append(lot.lot)
    ours = {f"J-{before.heading.number}", f"J-{now.heading.number}"}
    left = tuple(evidence.fitted(db, before.sheet, at))
    uses: dict[tuple[str, str], set[str]] = defaultdict(set)
    for use in trace.of_lot(db, *{lot.lot for lot in left}):
        if use.left_on:
            uses[use.part, use.lot].add(use.job)
    for lot in left:
        yield Lot(
            lot.part,
            lot.position,
            lot.lot,
            lot.cured,
            ", ".join(fresh.get((lot.asked, lot.position), ())),
            len(uses[lot.part, lot.lot] - ours),
        )


def _tools(db: Connection, before: Sheet, now: Sheet, at: datetime) -> Iterator[Tool]:
    then = {tool.code: tool for tool in evidence.instruments(db, before, at)}
    here = {tool.code: tool for tool in evidence.instruments(db, now, at)}
    doubts = {
        answer.instrument: answer.doubt
        for state in before.lines
        for answer in state.given.values()
        if answer.doubt
    }
    for code, tool in sorted({**then, **here}.items()):
        yield Tool(code, tool.kind, tool.due, code in then, code in here, doubts.get(code, ""))


def _people(before: Sheet, now: Sheet) -> Iterator[Hands]:
    for section in dict.fromkeys((*now.sections, *before.sections)):
        then, here = (_who(sheet, section) for sheet in (before, now))
        if then or here:
            yield Hands(section, then, here)


def _who(sheet: Sheet, section: str) -> str:
    """Initials in the order they came; those who signed, last."""
    made: dict[str, None] = {}
    signed: dict[str, None] = {}
    for state in sheet.section(section):
        for answer in state.given.values():
            made.setdefault(answer.person, None)
            if answer.witness:
                signed.setdefault(answer.witness, None)
    made = {name: None for name in made if name not in signed}
    return ", ".join([*made, *(f"{name} signed" for name in signed)])


def _service(db: Connection, sheet: Sheet, now: datetime) -> tuple[str, ...]:
    found, plan = service_view.served(db, sheet), sheet.procedure.charge
    if found is None or plan is None:
        return ()
    charged = pressures.last_charge_pa(sheet)
    return service.said(found, sheet, charged or plan.target.value_si, now)
