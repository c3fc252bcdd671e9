"""A job's sheet: every line with its answers, its state, and where the cursor stands."""

from collections.abc import Mapping, Sequence
from copy import copy
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import cached_property
from types import MappingProxyType

from shopdesk.procedure import types as doc
from shopdesk.rules import bores, claims
from shopdesk.rules.answers import Answer, GasState, JobFacts, Road, Verdict
from shopdesk.rules.generated import SHIPS_AS, Approval, Kept, Quoting, laid_out
from shopdesk.rules.shop import ShopRules
from shopdesk.rules.slots import CANNOT, Slot, cannot, slots


class State(StrEnum):
    OPEN = "open"  # to be answered
    DONE = "done"
    UNRESOLVED = "unresolved"  # answered, outside its limit, nothing decided that settles it
    NOT_ASKED = "not asked"  # its condition does not hold, or the road left it out
    SHOWN = "shown"  # a caution


@dataclass(frozen=True, slots=True)
class LineState:
    """``given`` are the answers that count, by slot; ``past`` those superseded or set aside."""

    line: doc.Line
    state: State
    slots: tuple[Slot, ...]
    given: Mapping[str, Answer]
    past: tuple[Answer, ...]
    verdict: Verdict
    conceded: bool

    @property
    def next_slot(self) -> Slot | None:
        return next((slot for slot in self.slots if slot.name not in self.given), None)

    @property
    def open(self) -> bool:
        return self.state in (State.OPEN, State.UNRESOLVED)

    @property
    def numbered(self) -> bool:
        """Whether it stands on the sheet as a line: not a caution, nor what a claim leaves out."""
        if self.state is State.NOT_ASKED:
            left_out = self.line.section in claims.SECTIONS
            return not left_out or bool(self.given or self.past)
        return self.state is not State.SHOWN


# Lines whose state depends on more than their own answers and conditions.
_LOOKING = (Kept, Quoting, Approval)


@dataclass(frozen=True)
class Sheet:
    """``lines`` in the order they are done; ``sections`` those that this job goes through."""

    procedure: doc.Procedure
    shop: ShopRules
    facts: JobFacts
    lines: tuple[LineState, ...]

    def with_facts(self, facts: JobFacts) -> "Sheet":
        """The same lines beside other facts, which change none of them."""
        after = copy(self)
        after.__dict__["facts"] = facts
        return after

    def _with_lines(
        self, known: dict[str, LineState], touched: set[str], facts: JobFacts
    ) -> "Sheet":
        """The same lines in other states; ``touched`` are the sections in which any differs."""
        after = Sheet(self.procedure, self.shop, facts, tuple(known.values()))
        sections = dict(self._by_section)
        for name in touched:
            sections[name] = tuple(known[state.line.key] for state in sections[name])
        after.__dict__.update(
            _by_key=known, _by_section=sections, _looking=self._looking, _place=self._place
        )
        return after

    @cached_property
    def _by_key(self) -> dict[str, LineState]:
        return {state.line.key: state for state in self.lines}

    def get(self, key: str) -> LineState | None:
        return self._by_key.get(key)

    @cached_property
    def _by_section(self) -> Mapping[str, tuple[LineState, ...]]:
        found: dict[str, list[LineState]] = {}
        for state in self.lines:
            found.setdefault(state.line.section, []).append(state)
        return {name: tuple(states) for name, states in found.items()}

    @cached_property
    def _place(self) -> Mapping[str, int]:
        return {key: place for place, key in enumerate(self._by_key)}

    @cached_property
    def _looking(self) -> tuple[str, ...]:
        """Keys of lines whose state may change with another line's answer: those with a condition
        or that look at others, a claim's, and the vent's, which a charge makes void."""
        return tuple(
            state.line.key
            for state in self.lines
            if state.line.when
            or isinstance(state.line, _LOOKING)
            or state.line.section in ("vent", *claims.SECTIONS)
        )

    def section(self, name: str) -> tuple[LineState, ...]:
        return self._by_section.get(name, ())

    @cached_property
    def sections(self) -> tuple[str, ...]:
        return tuple(self._by_section)

    def complete(self, section: str) -> bool:
        """Whether nothing in the section is open. The vent counts as open when it is void."""
        return not any(state.open for state in self.section(section))

    @cached_property
    def stage(self) -> str:
        """The first section that is not complete, or "done"."""
        return next((name for name in self.sections if not self.complete(name)), "done")

    @cached_property
    def cursor(self) -> LineState | None:
        """The line to stand on: the first open one of the stage."""
        return next((state for state in self.section(self.stage) if state.open), None)

    @property
    def customers(self) -> bool:
        """Whether the customer pays, and has to approve a quote."""
        return needs_approval(self.facts, self._by_key)

    @cached_property
    def unresolved(self) -> tuple[LineState, ...]:
        return tuple(state for state in self.lines if state.state is State.UNRESOLVED)

    def reference_value(self, key: str) -> float | None:
        """What a reading or repeat line measured, in SI (mean of repeats); None if not valid."""
        return reference_value(self.get(key))


