"""A draft checked as a whole: keys, order, references, the gas, units beside a line's own."""

from collections.abc import Iterable

from shopdesk.procedure import types as doc
from shopdesk.procedure.draft import Draft, reserved
from shopdesk.procedure.faults import Place
from shopdesk.procedure.groups import PlacedKit
from shopdesk.procedure.order import check_order
from shopdesk.procedure.references import check_references
from shopdesk.procedure.safety import check_safety


def check_draft(draft: Draft) -> None:
    """Notes every fault between the parts of a procedure."""
    check_order(draft)
    check_lines(draft)
    _unique(((placed.id, placed.place.at("id")) for placed in draft.kit), "kit line")
    check_safety(draft)
    _matched(draft)
    _fitted(draft)


def check_lines(draft: Draft) -> None:
    """What holds for lines anywhere, in a procedure or on a side road."""
    _unique(((placed.key, placed.place.at("key")) for placed in draft.lines), "line")
    for placed in draft.lines:
        if reserved(placed.key):
            placed.place.at("key").add(
                f"read the key {placed.key!r}, which every sheet has of its own; choose another"
            )
    check_references(draft)
    _stacks(draft)


def _unique(found: Iterable[tuple[str, Place]], what: str) -> None:
    seen: dict[str, str] = {}
    for key, place in found:
        if key in seen:
            place.add(f"{what} {key!r} is there twice, first at {seen[key]}; rename one")
        seen.setdefault(key, place.path)


def _stacks(draft: Draft) -> None:
    """Orders in a stack rise from 1; a new stack begins at 1 again."""
    last: dict[str, int] = {}
    for placed in draft.lines:
        if not isinstance(placed.line, doc.Fit) or placed.line.order == 0:
            continue
        stack = placed.key.rpartition(".")[0]
        before, order = last.get(stack, 0), placed.line.order
        if order not in (1, before + 1):
            placed.place.at("order").add(
                f"read {order} after {before}, expected {before + 1}, or 1 for a new stack"
            )
        last[stack] = order


def _matched(draft: Draft) -> None:
    """Mates are issued together or not at all: what asks for one has to ask for the others."""
    sets: dict[str, list[PlacedKit]] = {}
    for placed in draft.kit:
        if placed.kit is not None and placed.kit.matched:
            sets.setdefault(placed.kit.matched, []).append(placed)
    whole = len(draft.kit_sound) == len(draft.kit)
    for name, mates in sets.items():
        if len(mates) == 1 and whole:
            mates[0].place.at("matched").add(
                f"{name!r} is a set of {mates[0].id!r} alone; give its mates the same name"
            )
        for mate in mates[1:]:
            _like(mates[0], mate)
    for placed in draft.kit:
        if placed.kit is not None and placed.kit.matched and placed.kit.one_time:
            placed.place.at("one_time").add(
                "a part of a matched set is not spent by fitting; leave out one of the two"
            )
    _pulled(draft, sets.values())


def _like(first: PlacedKit, mate: PlacedKit) -> None:
    """Notes where a mate would be asked for without the first of its set."""
    was, now = first.kit, mate.kit
    assert was is not None
    assert now is not None
    if now.part == was.part:
        mate.place.at("part").add(
            f"{now.part!r} is in the matched set {now.matched!r} twice; make it one line with the "
            "quantity of both"
        )
    for key, one, other in (("policy", was.policy, now.policy), ("when", was.when, now.when)):
        if one != other:
            mate.place.at(key).add(
                f"differs from that of {first.id!r}, its mate in the matched set {now.matched!r}; "
                "mates are replaced together"
            )


def _pulled(draft: Draft, sets: Iterable[list[PlacedKit]]) -> None:
    """A joint pulled too far that asks for a mate once more has to ask for its whole set."""
    named = [{placed.id for placed in mates} for mates in sets]
    for placed in draft.lines:
        if not isinstance(placed.line, doc.Torque) or placed.line.over is None:
            continue
        again = {*placed.line.over.again}
        for mates in named:
            left_out = sorted(mates - again)
            if mates & again and left_out:
                placed.place.at("over").at("again").add(
                    f"asks for {', '.join(sorted(mates & again))} without "
                    f"{', '.join(left_out)} of the same matched set; name all of them"
                )


def _fitted(draft: Draft) -> None:
    """Doubts new parts that no line fits; a kept part may stay where it sits."""
    if any(placed.line is None for placed in draft.lines):
        return
    fitted = {placed.line.kit for placed in draft.lines if isinstance(placed.line, doc.Fit)}
    for placed in draft.kit:
        kit = placed.kit
        if kit is not None and kit.policy is not doc.Policy.KEEP and kit.id not in fitted:
            placed.place.at("id").warn(f"{kit.id!r} is fitted by no line")
