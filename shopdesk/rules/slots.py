"""What one line asks for, slot by slot; later slots may depend on what was answered."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import singledispatch

from shopdesk.procedure import types as doc
from shopdesk.quantities import Dimension, dimension_of
from shopdesk.rules import bores
from shopdesk.rules.answers import Answer
from shopdesk.rules.claims import About, Again
from shopdesk.rules.generated import Approval, Issue, Kept, Quoting


class Ask(StrEnum):
    DONE = "done"
    QUANTITY = "quantity"
    WORDS = "words"
    CHOICE = "choice"
    LINES = "lines"  # several of the options, by their numbers
    SIGN = "sign"
    INSTRUMENT = "instrument"
    LOT = "lot"
    OFFICE = "office"  # answered at the office, not typed on the sheet


@dataclass(frozen=True, slots=True)
class Slot:
    """``unit`` is the line's own, ``units`` those plausible beside it, ``options`` the words
    a choice takes."""

    name: str
    ask: Ask
    prompt: str
    unit: str = ""
    units: tuple[str, ...] = ()
    options: tuple[str, ...] = ()


def plausible(slot: Slot, torque_units: tuple[str, ...]) -> tuple[str, ...]:
    """The units a figure typed here may be in: those of the line, of a torque also the shop's."""
    if dimension_of(slot.unit) is Dimension.TORQUE:
        return tuple(dict.fromkeys((slot.unit, *torque_units)))
    return slot.units or (slot.unit,)


def spoken(slot: Slot, torque_units: tuple[str, ...]) -> tuple[str, ...]:
    """The units the line names when it asks: the line's own where its size tells a bare figure's,
    each it may be in where only the unit typed does."""
    if not slot.unit or dimension_of(slot.unit) is Dimension.LENGTH:
        return (slot.unit,)
    return plausible(slot, torque_units)


Given = Mapping[str, Answer]

CANNOT = "cannot"  # "cannot: head of the screw sheared" answers a teardown reading


def cannot(given: Given) -> bool:
    """Whether the line was answered by saying that it cannot be measured."""
    return any(answer.answer.startswith(CANNOT) for answer in given.values())


@singledispatch
def slots(line: doc.Line, given: Given) -> tuple[Slot, ...]:
    """The slots this line asks, in order, knowing what is answered. A caution has none."""
    raise TypeError(f"no slots known for {type(line).__name__}")


def _done(prompt: str = "done, or what you saw") -> tuple[Slot, ...]:
    return (Slot("done", Ask.DONE, prompt),)


@slots.register
def _(line: doc.Tick, given: Given) -> tuple[Slot, ...]:
    return _done()


@slots.register
def _(line: doc.Caution, given: Given) -> tuple[Slot, ...]:
    return ()


@slots.register
def _(line: doc.Vent, given: Given) -> tuple[Slot, ...]:
    return _done(f"done: {line.side} side open to air, nothing comes out")


@slots.register
def _(line: doc.Fit, given: Given) -> tuple[Slot, ...]:
    parts = [line.lubricant and f"lubricate {line.lubricant}", line.orientation]
    said = "; ".join(part for part in parts if part)
    return _done(f"done ({said})" if said else "done, or what you saw")


@slots.register
def _(line: doc.Prepare, given: Given) -> tuple[Slot, ...]:
    if line.instrument:
        return (Slot("instrument", Ask.INSTRUMENT, f"scan the {line.instrument}"),)
    return _done()


@slots.register
def _(line: doc.Reading, given: Given) -> tuple[Slot, ...]:
    found = [Slot("value", Ask.QUANTITY, "reading", line.unit, line.units)]
    if line.at_temperature and not cannot(given):
        found.append(_temperature("temperature", "at what temperature", line.at_temperature))
    return tuple(found) + _disposition(line, given)


@slots.register
def _(line: doc.Survey, given: Given) -> tuple[Slot, ...]:
    asked = _first_only(cells(line)) if cannot(given) else cells(line)
    return asked + _disposition(line, given)