def reference_value(state: LineState | None) -> float | None:
    if state is None or state.state is not State.DONE or cannot(state.given):
        return None
    values = [
        a.value_si
        for name, a in state.given.items()
        if a.value_si is not None and name not in ("temperature", "disposition")
    ]
    if not values or state.verdict is Verdict.OUTSIDE:
        return None
    return sum(values) / len(values)


# Slots that are asked only of what is outside.
DETAILS = frozenset({"place", "severity", "extent", "disposition"})


def lay_out(
    procedure: doc.Procedure,
    roads: Mapping[str, tuple[doc.Line, ...]],
    shop: ShopRules,
    facts: JobFacts,
    answers: Sequence[Answer],
    put_by: Sequence[doc.Line] = (),
) -> Sheet:
    """The sheet as it stands. Conditions look only back, so one pass in order is enough.
    ``put_by``: lines of an earlier revision, whose answers stay to be seen."""
    by_line: dict[str, list[Answer]] = {}
    for answer in answers:
        by_line.setdefault(answer.line, []).append(answer)
    known: dict[str, LineState] = {}
    for line in (
        *_quarantine(roads, facts, by_line),
        *_lines(procedure, roads, shop, facts),
        *put_by,
    ):
        known[line.key] = _state(line, by_line.get(line.key, []), known, facts)
    lines = tuple(known.values())
    sheet = Sheet(procedure, shop, facts, lines)
    return sheet if vent_asked(sheet) else _without_void_vent(sheet)


def regarded(sheet: Sheet, facts: JobFacts) -> Sheet:
    """The sheet with other facts of its job: quote, answer to it, stock. Not another road."""
    return _again_where(sheet, facts, None)


def answered(sheet: Sheet, facts: JobFacts, new: Answer) -> Sheet:
    """The sheet with one answer more, the same as laying it out anew from all answers: only the
    line itself and lines that look at others are judged again. Not for a reopening, another
    road or a concession."""
    return _again_where(sheet, facts, new)


def _again_where(sheet: Sheet, facts: JobFacts, new: Answer | None) -> Sheet:
    known = dict(sheet._by_key)
    touched = set()
    keys = {*sheet._looking} if new is None else {*sheet._looking, new.line}
    for key in sorted(keys, key=sheet._place.__getitem__):
        state = known[key]
        if new is not None and key == new.line:
            known[key] = _state(state.line, _with(state, new), known, facts)
        else:
            known[key] = _again(state, known, facts)
        if known[key] is not state:
            touched.add(state.line.section)
    after = sheet._with_lines(known, touched, facts)
    return after if vent_asked(after) else _without_void_vent(after)


def _with(state: LineState, new: Answer) -> list[Answer]:
    before = sorted((*state.past, *state.given.values()), key=lambda answer: answer.id)
    kept = [replace(a, superseded=True) if a.id == new.supersedes else a for a in before]
    return [*kept, new]


def _again(state: LineState, known: Mapping[str, LineState], facts: JobFacts) -> LineState:
    now = _what_state(
        state.line, state.given, state.slots, state.verdict, state.conceded, known, facts
    )
    return state if now is state.state else replace(state, state=now)


def _lines(
    procedure: doc.Procedure,
    roads: Mapping[str, tuple[doc.Line, ...]],
    shop: ShopRules,
    facts: JobFacts,
) -> tuple[doc.Line, ...]:
    """The procedure's lines and a claim's; a side road puts its own in place of what it leaves
    out."""
    lines, road = laid_out(procedure), facts.road
    if facts.claim is not None:
        lines = claims.with_claim(lines, facts.claim, procedure.gas_charged, shop.causes)
    if road is Road.REPAIR:
        return lines
    own = roads.get(road.value, ())
    if road is Road.QUARANTINED:
        return own + lines
    before = ("receipt", "claim", "vent", "fault", "teardown", "decision")
    leaving = tuple(line for line in lines if line.key == SHIPS_AS)
    return tuple(line for line in lines if line.section in before) + own + leaving


