"""What one value must be in itself, whatever stands around it: bounds, orders, known words."""

from collections.abc import Iterator, Sequence
from functools import singledispatch
from math import cos

from shopdesk.procedure import types as doc
from shopdesk.procedure.amounts import kind_of
from shopdesk.procedure.faults import one_of, shown

Fault = tuple[str, str]
"""The field ("" for the whole) and the sentence."""

_MOST_READINGS = 20
_MOST_JOINTS = 200
_MOST_PIECES = 10_000


@singledispatch
def faults_of(found: object) -> Iterator[Fault]:
    """The faults of a value that was read without any."""
    yield from ()


def _outside(name: str, value: str, known: Sequence[str]) -> Iterator[Fault]:
    if value not in known:
        expected, hint = one_of(value, known)
        yield name, f"read {shown(value)}, expected {expected}" + (f" ({hint})" if hint else "")


def _dispositions(given: Sequence[str]) -> Iterator[Fault]:
    for n, each in enumerate(given):
        yield from _outside(f"dispositions[{n}]", each, doc.DISPOSITIONS)


def _counted(name: str, value: int, low: int, high: int) -> Iterator[Fault]:
    if not low <= value <= high:
        yield name, f"read {value}, expected a whole number from {low} to {high}"


def _positive(name: str, value: doc.Quantity) -> Iterator[Fault]:
    if value.value_si <= 0:
        yield name, f"read {value.typed!r}, expected more than zero"


def _rising(name: str, values: Sequence[float], said: Sequence[str]) -> Iterator[Fault]:
    for n in range(1, len(values)):
        if values[n] <= values[n - 1]:
            yield (
                f"{name}[{n}]",
                f"read {said[n]} after {said[n - 1]}, expected rising values",
            )


@faults_of.register
def _(found: doc.Condition) -> Iterator[Fault]:
    said = [each for each in (found.is_, found.disposition, found.answer) if each is not None]
    if len(said) != 1:
        yield (
            "",
            f"read {len(said)} of is, disposition and answer beside the line, expected exactly one",
        )
    if found.disposition is not None:
        yield from _outside("disposition", found.disposition, doc.DISPOSITIONS)


@faults_of.register
def _(found: doc.Reading) -> Iterator[Fault]:
    yield from _dispositions(found.dispositions)


@faults_of.register
def _(found: doc.Test) -> Iterator[Fault]:
    if found.limit is None:
        yield "limit", "missing; a test is judged by a limit with its source and revision"
    yield from _dispositions(found.dispositions)


@faults_of.register
def _(found: doc.Survey) -> Iterator[Fault]:
    depths = [depth.value_si for depth in found.depths]
    yield from _rising("depths", depths, [depth.typed for depth in found.depths])
    yield from _positive("nominal", found.nominal)
    yield from _dispositions(found.dispositions)


@faults_of.register
def _(found: doc.Finding) -> Iterator[Fault]:
    if "good" in (defect.casefold() for defect in found.defects):
        yield "defects", "read 'good', which is always offered; name defects only"
    yield from _dispositions(found.dispositions)


@faults_of.register
def _(found: doc.Repeat) -> Iterator[Fault]:
    yield from _counted("count", found.count, 2, _MOST_READINGS)


@faults_of.register
def _(found: doc.Adapter) -> Iterator[Fault]:
    yield from _positive("length", found.length)
    yield from _positive("wrench_length", found.wrench_length)
    if not 0 <= found.angle.value_si < 3.15:
        yield "angle", f"read {found.angle.typed!r}, expected an angle from 0 to 180 deg"
    elif found.wrench_length.value_si + found.length.value_si * cos(found.angle.value_si) <= 0:
        yield "length", f"read {found.length.typed!r}, expected less than the wrench turned back"


@faults_of.register
def _(found: doc.Torque) -> Iterator[Fault]:
    yield from _counted("count", found.count, 1, _MOST_JOINTS)
    yield from _passes(found.passes)
    yield from _snug(found) if found.snug else _pulled(found)


def _snug(found: doc.Torque) -> Iterator[Fault]:
    for name in ("target", "tolerance", "adapter", "over"):
        if getattr(found, name) is not None:
            yield name, "a joint pulled snug has no figure; leave this out, or leave snug out"
    if found.passes != (1.0,):
        yield "passes", "a joint pulled snug has no passes; leave this out, or leave snug out"


def _pulled(found: doc.Torque) -> Iterator[Fault]:
    for name in ("target", "tolerance", "source", "revision"):
        if not getattr(found, name):
            yield name, "missing; a torque has target, tolerance, source and revision, or snug"
    if found.target is not None:
        yield from _positive("target", found.target)
        if found.tolerance is not None and found.tolerance.value_si >= found.target.value_si:
            yield "tolerance", f"read {found.tolerance.typed!r}, expected less than the target"


def _passes(passes: Sequence[float]) -> Iterator[Fault]:
    if not passes:
        yield "passes", "read an empty list, expected shares of the target ending in 1.0"
        return
    if passes[0] <= 0:
        yield "passes[0]", f"read {passes[0]:g}, expected a share above zero"
    yield from _rising("passes", passes, [f"{share:g}" for share in passes])
    if passes[-1] != 1.0:
        yield f"passes[{len(passes) - 1}]", f"read {passes[-1]:g}, expected the last pass to be 1.0"


@faults_of.register
def _(found: doc.Fit) -> Iterator[Fault]:
    yield from _counted("order", found.order, 0, _MOST_PIECES)


@faults_of.register
def _(found: doc.Wait) -> Iterator[Fault]:
    yield from _positive("duration", found.duration)


@faults_of.register
def _(found: doc.Vent) -> Iterator[Fault]:
    yield from _outside("side", found.side, ("gas", "oil"))


@faults_of.register
def _(found: doc.Port) -> Iterator[Fault]:
    yield from _outside("leave", found.leave, doc.PORT_STATES)


@faults_of.register
def _(found: doc.Choice) -> Iterator[Fault]:
    if len(found.options) < 2:
        yield "options", "read one option, expected two or more to choose from"
    for n, each in enumerate(found.outside):
        yield from _outside(f"outside[{n}]", each, found.options)
    yield from _dispositions(found.dispositions)


@faults_of.register
def _(found: doc.KitLine) -> Iterator[Fault]:
    yield from _counted("quantity", found.quantity, 1, _MOST_PIECES)
    match found.policy:
        case doc.Policy.KEEP:
            if not found.inspect:
                yield "inspect", "missing; a kept part names the finding that judges it"
        case doc.Policy.CONDITION:
            if not found.when:
                yield "when", "missing; a part fitted on a condition says when"
    if found.when and found.policy is not doc.Policy.CONDITION:
        yield "when", f"a part of policy {found.policy.value!r} takes no when; use 'condition'"
    if found.measured_by and found.policy is not doc.Policy.KEEP:
        yield "measured_by", f"a part of policy {found.policy.value!r} is not kept; use 'keep'"
    if found.inspect and found.policy is not doc.Policy.KEEP:
        yield "inspect", f"a part of policy {found.policy.value!r} is not inspected; use 'keep'"


@faults_of.register
def _(found: doc.Rating) -> Iterator[Fault]:
    yield from _positive("value", found.value)


@faults_of.register
def _(found: doc.GasCharge) -> Iterator[Fault]:
    if found.gas != "nitrogen":
        yield "gas", f"read {shown(found.gas)}, expected 'nitrogen'; no other gas is charged"
    yield from _positive("target", found.target)
    yield from _positive("volume", found.volume)


def same_kind(unit: str, other: str) -> bool:
    return kind_of(unit) is kind_of(other)
