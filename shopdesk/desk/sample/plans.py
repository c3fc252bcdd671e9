"""What is to go wrong on a job of the sample: chosen from its procedure, never by a line's name."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from random import Random

from shopdesk.procedure import (
    Choice,
    Finding,
    KitLine,
    Procedure,
    Reading,
    Survey,
    Torque,
    types,
)

NOTHING: Mapping[str, str] = {}


@dataclass(frozen=True)
class Plan:
    """``outside``: lines that turn out bad the first time they are asked, with the disposition to
    give. ``slips``: readings typed wrongly first and then corrected. ``defects`` is the share of
    other findings that show something."""

    outside: Mapping[str, str] = field(default_factory=dict)
    slips: frozenset[str] = frozenset()
    defects: float = 0.12


def draw(*what: object) -> Random:
    """Chance that depends on nothing but ``what``: the same on every run and machine."""
    return Random("/".join(map(str, what)))


def failed_test(procedure: Procedure, chance: Random) -> Mapping[str, str]:
    """One bench test fails, and the unit goes back to be worked on."""
    tests = [line.key for line in procedure.lines if isinstance(line, types.Test) and not line.when]
    return {chance.choice(tests): "rework"} if tests else NOTHING


def worn_bore(procedure: Procedure, chance: Random) -> Mapping[str, str]:
    """A bore that honing still saves."""
    return _one(procedure, chance, Survey, "hone or lap")


def replaced(procedure: Procedure, chance: Random) -> Mapping[str, str]:
    """A part of the kit that is otherwise kept has to be replaced."""
    asked = [kit_line(procedure, kit) for kit in procedure.kit]
    found = [line for line in asked if line]
    return {chance.choice(found): "replace"} if found else NOTHING


def kit_line(procedure: Procedure, kit: KitLine) -> str:
    """The line whose disposition "replace" asks for this kit line; "" if none does."""
    if kit.inspect:
        return kit.inspect
    return next((when.line for when in kit.when if when.disposition == "replace"), "")


def over_pulled(procedure: Procedure, chance: Random) -> Mapping[str, str]:
    """A joint pulled too far, with the consequence its procedure states."""
    joints = [line.key for line in procedure.lines if isinstance(line, Torque) and line.over]
    return {chance.choice(joints): "open and replace"} if joints else NOTHING


def for_the_customer(procedure: Procedure, chance: Random) -> Mapping[str, str]:
    """Something outside its limit that the customer is asked about."""
    return _one(procedure, chance, Survey | Reading | Finding, "ask customer")


def beyond_repair(procedure: Procedure, chance: Random) -> Mapping[str, str]:
    """Something that cannot be saved."""
    return _one(procedure, chance, Survey | Reading | Finding | Choice, "scrap")


def slip(procedure: Procedure, chance: Random) -> frozenset[str]:
    """A reading that will be typed wrongly."""
    readings = [
        line.key
        for line in procedure.lines
        if isinstance(line, Reading)
        and line.section in ("teardown", "proof")
        and line.limit is not None
        and line.limit.low is not None
        and not line.when
    ]
    return frozenset([chance.choice(readings)]) if readings else frozenset()


def _one(procedure: Procedure, chance: Random, kind: object, word: str) -> Mapping[str, str]:
    lines = [
        line.key
        for line in procedure.lines
        if isinstance(line, kind)  # type: ignore[arg-type]
        and line.section == "teardown"
        and word in getattr(line, "dispositions", ())
        and not line.when
    ]
    return {chance.choice(lines): word} if lines else NOTHING
