"""Lines that name other lines or kit lines: they exist, are of the right kind, come in order."""

from collections.abc import Iterator
from functools import singledispatch

from shopdesk.procedure import types as doc
from shopdesk.procedure.amounts import kind_of
from shopdesk.procedure.draft import GENERATED_ANSWERS, SHIPS_AS, Draft
from shopdesk.procedure.faults import Place, near, one_of
from shopdesk.quantities import Dimension


def check_references(draft: Draft) -> None:
    for placed in draft.lines:
        if placed.line is not None:
            _conditions(placed.line.when, placed.key, placed.place, draft)
            _measured_again(placed.line, placed.place.at("measure_again"), draft)
            refer(placed.line, placed.place, draft)
    for kit in draft.kit:
        if kit.kit is not None:
            _kit(kit.kit, kit.place, draft)


@singledispatch
def refer(line: doc.Line, place: Place, draft: Draft) -> None:
    """Checks what this kind of line names. Most kinds name nothing."""


@refer.register
def _(line: doc.Restore, place: Place, draft: Draft) -> None:
    at = place.at("reference")
    if _earlier(line.reference, line.key, at, draft):
        _measured_alike(line, at, draft)
    at = place.at("set_by_test")
    if not _exists(line.set_by_test, at, draft):
        return
    test = draft.by_key.get(line.set_by_test)
    if test is None or (test.line is not None and not isinstance(test.line, doc.Test)):
        at.refuse(line.set_by_test, "the key of a test line")
    elif draft.before(line.set_by_test, line.key):
        at.refuse(line.set_by_test, "a test done after this line")


def _measured_alike(line: doc.Restore, at: Place, draft: Draft) -> None:
    measured = draft.line(line.reference)
    if measured is None and line.reference in draft.by_key:
        return
    if not isinstance(measured, doc.Repeat | doc.Reading):
        at.refuse(line.reference, "the key of a repeat or reading line")
        return
    wanted, measures = kind_of(line.tolerance.unit), kind_of(measured.unit)
    if wanted is not measures:
        at.refuse(
            line.reference,
            f"a line that measures {wanted.words} as the tolerance {line.tolerance.typed!r} does",
            f"it measures {measures.words}",
        )
    for unit in filter(None, (line.unit, *line.units)):
        if kind_of(unit) is not wanted:
            at.add(f"the units beside it hold {unit!r}, expected units of {wanted.words}")


@refer.register
def _(line: doc.Leak, place: Place, draft: Draft) -> None:
    at = place.at("start")
    if not _earlier(line.start, line.key, at, draft):
        return
    start = draft.line(line.start)
    if start is None and line.start in draft.by_key:
        return
    with_temperature = (
        isinstance(start, doc.Reading)
        and start.at_temperature != ""
        and kind_of(start.unit) is Dimension.PRESSURE
    )
    if not isinstance(start, doc.Charge) and not with_temperature:
        at.refuse(line.start, "a charge line, or a pressure reading with at_temperature")


@refer.register
def _(line: doc.Fit, place: Place, draft: Draft) -> None:
    _in_kit(line.kit, place.at("kit"), draft)


@refer.register
def _(line: doc.Torque, place: Place, draft: Draft) -> None:
    if line.over is None:
        return
    for n, key in enumerate(line.over.reopen):
        _exists(key, place.at("over").at("reopen").at(n), draft)
    for n, kit_id in enumerate(line.over.again):
        _in_kit(kit_id, place.at("over").at("again").at(n), draft)


@refer.register
def _(line: doc.Test, place: Place, draft: Draft) -> None:
    at = place.at("rework_from")
    if line.rework_from not in draft.order:
        at.refuse(line.rework_from, *one_of(line.rework_from, draft.order))
    elif draft.section_rank(line.rework_from) > draft.section_rank(line.key):
        at.refuse(line.rework_from, "a section no later than the test's own")
    for n, word in enumerate(line.dispositions):
        if word not in doc.BESIDE_REWORK:
            place.at("dispositions").at(n).warn(
                f"read {word!r}, which is not offered: a failed test is put right by rework; "
                f"expected {' or '.join(doc.BESIDE_REWORK)}"
            )


_LOOKED_AT = (
    *(doc.Reading, doc.Survey, doc.Finding, doc.Repeat, doc.Choice),
    *(doc.Tick, doc.Note, doc.Photo),
)
_NOT_AGAIN = ("vent", "charge", "hold", "release", "shipment")


def _measured_again(line: doc.Line, place: Place, draft: Draft) -> None:
    """What work on the part asks again: lines that measure or look, in a section that may open
    again alone, and none whose first answer another line needs."""
    named = doc.measured_again(line)
    if named and not isinstance(line, doc.Test) and not {*doc.WORKED} & {*_dispositions(line)}:
        place.add(
            f"read {len(named)} of them, but this line offers no disposition that works the part; "
            f"expected one of {', '.join(doc.WORKED)} among its dispositions"
        )
    needed = _needed(draft)
    for n, key in enumerate(named):
        at = place.at(n)
        if not _exists(key, at, draft):
            continue
        other = draft.line(key)
        if key == line.key:
            at.refuse(key, "another line; this one is asked again by itself")
        elif key in needed:
            at.refuse(key, f"a line that can be taken again; {needed[key]} goes back to this one")
        elif key.split(".", 1)[0] in _NOT_AGAIN:
            at.refuse(key, f"a line of another section than {', '.join(_NOT_AGAIN)}")
        elif not isinstance(other, _LOOKED_AT) and (other is not None or key in draft.generated):
            at.refuse(key, "a line that measures, looks or is ticked off")


