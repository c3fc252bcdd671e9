"""The order of sections: what must stand before what, and which sections cannot be left out."""

from collections.abc import Iterator

from shopdesk.procedure.draft import Draft
from shopdesk.procedure.faults import Place, near
from shopdesk.procedure.types import SECTIONS

_BEFORE = (
    ("vent", "teardown"),
    ("teardown", "decision"),
    ("decision", "parts"),
    ("parts", "build"),
    ("build", "proof"),
    ("build", "charge"),
    ("charge", "hold"),
)
_ALWAYS = ("receipt", "decision", "release", "shipment")


def read_order(raw: object, place: Place) -> tuple[str, ...]:
    """The sections as the document orders them; all in the usual order where it says nothing."""
    if raw is None:
        return SECTIONS
    if not isinstance(raw, list):
        place.refuse(raw, "a list of sections")
        return SECTIONS
    found: list[str] = []
    for n, each in enumerate(raw):
        if not isinstance(each, str) or each not in SECTIONS:
            hint = near(each, SECTIONS) if isinstance(each, str) else ""
            place.at(n).refuse(each, "one of " + ", ".join(SECTIONS), hint)
        elif each in found:
            place.at(n).refuse(each, "each section once")
        else:
            found.append(each)
    return tuple(found)


def check_order(draft: Draft) -> None:
    place = draft.place.at("order")
    for sentence in (*_missing(draft), *_misplaced(draft)):
        place.add(sentence)
    for section in dict.fromkeys(placed.key.split(".", 1)[0] for placed in draft.lines):
        if section not in draft.order:
            place.add(f"leaves out {section}, which has lines; put it in or take the lines out")


def _missing(draft: Draft) -> Iterator[str]:
    for section in _ALWAYS:
        if section not in draft.order:
            yield f"leaves out {section}, which every job goes through"
    if "parts" not in draft.order and (draft.kit or "build" in draft.order):
        yield "leaves out parts, where kit and tools of the build are gathered"
    if draft.gas_charged and "vent" not in draft.order:
        yield "leaves out vent, which a gas-charged unit goes through before anybody opens it"
    if draft.charge is not None and "charge" not in draft.order:
        yield "leaves out charge, though [gas_charge] says what is charged"


def _misplaced(draft: Draft) -> Iterator[str]:
    order = draft.order
    if order and "receipt" in order and order[0] != "receipt":
        yield f"begins with {order[0]}, expected receipt first"
    if {"release", "shipment"} <= set(order) and order[-2:] != ("release", "shipment"):
        yield f"ends with {', '.join(order[-2:])}, expected release and then shipment last"
    for first, second in _BEFORE:
        if first in order and second in order and order.index(first) > order.index(second):
            yield f"has {second} before {first}, expected {first} first"
    yield from _proof_and_charge(draft)


def _proof_and_charge(draft: Draft) -> Iterator[str]:
    order = draft.order
    if draft.charge is None or "proof" not in order or "charge" not in order:
        return
    charge_first = order.index("charge") < order.index("proof")
    if charge_first and not draft.charge.before_proof:
        yield "has charge before proof, which needs before_proof = true in [gas_charge]"
    if not charge_first and draft.charge.before_proof:
        yield "has proof before charge, though [gas_charge] says before_proof = true"
