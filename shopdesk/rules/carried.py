"""Whether the answers given to a line still answer it as another revision asks it."""

from collections.abc import Iterable, Mapping
from typing import Any

from shopdesk import quantities
from shopdesk.procedure import types as doc
from shopdesk.rules.answers import Answer
from shopdesk.rules.dispositions import WORKING
from shopdesk.rules.generated import Issue, Kept
from shopdesk.rules.sheet import Sheet
from shopdesk.rules.slots import slots

Given = Mapping[str, Answer]

# What may not change under an answer, by kind of line: with it another thing would be asked.
_SAME: Mapping[type[doc.Line], tuple[str, ...]] = {
    doc.Finding: ("part",),
    doc.Survey: ("depths", "axes"),
    doc.Restore: ("reference",),
    doc.Torque: ("snug", "count", "pattern", "passes", "adapter"),
    doc.Fit: ("kit", "lubricant", "orientation", "order"),
    doc.Prepare: ("instrument",),
    doc.Vent: ("side",),
    doc.Leak: ("start",),
    doc.Port: ("port",),
    Issue: ("kit", "part"),
    Kept: ("kit", "part"),
}
# Lines answered by saying that it is done: in the vent section their words are all they ask.
_BY_WORDS = (doc.Tick, doc.Vent, doc.Note, doc.Photo, doc.Prepare)


def asks_anew(was: doc.Line, now: doc.Line, given: Given) -> str:
    """Why the line has to be answered again, in a few words; "" where its answers stand."""
    if type(was) is not type(now):
        return f"was a {_kind(was)}, is a {_kind(now)}"
    for name in _SAME.get(type(now), ()):
        if _plain(getattr(was, name)) != _plain(getattr(now, name)):
            return f"another {name.replace('_', ' ')}"
    return _of_kind(was, now, given) or _no_option(now, given)


def worked_since(
    before: Sheet, was: Mapping[str, doc.Line], now: Iterable[doc.Line]
) -> Mapping[str, str]:
    """Lines measured before work that the new revision says is measured again, and why."""
    found: dict[str, str] = {}
    for line in now:
        named = {*doc.measured_again(line)} - {*doc.measured_again(was.get(line.key))}
        work = _last_work(before, line.key) if named else None
        if work is None:
            continue
        for key in named:
            state = before.get(key)
            if state is not None and any(a.id < work.id for a in state.given.values()):
                found[key] = f"measured before {line.text}: {work.answer}"
    return found


def _last_work(before: Sheet, key: str) -> Answer | None:
    """The newest disposition of the line by which its part was worked on."""
    state = before.get(key)
    worked = [
        answer
        for answer in (state.past if state else ())
        if answer.slot == "disposition" and not answer.superseded and answer.answer in WORKING
    ]
    return max(worked, key=lambda answer: answer.id, default=None)


def _of_kind(was: Any, now: Any, given: Given) -> str:
    if isinstance(now, _BY_WORDS) and now.section == "vent" and was.text != now.text:
        return "asks for something else"
    tool = getattr(now, "instrument", "")
    if tool and tool != getattr(was, "instrument", ""):
        return f"asks for a {tool}"
    match now:
        case doc.Reading() | doc.Repeat() if _measures(was.unit) != _measures(now.unit):
            return f"measured in {now.unit}"
        case doc.Restore() if _measures(was.tolerance.unit) != _measures(now.tolerance.unit):
            return f"measured in {now.tolerance.unit}"
        case doc.Repeat() if now.count < was.count:
            return f"{now.count} readings, not {was.count}"
        case doc.Wait() if now.duration.value_si > was.duration.value_si:
            return f"{now.duration.typed}, not {was.duration.typed}"
        case doc.Signature() if (now.witness and not was.witness) or (
            now.role and now.role != was.role
        ):
            return "somebody else has to sign"
    return ""


def _no_option(now: doc.Line, given: Given) -> str:
    for slot in slots(now, given):
        answer = given.get(slot.name)
        if answer is not None and slot.options and answer.answer not in slot.options:
            return f"{answer.answer!r} is no answer any more"
    return ""


def _measures(unit: str) -> quantities.Dimension:
    return quantities.dimension_of(unit)


def _plain(value: Any) -> Any:
    """Quantities by their size: 20 mm and 20.0 mm are one depth."""
    match value:
        case doc.Quantity() | doc.Span():
            return round(value.value_si, 12)
        case doc.Adapter():
            return tuple(_plain(each) for each in (value.length, value.angle, value.wrench_length))
        case tuple():
            return tuple(_plain(each) for each in value)
    return value


def _kind(line: doc.Line) -> str:
    return type(line).__name__.lower()