def _quarantine(
    roads: Mapping[str, tuple[doc.Line, ...]], facts: JobFacts, by_line: Mapping[str, list[Answer]]
) -> tuple[doc.Line, ...]:
    """What was found out in quarantine stays to be read once the unit is out of it."""
    if facts.road is Road.QUARANTINED:
        return ()
    own = roads.get(Road.QUARANTINED.value, ())
    return tuple(line for line in own if any(a.counts for a in by_line.get(line.key, ())))


def _state(
    line: doc.Line, answers: list[Answer], known: Mapping[str, LineState], facts: JobFacts
) -> LineState:
    given = {answer.slot: answer for answer in answers if answer.counts}
    asked = slots(line, given)
    for name in DETAILS - {slot.name for slot in asked}:
        given.pop(name, None)  # decided about a defect that a correction took away
    past = tuple(answer for answer in answers if answer.slot not in given or not answer.counts)
    verdict = line_verdict(line, given)
    conceded = _conceded(given, facts)
    state = _what_state(line, given, asked, verdict, conceded, known, facts)
    return LineState(line, state, asked, MappingProxyType(given), past, verdict, conceded)


def _conceded(given: Mapping[str, Answer], facts: JobFacts) -> bool:
    """Whether the newest answer outside is conceded: a concession is for what it saw, not for
    what was measured after it."""
    outside = [answer.id for answer in given.values() if answer.verdict is Verdict.OUTSIDE]
    return bool(outside) and max(outside) in facts.conceded


def _what_state(
    line: doc.Line,
    given: Mapping[str, Answer],
    asked: tuple[Slot, ...],
    verdict: Verdict,
    conceded: bool,
    known: Mapping[str, LineState],
    facts: JobFacts,
) -> State:
    if isinstance(line, doc.Caution):
        return State.SHOWN if _all_hold(line.when, known) else State.NOT_ASKED
    if left_out(line, known, facts):
        return State.NOT_ASKED
    if isinstance(line, Quoting | Approval):
        return State.DONE if _office_done(line, facts) else State.OPEN
    missing = [slot.name for slot in asked if slot.name not in given]
    if missing:
        return State.DONE if conceded and missing == ["disposition"] else State.OPEN
    if verdict is Verdict.OUTSIDE and not conceded and not settles(line, given):
        return State.UNRESOLVED
    return State.DONE


def left_out(line: doc.Line, known: Mapping[str, LineState], facts: JobFacts) -> bool:
    """Whether the job does not ask this line: condition, kept part replaced, closed road."""
    if isinstance(line, Quoting | Approval) and not needs_approval(facts, known):
        return True
    if facts.road in (Road.DECLINED, Road.SCRAPPED) and line.section in _NO_MORE:
        return line.key not in claims.DECISION
    if line.section in claims.SECTIONS and line.key != claims.ABOUT:
        return line.key not in _measured_again(known, facts)
    if isinstance(line, Kept) and not line.when:
        issue = known.get(f"parts.issue_{line.kit}")
        return issue is not None and issue.state is not State.NOT_ASKED
    return not _all_hold(line.when, known)


_NO_MORE = ("teardown", "decision", *claims.SECTIONS)  # once it is declined or scrapped


def _measured_again(known: Mapping[str, LineState], facts: JobFacts) -> frozenset[str]:
    about = known.get(claims.ABOUT)
    said = about.given.get("lines") if about is not None else None
    if said is None or facts.claim is None or said.answer.startswith(CANNOT):
        return frozenset()
    return claims.asked(facts.claim, said.answer, facts.gas_state is not GasState.NONE)


def needs_approval(facts: JobFacts, known: Mapping[str, LineState]) -> bool:
    """The shop's own exchange units are not the customer's to approve, nor is warranty work,
    unless the claim was decided not to be covered."""
    if facts.claim is None:
        return facts.kind == "customer"
    signed, cover = known.get(claims.COVERED), known.get(claims.COVER)
    if signed is None or cover is None or signed.state is not State.DONE:
        return False
    return any(answer.answer == claims.NOT_COVERED for answer in cover.given.values())