def _dispositions(line: doc.Line | None) -> tuple[str, ...]:
    return getattr(line, "dispositions", ())


def _needed(draft: Draft) -> dict[str, str]:
    """Lines whose first answer another one needs, by the key of that other."""
    found: dict[str, str] = {}
    for placed in draft.lines:
        match placed.line:
            case doc.Restore(key=key, reference=named) | doc.Leak(key=key, start=named):
                found[named] = key
    return found


def _kit(kit: doc.KitLine, place: Place, draft: Draft) -> None:
    parts = draft.section_rank("parts")
    if kit.inspect and _exists(kit.inspect, place.at("inspect"), draft):
        found = draft.by_key.get(kit.inspect)
        if found is None or (found.line is not None and not isinstance(found.line, doc.Finding)):
            place.at("inspect").refuse(kit.inspect, "the key of a finding line")
        elif draft.section_rank(kit.inspect) >= parts:
            place.at("inspect").refuse(kit.inspect, "a finding made before the parts section")
    for n, key in enumerate(kit.measured_by):
        at = place.at("measured_by").at(n)
        if _exists(key, at, draft):
            if draft.section_rank(key) >= parts:
                at.refuse(key, "a line done before the parts section")
            else:
                _can_hold(doc.Condition(key, disposition="replace"), at, draft)
    for condition, at in _placed(kit.when, place):
        if not _exists(condition.line, at, draft):
            continue
        if draft.section_rank(condition.line) >= parts:
            at.refuse(condition.line, "a line done before the parts section")
        else:
            _can_hold(condition, at, draft)


def _placed(when: tuple[doc.Condition, ...], place: Place) -> Iterator[tuple[doc.Condition, Place]]:
    at = place.at("when")
    for n, condition in enumerate(when):
        yield condition, at.at(n) if len(when) > 1 else at


def _conditions(when: tuple[doc.Condition, ...], key: str, place: Place, draft: Draft) -> None:
    for condition, at in _placed(when, place):
        if _earlier(condition.line, key, at, draft):
            _can_hold(condition, at, draft)


def _can_hold(condition: doc.Condition, at: Place, draft: Draft) -> None:
    line = draft.line(condition.line)
    if line is None and condition.line in draft.by_key:
        return
    if isinstance(line, doc.Caution):
        at.refuse(condition.line, "a line that is answered, not a caution")
    elif condition.disposition is not None:
        _offered(condition.disposition, _dispositions(line), "disposition", condition.line, at)
    elif condition.answer is not None:
        _offered(condition.answer, _answers(line, condition.line), "answer", condition.line, at)
    elif condition.is_ is doc.Is.OUTSIDE and not _judged(line):
        at.refuse(condition.line, "a line with a limit; this one can never be outside")


def _offered(word: str, offered: tuple[str, ...], what: str, key: str, at: Place) -> None:
    if not offered:
        at.add(f"read the {what} {word!r}, but {key} offers no {what}s to choose from")
    elif word not in offered:
        at.refuse(word, f"one of the {what}s of {key}: " + ", ".join(offered), near(word, offered))


def _answers(line: doc.Line | None, key: str) -> tuple[str, ...]:
    match line:
        case doc.Choice():
            return line.options
        case doc.Finding():
            return ("good", *line.defects)
        case doc.Port():
            return doc.PORT_STATES
    return GENERATED_ANSWERS if key == SHIPS_AS else ()


def _judged(line: doc.Line | None) -> bool:
    match line:
        case doc.Reading():
            return line.limit is not None
        case doc.Choice():
            return bool(line.outside)
        case doc.Torque():
            return not line.snug
        case (
            doc.Survey()
            | doc.Finding()
            | doc.Repeat()
            | doc.Restore()
            | doc.Charge()
            | doc.Leak()
            | doc.Port()
        ):
            return True
    return False


def _exists(key: str, at: Place, draft: Draft) -> bool:
    if draft.has(key):
        return True
    at.refuse(key, "the full key of a line such as 'teardown.bore'", near(key, draft.known()))
    return False


def _earlier(key: str, own: str, at: Place, draft: Draft) -> bool:
    if not _exists(key, at, draft):
        return False
    if draft.before(key, own):
        return True
    at.refuse(key, f"a line done before {own}")
    return False


def _in_kit(kit_id: str, at: Place, draft: Draft) -> None:
    if kit_id not in draft.kit_ids:
        at.refuse(kit_id, "the id of a kit line", near(kit_id, draft.kit_ids))