def cells(line: doc.Survey) -> tuple[Slot, ...]:
    """One slot for each depth and axis, row by row, named ``d1a1``, ``d1a2``, …"""
    return tuple(
        Slot(f"d{row}a{column}", Ask.QUANTITY, f"at {depth.typed}, {axis}", line.unit, line.units)
        for row, depth in enumerate(line.depths, 1)
        for column, axis in enumerate(line.axes, 1)
    )


@slots.register
def _(line: doc.Repeat, given: Given) -> tuple[Slot, ...]:
    times = tuple(
        Slot(f"r{n}", Ask.QUANTITY, f"{n} of {line.count}", line.unit, line.units)
        for n in range(1, line.count + 1)
    )
    if cannot(given):
        return _first_only(times)
    return times + _disposition(line, given)


def _first_only(asked: tuple[Slot, ...]) -> tuple[Slot, ...]:
    return asked[:1]


@slots.register
def _(line: doc.Restore, given: Given) -> tuple[Slot, ...]:
    asked = Slot("restored", Ask.QUANTITY, "depth as restored", line.unit, line.units)
    return (asked, *_disposition(line, given))


@slots.register
def _(line: doc.Finding, given: Given) -> tuple[Slot, ...]:
    asked = (Slot("condition", Ask.CHOICE, "condition", options=("good", *line.defects)),)
    if "condition" not in given or given["condition"].answer == "good":
        return asked
    return (
        *asked,
        Slot("place", Ask.WORDS, "where on the part"),
        Slot("severity", Ask.CHOICE, "severity", options=doc.SEVERITIES),
        Slot("extent", Ask.WORDS, "how far it goes, in your words: length, depth, share"),
        Slot("disposition", Ask.CHOICE, "disposition", options=line.dispositions),
    )


@slots.register
def _(line: doc.Torque, given: Given) -> tuple[Slot, ...]:
    if line.snug:
        return _done("done: snug")
    joints = f", all {line.count}" if line.count > 1 else ""
    last = len(line.passes)
    pulls = tuple(
        Slot(f"p{n}", Ask.QUANTITY, _pull(n, last, share, joints), line.unit)
        for n, share in enumerate(line.passes, 1)
    )
    return pulls + _disposition(line, given)


def _pull(n: int, last: int, share: float, joints: str) -> str:
    return f"torque{joints}" if last == 1 else f"pass {n} of {last} at {share:.0%}{joints}"


@slots.register
def _(line: doc.Wait, given: Given) -> tuple[Slot, ...]:
    return (
        Slot("started", Ask.DONE, f"Enter starts the {line.duration.typed}"),
        Slot("ended", Ask.DONE, f"done, once {line.duration.typed} have passed"),
    )


@slots.register
def _(line: doc.Regulator, given: Given) -> tuple[Slot, ...]:
    return (
        _temperature("gas_temperature", "temperature of the gas", line.at_temperature),
        Slot("setting", Ask.QUANTITY, "regulator set to", line.unit, line.units),
    )


@slots.register
def _(line: doc.Charge, given: Given) -> tuple[Slot, ...]:
    return _pressure_at_temperature(line) + _disposition(line, given)


@slots.register
def _(line: doc.Leak, given: Given) -> tuple[Slot, ...]:
    return _pressure_at_temperature(line) + _disposition(line, given)


def _pressure_at_temperature(line: doc.Charge | doc.Leak) -> tuple[Slot, ...]:
    return (
        Slot("value", Ask.QUANTITY, "pressure, rig off", line.unit, line.units),
        _temperature("temperature", "gas temperature", line.at_temperature),
    )


def _temperature(name: str, prompt: str, unit: str) -> Slot:
    return Slot(name, Ask.QUANTITY, prompt, unit, ("°C", "°F"))


@slots.register
def _(line: doc.Port, given: Given) -> tuple[Slot, ...]:
    asked = Slot("left", Ask.CHOICE, f"{line.port}: leave it {line.leave}", options=doc.PORT_STATES)
    return (asked, *_disposition(line, given))