def _office_done(line: doc.Line, facts: JobFacts) -> bool:
    if facts.quote is None:
        return False
    return isinstance(line, Quoting) or facts.quote.answer != ""


def _all_hold(conditions: Sequence[doc.Condition], known: Mapping[str, LineState]) -> bool:
    return all(
        any(_holds(condition, known.get(key)) for key in condition.lines)
        for condition in conditions
    )


def _holds(condition: doc.Condition, state: LineState | None) -> bool:
    if state is None:
        return False
    if condition.disposition is not None:
        given = state.given.get("disposition")
        return given is not None and given.answer == condition.disposition
    if condition.answer is not None:
        return any(answer.answer == condition.answer for answer in state.given.values())
    match condition.is_:
        case doc.Is.WITHIN:
            return state.state is State.DONE and state.verdict is not Verdict.OUTSIDE
        case doc.Is.OUTSIDE:
            return state.verdict is Verdict.OUTSIDE
        case doc.Is.ANSWERED:
            return state.state is State.DONE and not cannot(state.given)
        case doc.Is.MISSING:
            return state.state is State.NOT_ASKED or cannot(state.given)
    return True


def line_verdict(line: doc.Line, given: Mapping[str, Answer]) -> Verdict:
    """Outside if any counted answer is; surveys and repeats are judged as a whole too."""
    if bores.outside(line, given):
        return Verdict.OUTSIDE
    judged = any(answer.verdict is not Verdict.NONE for answer in given.values())
    return Verdict.WITHIN if judged else Verdict.NONE


def settles(line: doc.Line, given: Mapping[str, Answer]) -> bool:
    """Whether the disposition given ends the matter on this sheet: a new part comes, or the
    inspector lets a finding (not a limit) pass. What is found once the kit is issued, or proves
    the unit safe or tight, has to be put right. A fault measured again is what a claim is for."""
    if isinstance(line, claims.Again):
        return True
    decided = given.get("disposition")
    if decided is None:
        return False
    if decided.answer == "replace":
        return line.section in ("receipt", "teardown")
    passes = isinstance(line, doc.Finding) and decided.answer == "reuse"
    return passes and line.section in ("receipt", "teardown", "build")


def vent_asked(sheet: Sheet) -> bool:
    """Whether the vent record must stand now. A record void since the unit was charged is asked
    again only when somebody is to open the unit, or it is to leave vented."""
    if not sheet.procedure.gas_charged or sheet.facts.gas_state is GasState.VENTED:
        return True
    if not _charged_since(sheet):
        return True
    behind = next(
        (name for name in sheet.sections if name != "vent" and not sheet.complete(name)), "done"
    )
    if behind in ("receipt", *claims.SECTIONS, "teardown", "decision", "parts", "build"):
        return True
    if behind in ("declined", "scrapped"):
        return True
    if behind in ("shipment", "done"):
        return ships_as(sheet) == "vented"
    if behind == "proof":
        order = sheet.sections
        return "charge" not in order or order.index("proof") < order.index("charge")
    return False


def ships_as(sheet: Sheet) -> str:
    """The gas state somebody said it ships in, "" while nobody has."""
    state = sheet.get(SHIPS_AS)
    said = state.given.get("answer") if state is not None else None
    return said.answer if said is not None else ""


def _charged_since(sheet: Sheet) -> bool:
    """Whether the gas in the unit was put there by this sheet, after the vent record it voided;
    a hiss or a record corrected later is gas that nobody put there."""
    voided = max((a.id for state in sheet.section("vent") for a in state.past), default=0)
    set_to = [
        answer.id
        for state in sheet.section("charge")
        if isinstance(state.line, doc.Regulator)
        for answer in (*state.past, *state.given.values())
        if answer.slot == "setting"
    ]
    return max(set_to, default=0) > voided


def _without_void_vent(sheet: Sheet) -> Sheet:
    lines = tuple(
        LineState(s.line, State.NOT_ASKED, s.slots, s.given, s.past, s.verdict, s.conceded)
        if s.line.section == "vent" and s.open
        else s
        for s in sheet.lines
    )
    return Sheet(sheet.procedure, sheet.shop, sheet.facts, lines)
