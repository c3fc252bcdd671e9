"""The document once its tables are read, before its parts are checked against each other."""

from dataclasses import dataclass
from functools import cached_property

from shopdesk.procedure.faults import Place
from shopdesk.procedure.groups import Placed, PlacedKit
from shopdesk.procedure.types import GasCharge, KitLine, Line, Policy, Quantity, Rating

GENERATED_ANSWERS = ("vented", "charged")
"""What the generated line ``shipment.ships_as`` is answered with."""

SHIPS_AS = "shipment.ships_as"
_OFFICE = ("decision.quoted", "decision.approval")
_RESERVED_PARTS = ("issue_", "kept_", "tool_")


@dataclass(frozen=True)
class Draft:
    """``lines`` in the order they are done; those at fault stand in their place as None."""

    place: Place
    order: tuple[str, ...]
    gas_charged: bool
    lines: tuple[Placed, ...]
    kit: tuple[PlacedKit, ...] = ()
    rated_pressure: Rating | None = None
    precharge_limit: Rating | None = None
    highest_service_temperature: Quantity | None = None
    charge: GasCharge | None = None

    @cached_property
    def by_key(self) -> dict[str, Placed]:
        return {placed.key: placed for placed in reversed(self.lines)}

    @cached_property
    def kit_ids(self) -> frozenset[str]:
        return frozenset(placed.id for placed in self.kit)

    @cached_property
    def kit_sound(self) -> tuple[KitLine, ...]:
        return tuple(placed.kit for placed in self.kit if placed.kit is not None)

    @cached_property
    def generated(self) -> frozenset[str]:
        """Keys of the lines every sheet adds: quote, parts to issue or keep, state to ship in."""
        found = set(_OFFICE) | {f"parts.issue_{name}" for name in self.kit_ids}
        found |= {f"parts.kept_{kit.id}" for kit in self.kit_sound if kit.policy is Policy.KEEP}
        return frozenset(found | ({SHIPS_AS} if self.gas_charged else set()))

    @cached_property
    def _ranks(self) -> dict[str, tuple[int, int]]:
        ranks = {key: (self.section_rank(key), -1) for key in self.generated}
        written = {
            placed.key: (self.section_rank(placed.key), n) for n, placed in enumerate(self.lines)
        }
        return ranks | written

    def section_rank(self, key: str) -> int:
        section = key.split(".", 1)[0]
        return self.order.index(section) if section in self.order else len(self.order)

    def has(self, key: str) -> bool:
        return key in self._ranks

    def before(self, key: str, other: str) -> bool:
        """Whether the line ``key`` is done before the line ``other``."""
        return self._ranks[key] < self._ranks[other]

    def line(self, key: str) -> Line | None:
        placed = self.by_key.get(key)
        return placed.line if placed else None

    def known(self) -> tuple[str, ...]:
        return tuple(self._ranks)

    def section(self, name: str) -> tuple[Placed, ...]:
        return tuple(placed for placed in self.lines if placed.key.split(".", 1)[0] == name)

    def sound(self, name: str) -> bool:
        """Whether every line of the section could be read."""
        return all(placed.line is not None for placed in self.section(name))


def reserved(key: str) -> bool:
    """Whether a line of this key would stand in the way of a generated one."""
    section, _, name = key.partition(".")
    return key in (SHIPS_AS, *_OFFICE) or (section == "parts" and name.startswith(_RESERVED_PARTS))