@slots.register
def _(line: doc.Choice, given: Given) -> tuple[Slot, ...]:
    asked = (Slot("answer", Ask.CHOICE, "one of", options=line.options),)
    return asked + _disposition(line, given)


@slots.register
def _(line: doc.Note, given: Given) -> tuple[Slot, ...]:
    return (Slot("note", Ask.WORDS, "in your words"),)


@slots.register
def _(line: doc.Photo, given: Given) -> tuple[Slot, ...]:
    return (Slot("file", Ask.WORDS, "file name of the photo, or none"),)


@slots.register
def _(line: doc.Signature, given: Given) -> tuple[Slot, ...]:
    who = "a second person: " if line.witness else f"{line.role}: " if line.role else ""
    return (Slot("signed", Ask.SIGN, f"{who}initials and PIN"),)


@slots.register
def _(line: Issue, given: Given) -> tuple[Slot, ...]:
    found: list[Slot] = []
    left = line.quantity
    while left > 0:
        name = f"lot{len(found) + 1}"
        found.append(Slot(name, Ask.LOT, f"scan a lot of {line.part}, {left} to issue"))
        if name not in given:
            break
        left -= round(given[name].value_si or 0)
    return tuple(found)


@slots.register
def _(line: Kept, given: Given) -> tuple[Slot, ...]:
    return _done("done: kept part is with the job")


@slots.register
def _(line: Quoting, given: Given) -> tuple[Slot, ...]:
    return (Slot("quoted", Ask.OFFICE, "the office makes the quote"),)


@slots.register
def _(line: Approval, given: Given) -> tuple[Slot, ...]:
    return (Slot("answered", Ask.OFFICE, "the customer's answer"),)


@slots.register
def _(line: About, given: Given) -> tuple[Slot, ...]:
    asked = Slot("lines", Ask.LINES, "their numbers, or all", options=line.options)
    return (asked, *_signed_by_manager(given))


@slots.register
def _(line: Again, given: Given) -> tuple[Slot, ...]:
    of = line.earlier.line
    if isinstance(of, doc.Reading):
        found = slots(of, {} if cannot(given) else given)[: 1 + bool(of.at_temperature)]
    elif isinstance(of, doc.Choice):
        found = (Slot("answer", Ask.CHOICE, "one of", options=of.options),)
    elif isinstance(of, doc.Charge | doc.Leak):
        found = _pressure_at_temperature(of)
    else:
        raise TypeError(f"a {type(of).__name__} is not measured again")
    if cannot(given):
        return (_first_only(found)[0], *_signed_by_manager(given))
    return found


def _signed_by_manager(given: Given) -> tuple[Slot, ...]:
    """The signature under "cannot: why"; under another why it is asked anew."""
    said = next((a for a in given.values() if a.answer.startswith(CANNOT)), None)
    if said is None:
        return ()
    return (Slot(f"signed_{said.id}", Ask.SIGN, "manager: initials and PIN"),)


def line_dispositions(line: doc.Line) -> tuple[str, ...]:
    """What may be decided about this line when it is outside its limit."""
    match line:
        case doc.Test():
            beside = [word for word in line.dispositions if word in doc.BESIDE_REWORK]
            return ("rework", "test again", *(beside or doc.BESIDE_REWORK))
        case doc.Finding() | doc.Survey() | doc.Reading() | doc.Choice():
            return line.dispositions or ("measure again", "ask customer", "scrap")
        case doc.Repeat():
            return ("measure again", "ask customer")
        case doc.Restore():
            return ("set again", "ask customer")
        case doc.Torque():
            over = ("open and replace",) if line.over else ()
            return (*over, "pull again", "ask customer")
        case doc.Charge():
            return ("read again", "charge again")
        case doc.Leak():
            return ("read again", "charge again", "rework")
        case doc.Port():
            return ("set again",)
    return ()


def _disposition(line: doc.Line, given: Given) -> tuple[Slot, ...]:
    if not bores.outside(line, given):
        return ()
    return (Slot("disposition", Ask.CHOICE, "disposition", options=line_dispositions(line)),)
