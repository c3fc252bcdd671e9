"""A running job moved over to another revision: what becomes of each of its lines.

Answers are never changed. One whose line asks the same stands; where its limit changed the new
revision judges it; where another thing is asked it counts no more; of a dropped line it stays to
be seen. Signatures given over lines that change are given again, and a vent record that changes
makes the gas unknown, so that every gate holds by the new revision.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from shopdesk.procedure import types as doc
from shopdesk.procedure.comparing import Differs, differences
from shopdesk.rules import charging
from shopdesk.rules.answers import Answer, GasState, JobFacts, Road, Verdict
from shopdesk.rules.carried import asks_anew, worked_since
from shopdesk.rules.generated import laid_out
from shopdesk.rules.refusals import Refusal
from shopdesk.rules.sheet import LineState, Sheet, State, lay_out
from shopdesk.rules.slots import slots
from shopdesk.rules.verdicts import Judged, judge

MOVED = "moved over"
NEVER = (doc.Condition("", is_=doc.Is.ANSWERED),)
"""A condition that never holds: no line has this key."""


class Fate(StrEnum):
    KEPT = "stands"
    WORDS = "stands, other words"
    ANEW = "judged anew"
    MORE = "asks for more"
    AGAIN = "asked again"
    SIGN = "signed again"
    DROPPED = "dropped, answer kept"
    SILENT = "not asked any more"
    NEW = "new, open"
    ASKED = "asked now"
    OPEN = "open as before"


_SHOWN = 3
TELLING = frozenset(Fate) - {Fate.KEPT, Fate.OPEN}
_UNDER_SIGNATURE = frozenset(
    {Fate.NEW, Fate.ASKED, Fate.ANEW, Fate.MORE, Fate.AGAIN, Fate.WORDS, Fate.SIGN}
)


@dataclass(frozen=True, slots=True)
class LineFate:
    """One line: its answer so far, the verdict on it before and after, and why."""

    key: str
    text: str
    fate: Fate
    answer: str
    was: Verdict
    now: Verdict
    limit: str
    why: str
    differs: tuple[Differs, ...]

    @property
    def section(self) -> str:
        return self.key.partition(".")[0]


@dataclass(frozen=True, slots=True)
class Anew:
    """How the new revision judges an entry."""

    entry: int
    verdict: Verdict
    limit_text: str
    limit_source: str


@dataclass(frozen=True, slots=True)
class Plan:
    """What a move would do; ``after`` is the sheet it leaves. ``reopened``: sections that were
    complete and are not any more."""

    lines: tuple[LineFate, ...]
    judged: tuple[Anew, ...]
    again: tuple[str, ...]
    reopened: tuple[str, ...]
    gas: GasState
    after: Sheet
    refusal: Refusal | None

    @property
    def dropped(self) -> tuple[LineFate, ...]:
        return tuple(each for each in self.lines if each.fate is Fate.DROPPED)


def put_by(line: doc.Line, revision: str) -> doc.Line:
    """A dropped line as it stays on the sheet: never asked, its answers to be seen."""
    return replace(line, text=f"{line.text} (asked by rev {revision})", when=NEVER)


def refused(sheet: Sheet, to: doc.Procedure) -> Refusal | None:
    """Why this job cannot be moved to that procedure, whatever its lines."""
    if sheet.facts.closed:
        return Refusal("the job is closed: it stays on the revision it was done by")
    if sheet.facts.road not in (Road.REPAIR, Road.QUARANTINED):
        return Refusal(f"the unit is {sheet.facts.road.value}: it leaves on the revision it is on")
    if sheet.procedure.gas_charged and not to.gas_charged:
        return Refusal(
            f"rev {to.revision} says that the unit holds no gas, rev {sheet.procedure.revision} "
            "that it does: finish the job on the one it is on"
        )
    return None


def plan(
    before: Sheet,
    answers: Sequence[Answer],
    to: doc.Procedure,
    roads: Mapping[str, tuple[doc.Line, ...]],
    facts: JobFacts,
    kept_by: Sequence[doc.Line],
) -> Plan:
    """What moving the job would do. ``facts`` are those beside the new procedure's kit, ``kept_by``
    the dropped lines of earlier moves."""
    return _Planning(before, answers, to, roads, facts, kept_by).plan()


class _Planning:
    def __init__(
        self,
        before: Sheet,
        answers: Sequence[Answer],
        to: doc.Procedure,
        roads: Mapping[str, tuple[doc.Line, ...]],
        facts: JobFacts,
        kept_by: Sequence[doc.Line],
    ) -> None:
        self.before, self.to, self.roads, self.facts = before, to, roads, facts
        self.answers = {answer.id: answer for answer in answers}
        self.old = {line.key: line for line in laid_out(before.procedure)}
        self.new = {line.key: line for line in laid_out(to)}
        self.kept_by = tuple(line for line in kept_by if line.key not in self.new)
        self.judged: dict[int, Anew] = {}
        self.why: dict[str, str] = {}

    def plan(self) -> Plan:
        self._set_aside(self._asked_again())
        self._judge()
        fates = self._fates()
        signed = self._signatures(fates)
        self._set_aside(dict.fromkeys(signed, "lines it stands for change"))
        fates |= dict.fromkeys(signed, Fate.SIGN)
        self.facts = replace(self.facts, gas_state=self._gas(fates))
        after = self._sheet()
        return Plan(
            lines=tuple(self._told(key, fate, after) for key, fate in self._ordered(fates)),
            judged=tuple(self.judged.values()),
            again=tuple(self.why),
            reopened=tuple(
                name
                for name in self.before.sections
                if self.before.complete(name) and not after.complete(name)
            ),
            gas=self.facts.gas_state,
            after=after,
            refusal=refused(self.before, self.to),
        )

    def _sheet(self) -> Sheet:
        dropped = tuple(
            put_by(state.line, self.before.procedure.revision)
            for state in self.before.lines
            if state.line.key in self.old.keys() - self.new.keys() and (state.given or state.past)
        )
        return lay_out(
            self.to,
            self.roads,
            self.before.shop,
            self.facts,
            tuple(self.answers.values()),
            (*self.kept_by, *dropped),
        )

    # What counts no more, and what is judged anew ---------------------------------------------

    def _asked_again(self) -> dict[str, str]:
        found = {}
        for state in self.before.lines:
            key = state.line.key
            if state.given and key in self.new:
                was = self.old.get(key, state.line)
                why = asks_anew(was, self.new[key], state.given) or self._over(state)
                if why:
                    found[key] = why
        return {**worked_since(self.before, self.old, self.new.values()), **found}

    def _over(self, state: LineState) -> str:
        """A regulator's setting above what the new revision allows the unit."""
        setting = state.given.get("setting")
        if not isinstance(state.line, doc.Regulator) or not setting or setting.value_si is None:
            return ""
        shop = self.before.shop
        high = charging.setting_refused(self.to, shop, setting.value_si, {})
        return "set above the new rating" if high else ""

    def _set_aside(self, why: Mapping[str, str]) -> None:
        self.why |= why
        for answer in self.answers.values():
            if answer.line in why and answer.counts:
                self.answers[answer.id] = replace(answer, set_aside=MOVED)

    def _judge(self) -> None:
        """By the new revision, line by line: what a line is judged by comes before it."""
        sheet = self._sheet()
        for key in [state.line.key for state in sheet.lines if state.given]:
            was, now = self.before.get(key), sheet.get(key)
            if was is None or now is None or key not in self.new:
                continue
            old, new = _verdicts(self.before, was), _verdicts(sheet, now)
            differing = [entry for entry, one in new.items() if _kernel(one) != _kernel(old[entry])]
            for entry in differing:
                one = new[entry]
                self.judged[entry] = Anew(entry, one.verdict, one.limit_text, one.source)
                self.answers[entry] = replace(
                    self.answers[entry],
                    verdict=one.verdict,
                    limit_text=one.limit_text,
                    limit_source=one.source,
                )
            if differing:
                sheet = self._sheet()

    # What is said of each line ----------------------------------------------------------------

    def _fates(self) -> dict[str, Fate]:
        after = self._sheet()
        found = {}
        for state in after.lines:
            key = state.line.key
            if key in self.new and state.state is not State.SHOWN:
                found[key] = self._fate(key, state)
        for state in self.before.lines:
            key = state.line.key
            if key in self.old and key not in self.new and state.given:
                found[key] = Fate.DROPPED
        return {key: fate for key, fate in found.items() if fate is not None}

    def _fate(self, key: str, after: LineState) -> Fate | None:
        before = self.before.get(key)
        asked = after.state is not State.NOT_ASKED
        if before is None or before.state is State.NOT_ASKED:
            if after.given:
                return Fate.KEPT
            fresh = Fate.NEW if before is None else Fate.ASKED
            return fresh if asked else None
        if not before.given:
            return Fate.OPEN if asked else None
        if key in self.why:
            return Fate.AGAIN
        if not asked:
            return Fate.SILENT
        if any(answer.id in self.judged for answer in after.given.values()) or (
            before.verdict is not after.verdict
        ):
            return Fate.ANEW
        if after.next_slot is not None and before.next_slot is None:
            return Fate.MORE
        return Fate.KEPT if self.old[key].label == self.new[key].label else Fate.WORDS

    def _signatures(self, fates: Mapping[str, Fate]) -> list[str]:
        """Signatures over lines that change: those before them in the section, for the release
        every line."""
        found: list[str] = []
        changed: set[str] = set()
        for key, fate in self._ordered(fates):
            section, line = key.partition(".")[0], self.new.get(key)
            under = changed if section == "release" else {k for k in changed if _in(k, section)}
            stands = fate in (Fate.KEPT, Fate.WORDS)
            given = self.before.get(key)
            if isinstance(line, doc.Signature) and stands and under and given and given.given:
                found.append(key)
                changed.add(key)
            elif fate in _UNDER_SIGNATURE:
                changed.add(key)
        return found

    def _gas(self, fates: Mapping[str, Fate]) -> GasState:
        gas = self.before.facts.gas_state
        if self.to.gas_charged and not self.before.procedure.gas_charged:
            return GasState.UNKNOWN
        touched = any(_in(key, "vent") and fate in _UNDER_SIGNATURE for key, fate in fates.items())
        return GasState.UNKNOWN if gas is GasState.VENTED and touched else gas

    def _ordered(self, fates: Mapping[str, Fate]) -> list[tuple[str, Fate]]:
        """By section as they are done, dropped lines last in theirs."""
        keys = [*self.new, *(key for key in fates if key not in self.new)]
        rank = {name: n for n, name in enumerate(dict.fromkeys(key.split(".")[0] for key in keys))}
        known = [key for key in keys if key in fates]
        return [(key, fates[key]) for key in sorted(known, key=lambda k: rank[k.split(".")[0]])]

    def _told(self, key: str, fate: Fate, after: Sheet) -> LineFate:
        before, then = self.before.get(key), after.get(key)
        old, new = self.old.get(key), self.new.get(key)
        given = before.given if before else {}
        limits = [a.limit_text for a in then.given.values() if a.limit_text] if then else []
        line = new or old
        return LineFate(
            key=key,
            text=line.label if line else key,
            fate=fate,
            answer=_in_short([answer.answer for answer in given.values()]),
            was=before.verdict if before else Verdict.NONE,
            now=then.verdict if then and fate is not Fate.AGAIN else Verdict.NONE,
            limit=limits[-1] if limits else "",
            why=self.why.get(key, ""),
            differs=differences(old, new) if old and new else (),
        )


def _verdicts(sheet: Sheet, state: LineState) -> dict[int, Judged]:
    """Each counted answer judged as it came, with those before it."""
    found: dict[int, Judged] = {}
    so_far: dict[str, Answer] = {}
    by_name = {slot.name: slot for slot in slots(state.line, state.given)}
    for answer in sorted(state.given.values(), key=lambda each: each.id):
        so_far[answer.slot] = answer
        slot = by_name.get(answer.slot)
        if slot is None:
            found[answer.id] = Judged(answer.verdict, answer.limit_text, answer.limit_source)
        else:
            found[answer.id] = judge(
                sheet, state.line, slot, so_far, answer.value_si, answer.answer
            )
    return found


def _kernel(one: Judged) -> tuple[Verdict, str, str]:
    return one.verdict, one.limit_text, one.source


def _in_short(answers: Sequence[str]) -> str:
    if len(answers) > _SHOWN:
        return f"{answers[0]} and {len(answers) - 1} more"
    return ", ".join(answers)


def _in(key: str, section: str) -> bool:
    return key.partition(".")[0] == section
