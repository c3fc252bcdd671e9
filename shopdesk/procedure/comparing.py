"""Two revisions of a procedure side by side: every line added, dropped or changed, field by field.

Lines are the same where their key is; what differs is said in the words of a person, with both
values as the documents write them.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, fields
from difflib import SequenceMatcher
from enum import StrEnum
from typing import TypeVar

from shopdesk.procedure import types as doc

Part = TypeVar("Part", doc.Line, doc.KitLine)
Written = (
    doc.Line | doc.KitLine | doc.Limit | doc.Rating | doc.GasCharge | doc.Adapter | doc.Consequence
)


class Mark(StrEnum):
    SAME = "same"
    ADDED = "added"
    DROPPED = "dropped"
    CHANGED = "changed"


@dataclass(frozen=True, slots=True)
class Differs:
    """One field with both values in words; "" where there is none."""

    field: str
    was: str
    now: str


@dataclass(frozen=True, slots=True)
class Compared:
    """A line, a kit line or what stands at the document's head, in both revisions. ``part`` is the
    section, "kit" or "head"; ``was`` and ``now`` its text, "" where it is not there."""

    mark: Mark
    part: str
    key: str
    was: str
    now: str
    differs: tuple[Differs, ...] = ()

    @property
    def text(self) -> str:
        return self.now or self.was


NAMES = {
    "text": "words",
    "when": "asked when",
    "high": "at most",
    "low": "at least",
    "at_temperature": "temperature asked in",
    "units": "units beside it",
    "count": "how many",
    "spread": "spread at most",
    "depths": "at depths",
    "axes": "along",
    "order": "place in the stack",
    "holds_pressure": "holds pressure",
    "over": "when pulled too far",
    "witness": "by a second person",
    "role": "by a",
    "loss": "loss at most",
    "set_by_test": "else set by",
    "reference": "from",
    "rework_from": "rework from",
    "outside": "counts as outside",
    "leave": "left",
    "measure_again": "measured again after work",
    "one_time": "used once",
    "matched": "matched set",
    "quantity": "pieces",
    "revision": "source's revision",
}
_SOURCES = frozenset({"source", NAMES["revision"]})
_HEAD = (
    "name",
    "effective",
    "gas_charged",
    "order",
    "rated_pressure",
    "precharge_limit",
    "highest_service_temperature",
    "charge",
    "labour_minutes",
)


def compare(was: doc.Procedure, now: doc.Procedure) -> tuple[Compared, ...]:
    """Everything of both, in the order of the new one; what it drops stands where it stood."""
    kit_was = {line.id: line for line in was.kit}
    kit_now = {line.id: line for line in now.kit}
    return (
        *_head(was, now),
        *_paired(kit_was, kit_now, _kit_text, lambda _: "kit"),
        *_paired(
            {line.key: line for line in was.lines},
            {line.key: line for line in now.lines},
            lambda line: line.text,
            lambda line: line.section,
        ),
    )


def differences(was: Written, now: Written) -> tuple[Differs, ...]:
    """The fields in which two lines differ; their kind counts as one."""
    kind_was, kind_now = _kind(was), _kind(now)
    other = () if kind_was == kind_now else (Differs("kind", kind_was, kind_now),)
    return other + _differing(said(was), said(now))


def _differing(was: Mapping[str, str], now: Mapping[str, str]) -> tuple[Differs, ...]:
    return tuple(
        Differs(name, was.get(name, ""), now.get(name, ""))
        for name in dict.fromkeys((*was, *now))
        if was.get(name, "") != now.get(name, "")
    )


def said(line: Written, *, defaults: bool = True) -> dict[str, str]:
    """A line's fields in words; what holds nothing is left out, and without ``defaults`` what a
    document need not write."""
    found: dict[str, str] = {}
    for field in fields(line):
        if not defaults and getattr(line, field.name) == field.default:
            continue
        if field.name not in ("key", "id"):
            found |= _field(NAMES.get(field.name, field.name.replace("_", " ")), line, field.name)
    return found


def counts(found: Sequence[Compared]) -> Mapping[Mark, int]:
    return {mark: sum(each.mark is mark for each in found) for mark in Mark}


def summary(found: Sequence[Compared]) -> str:
    """ "1 added, 2 dropped, 3 changed, 60 as before"."""
    number = counts(found)
    return ", ".join(f"{number[m] or 'none'} {_SAID[m]}" for m in Mark if m is not Mark.SAME) + (
        f", {number[Mark.SAME]} as before"
    )


_SAID = {Mark.ADDED: "added", Mark.DROPPED: "dropped", Mark.CHANGED: "changed"}


def _head(was: doc.Procedure, now: doc.Procedure) -> Iterator[Compared]:
    for name in _HEAD:
        text = "sections in order" if name == "order" else name.replace("_", " ")
        before, after = _field(text, was, name), _field(text, now, name)
        if not before and not after:
            continue
        differs = _differing(before, after)
        mark = Mark.CHANGED if differs else Mark.SAME
        if differs and not (before and after):
            mark = Mark.ADDED if after else Mark.DROPPED
        yield Compared(mark, "head", name, text if before else "", text if after else "", differs)


def _paired(
    was: Mapping[str, Part],
    now: Mapping[str, Part],
    text: Callable[[Part], str],
    part: Callable[[Part], str],
) -> Iterator[Compared]:
    """Both in order: matched by key, those that moved told by the line they now come after."""
    matched = SequenceMatcher(None, list(was), list(now), autojunk=False)
    moved = set(was) & set(now)
    steps = matched.get_opcodes()
    keys_was, keys_now = list(was), list(now)
    for tag, i, j, _, _ in steps:
        if tag == "equal":
            moved -= set(keys_was[i:j])
    for tag, i, j, k, m in steps:
        if tag in ("delete", "replace"):
            for key in keys_was[i:j]:
                if key not in now:
                    yield _one(Mark.DROPPED, part(was[key]), key, text(was[key]), "", was[key])
        if tag == "delete":
            continue
        for key in keys_now[k:m]:
            if key not in was:
                yield _one(Mark.ADDED, part(now[key]), key, "", text(now[key]), now[key])
                continue
            differs = differences(was[key], now[key])
            if key in moved:
                differs += (Differs("place", _after(keys_was, key), _after(keys_now, key)),)
            mark = Mark.CHANGED if differs else Mark.SAME
            yield Compared(mark, part(now[key]), key, text(was[key]), text(now[key]), differs)


def _one(mark: Mark, part: str, key: str, was: str, now: str, line: Written) -> Compared:
    """A line that is in one revision only, with all it says."""
    found = {"kind": _kind(line), **said(line, defaults=False)}
    gone = mark is Mark.DROPPED
    differs = tuple(
        Differs(name, value if gone else "", "" if gone else value)
        for name, value in found.items()
        if value and name != NAMES["text"]
    )
    return Compared(mark, part, key, was, now, differs)


def _after(keys: Sequence[str], key: str) -> str:
    at = keys.index(key)
    return f"after {keys[at - 1]}" if at else "first"


def _kit_text(line: doc.KitLine) -> str:
    where = f", {line.position}" if line.position else ""
    return f"{line.quantity} x {line.part}{where}"


def _kind(line: Written) -> str:
    return type(line).__name__.lower() if isinstance(line, doc.Line) else ""


def _field(name: str, line: Written | doc.Procedure, attribute: str) -> dict[str, str]:
    """A field as one or more named values in words."""
    value = getattr(line, attribute)
    if attribute == "labour_minutes":
        return {f"minutes for {section}": str(minutes) for section, minutes in value}
    if isinstance(value, doc.Limit | doc.Rating | doc.GasCharge | doc.Adapter | doc.Consequence):
        inner = said(value)
        if isinstance(value, doc.Limit):  # the figures before where they stand
            return {each: inner[each] for each in sorted(inner, key=_SOURCES.__contains__)}
        return {f"{name}, {each}": text for each, text in inner.items()}
    text = _words(value)
    return {name: text} if text else {}


def _words(value: object) -> str:
    match value:
        case None | "" | ():
            return ""
        case bool():
            return "yes" if value else "no"
        case doc.Quantity() | doc.Span():
            return value.typed
        case doc.Condition():
            return condition_said(value)
        case StrEnum():
            return value.value
        case tuple():
            return ", ".join(_words(each) for each in value)
        case float():
            return f"{value:g}"
    return str(value)


def condition_said(value: doc.Condition) -> str:
    """ "teardown.bore is outside", "decision.cover says goodwill"."""
    lines = " or ".join(value.lines)
    if value.is_ is not None:
        return f"{lines} is {value.is_}"
    return f"{lines} says {value.disposition or value.answer}"
