"""Lines no procedure writes out: each kit line issued or kept, the quote and its answer, the
tools of the build, the state a gas unit ships in."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from shopdesk.procedure import types as doc


@dataclass(frozen=True, slots=True, kw_only=True)
class Issue(doc.Line):
    """Pieces of a part taken from the shelf for this job, by scanning their lot. ``new`` says why
    a used one will not do; "" where it may. ``mates``: (kit line, part, pieces) of the others of
    its matched set, which come from the same one."""

    kit: str
    part: str
    quantity: int
    new: str = ""
    mates: tuple[tuple[str, str, int], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept(doc.Line):
    """An inspected part kept for the build: it must be with the job."""

    kit: str
    part: str


@dataclass(frozen=True, slots=True)
class Quoting(doc.Line):
    pass


@dataclass(frozen=True, slots=True)
class Approval(doc.Line):
    pass


SHIPS_AS = "shipment.ships_as"
APPROVAL = "decision.approval"
QUOTED = "decision.quoted"
_MOST_LAID = 200


class _Same:
    """One document in memory, equal to itself alone: a document of hundreds of lines is not
    hashed at every look. Who keeps it keeps the document, so that no other takes its place."""

    __slots__ = ("procedure",)

    def __init__(self, procedure: doc.Procedure) -> None:
        self.procedure = procedure

    def __hash__(self) -> int:
        return id(self.procedure)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Same) and other.procedure is self.procedure


def laid_out(procedure: doc.Procedure) -> tuple[doc.Line, ...]:
    """All lines in the order they are done, the generated ones in their places; worked out once
    for each document in memory."""
    return _laid(_Same(procedure))


@lru_cache(maxsize=_MOST_LAID)
def _laid(of: _Same) -> tuple[doc.Line, ...]:
    return _lay(of.procedure)


def _lay(procedure: doc.Procedure) -> tuple[doc.Line, ...]:
    extra = {
        "decision": (
            Quoting(QUOTED, "Quote made"),
            Approval(APPROVAL, "Customer's answer to the quote"),
        ),
        "parts": _parts(procedure) + _tools(procedure),
        "shipment": _ships_as(procedure),
    }
    lines: list[doc.Line] = []
    for section in procedure.order:
        lines.extend(extra.get(section, ()))
        lines.extend(procedure.in_section(section))
    return tuple(lines)


def issue_key(kit_id: str) -> str:
    return f"parts.issue_{kit_id}"


def _parts(procedure: doc.Procedure) -> tuple[doc.Line, ...]:
    return tuple(
        line
        for kit in procedure.kit
        for line in _kit_lines(kit, mates_of(procedure.kit, kit.id, itself=True))
    )


def mates_of(
    kit: Sequence[doc.KitLine], kit_id: str, *, itself: bool = False
) -> tuple[doc.KitLine, ...]:
    """The other lines of the kit line's matched set (with ``itself``, all of it)."""
    own = next(line for line in kit if line.id == kit_id)
    if not own.matched:
        return (own,) if itself else ()
    mates = tuple(line for line in kit if line.matched == own.matched)
    return mates if itself else tuple(line for line in mates if line is not own)


def _kit_lines(kit: doc.KitLine, matched: Sequence[doc.KitLine]) -> tuple[doc.Line, ...]:
    where = f", {kit.position}" if kit.position else ""
    replaced = _replaced(kit, matched)
    mates = tuple((mate.id, mate.part, mate.quantity) for mate in matched if mate is not kit)
    issue = Issue(
        issue_key(kit.id),
        f"{kit.quantity} x {kit.part}{where}",
        help=_together(mates),
        position=kit.position,
        when=replaced,
        kit=kit.id,
        part=kit.part,
        quantity=kit.quantity,
        new=_new_only(kit),
        mates=mates,
    )
    if kit.policy is not doc.Policy.KEEP:
        return (issue,)
    kept = Kept(
        f"parts.kept_{kit.id}",
        f"Kept: {kit.part}{where}",
        help=_together(mates),
        position=kit.position,
        kit=kit.id,
        part=kit.part,
    )
    return (issue, kept)


def _new_only(kit: doc.KitLine) -> str:
    if kit.one_time:
        return "a one-time part"
    if kit.policy is doc.Policy.ALWAYS:
        return "replaced every time"
    return "the procedure demands a new one" if kit.new else ""


def _together(mates: Sequence[tuple[str, str, int]]) -> str:
    if not mates:
        return ""
    parts = " and ".join(part for _, part, _ in mates)
    return f"Matched to {parts}: they stay together and come out of one set, under its number."


def _replaced(kit: doc.KitLine, matched: Sequence[doc.KitLine]) -> tuple[doc.Condition, ...]:
    """What asks for one of a matched set asks for all of it."""
    if kit.policy is doc.Policy.KEEP:
        judged = dict.fromkeys(
            key for one in (kit, *matched) for key in (one.inspect, *one.measured_by) if key
        )
        first, *others = judged or ("",)
        return (doc.AnyOf(first, disposition="replace", others=tuple(others)),)
    return kit.when


def _tools(procedure: doc.Procedure) -> tuple[doc.Line, ...]:
    kinds = dict.fromkeys(
        line.instrument
        for line in procedure.in_section("build")
        if isinstance(line, doc.Torque | doc.Restore | doc.Reading)
        and line.instrument
        and not (isinstance(line, doc.Torque) and line.snug)
    )
    return tuple(
        doc.Prepare(
            f"parts.tool_{kind.replace(' ', '_')}", f"Tool for the build: {kind}", instrument=kind
        )
        for kind in kinds
    )


def _ships_as(procedure: doc.Procedure) -> tuple[doc.Line, ...]:
    if not procedure.gas_charged:
        return ()
    return (
        doc.Choice(
            SHIPS_AS,
            "Gas state it ships in",
            help="The shop's transport rule says whether a charged unit may leave. "
            "Vented asks for a new vent record with a second person.",
            options=("vented", "charged"),
        ),
    )
